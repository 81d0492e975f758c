"""Bars of time: for each class its lanes, a dot where each is called first, ticks where it is called again."""

from collections.abc import Sequence
from dataclasses import dataclass

from shared.look.svg import SMALL, TITLE, Sheet

_MARGIN, _LABELS, _LANE = 24, 160, 22
_TICKS = 3


@dataclass(frozen=True, slots=True)
class Lane:
    """One lane. ``called_s``: first call, ``None``: never. ``again_s``: further calls, of which a few are drawn."""

    label: str
    called_s: float | None
    again_s: tuple[float, ...] = ()


@dataclass(frozen=True, slots=True)
class Class:
    """A class of alert with its lanes; ``after`` says what follows the last call."""

    title: str
    lanes: tuple[Lane, ...]
    after: str


def clock(seconds: float) -> str:
    """Write seconds as m:ss."""
    return f"{int(seconds) // 60}:{int(seconds) % 60:02d}"


def draw_bars(title: str, below: Sequence[str], classes: Sequence[Class], width: float = 1060) -> str:
    """Give the SVG of all classes under one scale of time, from 0 to the last call that is drawn."""
    sheet = Sheet(width)
    sheet.text(_MARGIN, 36, title, TITLE, bold=True)
    y = 58.0
    for line in below:
        sheet.text(_MARGIN, y, line, SMALL)
        y += 16
    last = max(at for one in classes for lane in one.lanes for at in (lane.called_s or 0, *lane.again_s[:_TICKS]))
    scale = (width - 2 * _MARGIN - _LABELS - 20) / last
    for one in classes:
        y = _draw_class(sheet, one, y + 20, scale)
    return sheet.render(y + 16, title)


def _draw_class(sheet: Sheet, one: Class, y: float, scale: float) -> float:
    sheet.text(_MARGIN, y + 12, one.title, bold=True)
    sheet.text(sheet.width - _MARGIN, y + 12, one.after, SMALL, "end")
    y += 22
    zero, end = _MARGIN + _LABELS, sheet.width - _MARGIN
    for lane in one.lanes:
        middle = y + _LANE / 2
        sheet.text(_MARGIN, middle + 4, lane.label, SMALL)
        sheet.segment(zero, middle, end, middle, sheet.trough, 10)
        if lane.called_s is not None:
            x = zero + lane.called_s * scale
            sheet.segment(x, middle, end, middle, sheet.line, 2)
            for again in lane.again_s[:_TICKS]:
                tick = zero + again * scale
                sheet.segment(tick, middle - 8, tick, middle + 8, sheet.accent, 3)
            sheet.dot(x, middle, sheet.accent)
            sheet.text(zero - 14, middle + 4, clock(lane.called_s), SMALL, "end")
        y += _LANE
    return y
