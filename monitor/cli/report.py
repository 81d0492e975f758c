"""``monitor report``: the report of a shift from a record, as figures for machines or as pages for paper."""

import argparse
import sys
from datetime import date
from pathlib import Path

from pydantic import TypeAdapter

from monitor.cli.as_json import as_json
from monitor.cli.moments import moment_of
from monitor.cli.sources import Source, add_source, opened
from monitor.core.roster.planning import shift_at
from monitor.core.unit import Unit
from monitor.reports.shift.cards import cards_of
from monitor.reports.shift.figures import ShiftReport
from monitor.reports.shift.gather import Gathered, gather
from monitor.reports.shift.hours import shift_hours
from monitor.reports.shift.sheet import write_report
from monitor.reports.shift.standing import standing_at
from shared.errors import ConfigurationError, RecordError
from shared.instant import HOUR, Instant

_HOURS_AT_MOST = 168
_NOTE_AT_MOST = 300
_SUCH_AS = "2026-11-25 07:00"


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Describe the command line."""
    parser.description = (
        "The report of a shift: what differs from its beginning, targets and limits, minutes outside target, "
        "episodes and answers, what is open. The record is only read, also while a hub writes it. It judges "
        "nobody, and calls no patient well."
    )
    add_source(parser, "a record, or a folder with one record")
    parser.add_argument("--shift", metavar="NAME", help="a shift of the unit (default: the one of the last input)")
    parser.add_argument("--date", metavar="DAY", help="the day on which that shift began (default: the newest)")
    parser.add_argument("--from", dest="begin", metavar="TIME", help=f'such as "{_SUCH_AS}", this machine\'s time')
    parser.add_argument("--to", dest="end", metavar="TIME", help="default: the last input of the record")
    parser.add_argument("--pdf", type=Path, metavar="FILE", help="write the pages there")
    parser.add_argument("--hours", type=float, metavar="N", help="the N hours up to the last input")
    parser.add_argument("--cards", action="store_true", help="the handover cards of the beds alone")
    parser.add_argument("--note", action="append", metavar="WORDS", help="with --pdf: your words, on paper alone")
    parser.add_argument(
        "--json", action="store_true", help="the figures, for machines: one JSON object, English in any unit"
    )


def run(args: argparse.Namespace) -> int:
    """Make the report.

    Raises:
        ConfigurationError: an option makes no sense.
        RecordError: the record cannot be read, or TO cannot be written.
    """
    if not (args.pdf or args.json):
        raise ConfigurationError("give --pdf FILE for paper, --json for figures, or both")
    with opened(args) as (record, _):
        found = _gathered(args, record)
    if args.pdf:
        pages = write_report(args.pdf, found, unit=not args.cards, notes=_notes(args))
        print(f"{args.pdf}: {pages} pages", file=sys.stderr)
    if args.json:
        print(_cards(found) if args.cards else _figures(found.report))
    return 0


def _figures(report: ShiftReport) -> str:
    figures: TypeAdapter[ShiftReport] = TypeAdapter(ShiftReport)  # takes a moment, which paper need not wait for
    return as_json(figures.dump_python(report, mode="json"))


def _cards(found: Gathered) -> str:
    return as_json(cards_of(found).model_dump(mode="json"), indent=None)


def _notes(args: argparse.Namespace) -> list[str]:
    notes = [" ".join(note.split()) for note in args.note or ()]
    if any(not note or len(note) > _NOTE_AT_MOST for note in notes):
        raise ConfigurationError(f"--note: write 1 to {_NOTE_AT_MOST} characters, and give --note again for more")
    return notes


def _gathered(args: argparse.Namespace, record: Source) -> Gathered:
    _, last = record.ends()
    if args.hours is not None:
        if args.begin or args.shift or args.date or args.end:
            raise ConfigurationError("--hours says which hours: give no other")
        if not 0 < args.hours <= _HOURS_AT_MOST:
            raise ConfigurationError(f"--hours {args.hours:g}: above 0, at most {_HOURS_AT_MOST}")
        return gather(record.hours(max(0, last + 1 - round(args.hours * HOUR)), last + 1), "", last)
    if args.begin:
        if args.shift or args.date:
            raise ConfigurationError("--from and --shift both say which hours: give one of them")
        begin = moment_of("--from", args.begin, _SUCH_AS)
        end = moment_of("--to", args.end, _SUCH_AS) if args.end else last + 1
        if begin >= end:
            raise ConfigurationError(f"--from {args.begin} is not before --to {args.end or 'the last input'}")
        return gather(record.hours(begin, end), "", last)
    if args.end:
        raise ConfigurationError("--to needs --from")
    unit = _unit(record, last)
    name = args.shift or _running(unit, last)
    begin, end = shift_hours(unit, name, _day(args.date), last)
    return gather(record.hours(begin, end), name, last)


def _unit(record: Source, at: Instant) -> Unit:
    standing = standing_at(record.hours(at - HOUR, at), at)
    if standing is None:
        raise RecordError("the record has not begun: there is nothing to report")
    return standing.configuration.unit


def _running(unit: Unit, at: Instant) -> str:
    stretch = shift_at(unit, at)
    if stretch is None:
        raise ConfigurationError("no shift of the unit runs at the last input: give --shift, or --from and --to")
    return stretch.shift.name


def _day(text: str | None) -> date | None:
    try:
        return date.fromisoformat(text) if text else None
    except ValueError:
        raise ConfigurationError(f'--date "{text}": write the day as 2026-11-25') from None
