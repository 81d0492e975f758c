"""The trends of the hours as a picture, in ink alone, so that it prints: a panel a quantity, with marks of alerts.

Every column shows the lowest and the highest reading in it, so that a spike stays; where nothing was read, there is
a hatch. Sets entered by hand, their newest versions alone, and doubtful readings are drawn one by one.
"""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import UTC, datetime
from itertools import pairwise

from monitor.core.entries import EntryKind
from monitor.core.point_marks import BY_HAND, JOIN_MS, KEY, MEASURED, Marks, PointMark, marks_of, set_marks
from monitor.core.titles import number
from monitor.record.editions import SetStanding, editions_of, newest_of, standing_of
from monitor.reports.incident.frozen import Frozen
from shared.cautions import DRILL, NO_DEVICE, SECOND_LOOK
from shared.instant import SECOND, Instant
from shared.look.svg import PLAIN, SMALL, TITLE, Sheet, wrapped
from shared.messages import Observation
from shared.quantities import CATALOGUE, Quantity
from shared.support import RunDescription, label_at

SHOWN = (
    Quantity.PUMP_FLOW, Quantity.PUMP_SPEED, Quantity.INLET_PRESSURE, Quantity.PRE_OXYGENATOR_PRESSURE,
    Quantity.POST_OXYGENATOR_PRESSURE, Quantity.MEAN_ARTERIAL_PRESSURE, Quantity.SPO2_RIGHT_HAND,
    Quantity.SWEEP_GAS_FLOW,
)  # fmt: skip
_LEFT, _WIDE, _HIGH, _APART, _TOP = 170.0, 720.0, 76.0, 26.0, 88.0
_COLUMNS = 360
#: A panel shows so many steps of the last digit at the least: what does not move is no wild line.
_LEAST_STEPS = 10
#: What is drawn one by one.
_SINGLE = BY_HAND | {PointMark.DOUBTFUL}
_RAISED = frozenset({EntryKind.RAISED, EntryKind.FOLDED, EntryKind.PROMOTED})


def trends_svg(frozen: Frozen, slot: int, run: RunDescription | None = None) -> str | None:
    """Draw the trends of a run, as it was when the hours began; ``None``: nothing of it was read in them."""
    series = [(quantity, found) for quantity in SHOWN if (found := _series(frozen, slot, quantity))]
    if not series:
        return None
    sheet, hours = Sheet(_LEFT + _WIDE + 30), frozen.hours
    first, last = (_clock(at, frozen) for at in (hours.begin, hours.finish))
    sheet.text(16, 28, f"{hours.bed}, pump {slot}: {first} to {last}", TITLE, bold=True)
    sheet.text(16, 48, SECOND_LOOK, SMALL)
    sheet.text(16, 64, NO_DEVICE, SMALL)
    if frozen.unit.drill is not None:
        sheet.text(16, 12, DRILL, SMALL, bold=True)
    for place, (quantity, samples) in enumerate(series):
        label = CATALOGUE[quantity].label if run is None else label_at(quantity, run)
        _panel(sheet, _TOP + place * (_HIGH + _APART), frozen, quantity, label, samples)
    bottom = _TOP + len(series) * (_HIGH + _APART)
    _times(sheet, bottom, frozen)
    return sheet.render(bottom + 70, f"Trends of {hours.bed}")


@dataclass(frozen=True, slots=True)
class _Point:
    at: Instant
    value: float
    marks: Marks


def _series(frozen: Frozen, slot: int, quantity: Quantity) -> list[_Point]:
    said = [one.observation for one in frozen.received if one.observation.slot == slot]
    newest = newest_of(editions_of(said))
    entered = {one.edition.set: one.entered_at for one in reversed(said) if one.edition is not None}
    hours = frozen.hours
    found = [
        _Point(one.read_at, one.readings[quantity], _marks(one, quantity, entered, frozen))
        for one in said
        if quantity in one.readings
        and standing_of(one, newest) in (SetStanding.COUNTS, SetStanding.CORRECTED)
        and hours.begin <= one.read_at <= hours.finish
    ]
    return sorted(found, key=lambda point: point.at)


def _marks(said: Observation, quantity: Quantity, entered: Mapping[str, Instant | None], frozen: Frozen) -> Marks:
    """Give the marks of a reading; a corrected set is late by its first version."""
    marks = marks_of(said, frozen.late_s).get(quantity, MEASURED)
    if said.edition is None or said.edition.version == 1:
        return marks
    by_set = set_marks(said.read_at, entered[said.edition.set], said.edition.version, frozen.late_s)
    return (marks - {PointMark.LATE}) | by_set


