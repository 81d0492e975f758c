"""A state machine as columns: one for each state, and below them one arrow for each way from state to state.

Every arrow has a row of its own, so nothing can cross or cover anything, however many rows a table has.
"""

from collections.abc import Sequence
from dataclasses import dataclass

from shared.look.svg import PLAIN, SMALL, TITLE, Sheet, width_of, wrapped

_MARGIN, _PITCH, _LEAST_BOX = 24, 210, 110
_LINE = 16


@dataclass(frozen=True, slots=True)
class Way:
    """From one state to another (or to itself), with what causes it and what it does."""

    before: str
    after: str
    words: str


def draw_columns(title: str, below: Sequence[str], states: Sequence[str], ways: Sequence[Way]) -> str:
    """Give the SVG of a state machine; ``below`` are lines of explanation under the title."""
    sheet = Sheet(max(3 * _MARGIN + len(states) * _PITCH, 2 * _MARGIN + max(width_of(t, SMALL) for t in below)))
    sheet.text(_MARGIN, 36, title, TITLE, bold=True)
    y = 58.0
    for line in below:
        sheet.text(_MARGIN, y, line, SMALL)
        y += _LINE
    top = y + 8
    places = {state: _MARGIN + _LEAST_BOX / 2 + 20 + number * _PITCH for number, state in enumerate(states)}
    rows = [(way, _lines(way, places)) for way in ways]
    bottom = top + 36 + sum(_height(way, lines) for way, lines in rows) + 8
    for state, x in places.items():
        wide = max(_LEAST_BOX, width_of(state, PLAIN) + 16)
        sheet.segment(x, top + 28, x, bottom, sheet.line)
        sheet.rect(x - wide / 2, top, wide, 28, sheet.trough, sheet.line)
        sheet.text(x, top + 19, state, PLAIN, "middle", bold=True)
    y = top + 36
    for way, lines in rows:
        _draw_way(sheet, way, lines, places, y)
        y += _height(way, lines)
    return sheet.render(bottom + 16, title)


def _lines(way: Way, places: dict[str, float]) -> list[str]:
    room = abs(places[way.after] - places[way.before]) - 24 if way.before != way.after else _PITCH - 48
    return wrapped(way.words, room, SMALL)


def _height(way: Way, lines: list[str]) -> float:
    return max(len(lines) * _LINE + 8, 30) + 8 if way.before == way.after else len(lines) * _LINE + 18


def _draw_way(sheet: Sheet, way: Way, lines: list[str], places: dict[str, float], y: float) -> None:
    here, there = places[way.before], places[way.after]
    if way.before == way.after:
        sheet.loop(here, y + 8)
        for number, line in enumerate(lines):
            sheet.text(here + 30, y + 16 + number * _LINE, line, SMALL)
        return
    wide = max(width_of(line, SMALL) for line in lines)
    middle = (here + there) / 2
    sheet.rect(middle - wide / 2 - 2, y + 2, wide + 4, len(lines) * _LINE, sheet.ground)
    for number, line in enumerate(lines):
        sheet.text(middle, y + 14 + number * _LINE, line, SMALL, "middle")
    sheet.arrow(here, there, y + len(lines) * _LINE + 8)
