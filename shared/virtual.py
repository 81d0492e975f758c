"""Virtual time: one rule by which feeds and hub agree on a clock that runs faster than the wall.

``virtual = start + (wall - start) * speed``. ``start`` is the wall-clock moment at which the course began; there
the two clocks are equal. Whoever is told the same start and speed agrees, whenever it was started itself.
"""

from shared.instant import Instant


def virtual_ms(start: Instant, wall: Instant, speed: float) -> Instant:
    """Give the virtual time at ``wall``; both in ms since 1970 UTC. At speed 1 it is the wall's."""
    return wall if speed == 1.0 else start + round((wall - start) * speed)
