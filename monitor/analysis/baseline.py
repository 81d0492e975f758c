"""A bed's own usual value: the median of a stretch of fresh readings, fixed when the stretch is complete."""

from dataclasses import dataclass, field
from statistics import median

from shared.instant import Instant


@dataclass(slots=True)
class Baseline:
    """Collects readings from ``begin`` on until ``needed_ms`` of them are there, then stands.

    Attributes:
        begin: readings before this do not count.
        needed_ms: how much time the readings must cover; a gap adds at most one and a half intervals.
        value: the median, once complete; until then ``None``.
    """

    begin: Instant
    needed_ms: int
    value: float | None = None
    covered_ms: int = 0
    last_at: Instant | None = None
    collected: list[float] = field(default_factory=list)

    def add(self, at: Instant, reading: float, step_ms: int) -> bool:
        """Take a reading; ``step_ms`` is the most that a gap may add. Tells whether the value now stands anew."""
        if self.value is not None or at < self.begin:
            return False
        self.covered_ms += (
            min(at - self.last_at, step_ms) if self.last_at is not None else min(at - self.begin, step_ms)
        )
        self.last_at = at
        if self.covered_ms < self.needed_ms:
            self.collected.append(reading)
            return False
        self.value = median(self.collected) if self.collected else reading
        self.collected = []
        return True
