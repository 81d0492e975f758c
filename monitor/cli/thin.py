"""``monitor thin``: take old observations out of a record, by name and with a reason. The log stays whole."""

import argparse
import time
from functools import partial
from pathlib import Path

from monitor.cli.moments import moment_of
from monitor.cli.progress import Tenths
from monitor.record.copying import megabytes
from monitor.record.moments import utc
from monitor.record.reading import find_record
from monitor.record.thinning import Thinnable, give_room_back, thin, thinnable
from shared.errors import ConfigurationError, RecordError


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Describe the command line."""
    parser.description = (
        "Say how many observations before a moment would be taken out of a record; with --do, take them out and "
        "give the room back. Alerts, calls, answers and all other entries stay; that it was done is an entry too. "
        "Refused while a hub runs, and for the last four days. Exit status: 0 done, 2 refused."
    )
    parser.add_argument("record", type=Path, metavar="RECORD", help="a record, or a folder with one record")
    parser.add_argument("--before", required=True, metavar="TIME", help='such as "2026-11-01 00:00"')
    parser.add_argument("--by", required=True, metavar="ROLE", help="who does it, as on the roster")
    parser.add_argument("--why", required=True, metavar="WORDS", help="the reason")
    parser.add_argument("--do", action="store_true", help="do it; without this, nothing is changed")


def run(args: argparse.Namespace) -> int:
    """Tell what would go, or thin.

    Raises:
        ConfigurationError: an option makes no sense.
        RecordError: a hub runs, nothing is that old, or the disk refuses: the record is as it was.
    """
    before = moment_of("--before", args.before)
    by, why = " ".join(args.by.split()), " ".join(args.why.split())
    if not (by and why):
        raise ConfigurationError("--by and --why: say who thins the record, and why")
    record = find_record(args.record)
    if not args.do:
        return _would(thinnable(record, before))
    done = thin(record, before, by, why, time.time_ns() // 1_000_000, partial(Tenths().at, "taken out"))
    print(f"Thinned {_what(done)}")
    try:
        print(f"Room    {megabytes(give_room_back(record))} given back to the disk")
    except RecordError as error:
        print(f"Room    {error}")
    return 0


def _would(found: Thinnable) -> int:
    if not found.observations:
        print(
            "Nothing is that old: digests of inputs stand every 20 s since version 4, and it is thinned up to one."
        )
        return 0
    print(f"Would go {_what(found)}")
    print(f"Of       {megabytes(found.size)}: about {megabytes(found.size * found.observations // found.whole)}")
    print("Those hours can then not be drawn, exported, bundled or judged again. Make a backup first (backup).")
    print("Nothing was changed. With --do it is done; stop the hub before.")
    return 0


def _what(found: Thinnable) -> str:
    return f"{found.observations} of {found.whole} observations, all before {utc(found.before)}"
