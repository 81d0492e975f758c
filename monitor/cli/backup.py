"""``monitor backup``: a verified copy of a record, made while its hub runs."""

import argparse
from pathlib import Path

from monitor.cli.progress import Tenths
from monitor.record.backup import back_up
from monitor.record.copying import megabytes
from monitor.record.head import head_path
from monitor.record.moments import utc
from monitor.record.reading import find_record

WHOLE, BROKEN = 0, 1


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Describe the command line."""
    parser.description = (
        "Copy a record as it is at this moment, also while a hub writes it, verify the copy, and only then give it "
        "its name. Nothing is ever written over. Exit status: 0 done, 1 copied, but the record itself is broken, "
        "2 refused."
    )
    parser.add_argument("record", type=Path, metavar="RECORD", help="a record, or a folder with one record")
    parser.add_argument("to", type=Path, metavar="TO", help="the file to make, best on another disk")


def run(args: argparse.Namespace) -> int:
    """Back up and tell.

    Raises:
        RecordError: TO is there, there is no room, or a file cannot be read or written.
    """
    record = find_record(args.record)
    done = back_up(record, args.to, Tenths().at)
    verdict, broken = done.verdict, done.verdict.broken
    print(f"Backup  {args.to}, {megabytes(done.size)}, and {head_path(args.to).name} beside it")
    print(f"Holds   {verdict.count} entries that are whole, and every input up to {utc(done.last_at)}")
    if verdict.count:
        print(f"Head    entry {verdict.count}, {verdict.head.hex()}")
    if broken is None:
        print("WHOLE: the copy was verified. Write the head down; `verify --head` proves the copy by it.")
        return WHOLE
    print(f"BROKEN at entry {broken.number}, as the record itself is: {broken.why}.")
    print("Keep this copy beside older ones; it cannot be restored by command.")
    return BROKEN
