"""The figures of one size: plain numbers, each with its unit in its name."""

from collections.abc import Sequence
from dataclasses import dataclass, field

from monitor.cli.benching.arithmetic import percentile, ratio


@dataclass(frozen=True, slots=True)
class Glass:
    """From the moment before an observation was sent to the end of the paint that shows it.

    Attributes:
        ms: one for each observation whose paint was seen.
        same: observations that changed nothing on the screen, so that nothing was painted.
        lost: observations of which nothing was seen. Those of beds on another page are not counted at all.
    """

    ms: tuple[float, ...]
    same: int = 0
    lost: int = 0

    @property
    def p50(self) -> float:
        """The median."""
        return percentile(self.ms, 0.50)

    @property
    def p99(self) -> float:
        """Only one in a hundred took longer."""
        return percentile(self.ms, 0.99)


@dataclass(frozen=True, slots=True)
class Burden:
    """What a process takes: percent of one core; MB (10^6 bytes) of its own share, and of nobody else's."""

    cpu: float
    pss_mb: float
    uss_mb: float


@dataclass(frozen=True, slots=True)
class Drawn:
    """One way to draw the tiles.

    Attributes:
        tiles: how many are on the screen.
        start_ms: to make them all.
        repaint_ms: to draw all anew, the median of some times.
    """

    tiles: int
    start_ms: float
    repaint_ms: float


@dataclass(frozen=True, slots=True)
class Loop:
    """A bare loop with the same beds and rates: PUB, SUB, validation by pydantic, tiles."""

    glass: Glass
    burden: Burden
    drawn: Drawn


@dataclass(frozen=True, slots=True)
class Opened:
    """How a desk opened, in ms from the start of its process; ``None``: it did not come to that."""

    first_paint_ms: float
    with_past_ms: float | None


@dataclass(frozen=True, slots=True)
class Asked:
    """What a review waits for: ms and bytes of everything as it stands, and of 24 h of one run at 1 Hz."""

    snapshot_ms: float
    snapshot_bytes: int
    history_ms: float
    history_bytes: int
    history_columns: int


@dataclass(frozen=True, slots=True)
class Rehearsed:
    """Virtual time: ``bed_hours`` at 1 Hz took so many seconds of a core."""

    bed_hours: float
    cpu_s: float

    def of(self, bed_hours: float) -> float:
        """Give the seconds for so many bed-hours, in proportion."""
        return self.cpu_s * bed_hours / self.bed_hours


@dataclass(frozen=True, slots=True)
class Size:
    """Everything measured with so many beds.

    Attributes:
        page: beds on the screen at a time.
        hub_start_ms: from the start of the process until it speaks, with the record of the hours before.
        spread: each bed at a moment of its own; together: all beds in one moment.
        repaint_ms: all tiles drawn anew, trends too; ``words_ms``: with all as it was drawn before.
        news_ms: with a new reading in every tile, and trends drawn as far as they have grown; ``take_ms``: what it
            takes to take those readings in.
        plots: tiles of pyqtgraph; ``None``: not tried with so many.
        rehearsed: ``None``: not measured at this size.
    """

    beds: int
    page: int
    past_beds: int
    hub_start_ms: float
    opened: Opened
    spread: Glass
    together: Glass
    hub: Burden
    desk: Burden
    repaint_ms: float
    words_ms: float
    news_ms: float
    take_ms: float
    asked: Asked
    floor: Loop
    plots: Loop | None = None
    rehearsed: Rehearsed | None = None
    load: tuple[float, float] = (0.0, 0.0)
    notes: tuple[str, ...] = field(default=())

    @property
    def cpu(self) -> float:
        """Percent of a core, hub and desk together."""
        return self.hub.cpu + self.desk.cpu

    @property
    def glass_ratio(self) -> float:
        """How many times the floor's p99."""
        return ratio(self.spread.p99, self.floor.glass.p99)

    @property
    def cpu_ratio(self) -> float:
        """How many times the floor's work."""
        return ratio(self.cpu, self.floor.burden.cpu)


def size_of(sizes: Sequence[Size], beds: int) -> Size | None:
    """Give the figures of so many beds, if they were taken."""
    return next((size for size in sizes if size.beds == beds), None)
