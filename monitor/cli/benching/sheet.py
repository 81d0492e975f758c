"""The figures of a bench as plain text: ratios first, then what this machine took, then the targets."""

import platform
from collections.abc import Callable, Iterator, Sequence

from monitor.cli.benching.arithmetic import per_added, ratio
from monitor.cli.benching.figures import Loop, Size
from monitor.cli.benching.targets import judge

_WIDE, _CELL = 50, 12
Figure = Callable[[Size], float | None]

ABOUT = (
    "Ratios decide: they compare what ran on this machine in this run. Absolute figures are those of this",
    "machine under what else it did. The floor is a bare PUB-SUB loop with pydantic and a painter, with the same",
    "beds and rates; it judges, records and alerts nothing. Beds are simulated; the screen is that of Qt's choice.",
)

_RATIOS: tuple[tuple[str, str, Figure], ...] = (
    ("sample to glass p50, times the floor", "{:.1f}", lambda s: ratio(s.spread.p50, s.floor.glass.p50)),
    ("sample to glass p99, times the floor", "{:.1f}", lambda s: s.glass_ratio),
    ("processor time hub + desk, times the floor", "{:.1f}", lambda s: s.cpu_ratio),
    ("full repaint, times the floor", "{:.1f}", lambda s: ratio(s.repaint_ms, s.floor.drawn.repaint_ms)),
    ("full repaint, times PlotWidget tiles", "{:.2f}", lambda s: _of(s.plots, lambda p: s.repaint_ms / p)),
)

_FIGURES: tuple[tuple[str, str, Figure], ...] = (
    ("tiles on the screen", "{:.0f}", lambda s: s.page),
    ("sample to glass p50, ms", "{:.2f}", lambda s: s.spread.p50),
    ("sample to glass p99, ms", "{:.2f}", lambda s: s.spread.p99),
    ("  samples painted", "{:.0f}", lambda s: len(s.spread.ms)),
    ("  changed nothing on the screen", "{:.0f}", lambda s: s.spread.same),
    ("  never seen", "{:.0f}", lambda s: s.spread.lost),
    ("  the floor: p50, ms", "{:.2f}", lambda s: s.floor.glass.p50),
    ("  the floor: p99, ms", "{:.2f}", lambda s: s.floor.glass.p99),
    ("  PlotWidget tiles: p50, ms", "{:.2f}", lambda s: None if s.plots is None else s.plots.glass.p50),
    ("  PlotWidget tiles: p99, ms", "{:.2f}", lambda s: None if s.plots is None else s.plots.glass.p99),
    ("all beds read in one moment: p50, ms", "{:.1f}", lambda s: s.together.p50),
    ("all beds read in one moment: p99, ms", "{:.1f}", lambda s: s.together.p99),
    ("hub, % of a core", "{:.1f}", lambda s: s.hub.cpu),
    ("desk, % of a core", "{:.1f}", lambda s: s.desk.cpu),
    ("  the floor, % of a core", "{:.1f}", lambda s: s.floor.burden.cpu),
    ("  PlotWidget tiles, % of a core", "{:.1f}", lambda s: None if s.plots is None else s.plots.burden.cpu),
    ("hub, MB: its share (PSS)", "{:.0f}", lambda s: s.hub.pss_mb),
    ("hub, MB: its alone (USS)", "{:.0f}", lambda s: s.hub.uss_mb),
    ("desk, MB: its share (PSS)", "{:.0f}", lambda s: s.desk.pss_mb),
    ("desk, MB: its alone (USS)", "{:.0f}", lambda s: s.desk.uss_mb),
    ("hub: start until it speaks, ms", "{:.0f}", lambda s: s.hub_start_ms),
    ("desk: start to first paint, ms", "{:.0f}", lambda s: s.opened.first_paint_ms),
    ("desk: start to all trends on the board, ms", "{:.0f}", lambda s: s.opened.with_past_ms),
    ("  beds with 12 h in the record", "{:.0f}", lambda s: s.past_beds),
    ("full repaint, all drawn anew, ms of a core", "{:.1f}", lambda s: s.repaint_ms),
    ("  a new reading in every tile, as each second", "{:.1f}", lambda s: s.news_ms),
    ("  to take those readings in, ms of a core", "{:.1f}", lambda s: s.take_ms),
    ("  all as it was drawn", "{:.1f}", lambda s: s.words_ms),
    ("  the floor", "{:.1f}", lambda s: s.floor.drawn.repaint_ms),
    ("  PlotWidget tiles", "{:.1f}", lambda s: None if s.plots is None else s.plots.drawn.repaint_ms),
    ("tiles made, ms: the floor", "{:.0f}", lambda s: s.floor.drawn.start_ms),
    ("  PlotWidget tiles", "{:.0f}", lambda s: None if s.plots is None else s.plots.drawn.start_ms),
    ("a review: everything as it stands, ms", "{:.0f}", lambda s: s.asked.snapshot_ms),
    ("  kB on the line", "{:.1f}", lambda s: s.asked.snapshot_bytes / 1000),
    ("a review: 24 h of a run at 1 Hz, ms", "{:.0f}", lambda s: s.asked.history_ms),
    ("  kB on the line", "{:.1f}", lambda s: s.asked.history_bytes / 1000),
    ("load of the machine before", "{:.1f}", lambda s: s.load[0]),
    ("load of the machine after", "{:.1f}", lambda s: s.load[1]),
)


