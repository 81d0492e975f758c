"""What a run remembers of its hints while an alert is present. Plain data, in the checkpoint."""

from dataclasses import dataclass, field
from enum import StrEnum

from shared.instant import Instant
from shared.quantities import Quantity


class Stand(StrEnum):
    """How a quantity stands to what was usual."""

    UP = "up"
    DOWN = "down"
    UNCHANGED = "unchanged"
    BETWEEN = "between"


@dataclass(slots=True)
class Began:
    """When a quantity left what is usual, no nearer than ``resolution_ms``.

    ``sudden``: it came at once; ``None``: cannot be told, as the readings of that time are no longer kept.
    """

    at: Instant
    resolution_ms: int
    sudden: bool | None


@dataclass(slots=True)
class HintState:
    """Hints of a run.

    Attributes:
        looked_at: the last look at the readings.
        stands: how quantities stood at the last look; what lies between stays as it was.
        began: the quantities that are away from what is usual.
        rose_at: when a quantity last rose at once.
        since: when each consistent pattern first was.
        order: the pattern that came first when a hint was last written down; ``words``: of its signs.
        waiting, waiting_since: another order that must hold before it is written.
    """

    looked_at: Instant = 0
    stands: dict[str, Stand] = field(default_factory=dict)
    began: dict[Quantity, Began] = field(default_factory=dict)
    rose_at: dict[Quantity, Instant] = field(default_factory=dict)
    since: dict[str, Instant] = field(default_factory=dict)
    order: list[str] = field(default_factory=list)
    words: list[str] = field(default_factory=list)
    waiting: list[str] = field(default_factory=list)
    waiting_since: Instant | None = None
