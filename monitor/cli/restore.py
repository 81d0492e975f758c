"""``monitor restore``: a backup in the place of a record, while no hub runs. What was there is kept aside."""

import argparse
import time
from pathlib import Path

from monitor.cli.progress import Tenths
from monitor.cli.sources import drill_of
from monitor.record.moments import utc
from monitor.record.restoring import Restored, restore
from shared.errors import RecordError


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Describe the command line."""
    parser.description = (
        "Verify a backup and put a copy of it in the place of a record. Refused while a hub runs. The record that "
        "was there is kept beside it. Exit status: 0 done, 2 refused, and nothing is changed."
    )
    parser.add_argument("backup", type=Path, metavar="BACKUP", help="what `backup` has made")
    parser.add_argument("into", type=Path, metavar="INTO", help="the record of the hub (its --record)")


def run(args: argparse.Namespace) -> int:
    """Restore and tell what is missing now.

    Raises:
        RecordError: a hub runs, the backup is not whole, or a disk refuses.
    """
    if args.into.is_file() and _is_of_a_drill(args.backup):
        raise RecordError(f"{args.backup} is of a drill: it never goes in the place of a record that is there")
    done = restore(args.backup, args.into, time.time_ns() // 1_000_000, Tenths().at)
    print(f"Backup  {args.backup}: whole, {done.count} entries, up to {utc(done.backup_to)}")
    for line in _missing(done):
        print(line)
    print(f"Head    entry {done.head[0]}, {done.head[1].hex()}: the restore is itself an entry")
    print(f"RESTORED: {args.into} is the backup now. Start the hub; what the unit did meanwhile is in neither.")
    return 0


def _is_of_a_drill(backup: Path) -> bool:
    try:
        return backup.is_file() and drill_of(backup) is not None
    except RecordError:  # what is wrong with it is told by the restore itself
        return False


def _missing(done: Restored) -> list[str]:
    if done.aside is None:
        return ["Before  there was no record in its place"]
    if done.unreadable is not None:
        return [
            f"Before  {done.unreadable}",
            f"Aside   it is kept as {done.aside}",
            f"Missing whatever was recorded after {utc(done.backup_to)}: how much, is not known",
        ]
    lines = [f"Before  the record went up to {utc(done.before_to)}", f"Aside   it is kept as {done.aside}"]
    if done.before_to is not None and done.before_to > done.backup_to:
        span = f"from {utc(done.backup_to)} to {utc(done.before_to)}"
        return [*lines, f"Missing what was recorded {span}: it is in the file aside alone"]
    return [*lines, "Missing nothing: the backup goes as far as the record did"]
