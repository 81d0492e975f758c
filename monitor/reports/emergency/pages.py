"""The emergency cards on paper: a page each, large, a box to tick before each step, and room for two times."""

from collections.abc import Mapping, Sequence
from pathlib import Path

from monitor.core.emergency_cards import NOT_APPROVED, OWN_TEXT, EmergencyCard
from monitor.reports.in_language import on_paper, paper_of
from monitor.reports.paper import BOTTOM, EDGE, TOP, WIDE, Paper, application, broken, write_pdf
from shared.language.saying import say, to_say

#: Sizes of the steps, mm, the largest first at which all of them have room.
_SIZES = (6.5, 6.0, 5.5, 5.0, 4.5, 4.0, 3.5, 3.1, 2.8)
_TITLE, _SMALL, _BOX = 10.0, 3.4, 0.8
_STEPS_TOP, _FOOT = TOP + 27.0, 20.0
_WIDE = WIDE - 2 * EDGE
_OWN = to_say("the unit's own text")


def write_cards(to: Path, unit: str, cards: Sequence[EmergencyCard], files: Mapping[str, str]) -> int:
    """Write a page a card, as its unit wrote it; give how many there are. Raises RecordError where that cannot be.

    Args:
        files: the texts of the configuration, which says in what language the rest of a page is.
    """
    kept = application()

    def draw(paper: Paper) -> None:
        for number, card in enumerate(cards):
            if number:
                paper.turn()
            _draw(paper, card)

    with paper_of(files):
        pages = write_pdf(to, say("Emergency cards"), f"{unit} · {_OWN}", draw)
    del kept
    return pages


def _draw(paper: Paper, card: EmergencyCard) -> None:
    paper.text(EDGE, TOP + 11, card.title, _TITLE, bold=True)
    paper.text(EDGE, TOP + 17.5, on_paper(f"{card.version_words} · {card.approved_words}"), _SMALL, bold=True)
    paper.text(
        EDGE,
        TOP + 22.5,
        on_paper(OWN_TEXT if card.approved_by else NOT_APPROVED),
        _SMALL,
        bold=not card.approved_by,
    )
    size = next((size for size in _SIZES if _high(card, size) <= _room()), _SIZES[-1])
    y = _STEPS_TOP
    for number, step in enumerate(card.steps, start=1):
        y = _step(paper, number, step, size, y)
    y = BOTTOM - 6
    paper.text(
        EDGE,
        y,
        on_paper(say("Bed ________   Off support at ____:____:____   back on support at ____:____:____")),
        _SMALL * 1.2,
    )
    paper.text(
        EDGE,
        y - 8,
        on_paper(say("Date ______________   Read by __________________   Done by __________________")),
        _SMALL * 1.2,
    )


def _step(paper: Paper, number: int, step: str, size: float, y: float) -> float:
    """Draw a step with its box; give where the next one begins."""
    box, base = _BOX * size, y + size
    for x1, y1, x2, y2 in ((0, 0, 1, 0), (1, 0, 1, 1), (1, 1, 0, 1), (0, 1, 0, 0)):
        left, top = EDGE, base - box
        paper.line(left + x1 * box, top + y1 * box, left + x2 * box, top + y2 * box, 0.3)
    paper.text(EDGE + 2.6 * size, base, str(number), size, bold=True, right=True)
    for line in broken(step, _WIDE - 3.2 * size, size):
        paper.text(EDGE + 3.2 * size, y + size, line, size)
        y += 1.25 * size
    return y + 0.7 * size


def _high(card: EmergencyCard, size: float) -> float:
    lines = sum(len(broken(step, _WIDE - 3.2 * size, size)) for step in card.steps)
    return lines * 1.25 * size + len(card.steps) * 0.7 * size


def _room() -> float:
    return BOTTOM - _FOOT - _STEPS_TOP
