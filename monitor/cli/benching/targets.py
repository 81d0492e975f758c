"""What the figures of a bench are held to. A target that was not measured is told as such, and never left out."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from enum import StrEnum

from monitor.cli.benching.arithmetic import is_flat_or_falling, per_added
from monitor.cli.benching.figures import Size, size_of

GLASS_RATIO, GLASS_MS = 6.0, 10.0
CPU_RATIO, CPU_SHARE = 3.0, 8.0
REPAINT_MS, FIRST_PAINT_MS, WITH_PAST_MS = 16.7, 1000.0, 2000.0
MEMORY_MB = 300.0
REHEARSE_BED_HOURS, REHEARSE_S = 24.0, 10.0


class Verdict(StrEnum):
    """What became of a target."""

    MET = "met"
    NOT_MET = "NOT MET"
    NOT_MEASURED = "not measured"


@dataclass(frozen=True, slots=True)
class Judged:
    """A target, what was found, and the verdict. ``decides``: a ratio; else a figure of this machine."""

    words: str
    found: str
    verdict: Verdict
    decides: bool


def judge(sizes: Sequence[Size]) -> list[Judged]:
    """Hold the figures to every target, in the order in which they are told."""
    found: list[Judged] = []
    for beds in (24, 64):
        size = size_of(sizes, beds)
        words = f"sample to glass, p99 at {beds} beds: at most {GLASS_RATIO:g} times the floor's"
        found.append(_at_most(words, size, lambda s: s.glass_ratio, GLASS_RATIO, "{:.1f} times", decides=True))
    at_24, at_64 = size_of(sizes, 24), size_of(sizes, 64)
    words = f"hub and desk at 24 beds: at most {CPU_RATIO:g} times the floor's processor time"
    found.append(_at_most(words, at_24, lambda s: s.cpu_ratio, CPU_RATIO, "{:.1f} times", decides=True))
    found.append(_cost_per_bed(sizes))
    for beds, size in ((24, at_24), (64, at_64)):
        words = f"sample to glass, p99 at {beds} beds: under {GLASS_MS:g} ms"
        found.append(_at_most(words, size, lambda s: s.spread.p99, GLASS_MS, "{:.1f} ms"))
    words = f"hub and desk at 24 beds: under {CPU_SHARE:g} % of a core"
    found.append(_at_most(words, at_24, lambda s: s.cpu, CPU_SHARE, "{:.1f} %"))
    of_all = (
        ("full repaint at 64 tiles, all drawn anew", lambda s: s.repaint_ms),
        ("a new reading in each of 64 tiles, painted", lambda s: s.news_ms),
    )
    for words, figure in of_all:
        found.append(
            _at_most(f"{words}: under {REPAINT_MS:g} ms", _with_64_tiles(at_64), figure, REPAINT_MS, "{:.1f} ms")
        )
    words = f"start to first paint at 24 beds: under {FIRST_PAINT_MS / 1000:g} s"
    found.append(_at_most(words, at_24, lambda s: s.opened.first_paint_ms, FIRST_PAINT_MS, "{:.0f} ms"))
    words = f"with 12 h of 24 beds in the record, trends on the board: within {WITH_PAST_MS / 1000:g} s"
    found.append(_at_most(words, at_24, lambda s: s.opened.with_past_ms, WITH_PAST_MS, "{:.0f} ms"))
    words = f"memory of hub and desk at 24 beds: under {MEMORY_MB:g} MB"
    found.append(_at_most(words, at_24, lambda s: s.hub.pss_mb + s.desk.pss_mb, MEMORY_MB, "{:.0f} MB (PSS)"))
    found.append(_rehearsal(sizes))
    return found


def _with_64_tiles(size: Size | None) -> Size | None:
    return size if size is not None and size.page >= 64 else None


def _at_most(
    words: str,
    size: Size | None,
    figure: Callable[[Size], float | None],
    most: float,
    form: str,
    *,
    decides: bool = False,
) -> Judged:
    value = None if size is None else figure(size)
    if value is None or value != value:
        return Judged(words, "--", Verdict.NOT_MEASURED, decides)
    return Judged(words, form.format(value), Verdict.MET if value <= most else Verdict.NOT_MET, decides)


def _cost_per_bed(sizes: Sequence[Size]) -> Judged:
    words = "processor time per added bed, up to 256: falling or flat"
    if size_of(sizes, 256) is None or len(sizes) < 3:
        return Judged(words, "--", Verdict.NOT_MEASURED, True)
    costs = per_added([(size.beds, size.cpu) for size in sizes])
    found = " ".join(f"{cost:.3f}" for cost in costs) + " % of a core"
    return Judged(words, found, Verdict.MET if is_flat_or_falling(costs) else Verdict.NOT_MET, True)


def _rehearsal(sizes: Sequence[Size]) -> Judged:
    words = f"rehearsal of {REHEARSE_BED_HOURS:g} bed-hours at 1 Hz: at most {REHEARSE_S:g} s"
    played = next((size.rehearsed for size in sizes if size.rehearsed is not None), None)
    if played is None:
        return Judged(words, "--", Verdict.NOT_MEASURED, False)
    seconds = played.of(REHEARSE_BED_HOURS)
    found = f"{seconds:.1f} s"
    if played.bed_hours < REHEARSE_BED_HOURS:
        found += f" (in proportion, from {played.bed_hours:g})"
    return Judged(words, found, Verdict.MET if seconds <= REHEARSE_S else Verdict.NOT_MET, False)
