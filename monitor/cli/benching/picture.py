"""The figures of a bench over the number of beds, as one SVG."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from math import ceil, log2, log10

from monitor.cli.benching.figures import Size
from shared.look.svg import SMALL, TITLE, Sheet, width_of

_WIDE, _HIGH, _LEFT, _TOP, _GAP = 300.0, 190.0, 60.0, 92.0, 76.0
_MARKS = ("", "6 4", "2 3")


@dataclass(frozen=True, slots=True)
class _Panel:
    title: str
    lines: tuple[tuple[str, Callable[[Size], float | None]], ...]


_PANELS = (
    _Panel(
        "Sample to glass, p99, ms",
        (
            ("hub and desk", lambda s: s.spread.p99),
            ("floor", lambda s: s.floor.glass.p99),
            ("PlotWidget", lambda s: None if s.plots is None else s.plots.glass.p99),
        ),
    ),
    _Panel(
        "Processor time, % of a core",
        (
            ("hub and desk", lambda s: s.cpu),
            ("floor", lambda s: s.floor.burden.cpu),
            ("hub alone", lambda s: s.hub.cpu),
        ),
    ),
    _Panel(
        "Full repaint, ms",
        (
            ("board", lambda s: s.repaint_ms),
            ("floor", lambda s: s.floor.drawn.repaint_ms),
            ("PlotWidget", lambda s: None if s.plots is None else s.plots.drawn.repaint_ms),
        ),
    ),
)


def draw(sizes: Sequence[Size]) -> str:
    """Give the SVG; ``sizes`` in rising order."""
    page = Sheet(2 * 24 + len(_PANELS) * (_LEFT + _WIDE + 24))
    page.text(24, 36, "Speed by the number of beds", TITLE, bold=True)
    page.text(24, 58, "Simulated beds. Ratios within one run count; figures are those of this machine.", SMALL)
    for number, panel in enumerate(_PANELS):
        _draw(page, panel, 24 + number * (_LEFT + _WIDE + 24), sizes)
    return page.render(_TOP + _HIGH + _GAP, "Speed by the number of beds")


def _draw(page: Sheet, panel: _Panel, left: float, sizes: Sequence[Size]) -> None:
    x0, bottom = left + _LEFT, _TOP + _HIGH
    values = [value for _, figure in panel.lines for size in sizes if (value := figure(size)) is not None]
    top = _round_up(max((value for value in values if value == value), default=1.0))
    page.text(x0, _TOP - 10, panel.title, bold=True)
    for part in range(5):
        y = bottom - _HIGH * part / 4
        page.segment(x0, y, x0 + _WIDE, y, page.line if part == 0 else page.trough)
        page.text(x0 - 8, y + 4, f"{top * part / 4:g}", SMALL, "end")
    places = {size.beds: x0 + _WIDE * _share(size.beds, sizes) for size in sizes}
    for beds, x in places.items():
        page.text(x, bottom + 18, str(beds), SMALL, "middle")
    key = x0
    for number, (words, figure) in enumerate(panel.lines):
        colour = page.accent if number == 0 else page.ink
        points = [
            (places[size.beds], bottom - _HIGH * value / top)
            for size in sizes
            if (value := figure(size)) is not None and value == value
        ]
        if points:
            page.path(points, colour, 2, dash=_MARKS[number])
        page.path([(key, bottom + 38), (key + 24, bottom + 38)], colour, 2, dash=_MARKS[number])
        page.text(key + 30, bottom + 42, words, SMALL)
        key += 44 + width_of(words, SMALL)


def _share(beds: int, sizes: Sequence[Size]) -> float:
    """Give how far to the right a number of beds stands: each doubling takes as much room."""
    least, most = log2(min(size.beds for size in sizes)), log2(max(size.beds for size in sizes))
    return 0.5 if most == least else (log2(beds) - least) / (most - least)


def _round_up(value: float) -> float:
    """Give the next of 1, 2, 4, 10, 20, 40 and so on."""
    power: float = 10.0 ** ceil(log10(max(value, 1e-3)) - 1)
    return next(step * power for step in (1, 2, 4, 10) if step * power >= value)