def sheet(sizes: Sequence[Size], seconds: float, cores: int) -> str:
    """Give the whole sheet."""
    return "\n".join(_lines(sizes, seconds, cores))


def _lines(sizes: Sequence[Size], seconds: float, cores: int) -> Iterator[str]:
    yield "BENCH"
    yield from ABOUT
    machine = f"{platform.system()} {platform.machine()}, {cores} cores, Python {platform.python_version()}"
    yield f"{machine}; {seconds:g} s a size, half of that for the floor"
    yield ""
    yield f"{'beds':{_WIDE}}" + "".join(f"{size.beds:>{_CELL}}" for size in sizes)
    yield "Ratios"
    yield from (_row(sizes, *row) for row in _RATIOS)
    yield "This machine"
    yield from (_row(sizes, *row) for row in _FIGURES)
    yield from _rehearsed(sizes)
    yield from _per_bed(sizes)
    yield ""
    yield from _targets(sizes)


def _row(sizes: Sequence[Size], words: str, form: str, figure: Figure) -> str:
    return f"  {words:{_WIDE - 2}}" + "".join(f"{_cell(form, figure(size)):>{_CELL}}" for size in sizes)


def _cell(form: str, value: float | None) -> str:
    return "--" if value is None or value != value else form.format(value)


def _of(plots: Loop | None, figure: Callable[[float], float]) -> float | None:
    return None if plots is None else figure(plots.drawn.repaint_ms)


def _rehearsed(sizes: Sequence[Size]) -> Iterator[str]:
    for size in sizes:
        if size.rehearsed is not None:
            hours, cpu_s = size.rehearsed.bed_hours, size.rehearsed.cpu_s
            per = 1e6 * cpu_s / (hours * 3600)
            took = f"{cpu_s:.1f} s of a core, {per:.0f} µs an observation"
            yield f"  rehearsal: {hours:g} bed-hours at 1 Hz in {took}"


def _per_bed(sizes: Sequence[Size]) -> Iterator[str]:
    if len(sizes) < 2:
        return
    yield "Cost per added bed, from size to size"
    costs: tuple[tuple[str, str, Callable[[Size], float]], ...] = (
        ("hub, % of a core", "{:.3f}", lambda s: s.hub.cpu),
        ("desk, % of a core", "{:.3f}", lambda s: s.desk.cpu),
        ("hub + desk, % of a core", "{:.3f}", lambda s: s.cpu),
        ("  the floor, % of a core", "{:.3f}", lambda s: s.floor.burden.cpu),
        ("hub + desk, MB (PSS)", "{:.3f}", lambda s: s.hub.pss_mb + s.desk.pss_mb),
    )
    for words, form, figure in costs:
        steps = per_added([(size.beds, figure(size)) for size in sizes])
        cells = "".join(f"{form.format(step):>{_CELL}}" for step in steps)
        yield f"  {words:{_WIDE - 2 + _CELL}}{cells}"


def _targets(sizes: Sequence[Size]) -> Iterator[str]:
    judged = judge(sizes)
    for title, decides in (("Targets that decide", True), ("Targets in figures of this machine", False)):
        yield title
        yield from (
            f"  {one.verdict.value:<13} {one.words} ({one.found})" for one in judged if one.decides is decides
        )
