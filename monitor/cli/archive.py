"""``monitor archive``: the hospital's archive in PostgreSQL, fed from the records of the hubs."""

import argparse
import sqlite3
from collections.abc import Callable
from contextlib import closing
from pathlib import Path

from monitor.archive.bringing import Hours, bring
from monitor.archive.connecting import VARIABLE, connected, name_of, place_of, telling
from monitor.archive.schema import grant, make_sure_of_version, prepare
from monitor.archive.standing import newest_of, records_of
from monitor.archive.verifying import verify
from monitor.cli.archive_feed import feed
from monitor.cli.moments import moment_of
from monitor.record.copying import sync
from monitor.record.moments import utc
from shared.errors import ConfigurationError, RecordError

WHOLE, BROKEN = 0, 1
_WHAT_TO_DO = (
    "What to do: keep a copy of the database as it is, and feed the unit's record into a new one (archive feed)."
)


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Describe the command line."""
    parser.description = (
        "The hospital's archive: what the hubs of all units have recorded, in one PostgreSQL database. A record is "
        f"only read, and no hub waits for the archive. Where it is says --to or --archive, or {VARIABLE}, or the "
        "variables of PostgreSQL's own library (PGHOST, PGDATABASE, PGSERVICE); a password belongs into a password "
        "file (~/.pgpass) or the environment. Exit status: 0 done, 1 broken (verify), 2 refused."
    )
    commands = parser.add_subparsers(dest="what", metavar="WHAT", required=True)
    make = commands.add_parser("prepare", help="make its tables or bring them to this version; its owner does it")
    make.add_argument("--to", metavar="DSN", help='such as "host=HOST dbname=NAME user=NAME"')
    make.add_argument("--feeder", action="append", default=[], metavar="ROLE", help="may read and add, no more")
    make.add_argument("--reader", action="append", default=[], metavar="ROLE", help="may read")
    feed = commands.add_parser("feed", help="copy what is new of a record, and go on where it stopped")
    feed.add_argument("record", type=Path, metavar="RECORD", help="a record, or a folder with one record")
    feed.add_argument("--to", metavar="DSN", help="the archive")
    feed.add_argument(
        "--unit", metavar="NAME", help="of the unit in the archive (default: as its configuration says)"
    )
    feed.add_argument(
        "--follow", action="store_true", help="go on, also when archive or record are away for a time"
    )
    feed.add_argument(
        "--another", action="store_true", help="this other record is meant: it follows the one archived"
    )
    feed.add_argument("--by", metavar="ROLE", help="with --another: who says so, as on the roster")
    feed.add_argument("--why", metavar="WORDS", help="with --another: the reason")
    look = commands.add_parser("verify", help="is what is archived as it was written?")
    look.add_argument("--archive", metavar="DSN", help="the archive")
    look.add_argument("--unit", metavar="NAME", help="this unit alone")
    units = commands.add_parser("units", help="which units are in it, and up to when")
    units.add_argument("--archive", metavar="DSN", help="the archive")
    back = commands.add_parser("bring", help="bring a record back into a file, whole or some hours of it")
    back.add_argument("to", type=Path, metavar="FILE", help="the file to make")
    back.add_argument("--archive", metavar="DSN", help="the archive")
    back.add_argument("--unit", metavar="NAME", required=True)
    back.add_argument("--number", type=int, metavar="N", help="of the unit's records (default: the newest)")
    back.add_argument(
        "--from", dest="begin", metavar="TIME", help="some hours alone, with what they were judged by"
    )
    back.add_argument("--to", dest="end", metavar="TIME")


def run(args: argparse.Namespace) -> int:
    """Do what was asked.

    Raises:
        ConfigurationError: an option makes no sense.
        RecordError: the record or the archive cannot be read or written.
    """
    work: Callable[[argparse.Namespace], int] = {
        "prepare": _prepare, "feed": feed, "verify": _verify, "units": _units, "bring": _bring,
    }[args.what]  # fmt: skip
    return work(args)


def _prepare(args: argparse.Namespace) -> int:
    with connected(place_of(args.to)) as db:
        before, now = prepare(db)
        for role in args.reader:
            grant(db, role, feeds=False)
        for role in args.feeder:
            grant(db, role, feeds=True)
        was = f"was of version {before} and " if 0 < before < now else ""
        print(f"Ready   {name_of(db)} {was}is of version {now}")
        for role in args.feeder:
            print(f"Feeder  {role} may read and add, and neither change nor delete what is kept")
        for role in args.reader:
            print(f"Reader  {role} may read")
    return 0


def _units(args: argparse.Namespace) -> int:
    with connected(place_of(args.archive), reading=True) as db:
        make_sure_of_version(db)
        with telling():
            found = records_of(db)
            notices = db.execute("SELECT record, text FROM notices ORDER BY id").fetchall()
        print(f"In      {name_of(db)}")
        for one in found:
            print(
                f"{one.unit}, record {one.number}: up to {utc(one.last_at)}, entry {one.entry}, input {one.ordinal}"
            )
            for _, text in (row for row in notices if row[0] == one.id):
                print(f"  {text}")
    return 0


def _verify(args: argparse.Namespace) -> int:
    status = WHOLE
    with connected(place_of(args.archive), reading=True) as db:
        make_sure_of_version(db)
        with telling():
            if args.unit is not None:
                newest_of(db, args.unit)
            records = records_of(db, args.unit)
        if not records:
            raise RecordError(f"{name_of(db)} holds no record yet: feed one first (archive feed)")
        for one in records:
            found = verify(db, one)
            print(f"{one.unit}, record {one.number}: {found.entries} entries, {found.inputs} inputs", flush=True)
            for fault in found.faults:
                print(f"  BROKEN: {fault}.")
                status = BROKEN
    print("WHOLE: what is archived is as it was written." if status == WHOLE else _WHAT_TO_DO)
    return status


def _bring(args: argparse.Namespace) -> int:
    if (args.begin is None) != (args.end is None):
        raise ConfigurationError("--from and --to: give both, or neither for the whole record")
    hours = None
    if args.begin is not None:
        hours = Hours(moment_of("--from", args.begin), moment_of("--to", args.end))
        if hours.begin >= hours.end:
            raise ConfigurationError(f"--from {args.begin} is not before --to {args.end}")
    if args.to.exists() or args.to.is_symlink():
        raise RecordError(f"{args.to} is there already and is left as it is: give another name")
    part = args.to.with_name(f"{args.to.name}.part")
    try:
        part.touch(mode=0o600, exist_ok=False)
        with connected(place_of(args.archive), reading=True) as db:
            make_sure_of_version(db)
            with telling():
                record = newest_of(db, args.unit, args.number)
            with closing(sqlite3.connect(part, isolation_level=None)) as made:
                made.execute("PRAGMA synchronous = OFF")  # synced below, whole
                bring(db, record, made, hours)
        sync(part)
        part.rename(args.to)
    except FileExistsError:
        raise RecordError(f"{part} is there: another is made now, or one was interrupted; delete it then") from None
    except (OSError, sqlite3.Error) as error:
        part.unlink(missing_ok=True)
        raise RecordError(f"{args.to} cannot be written: {error}; nothing of it is left") from error
    except BaseException:
        part.unlink(missing_ok=True)
        raise
    what = "whole" if hours is None else "these hours, and what they were judged by"
    print(f"Record  {args.to}: {record.unit}, record {record.number}, {what}")
    return 0
