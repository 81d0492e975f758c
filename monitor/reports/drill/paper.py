"""The facts of a drill on paper, with its band at both ends of each page."""

from collections.abc import Iterator, Mapping
from datetime import tzinfo
from pathlib import Path

from monitor.reports.drill.facts import Done
from monitor.reports.drill.words import clock, head_lines, met_lines, step_lines
from monitor.reports.in_language import paper_of
from monitor.reports.paper import BOTTOM, EDGE, PLAIN, TOP, WIDE, Paper, application, wrapped, write_pdf
from shared.language.saying import say

_LINE, _GAP = 3.6, 2.6


def write_done(to: Path, done: Done, zone: tzinfo, files: Mapping[str, str]) -> int:
    """Write it in the language of the drill's configuration; give how many pages it has. Raises RecordError.

    Args:
        files: the texts of that configuration.
    """
    kept = application()
    about = f"{done.drill.title} · {clock(done.begin, zone)} to {clock(done.end, zone)} · {say('bed labels only')}"

    def draw(paper: Paper) -> None:
        y = TOP + 1.0
        for x, words, bold in _lines(done, zone):
            pieces = wrapped(words, WIDE - EDGE - x, PLAIN, bold=bold) if words else ()
            if y + max(1, len(pieces)) * _LINE > BOTTOM:
                paper.turn()
                y = TOP + 1.0
            for piece in pieces:
                paper.text(x, y + 2.6, piece, PLAIN, bold=bold)
                y += _LINE
            y += 0.0 if pieces else _GAP

    with paper_of(files):
        pages = write_pdf(to, say("What was done in a drill"), about, draw, done.drill)
    del kept
    return pages


def _lines(done: Done, zone: tzinfo) -> Iterator[tuple[float, str, bool]]:
    """Give each line with where it begins, mm, and whether it is bold; an empty one is a gap."""
    for words in head_lines(done, zone):
        yield EDGE, words, False
    for one in done.met:
        yield EDGE, "", False
        for number, words in enumerate(met_lines(one, zone)):
            yield EDGE, words, number == 0
        for after, words in step_lines(one):
            yield EDGE + 6.0, f"{after:<8}{words}", False
    if not done.met:
        yield from ((EDGE, "", False), (EDGE, say("No medium or high alert came up."), False))
    if done.lows:
        yield from ((EDGE, "", False), (EDGE, say("{lows} low alerts, which call nobody.", lows=done.lows), False))
    if done.other:
        yield from ((EDGE, "", False), (EDGE, say("Also written down"), True))
        for step in done.other:
            yield EDGE + 6.0, f"{clock(step.at, zone)}  {step.words}", False
