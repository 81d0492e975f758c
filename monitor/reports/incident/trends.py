"""The trends of the hours as a picture, in ink alone, so that it prints: a panel a quantity, with marks of alerts.

Every column shows the lowest and the highest reading in it, so that a spike stays; where nothing was read, nothing
is drawn.
"""

from collections.abc import Sequence
from datetime import UTC, datetime
from itertools import pairwise

from monitor.core.entries import EntryKind
from monitor.reports.incident.frozen import Frozen
from shared.cautions import NO_DEVICE, SECOND_LOOK
from shared.instant import SECOND, Instant
from shared.look.svg import PLAIN, SMALL, TITLE, Sheet
from shared.quantities import CATALOGUE, Quantity

SHOWN = (
    Quantity.PUMP_FLOW, Quantity.PUMP_SPEED, Quantity.INLET_PRESSURE, Quantity.PRE_OXYGENATOR_PRESSURE,
    Quantity.POST_OXYGENATOR_PRESSURE, Quantity.MEAN_ARTERIAL_PRESSURE, Quantity.SPO2_RIGHT_HAND,
    Quantity.SWEEP_GAS_FLOW,
)  # fmt: skip
_LEFT, _WIDE, _HIGH, _APART, _TOP = 170.0, 720.0, 76.0, 26.0, 88.0
_COLUMNS = 360
_RAISED = frozenset({EntryKind.RAISED, EntryKind.PROMOTED})


def trends_svg(frozen: Frozen, slot: int) -> str | None:
    """Draw the trends of a run; ``None``: nothing of it was read in those hours."""
    series = [(quantity, found) for quantity in SHOWN if (found := _series(frozen, slot, quantity))]
    if not series:
        return None
    sheet, hours = Sheet(_LEFT + _WIDE + 30), frozen.hours
    first, last = (_clock(at, frozen) for at in (hours.begin, hours.finish))
    sheet.text(16, 28, f"{hours.bed}, pump {slot}: {first} to {last}", TITLE, bold=True)
    sheet.text(16, 48, SECOND_LOOK, SMALL)
    sheet.text(16, 64, NO_DEVICE, SMALL)
    for place, (quantity, samples) in enumerate(series):
        _panel(sheet, _TOP + place * (_HIGH + _APART), frozen, quantity, samples)
    bottom = _TOP + len(series) * (_HIGH + _APART)
    _times(sheet, bottom, frozen)
    return sheet.render(bottom + 40, f"Trends of {hours.bed}")


def _series(frozen: Frozen, slot: int, quantity: Quantity) -> list[tuple[Instant, float]]:
    found = (
        (one.observation.read_at, one.observation.readings[quantity])
        for one in frozen.received
        if one.observation.slot == slot
        and quantity in one.observation.readings
        and quantity not in one.observation.doubtful
    )
    hours = frozen.hours
    return sorted((at, value) for at, value in found if hours.begin <= at <= hours.finish)


def _panel(
    sheet: Sheet, top: float, frozen: Frozen, quantity: Quantity, samples: Sequence[tuple[Instant, float]]
) -> None:
    values = [value for _, value in samples]
    low, high = min(values), max(values)
    room = (high - low) or abs(high) or 1.0
    low, high = low - 0.08 * room, high + 0.08 * room
    label = CATALOGUE[quantity]
    sheet.rect(_LEFT, top, _WIDE, _HIGH, sheet.ground, sheet.line)
    sheet.text(16, top + 18, label.label, PLAIN, bold=True)
    sheet.text(16, top + 36, label.unit, SMALL)
    for value in sorted({min(values), max(values)}):
        shown = f"{value:.{label.decimals}f}".replace("-", "−")
        sheet.text(_LEFT - 6, _y(value, low, high, top) + 4, shown, SMALL, "end")
    for _, entry in frozen.entries:
        if entry.kind in _RAISED and entry.bed == frozen.hours.bed:
            x = _x(entry.at, frozen)
            sheet.segment(x, top, x, top + _HIGH, sheet.accent)
    for lows_and_highs in _stretches(samples, frozen):
        sheet.path([(x, _y(value, low, high, top)) for x, value in lows_and_highs], sheet.ink)


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
    sheet.text(_LEFT, y + 22, "Upright lines: alerts raised. Where nothing was read, nothing is drawn.", SMALL)


def _x(at: Instant, frozen: Frozen) -> float:
    hours = frozen.hours
    return _LEFT + _WIDE * (at - hours.begin) / (hours.finish - hours.begin)


def _y(value: float, low: float, high: float, top: float) -> float:
    return top + _HIGH * (high - value) / (high - low)


def _clock(at: Instant, frozen: Frozen) -> str:
    return f"{datetime.fromtimestamp(at // SECOND, UTC).astimezone(frozen.zone):%Y-%m-%d %H:%M}"
