"""``monitor find``: alerts in the log of a record, or in those of all units in the archive, and their bundles."""

import argparse
import shlex
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import UTC, datetime

from monitor.analysis.annunciations import GRADES
from monitor.cli.load_sheet import CAUTION
from monitor.cli.moments import moment_of
from monitor.cli.sources import Source, add_source, archive_in, drill_of
from monitor.record.reading import find_record, read_only
from monitor.reports.finding import LEAD_MS, Found, Wanted, find
from shared.cautions import DRILL
from shared.errors import ConfigurationError
from shared.instant import HOUR, SECOND, Instant

#: So far back from the newest moment is looked where no time is given.
USUAL_MS = 31 * 24 * HOUR
_HEADINGS = ("unit", "bed", "raised", "priority", "rule", "how it ended")


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Describe the command line."""
    parser.description = (
        "Look for alerts: where, when, how each ended, and the command that makes its bundle. In the archive all "
        "units are looked through, or one (--unit). Everything that is given must hold. The log is only read. "
        "What is not in it was not judged: it is no evidence of safety."
    )
    add_source(parser, "a record, or a folder with one record")
    parser.add_argument("--bed", help="such as B3")
    parser.add_argument("--run", dest="slot", type=int, metavar="N", help="the first or second run of a bed")
    parser.add_argument("--rule", metavar="NAME", help="as limits.toml names it, such as map_low")
    parser.add_argument("--priority", choices=GRADES)
    parser.add_argument(
        "--from", dest="begin", metavar="TIME", help="raised then or later (default: 31 days before)"
    )
    parser.add_argument("--to", dest="end", metavar="TIME", help="raised before then (default: the newest entry)")
    parser.add_argument(
        "--words",
        nargs="+",
        default=[],
        metavar="WORD",
        help="all in what was written about it, or at its bed while it lasted",
    )


def run(args: argparse.Namespace) -> int:
    """Print what is found.

    Raises:
        ConfigurationError: an option makes no sense.
        RecordError: the record or the archive cannot be read.
    """
    rows: list[tuple[str, ...]] = []
    commands: list[str] = []
    spans: list[tuple[Instant, Instant]] = []
    with _sources(args) as sources:
        for source, unit, of in sources:
            wanted = _wanted(args, source)
            spans.append((wanted.begin, wanted.end))
            entries = source.entries_since(max(0, wanted.begin - LEAD_MS), wanted.kinds, args.bed)
            for found in find(entries, wanted):
                rows.append(_row(found, unit))
                commands.append(_bundle(found, of))
    drill = drill_of(find_record(args.record)) if args.record is not None else None
    print("\n".join([*([f"{DRILL} {drill.title}"] if drill is not None else []), *CAUTION]))
    if spans:
        print(f"\nLooked from {_clock(min(one for one, _ in spans))} to {_clock(max(one for _, one in spans))}")
    print(f"{len(rows)} found" if rows else "nothing found\n", end="\n\n" if rows else "")
    for line, command in zip(_table(rows), ["", *commands], strict=True) if rows else ():
        print(line)
        if command:
            print(f"    {command}")
    return 0


@contextmanager
def _sources(args: argparse.Namespace) -> Iterator[list[tuple[Source, str, tuple[str, ...]]]]:
    """Give each log with the unit's name, and the words by which another command finds it."""
    place = archive_in(args, needs_unit=False)
    if place is None:
        path = find_record(args.record)
        with read_only(path) as record:
            yield [(record, path.name, (str(path),))]
        return
    from monitor.archive.reading import all_archived  # only where it is asked for

    given = ("--archive", args.archive) if args.archive else ("--archive",)
    with all_archived(place, args.unit) as records:
        yield [
            (one, one.name, (*given, "--unit", one.unit, "--number", str(one.number)))
            for one in records
            if args.number in (None, one.number)
        ]


def _wanted(args: argparse.Namespace, source: Source) -> Wanted:
    end = moment_of("--to", args.end) if args.end else source.ends()[1] + 1
    begin = moment_of("--from", args.begin) if args.begin else max(0, end - USUAL_MS)
    if begin >= end and args.begin and args.end:
        raise ConfigurationError(f"--from {args.begin} is not before --to {args.end}")
    return Wanted(begin, end, args.bed, args.slot, args.rule, args.priority, tuple(args.words))


def _row(found: Found, unit: str) -> tuple[str, ...]:
    alert = found.alert
    bed = f"{alert.bed or 'unit'}{f' run {alert.slot}' if alert.slot not in (None, 1) else ''}"
    rule = f"{alert.rule} ({found.title})" if found.title else alert.rule
    return unit, bed, _clock(alert.at), alert.priority, rule, found.ending()


def _bundle(found: Found, of: tuple[str, ...]) -> str:
    alert = found.alert
    if alert.bed is None:
        return "an alert of the unit: give the bed that is asked about (bundle --bed)"
    moment = datetime.fromtimestamp(alert.at / SECOND, UTC).astimezone()
    to = f"{alert.bed}-{moment:%Y%m%dT%H%M}.zip"
    at = moment.isoformat(sep=" ", timespec="minutes")
    noted = ("--noted-in", "RECORD") if of[0] == "--archive" else ()
    words = (
        "./weirkeeper",
        "bundle",
        *of,
        to,
        "--bed",
        alert.bed,
        "--at",
        at,
        "--by",
        "ROLE",
        "--why",
        "WORDS",
        *noted,
    )
    return shlex.join(words)


def _table(rows: list[tuple[str, ...]]) -> Iterator[str]:
    widths = [max(len(row[n]) for row in (_HEADINGS, *rows)) for n in range(len(_HEADINGS))]
    for row in (_HEADINGS, *rows):
        yield "  ".join(cell.ljust(width) for cell, width in zip(row, widths, strict=True)).rstrip()


def _clock(at: Instant) -> str:
    return datetime.fromtimestamp(at / SECOND, UTC).astimezone().strftime("%Y-%m-%d %H:%M:%S")
