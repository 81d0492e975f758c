"""``monitor bundle``: the hours around an incident at a bed, frozen as one file."""

import argparse
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from monitor.cli.moments import moment_of
from monitor.cli.progress import Counting
from monitor.cli.sources import add_source, archive_in
from monitor.cli.taken_out import add_taken_out, noted_in, taken_out_by
from monitor.record.reading import find_record
from monitor.record.slice_reading import open_slice
from monitor.record.slicing import Hours
from monitor.record.taken_out import said_of
from monitor.reports.incident.bundle import Asked, bundle, result, unpacked
from monitor.reports.incident.retracing import retrace
from shared.errors import ConfigurationError, RecordError
from shared.instant import HOUR

SAME, OTHER = 0, 1
_BEFORE, _AFTER = 2 * HOUR, HOUR
_SUCH_AS = "2026-11-25 03:10"


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Describe the command line."""
    parser.description = (
        "Freeze the two hours before a moment and the hour after it: values, alerts, calls, roster, rules as they "
        "were, trends, a time line, and all that is needed to judge those hours again. The record is only read, "
        "also while a hub writes it; that the bundle was made becomes an entry of its log. Then it is "
        "judged again, as `retrace` does; interrupted, it stays as it is. Exit status: 0 done, 1 done, but judged "
        "again it differs or cannot be, 2 refused."
    )
    add_source(parser, "a record, or a folder with one record")
    parser.add_argument("to", type=Path, metavar="TO", help="the file to make, such as B3.zip")
    parser.add_argument("--bed", required=True, help="such as B3")
    parser.add_argument("--at", required=True, metavar="TIME", help=f'such as "{_SUCH_AS}", this machine\'s time')
    parser.add_argument("--unjudged", action="store_true", help="only freeze; judge it again later: retrace TO")
    add_taken_out(parser)


def run(args: argparse.Namespace) -> int:
    """Make the bundle and tell.

    Raises:
        ConfigurationError: an option makes no sense.
        RecordError: TO is there, or a file cannot be read or written.
    """
    at = moment_of("--at", args.at, _SUCH_AS)
    by, why = taken_out_by(args, "the bundle")
    hours = Hours(args.bed, at - _BEFORE, at + _AFTER)
    with _record(args, hours) as record:
        noting = noted_in(args, record)
        made = bundle(record, args.to, hours, Asked(by, why, noting))
    print(f"Bundle  {args.to}, SHA-256 {made.digest}")
    print(said_of(made.noted, noting), flush=True)
    return SAME if args.unjudged else _judged(args.to)


@contextmanager
def _record(args: argparse.Namespace, hours: Hours) -> Iterator[Path]:
    """Give the record, or those hours of it brought out of the archive for the length of the block."""
    place = archive_in(args)
    if place is None:
        yield find_record(args.record)
        return
    if args.noted_in is None:
        raise ConfigurationError(
            "--noted-in: name the record of the unit's hub, whose log is to say that this was taken out"
        )
    from monitor.archive.reading import archived  # only where it is asked for

    with tempfile.TemporaryDirectory() as folder, archived(place, args.unit, args.number) as source:
        path = Path(folder) / "hours.record"
        source.bring(path, hours.begin, hours.finish + 1)
        yield path


def _judged(path: Path) -> int:
    """Judge the bundle again: it is there already, whatever comes of this."""
    with tempfile.TemporaryDirectory() as folder, open_slice(unpacked(path, Path(folder))) as cut:
        try:
            found = retrace(cut, Counting("judged again").at)
        except (RecordError, ConfigurationError) as error:
            print(f"Not judged again: {error}. The bundle is whole.")
            return OTHER
    print(result(found))
    return SAME if found.is_same else OTHER