def _panel(
    sheet: Sheet, top: float, frozen: Frozen, quantity: Quantity, label: str, samples: Sequence[_Point]
) -> None:
    values = [point.value for point in samples]
    spec = CATALOGUE[quantity]
    least, most = min(values), max(values)
    room = max(most - least, _LEAST_STEPS * 10**-spec.decimals)
    low, high = ((least + most - room) / 2 - 0.08 * room, (least + most + room) / 2 + 0.08 * room)
    sheet.rect(_LEFT, top, _WIDE, _HIGH, sheet.ground, sheet.line)
    sheet.text(16, top + 18, label, PLAIN, bold=True)
    sheet.text(16, top + 36, spec.unit, SMALL)
    for value, shown in _ends(least, most, high - low, spec.decimals):
        sheet.text(_LEFT - 6, _y(value, low, high, top) + 4, shown, SMALL, "end")
    for _, entry in frozen.entries:
        if entry.kind in _RAISED and entry.bed == frozen.hours.bed:
            x = _x(entry.at, frozen)
            sheet.segment(x, top, x, top + _HIGH, sheet.accent)
    lines = [point for point in samples if not point.marks & _SINGLE]
    by_hand = not lines
    for begin, end in _unread(samples, frozen, JOIN_MS if by_hand else _apart_ms(lines)):
        sheet.hatch(_x(begin, frozen), top, _x(end, frozen) - _x(begin, frozen), _HIGH, sheet.line)
    for guessed in (False, True):
        these = [(point.at, point.value) for point in lines if (PointMark.ESTIMATED in point.marks) == guessed]
        for lows_and_highs in _stretches(these, frozen):
            points = [(x, _y(value, low, high, top)) for x, value in lows_and_highs]
            sheet.path(points, sheet.ink, dash="5 3" if guessed else "")
    sure = [point for point in samples if point.marks >= BY_HAND and PointMark.DOUBTFUL not in point.marks]
    for before, after in pairwise(sure) if by_hand else ():
        if after.at - before.at <= JOIN_MS:
            ends = [(_x(point.at, frozen), _y(point.value, low, high, top)) for point in (before, after)]
            sheet.path(ends, sheet.ink, 0.8)
    for point in samples:
        if point.marks & _SINGLE:
            _dot(sheet, _x(point.at, frozen), _y(point.value, low, high, top), point.marks)


def _ends(least: float, most: float, span: float, decimals: int) -> list[tuple[float, str]]:
    """Give the lowest and highest as they are written, where; in one where they would stand on one another."""
    texts = [number(value, decimals) for value in (least, most)]
    if texts[0] == texts[1]:
        return [((least + most) / 2, texts[0])]
    if (most - least) / span * _HIGH < SMALL + 2:
        return [((least + most) / 2, f"{texts[0]} to {texts[1]}")]
    return [(least, texts[0]), (most, texts[1])]


def _dot(sheet: Sheet, x: float, y: float, marks: Marks) -> None:
    """Draw a single reading: hollow if late, ticked if corrected, underlined if unchecked, doubtful: a square."""
    if PointMark.DOUBTFUL in marks:
        sheet.rect(x - 2.5, y - 2.5, 5, 5, sheet.ground, sheet.ink)
    else:
        sheet.ring(x, y, 2.6, sheet.ground if PointMark.LATE in marks else sheet.ink, sheet.ink)
    if PointMark.CORRECTED in marks:
        sheet.segment(x, y - 4, x, y - 8, sheet.ink, 1.3)
    if PointMark.UNCHECKED in marks:
        sheet.segment(x - 4, y + 5.5, x + 4, y + 5.5, sheet.ink, 1.3)


def _apart_ms(lines: Sequence[_Point]) -> int:
    """Give how far readings of a feed are apart before nothing counts as read between them."""
    steps = sorted(later.at - point.at for point, later in pairwise(lines))
    return max(45 * SECOND, 3 * steps[len(steps) // 2]) if steps else 45 * SECOND


def _unread(samples: Sequence[_Point], frozen: Frozen, least_ms: int) -> Iterator[tuple[Instant, Instant]]:
    times = [frozen.hours.begin, *(point.at for point in samples), frozen.hours.finish]
    yield from ((before, after) for before, after in pairwise(times) if after - before > least_ms)


def _stretches(samples: Sequence[tuple[Instant, float]], frozen: Frozen) -> list[list[tuple[float, float]]]:
    """Give lowest and highest of every column, in stretches without a gap."""
    wide = (frozen.hours.finish - frozen.hours.begin) / _COLUMNS
    columns: dict[int, list[float]] = {}
    for at, value in samples:
        columns.setdefault(int((at - frozen.hours.begin) / wide), []).append(value)
    steps = sorted(later - at for (at, _), (later, _) in pairwise(samples))
    apart = max(1.0, 3 * steps[len(steps) // 2] / wide) if steps else 1.0
    stretches: list[list[tuple[float, float]]] = []
    last: int | None = None
    for column, values in columns.items():
        x = _LEFT + column * _WIDE / _COLUMNS
        points = [(x, value) for value in dict.fromkeys((values[0], min(values), max(values), values[-1]))]
        if last is None or column - last > apart:
            stretches.append([])
        stretches[-1].extend(points)
        last = column
    return stretches


def _times(sheet: Sheet, y: float, frozen: Frozen) -> None:
    hours = frozen.hours
    for part in range(7):
        at = hours.begin + round((hours.finish - hours.begin) * part / 6)
        sheet.text(_x(at, frozen), y, _clock(at, frozen)[-5:], SMALL, "middle")
    said = wrapped(f"Upright lines: alerts raised. {KEY[0].upper()}{KEY[1:]}.", _WIDE, SMALL)
    for place, words in enumerate(said):
        sheet.text(_LEFT, y + 22 + 16 * place, words, SMALL)


def _x(at: Instant, frozen: Frozen) -> float:
    hours = frozen.hours
    return _LEFT + _WIDE * (at - hours.begin) / (hours.finish - hours.begin)


def _y(value: float, low: float, high: float, top: float) -> float:
    return top + _HIGH * (high - value) / (high - low)


def _clock(at: Instant, frozen: Frozen) -> str:
    return f"{datetime.fromtimestamp(at // SECOND, UTC).astimezone(frozen.zone):%Y-%m-%d %H:%M}"
