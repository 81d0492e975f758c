"""The figures of the handover cards as a desk shows them: by the words of the paper, with its marks in words."""

from collections.abc import Iterator

from monitor.core.cards import BedCard, CardFigures, CardRow
from monitor.reports.shift.card import MARKS, alert_lines, open_lines
from monitor.reports.shift.figures import BedFigures, QuantityFigures, RunFigures
from monitor.reports.shift.gather import Gathered
from shared.quantities import CATALOGUE


def cards_of(found: Gathered) -> CardFigures:
    """Give the cards of all beds."""
    report, zone = found.report, found.standing.configuration.unit.zone
    beds = tuple(
        BedCard(
            bed=bed.bed,
            runs=tuple(run.description.run_id for run in bed.runs if run.ended is None and run.description),
            changes=bed.changes,
            open=tuple(map(_graded, open_lines(bed.open, zone, report.begin))),
            alerts=tuple(map(_unmarked, alert_lines(bed.alerts))),
            rows=tuple(_rows(bed)),
        )
        for bed in report.beds
    )
    of_unit = tuple(map(_graded, open_lines(report.whole.open, zone, report.begin)))
    return CardFigures(begin=report.begin, end=report.end, beds=beds, open=of_unit)


def _graded(line: str) -> str:
    """``▲ Flow low`` is ``High: Flow low``; what is no alert has no grade."""
    for grade, mark in MARKS.items():
        if line.startswith(f"{mark} "):
            words = line.removeprefix(f"{mark} ")
            return words if grade is None else f"{grade.capitalize()}: {words}"
    return line


def _unmarked(line: str) -> str:
    for mark in MARKS.values():
        line = line.replace(f"{mark} ", "")
    return line


def _rows(bed: BedFigures) -> Iterator[CardRow]:
    for run in bed.runs:
        if run.ended is None:
            yield from (_row(run, one) for one in run.quantities)


def _row(run: RunFigures, one: QuantityFigures) -> CardRow:
    minutes = one.minutes
    both = one.first is not None and one.last is not None
    return CardRow(
        slot=run.slot,
        quantity=one.quantity,
        label=run.label(one.quantity),
        unit=CATALOGUE[one.quantity].unit,
        low=one.low,
        median=one.median,
        high=one.high,
        change=(one.last or 0.0) - (one.first or 0.0) if both else None,
        outside=minutes.outside if minutes is not None else None,
        judged=minutes.judged if minutes is not None else None,
        not_judged=minutes.not_judged if minutes is not None else None,
        no_reading=minutes.no_reading if minutes is not None else None,
        has_target=minutes is not None and (minutes.low, minutes.high) != (None, None),
    )
