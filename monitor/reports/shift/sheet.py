"""The report on paper: the unit first, then a card for each bed, in the unit's order.

What is open is never cut; of the rest so much is left out, and said to be, that the pages stay few.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path

from monitor.core.grades import RUNG_LABEL, Rung
from monitor.core.point_marks import JOIN_MS, KEY, PointMark
from monitor.core.roster.wall import clock_of, dated
from monitor.reports.in_language import on_paper, paper_of
from monitor.reports.paper import (
    BOTTOM,
    EDGE,
    PLAIN,
    SMALL,
    TOP,
    WIDE,
    Paper,
    application,
    wrapped,
    write_pdf,
)
from monitor.reports.shift.card import (
    ALERTS,
    DIFFERS,
    OPEN,
    TARGETS,
    TOLD,
    UNSEEN,
    Card,
    Section,
    alert_lines,
    card_of,
    open_lines,
    span,
)
from monitor.reports.shift.changes import shown
from monitor.reports.shift.figures import BedFigures, QuantityFigures, RunFigures
from monitor.reports.shift.gather import Gathered
from monitor.reports.shift.readings import Drawn
from shared.instant import MINUTE, Instant
from shared.language.saying import say, to_say
from shared.messages import Origin
from shared.quantities import CATALOGUE

_LINE, _ROW, _HEAD, _GAP = 2.85, 3.0, 4.6, 1.0
#: Three columns: what differs and what is open, which goes on in the middle if it is long; what stands and what was
#: written down; what was read, and the counts under it.
_LEFT, _MIDDLE, _RIGHT = EDGE, 63.0, 112.0
_WIDE, _RIGHT_WIDE = _RIGHT - _MIDDLE - 2.0, WIDE - EDGE - _RIGHT
_SPARK = 21.0
#: Where the values of the table stand beside their names, mm.
_VALUES = 18.5
#: Most lines of a section, from generous to spare; the first with which everything has room on few pages is taken.
_MOST = (30, 20, 12, 8, 6, 5, 4, 3, 2, 1, 0)
_FEW = 2
#: A gap of a feed is told from here on.
_LEAST_GAP_MS = 2 * MINUTE
_OF = to_say("{outside} of {judged}")
#: Sections of a card that may be cut.
_CUT = (TARGETS, TOLD)


@dataclass(frozen=True, slots=True)
class _Line:
    """``first``: not the rest of the one before. ``marks``: no number in it was typed."""

    words: str
    bold: bool = False
    first: bool = True
    marks: bool = True


#: With an empty line above it, to write in.
_SIGNED = (
    _Line(""),
    _Line(
        to_say(
            "Given by ______________________   Taken by ______________________   Time ____________   "
            "Signatures and notes by hand are on this paper alone, not in the record"
        )
    ),
)


@dataclass(frozen=True, slots=True)
class _Block:
    """A card with its lines broken, by column; ``rows``: each quantity with its run."""

    card: Card
    head: tuple[str, ...]
    left: tuple[_Line, ...]
    middle: tuple[_Line, ...]
    right: tuple[_Line, ...]
    rows: tuple[tuple[RunFigures, QuantityFigures], ...]

    @property
    def table(self) -> float:
        """How high the figures are, mm."""
        return (1 + len(self.rows)) * _ROW if self.rows else 0.0

    @property
    def high(self) -> float:
        right = self.table + len(self.right) * _LINE
        inner = max(len(self.left) * _LINE, len(self.middle) * _LINE, right)
        return _HEAD + (len(self.head) - 1) * _LINE + inner + 2.2


def write_report(to: Path, found: Gathered, *, unit: bool = True, notes: Sequence[str] = ()) -> int:
    """Write the report, or with ``unit`` false the cards alone; give how many pages it has. Raises RecordError.

    Args:
        notes: words of whoever hands over; they stand on paper alone.
    """
    kept = application()
    with paper_of(found.standing.files):
        pages = _written(to, found, unit, notes)
    del kept
    return pages


def _written(to: Path, found: Gathered, unit: bool, notes: Sequence[str]) -> int:
    report, zone = found.report, found.standing.configuration.unit.zone
    cards = [(bed, card_of(bed, zone, found.label, report.begin, report.end)) for bed in report.beds]
    lines = [
        *(_unit_lines(found) if unit else []),
        *(_Line(say("Note by hand: {note}", note=note), marks=False) for note in notes),
        *_SIGNED,
    ]
    head = [piece for line in lines for piece in _broken(line, WIDE - 2 * EDGE)]
    blocks, pages = _laid(cards, len(head) * _LINE + _GAP)
    goes_on = say(" (goes on)") if report.goes_on else ""
    marks = " · ".join(
        dict.fromkeys([say("bed labels only"), *(card.mark for _, card in cards if card.mark.isupper())])
    )
    about = f"{report.unit} · {dated(report.begin, zone)} to {dated(report.end, zone)}{goes_on} · {marks}"

    def draw(paper: Paper) -> None:
        y = TOP + 2.0
        for line in head:
            paper.text(EDGE, y + 2.3, line.words, SMALL, bold=line.bold)
            y += _LINE
        y += _GAP
        page = 0
        for block, on in zip(blocks, pages[1:], strict=True):
            if on != page:
                page = on
                paper.turn()
                y = TOP + 0.5
            _draw(paper, block, y, found)
            y += block.high

    title = say("Shift report: {shift}", shift=report.shift).rstrip(": ") if unit else say("Handover cards")
    return write_pdf(to, title, about, draw, found.standing.configuration.unit.drill)


def _laid(cards: Sequence[tuple[BedFigures, Card]], above: float) -> tuple[list[_Block], list[int]]:
    """Lay the cards out with as many lines as go onto few pages, or as cost no page more where it is not few."""
    found: list[tuple[list[_Block], list[int]]] = []
    for most in _MOST:
        blocks = [_block(bed, card, most) for bed, card in cards]
        pages = _pages([above, *(block.high for block in blocks)])
        if pages[-1] < _FEW:
            return blocks, pages
        found.append((blocks, pages))
    return min(found, key=lambda one: one[1][-1])


def _pages(heights: Sequence[float]) -> list[int]:
    """Give the page of each part; no part is broken over two."""
    page, y = 0, TOP + 2.0
    found: list[int] = []
    for high in heights:
        if y + high > BOTTOM and found:
            page, y = page + 1, TOP + 0.5
        found.append(page)
        y += high
    return found


def _broken(line: _Line, wide: float) -> list[_Line]:
    pieces = wrapped(line.words, wide, SMALL, bold=line.bold, marks=line.marks)
    return [_Line(piece, line.bold, first=number == 0) for number, piece in enumerate(pieces)]


def _block(bed: BedFigures, card: Card, most: int) -> _Block:
    lines = {one.title: _section(one, most, _RIGHT_WIDE if one.title == ALERTS else _WIDE) for one in card.sections}
    left = [*lines[DIFFERS], *lines[OPEN], *lines[UNSEEN]]
    middle, right = [*lines[TARGETS], *lines[TOLD]], lines[ALERTS]
    if not bed.runs:  # only what there is
        left = [*lines[OPEN], *lines[UNSEEN]] if bed.open or bed.planned else []
        middle, right = lines[TOLD] if bed.events else [], []
    if bed.carried:
        gone = [item for item in bed.carried if item.until is not None]
        words = say(
            "Carried in: {items}, of these ended since: {ended}",
            items=len(bed.carried),
            ended=len(gone),
        )
        left += _broken(_Line(words), _WIDE)
    left, middle = _evened(left, middle)
    rows = tuple((run, one) for run in bed.runs if run.ended is None for one in run.quantities)
    head = tuple(wrapped(card.head, WIDE - 2 * EDGE - 42.0, PLAIN))
    return _Block(card, head, tuple(left), tuple(middle), tuple(right), rows)


def _section(section: Section, most: int, wide: float) -> list[_Line]:
    """Give a section with its heading; of one that may be cut at most so many lines, each of them said to its end.

    None where it says nothing.
    """
    lines = [piece for one in section.lines for piece in _broken(_Line(one), wide)]
    if section.title in _CUT and len(lines) > most + 1:
        kept = next(at for at in range(most, -1, -1) if lines[at].first)
        more = sum(line.first for line in lines[kept:])
        lines = [*lines[:kept], _Line(on_paper(say("… {more} more: see the bed page", more=more)))]
    return [_Line(on_paper(section.title), bold=True), *lines] if lines else []


def _evened(left: list[_Line], middle: list[_Line]) -> tuple[list[_Line], list[_Line]]:
    """Have the left column go on in the middle where it is the longer one, under its heading once more."""
    half = (len(left) + len(middle) + 2) // 2
    for at in range(half, len(left) - 1):
        if left[at].first and not left[at - 1].bold:
            head = on_paper(say("{heading} (goes on)", heading=_heading(left[:at])))
            again = [] if left[at].bold else [_Line(head, bold=True)]
            return left[:at], [*again, *left[at:], *middle]
    return left, middle


def _heading(lines: Sequence[_Line]) -> str:
    return next(line.words for line in reversed(lines) if line.bold)


def _draw(paper: Paper, block: _Block, y: float, found: Gathered) -> None:
    paper.line(EDGE, y, WIDE - EDGE, y, 0.3)
    paper.text(EDGE, y + 3.9, block.card.bed, 3.6, bold=True)
    paper.text(EDGE + 12, y + 3.7, on_paper(block.card.mark), SMALL, bold=True, room=29.0)
    for number, line in enumerate(block.head):
        paper.text(EDGE + 42, y + 3.7 + number * _LINE, line, PLAIN)
    y += _HEAD + (len(block.head) - 1) * _LINE
    _lines(paper, block.left, _LEFT, y)
    _lines(paper, block.middle, _MIDDLE, y)
    at = y
    if block.rows:
        paper.text(_RIGHT + _VALUES, at + 2.4, on_paper(say("min / median / max")), SMALL * 0.9, room=19.5)
        paper.text(_RIGHT + 39, at + 2.4, on_paper(say("min outside of judged")), SMALL * 0.9, room=28.0)
        begin, end = (clock_of(t, found.standing.configuration.unit.zone) for t in _hours(found))
        paper.text(WIDE - EDGE - _SPARK, at + 2.4, begin, SMALL * 0.9)
        paper.text(WIDE - EDGE, at + 2.4, end, SMALL * 0.9, right=True)
        for run, one in block.rows:
            at += _ROW
            _row(paper, block.card.bed, run, one, at, found)
    _lines(paper, block.right, _RIGHT, y + block.table)


def _hours(found: Gathered) -> tuple[Instant, Instant]:
    return found.report.begin, found.report.end


def _lines(paper: Paper, lines: Sequence[_Line], x: float, y: float) -> None:
    for line in lines:
        paper.text(x, y + 2.3, line.words, SMALL, bold=line.bold)
        y += _LINE


def _row(paper: Paper, bed: str, run: RunFigures, one: QuantityFigures, y: float, found: Gathered) -> None:
    label = run.label(one.quantity) if run.slot == 1 else f"{run.slot}: {run.label(one.quantity)}"
    named = f"{on_paper(label)} {CATALOGUE[one.quantity].unit}".rstrip()
    paper.text(_RIGHT, y + 2.5, named, SMALL, bold=True, room=_VALUES - 1.0)
    if one.low is None or one.median is None or one.high is None:
        paper.text(_RIGHT + _VALUES, y + 2.5, on_paper(say("-- no reading")), SMALL, room=19.5)
    else:
        values = " / ".join(shown(one.quantity, value) for value in (one.low, one.median, one.high))
        paper.text(_RIGHT + _VALUES, y + 2.5, on_paper(values), SMALL)
    if one.minutes is not None:
        m = one.minutes
        rest = f" ({m.not_judged}; {m.no_reading})" if m.not_judged or m.no_reading else ""
        unjudged = say("no target") if m.low is None and m.high is None else say("not judged")
        of = on_paper(_OF).format(outside=m.outside, judged=m.judged)
        words = of if m.judged else on_paper(unjudged)
        room = WIDE - EDGE - _SPARK - (_RIGHT + 39) - 1.0
        paper.text(_RIGHT + 39, y + 2.5, f"{words}{rest}", SMALL, room=room)
    _spark(paper, bed, run, one, y, found)


def _spark(paper: Paper, bed: str, run: RunFigures, one: QuantityFigures, y: float, found: Gathered) -> None:
    """Draw medians of minutes and single readings, bounds of the target, and where nothing was read a hatch."""
    x0, high = WIDE - EDGE - _SPARK, _ROW - 0.5
    paper.line(x0, y + high, x0 + _SPARK, y + high, 0.05)
    drawn = found.drawn[bed, run.slot, one.quantity]
    begin, end = _hours(found)
    since = max(begin, run.began)
    bounds = (one.minutes.low, one.minutes.high) if one.minutes is not None else (None, None)
    values = [*drawn.measured[1].tolist(), *drawn.estimated[1].tolist(), *(value for _, value, _ in drawn.dots)]
    inside = [value for value in (*bounds, *values) if value is not None]
    low, top = (min(inside), max(inside)) if inside else (0.0, 1.0)
    room = (top - low) or 1.0

    def place(at: float, value: float) -> tuple[float, float]:
        return x0 + _SPARK * max(0.0, at - begin) / max(1, end - begin), y + high - (value - low) / room * high

    tile = found.standing.tiles.get(bed)
    by_hand = tile is not None and tile.origin is Origin.ENTERED
    for first, after in _unread(drawn, since, end, JOIN_MS if by_hand else _LEAST_GAP_MS):
        left, right = place(first, low)[0], place(after, low)[0]
        paper.hatch(left, y, right - left, high)
    for bound in bounds:
        if bound is not None:
            level = place(begin, bound)[1]
            paper.line(x0, level, x0 + _SPARK, level, 0.08, dashed=True)
    for medians, dashed in ((drawn.measured, False), (drawn.estimated, True)):
        points = list(zip(medians[0].tolist(), medians[1].tolist(), strict=True))
        for stretch in _stretches(points, 1):
            paper.path([place(number * MINUTE, value) for number, value in stretch], 0.3, dashed=dashed)
    sure = [(at, value) for at, value, marks in drawn.dots if PointMark.DOUBTFUL not in marks]
    for stretch in _stretches(sure, JOIN_MS) if by_hand else ():
        paper.path([place(at, value) for at, value in stretch], 0.1)
    for at, value, marks in drawn.dots:
        paper.dot(*place(at, value), marks)


def _stretches(points: Sequence[tuple[int, float]], apart: int) -> Iterator[list[tuple[int, float]]]:
    """Part points, oldest first, where two are further apart than ``apart``."""
    stretch: list[tuple[int, float]] = []
    for point in points:
        if stretch and point[0] - stretch[-1][0] > apart:
            yield stretch
            stretch = []
        stretch.append(point)
    if stretch:
        yield stretch


def _unread(drawn: Drawn, begin: Instant, end: Instant, least_ms: int) -> Iterator[tuple[Instant, Instant]]:
    """Give the stretches, longer than ``least_ms``, in which nothing was read."""
    minutes = {
        *drawn.measured[0].tolist(),
        *drawn.estimated[0].tolist(),
        *(at // MINUTE for at, _, _ in drawn.dots),
    }
    last = begin
    for first, after in [*((n * MINUTE, (n + 1) * MINUTE) for n in sorted(minutes)), (end, end)]:
        if first - last > least_ms:
            yield last, first
        last = max(last, after)


def _unit_lines(found: Gathered) -> list[_Line]:
    return [*_unit(found)]


def _unit(found: Gathered) -> Iterator[_Line]:
    report, zone = found.report, found.standing.configuration.unit.zone
    whole = report.whole
    a = whole.alerts
    every = a.high + a.medium + a.low
    rate = (
        say("{every:.2f} per bed-hour", every=every / whole.bed_hours)
        if whole.bed_hours
        else say("no bed was watched")
    )
    yield _Line(say("The unit"), bold=True)
    yield _Line(
        say(
            "{every} alerts over {bed_hours:.1f} bed-hours ({rate}); of these without a feed "
            "{silent_hours:.1f} h; besides, the hub did not run for {away_hours:.1f} bed-hours",
            every=every,
            bed_hours=whole.bed_hours,
            rate=rate,
            silent_hours=whole.silent_hours,
            away_hours=whole.away_hours,
        )
    )
    yield from map(_Line, alert_lines(a))
    if whole.longest is not None:
        bed, title, seconds = whole.longest
        yield _Line(
            say("Longest without an answer: {bed}, {title}, {span}", bed=bed, title=title, span=span(seconds))
        )
    minutes = ", ".join(f"{RUNG_LABEL[Rung(rung)]} {m:.0f}" for rung, m in whole.uncovered_min.items())
    yield _Line(say("Uncovered minutes (bedside: bed-minutes): {minutes}", minutes=minutes))
    states = ", ".join(f"{state.replace('_', ' ')} {count}" for state, count in whole.pages.items())
    pages = states or say("none")
    yield _Line(say("Pages by how each stood last (delivery is never known): {pages}", pages=pages))
    if whole.open:
        yield _Line(say("Open: {items}", items="; ".join(open_lines(whole.open, zone, report.begin))))
    for event in whole.configured:
        yield _Line(say("{when} configuration. {words}", when=dated(event.at, zone), words=event.words), bold=True)
    first, last, broken = whole.log
    state = say("as it was written") if broken is None else say("BROKEN at entry {broken}", broken=broken)
    yield _Line(
        say(
            "Log: entries {first} to {last}, {state}. {notes} notes of hub and roster",
            first=first,
            last=last,
            state=state,
            notes=len(whole.events),
        )
    )
    if whole.anew:
        yield _Line(
            say("The program was changed: who stood where, targets and limits were worked out again from "
"all that was told since the record began. Limits that follow from a bed's usual values "
"are left out. Compare with the desk."), bold=True
        )  # fmt: skip
    yield _Line(
        say(
            "Minutes whose median was outside the target's width, of those judged (not judged; "
            "without a reading). Trends: thin dashes: bounds of the target; {key}.",
            key=KEY,
        )
    )
