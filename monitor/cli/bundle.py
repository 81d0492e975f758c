"""``monitor bundle``: the hours around an incident at a bed, frozen as one file."""

import argparse
from pathlib import Path

from monitor.cli.moments import moment_of
from monitor.cli.progress import Counting
from monitor.record.reading import find_record
from monitor.record.slicing import Hours
from monitor.record.taken_out import said_of
from monitor.reports.incident.bundle import Asked, bundle, result
from shared.errors import ConfigurationError
from shared.instant import HOUR

SAME, OTHER = 0, 1
_BEFORE, _AFTER = 2 * HOUR, HOUR
_SUCH_AS = "2026-11-25 03:10"


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Describe the command line."""
    parser.description = (
        "Freeze the two hours before a moment and the hour after it: values, alerts, calls, roster, rules as they "
        "were, trends, a time line, and all that is needed to judge those hours again. The record is only read, "
        "also while a hub writes it; that the bundle was made becomes an entry of its log. Exit status: 0 done, "
        "1 done, but judged again it differs, 2 refused."
    )
    parser.add_argument("record", type=Path, metavar="RECORD", help="a record, or a folder with one record")
    parser.add_argument("to", type=Path, metavar="TO", help="the file to make, such as B3.zip")
    parser.add_argument("--bed", required=True, help="such as B3")
    parser.add_argument("--at", required=True, metavar="TIME", help=f'such as "{_SUCH_AS}", this machine\'s time')
    parser.add_argument("--by", required=True, metavar="ROLE", help="who asks for it, as on the roster")
    parser.add_argument("--why", required=True, metavar="WORDS", help="the reason; no names of patients")
    parser.add_argument(
        "--noted-in",
        type=Path,
        metavar="RECORD",
        help="the record whose log is to say so, where RECORD is a backup (default: RECORD itself)",
    )


def run(args: argparse.Namespace) -> int:
    """Make the bundle and tell.

    Raises:
        ConfigurationError: an option makes no sense.
        RecordError: TO is there, or a file cannot be read or written.
    """
    at = moment_of("--at", args.at, _SUCH_AS)
    if not (args.by.strip() and args.why.strip()):
        raise ConfigurationError("--by and --why: say who asks for the bundle, and why")
    hours = Hours(args.bed, at - _BEFORE, at + _AFTER)
    record = find_record(args.record)
    noted_in = record if args.noted_in is None else find_record(args.noted_in)
    asked = Asked(args.by.strip(), args.why.strip(), noted_in)
    made = bundle(record, args.to, hours, asked, Counting("judged again").at)
    print(f"Bundle  {args.to}, SHA-256 {made.digest}")
    print(said_of(made.noted, noted_in))
    print(result(made.retraced))
    return SAME if made.retraced.is_same else OTHER
