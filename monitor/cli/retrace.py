"""``monitor retrace``: judge the hours of a bundle again and say whether it gives the same, byte for byte."""

import argparse
import tempfile
from pathlib import Path

from monitor.cli.progress import Counting
from monitor.record.moments import utc
from monitor.record.slice_reading import Slice, open_slice
from monitor.reports.incident.bundle import result, unpacked
from monitor.reports.incident.retracing import retrace

SAME, OTHER = 0, 1
#: Differences that are shown; what follows the first is mostly its consequence.
_SHOWN = 3


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Describe the command line."""
    parser.description = (
        "Judge the hours of a bundle again, by the rules as they were, and hold every entry against the recorded "
        "one. Exit status: 0 the same, 1 something differs or was changed, 2 it cannot be read."
    )
    parser.add_argument("bundle", type=Path, metavar="BUNDLE", help="a file of `bundle`")


def run(args: argparse.Namespace) -> int:
    """Retrace and tell.

    Raises:
        RecordError: it is no bundle, of another version, or cannot be read.
    """
    with tempfile.TemporaryDirectory() as folder, open_slice(unpacked(args.bundle, Path(folder))) as cut:
        return _told(args.bundle, cut)


def _told(path: Path, cut: Slice) -> int:
    hours, broken = cut.hours, cut.broken()
    print(f"Bundle  {path}: bed {hours.bed}, {utc(hours.begin)} to {utc(hours.finish)}")
    found = retrace(cut, Counting("judged again").at)
    print(result(found))
    for one in found.differences[:_SHOWN]:
        print(f"At {utc(one.at)}, input {one.ordinal}:")
        print(f"  recorded: {one.recorded or 'nothing'}")
        print(f"  now:      {one.retraced or 'nothing'}")
    if broken is not None:
        print(f"BROKEN: entry {broken} is not as it was written.")
    head = cut.head()
    if broken is None and head is not None:
        print(f"Head    entry {head[0]}, {head[1].hex()}: `verify RECORD --head` finds it in the whole record.")
    return SAME if found.is_same and broken is None else OTHER
