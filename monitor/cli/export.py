"""``monitor export``: some hours of a bed for others, as tables or as FHIR resources."""

import argparse
import time
from pathlib import Path

from monitor.cli.moments import moment_of
from monitor.cli.progress import Progress
from monitor.cli.taken_out import add_taken_out, noted_in, taken_out_by
from monitor.record.moments import utc
from monitor.record.reading import find_record, read_only
from monitor.record.taken_out import said_of
from monitor.reports.exports.asked import Asked, Made
from monitor.reports.exports.tables import write_tables
from monitor.reports.exports.taking import Taking, taking_of
from shared.errors import ConfigurationError, RecordError
from shared.instant import MINUTE

_SUCH_AS = "2026-11-25 07:00"
#: Observations from which on it is told how far it is: a second's work.
_SHORT = 20_000
#: So far ahead of the hub may what was read last be (the hub's door), and that is part of it.
_AHEAD = 2 * MINUTE + 1


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Describe the command line."""
    parser.description = (
        "Take some hours of a bed out of a record: what was read, nothing filled in, and the alerts. "
        "The record is only read, also while a hub writes it; that it was taken out, by whom and why, becomes an "
        "entry of its log. The files are for their owner alone, and nothing is written over."
    )
    parser.add_argument("record", type=Path, metavar="RECORD", help="a record, or a folder with one record")
    parser.add_argument("--bed", required=True, help="such as B3")
    parser.add_argument(
        "--from", dest="begin", required=True, metavar="TIME", help=f'such as "{_SUCH_AS}", this machine\'s time'
    )
    parser.add_argument("--to", dest="end", metavar="TIME", help="up to before it; default: the end of the record")
    form = parser.add_mutually_exclusive_group(required=True)
    form.add_argument("--csv", type=Path, metavar="FILE", help="tables: FILE, its alerts and a page of words")
    form.add_argument("--fhir", type=Path, metavar="FILE", help="FHIR R4B Bundles, page by page in one zip")
    add_taken_out(parser)


def run(args: argparse.Namespace) -> int:
    """Write the files and tell.

    Raises:
        ConfigurationError: an option makes no sense, or nobody says who takes it out, and why.
        RecordError: a file is there, or one cannot be read, written or noted.
    """
    by, why = taken_out_by(args, "the export")
    begin = moment_of("--from", args.begin, _SUCH_AS)
    end = moment_of("--to", args.end, _SUCH_AS) if args.end else None
    record = find_record(args.record)
    asked = Asked(by, why, noted_in(args, record), time.time_ns() // 1_000_000)
    with read_only(record) as opened:
        last = opened.ends()[1]
        reading = opened.of_bed(args.bed, begin, end if end is not None else last + _AHEAD)
        if reading.begin >= reading.end:
            raise ConfigurationError(f"--from {args.begin} is not before --to {args.end or 'the last input'}")
        if not reading.is_known:
            raise RecordError(f"{record} holds no readings of a bed {args.bed}: is it called so? (--bed)")
        thinned = opened.thinned()
        taking = taking_of(reading, thinned.before if thinned is not None else None)
        if not taking.count and (not taking.alerts or begin > last):
            raise RecordError(
                f"nothing was read at {args.bed} in these hours, and no alert is known of them (the record ends "
                f"{utc(last)}): no file is made"
            )
        progress = Progress("written", taking.count, _SHORT)
        made = _written(args, taking, asked, progress)
    print(f"Bed     {taking.bed}: {taking.count} observations, {len(taking.alerts)} alerts")
    for one in made:
        print(f"File    {one.path}, SHA-256 {one.digest}")
        print(said_of(one.noted, asked.noted_in))
    return 0


def _written(args: argparse.Namespace, taking: Taking, asked: Asked, progress: Progress) -> list[Made]:
    if args.csv is not None:
        return write_tables(args.csv, taking, asked, progress.at)
    from monitor.reports.exports.fhir_pages import write_pages  # its library takes a while to load

    return write_pages(args.fhir, taking, asked, progress.at)
