"""``monitor load``: the alert load of a record, or of a rehearsal's events, as a sheet to read and print."""

import argparse
from dataclasses import dataclass, replace
from pathlib import Path

from pydantic import TypeAdapter

from monitor.analysis.alert_load import LoadFigures, alert_load
from monitor.analysis.annunciations import Observed, Span
from monitor.cli.as_json import as_json
from monitor.cli.load_sheet import Source, sheet
from monitor.cli.moments import moment_of
from monitor.cli.sources import add_source, archive_in, drill_of, opened
from monitor.core.annunciations import Annunciations
from monitor.record.opening import MAGIC
from monitor.record.reading import find_record
from monitor.rehearsal.reading_events import read_events
from monitor.rehearsal.rehearse import BEGIN
from shared.errors import ConfigurationError
from shared.instant import HOUR, ms

USUAL_HOURS = 12.0
_FIGURES: TypeAdapter[LoadFigures] = TypeAdapter(LoadFigures)


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Describe the command line."""
    parser.description = (
        "Alert load: how many alerts, which rules and beds, how soon somebody knew. The record is only read, also "
        "while a hub writes it. Figures of a unit, never of a person."
    )
    add_source(parser, "a record, or a file of rehearse --events")
    parser.add_argument(
        "--from", dest="begin", metavar="TIME", help='such as "2026-11-25 07:00", this machine\'s time'
    )
    parser.add_argument("--to", dest="end", metavar="TIME", help="default: the last input of the record")
    parser.add_argument(
        "--hours", type=float, metavar="H", help="so long before --to (default: 12; of events: the whole file)"
    )
    parser.add_argument("--beds", type=int, metavar="N", help="of events: how many beds were watched")
    parser.add_argument("--json", action="store_true", help="for machines: one JSON object")


def run(args: argparse.Namespace) -> int:
    """Print the sheet.

    Raises:
        ConfigurationError: an option makes no sense, or the file is neither a record nor events.
        RecordError: the record cannot be read.
    """
    if args.hours is not None and not 0 < args.hours <= 24 * 366:
        raise ConfigurationError(f"--hours {args.hours:g}: allowed more than 0, up to a year")
    if args.beds is not None and not 1 <= args.beds <= 64:
        raise ConfigurationError(f"--beds {args.beds}: allowed 1 to 64")
    is_record = archive_in(args) is not None or _is_record(args.record)
    source, figures = _of_record(args) if is_record else _of_events(args)
    print(as_json(_FIGURES.dump_python(figures, mode="json")) if args.json else sheet(figures, source))
    return 0


def _is_record(path: Path) -> bool:
    try:
        with path.open("rb") as file:
            return file.read(len(MAGIC)) == MAGIC
    except OSError as error:
        raise ConfigurationError(f"{path}: cannot be read: {error.strerror}") from None


def _of_record(args: argparse.Namespace) -> tuple[Source, LoadFigures]:
    if args.beds is not None:
        raise ConfigurationError("--beds: a record says itself which beds were watched; leave it out")
    if args.begin and args.hours is not None:
        raise ConfigurationError("--from and --hours both say where to begin: give one of them")
    with opened(args) as (record, name):
        first, last = record.ends()
        end = moment_of("--to", args.end) if args.end else last + 1  # the last input is part of it
        begin = moment_of("--from", args.begin) if args.begin else end - ms((args.hours or USUAL_HOURS) * 3600)
        if begin >= end:
            raise ConfigurationError(f"--from {args.begin or ''} is not before --to {args.end or 'the last input'}")
        head, figures = record.head(), record.load(begin, end)
    drill = drill_of(find_record(args.record)) if args.record is not None else None
    return Source(name, first, None, head, drill.title if drill is not None else ""), figures


@dataclass(frozen=True, slots=True)
class _Events:
    found: Annunciations
    last: float


def _of_events(args: argparse.Namespace) -> tuple[Source, LoadFigures]:
    if args.begin or args.end:
        raise ConfigurationError("--from and --to are for a record; of events give --hours, from their start")
    events = _read(args.record)
    end = BEGIN + ms(args.hours * 3600 if args.hours is not None else events.last)
    if end <= BEGIN:
        raise ConfigurationError(f"{args.record}: it says nothing after its start; --hours says how long it was")
    known = args.beds is not None and args.hours is not None
    spans = tuple(Span(f"bed {n}", BEGIN, end) for n in range(args.beds)) if known else None
    figures = alert_load(events.found.alerts(), Observed(spans), BEGIN, end)
    if known:  # how long, and how many, but not which: no bed has hours of its own
        beds = tuple(replace(bed, hours=(end - BEGIN) / HOUR if bed.bed else None) for bed in figures.noisy_beds)
        figures = replace(figures, noisy_beds=beds)
    return Source(str(args.record), BEGIN, BEGIN), figures


def _read(path: Path) -> _Events:
    found, last = Annunciations(), 0.0
    try:
        with path.open(encoding="utf-8") as file:
            for second, entry in read_events(file, BEGIN):
                last = max(last, second)
                if entry is not None:
                    found.take(entry)
    except (OSError, UnicodeDecodeError) as error:
        raise ConfigurationError(f"{path}: cannot be read: {error}") from None
    except ConfigurationError as error:
        raise ConfigurationError(f"{path}, {error}. Give a hub's record, or what rehearse --events wrote") from None
    return _Events(found, last)
