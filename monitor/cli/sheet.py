"""``monitor sheet``: the downtime sheet of a record, all beds on paper; the hub has one made every hour."""

import argparse
import json
import sys
import time
from pathlib import Path

from monitor.cli.hub_children import KEPT
from monitor.record.reading import find_record, read_only
from monitor.reports.downtime.moment import LastMoment, last_moment
from monitor.reports.downtime.sheet import write_sheet
from monitor.reports.downtime.shelf import shelve
from shared.errors import ConfigurationError
from shared.instant import Instant


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Describe the command line."""
    parser.description = (
        "All beds on paper, as the record ends: last values with their ages, targets, limits, who stands on each "
        "rung, telephones, open alerts. For the hours in which the board is dark; the record is only read, also "
        "while a hub writes it. A hub makes one at its start and every hour (hub --sheets DIR, station)."
    )
    parser.add_argument("record", type=Path, metavar="RECORD", help="a record, or a folder with one record")
    parser.add_argument("--pdf", type=Path, metavar="FILE", help="write the sheet there")
    parser.add_argument("--into", type=Path, metavar="DIR", help="write it there, named by its day and time")
    parser.add_argument(
        "--keep", type=int, default=KEPT, metavar="N", help=f"with --into: the newest N stay (default: {KEPT})"
    )
    parser.add_argument("--now", type=int, metavar="MS", help="beside a hub that runs: its time")


def run(args: argparse.Namespace) -> int:
    """Make the sheet.

    Raises:
        ConfigurationError: an option makes no sense.
        RecordError: the record cannot be read, or the sheet cannot be written.
    """
    if (args.pdf is None) == (args.into is None):
        raise ConfigurationError("give --pdf FILE for one sheet, or --into DIR for one among others")
    if args.keep < 1:
        raise ConfigurationError(f"--keep {args.keep}: at least 1 stays")
    with read_only(find_record(args.record)) as record:
        found = last_moment(record, args.now)
    now = args.now if args.now is not None else time.time_ns() // 1_000_000
    if args.pdf is not None:
        pages = write_sheet(args.pdf, found, now)
        print(f"{args.pdf}: {pages} pages", file=sys.stderr)
    else:
        print(json.dumps(_shelved(args, found, now)))
    return 0


def _shelved(args: argparse.Namespace, found: LastMoment, now: Instant) -> dict[str, str | int]:
    path = shelve(args.into, found, now, args.keep)
    return {"sheet": str(path), "at": found.at}
