"""When a mark block is in its other half: one phase for all blocks, from the hub's clock.

High: 2.0 Hz, 200 ms of 500. Medium: 0.5 Hz, 1 s of 2. Low: steady. (Within 1.4 to 2.8 Hz and 0.4 to 0.8 Hz of
IEC 60601-1-8, values from memory; under the three flashes a second of WCAG 2.3.1, from memory.)
"""

from collections.abc import Mapping
from types import MappingProxyType

from monitor.core.grades import Priority

#: Period and how much of it is inverted, in ms of the wall.
PACE: Mapping[Priority, tuple[int, int]] = MappingProxyType(
    {Priority.HIGH: (500, 200), Priority.MEDIUM: (2_000, 1_000)}
)


def is_inverted(priority: Priority | None, phase_ms: int) -> bool:
    """Tell whether a block of this grade is inverted at this phase."""
    if priority is None or priority not in PACE:
        return False
    period, part = PACE[priority]
    return phase_ms % period < part


def next_edge(priorities: set[Priority], phase_ms: int) -> int | None:
    """Give the ms until a block of one of these grades changes; ``None`` when none of them flashes."""
    left: list[int] = []
    for priority in priorities & PACE.keys():
        period, part = PACE[priority]
        place = phase_ms % period
        left.append(part - place if place < part else period - place)
    return min(left, default=None)
