"""The downtime sheet on paper: rungs and telephones, then every bed in the unit's order, in black and white."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import tzinfo
from pathlib import Path

from monitor.core.roster.wall import dated
from monitor.core.view import TileView
from monitor.reports.downtime.moment import LastMoment
from monitor.reports.downtime.words import (
    ValueRow,
    head_words,
    open_words,
    origin_words,
    phone_words,
    rung_words,
    standing_words,
    value_rows,
)
from monitor.reports.in_language import on_paper, paper_of
from monitor.reports.paper import BOTTOM, EDGE, PLAIN, SMALL, TOP, WIDE, Paper, application, wrapped, write_pdf
from shared.cautions import PAGES
from shared.instant import MINUTE, Instant
from shared.language.saying import say, to_say

_LINE, _ROW, _HEAD, _GAP = 3.0, 3.3, 5.0, 2.4
#: The two halves of a page, and the columns within a half, mm from its left edge.
_HALF = (WIDE - 2 * EDGE) / 2
_VALUE, _READ, _TARGET, _LIMITS = 17.0, 37.0, 59.0, 70.0
_COLUMNS = (
    (_VALUE, _READ, to_say("last value")),
    (_READ, _TARGET, to_say("read, age")),
    (_TARGET, _LIMITS, to_say("target")),
    (_LIMITS, _HALF - 3.0, to_say("limits")),
)
#: A record that ends so long before the sheet was made is not of now.
_OLD_MS = 2 * MINUTE
_USE = to_say("For when the board is dark. Each value is of the time beside it: look at the console, at the bed.")


@dataclass(frozen=True, slots=True)
class _Line:
    """``marks``: no number in it was typed."""

    words: str
    bold: bool = False
    marks: bool = True


@dataclass(frozen=True, slots=True)
class _Run:
    title: str
    rows: tuple[ValueRow, ...]

    @property
    def half(self) -> int:
        return -(-len(self.rows) // 2)


@dataclass(frozen=True, slots=True)
class _Bed:
    tile: TileView
    head: str
    mark: str
    lines: tuple[_Line, ...]
    runs: tuple[_Run, ...]

    @property
    def high(self) -> float:
        table = sum(_ROW * (run.half + 1) + (_LINE if run.title else 0.0) for run in self.runs)
        return _HEAD + len(self.lines) * _LINE + table + _GAP


def write_sheet(to: Path, found: LastMoment, made_at: Instant) -> int:
    """Write the sheet; give how many pages it has. ``made_at``: now. Raises RecordError where it cannot be."""
    kept = application()
    with paper_of(found.files):
        pages = _written(to, found, made_at)
    del kept
    return pages


def _written(to: Path, found: LastMoment, made_at: Instant) -> int:
    zone = found.configuration.unit.zone
    head = [piece for line in _unit(found, made_at) for piece in _broken(line, WIDE - 2 * EDGE)]
    beds = [_bed(found, tile) for tile in found.tiles]
    marks = " · ".join(dict.fromkeys([say("bed labels only"), *(bed.mark for bed in beds if bed.mark)]))
    about = say("{name} · as of {when} · {marks}", name=found.unit.name, when=dated(found.at, zone), marks=marks)

    def draw(paper: Paper) -> None:
        y = _draw_lines(paper, head, TOP + 1.0) + 1.0
        y = _draw_phones(paper, phone_words(found.unit), y) + _GAP
        for bed in beds:
            if y + bed.high > BOTTOM:
                paper.turn()
                y = TOP + 0.5
            _draw_bed(paper, bed, y)
            y += bed.high

    return write_pdf(to, say("Downtime sheet: all beds"), about, draw, found.configuration.unit.drill)


def _unit(found: LastMoment, made_at: Instant) -> Iterator[_Line]:
    zone = found.configuration.unit.zone
    yield _Line(_USE, bold=True)
    if made_at - found.at >= _OLD_MS:
        yield _Line(
            say("Made {when} of a record that ENDS {ends}.", when=dated(made_at, zone), ends=dated(found.at, zone)),
            bold=True,
        )
    yield _Line(say("Who stands on each rung, and the number to ring"), bold=True)
    yield from (_Line(words, marks=False) for words in rung_words(found.unit, zone))
    for words in open_words(found.unit.episodes, found.unit, zone):
        yield _Line(say("Open in the unit: {words}", words=words), bold=True)
    yield _Line(PAGES)
    yield _Line(say("Telephone list"), bold=True)


def _bed(found: LastMoment, tile: TileView) -> _Bed:
    zone, unit = found.configuration.unit.zone, found.unit
    lines = [_Line(words, bold=True) for words in open_words(tile.episodes, unit, zone)]
    if tile.runs and tile.stale:
        lines.append(_Line(say("Not judged: readings are too old, or there were none"), bold=True))
    elif tile.runs and not lines:
        lines = [_Line(say("No open alert. That is no evidence of safety."))]
    lines += [_Line(words) for words in standing_words(tile, unit, found.at, zone)]
    broken = tuple(piece for line in lines for piece in _broken(line, WIDE - 2 * EDGE - 14))
    return _Bed(tile, head_words(tile, unit, found.at), origin_words(tile), broken, tuple(_runs(found, tile, zone)))


def _runs(found: LastMoment, tile: TileView, zone: tzinfo) -> Iterator[_Run]:
    for run in tile.runs:
        slot = run.description.slot
        rows = tuple(value_rows(run, found.readings.get((tile.bed, slot)), found.at, zone))
        yield _Run(f"{say('Pump')} {slot}" if len(tile.runs) > 1 else "", rows)


def _broken(line: _Line, wide: float) -> list[_Line]:
    return [_Line(piece, line.bold) for piece in wrapped(line.words, wide, PLAIN, line.bold, line.marks)]


def _draw_lines(paper: Paper, lines: Sequence[_Line], y: float, x: float = EDGE) -> float:
    for line in lines:
        paper.text(x, y + 2.4, line.words, PLAIN, bold=line.bold)
        y += _LINE
    return y


def _draw_phones(paper: Paper, phones: Sequence[str], y: float) -> float:
    columns = 4
    wide, rows = (WIDE - 2 * EDGE) / columns, -(-len(phones) // columns)
    for place, words in enumerate(phones):
        paper.text(EDGE + (place // rows) * wide, y + (place % rows) * _LINE + 2.4, words, PLAIN)
    return y + rows * _LINE


def _draw_bed(paper: Paper, bed: _Bed, y: float) -> None:
    paper.line(EDGE, y, WIDE - EDGE, y, 0.3)
    paper.text(EDGE, y + 4.1, bed.tile.bed, 3.8, bold=True)
    paper.text(EDGE + 14, y + 3.9, on_paper(bed.head), PLAIN, bold=True, room=WIDE - 2 * EDGE - 44)
    paper.text(WIDE - EDGE, y + 3.9, on_paper(bed.mark), SMALL, bold=True, right=True)
    y = _draw_lines(paper, bed.lines, y + _HEAD, EDGE + 14)
    for run in bed.runs:
        if run.title:
            y = _draw_lines(paper, [_Line(on_paper(run.title), bold=True)], y)
        for half in range(2 if len(run.rows) > 1 else 1):
            left = EDGE + half * _HALF
            for x, end, title in _COLUMNS:
                paper.text(left + x, y + 2.3, on_paper(title), SMALL * 0.9, room=end - x - 0.5)
            for number, row in enumerate(run.rows[half * run.half : (half + 1) * run.half]):
                _draw_row(paper, row, left, y + _ROW * (number + 1))
        y += _ROW * (run.half + 1)


def _draw_row(paper: Paper, row: ValueRow, x: float, y: float) -> None:
    paper.line(x, y, x + _HALF - 3, y, 0.05)
    paper.text(x, y + 2.5, on_paper(row.label), SMALL, room=_VALUE - 0.5)
    paper.text(x + _VALUE, y + 2.5, on_paper(row.value), SMALL, bold=True, room=_READ - _VALUE - 0.5)
    paper.text(x + _READ, y + 2.5, on_paper(row.read), SMALL, room=_TARGET - _READ - 0.5)
    paper.text(x + _TARGET, y + 2.5, on_paper(row.target), SMALL, room=_LIMITS - _TARGET - 0.5)
    paper.text(x + _LIMITS, y + 2.5, on_paper(row.limits), SMALL, room=_HALF - 3.0 - _LIMITS)
