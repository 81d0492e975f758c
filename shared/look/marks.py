"""The marks: polygons on a 24 x 24 grid, filled by the odd-even rule, without strokes or letters.

The needs tell one story, the wall and the water: a ripple at the wall, water over the notch, a course slips,
the wall parts. Their mass (share of the grid) falls with the need.
"""

import math
from collections.abc import Mapping
from enum import StrEnum
from types import MappingProxyType

from shared.look.need import Need

GRID = 24.0

Point = tuple[float, float]
Ring = tuple[Point, ...]


class Mark(StrEnum):
    """Names of all marks: the five needs, then states."""

    HIGH_CIRCUIT = "high_circuit"
    HIGH = "high"
    MEDIUM = "medium"
    LOW = "low"
    TECHNICAL = "technical"
    SEEN = "seen"
    TAKEN = "taken"
    HELD = "held"
    LATCHED = "latched"
    SIMULATED = "simulated"
    HAND_ENTERED = "hand_entered"
    NOT_JUDGED = "not_judged"
    TRANSPORT = "transport"
    AUDIO_PAUSED = "audio_paused"
    AUDIO_OFF = "audio_off"


def mark_of(need: Need) -> Mark:
    """The mark of a need."""
    return Mark(need.value)


def _box(left: float, top: float, right: float, bottom: float) -> Ring:
    return ((left, top), (right, top), (right, bottom), (left, bottom))


def _ripple() -> Ring:
    """A band 5 high round y = 12 + 3.4 sin(1.5 * 2 pi (x - 1) / 22), x from 1 to 23 in 24 steps."""
    xs = [1 + 22 * step / 24 for step in range(25)]
    ys = [12 + 3.4 * math.sin(1.5 * 2 * math.pi * (x - 1) / 22) for x in xs]
    above = [(x, y - 2.5) for x, y in zip(xs, ys, strict=True)]
    below = [(x, y + 2.5) for x, y in zip(xs, ys, strict=True)]
    return (*above, *reversed(below))


def _lid() -> Ring:
    """The upper half of a ring, centre 12, 17, radii 11 and 8, in 24 steps."""
    turns = [math.pi * (1 + step / 24) for step in range(25)]
    outer = [(12 + 11 * math.cos(t), 17 + 11 * math.sin(t)) for t in turns]
    inner = [(12 + 8 * math.cos(t), 17 + 8 * math.sin(t)) for t in turns]
    return (*outer, *reversed(inner))


def _mirrored(corner: Ring) -> tuple[Ring, ...]:
    """A corner piece and its three mirror images about the middle of the grid."""
    across = tuple((GRID - x, y) for x, y in corner)
    down = tuple((x, GRID - y) for x, y in corner)
    both = tuple((GRID - x, GRID - y) for x, y in corner)
    return corner, across, down, both


_HORN: Ring = ((1, 8.5), (5.5, 8.5), (12.5, 2), (12.5, 22), (5.5, 15.5), (1, 15.5))

MARKS: Mapping[Mark, tuple[Ring, ...]] = MappingProxyType(
    {
        Mark.HIGH_CIRCUIT: (  # breach
            ((1, 1), (13.2, 1), (13.2, 8.4), (7.2, 8.4), (7.2, 23), (1, 23)),
            ((16.6, 1), (23, 1), (23, 23), (10.6, 23), (10.6, 11.8), (16.6, 11.8)),
        ),
        Mark.HIGH: (  # slip
            ((9, 3), (23, 3), (23, 10.5), (17, 10.5), (17, 22), (1, 22), (1, 10.5), (9, 10.5)),
        ),
        Mark.MEDIUM: (  # notch
            ((1, 5), (5, 5), (9, 13), (15, 13), (19, 5), (23, 5), (23, 20), (1, 20)),
        ),
        Mark.LOW: (_ripple(),),
        Mark.TECHNICAL: (  # loose stone
            (
                (1, 1),
                (18, 1),
                (18, 11),
                (14.8, 11),
                (14.8, 4.2),
                (4.2, 4.2),
                (4.2, 14.8),
                (11, 14.8),
                (11, 18),
                (1, 18),
            ),
            _box(14.5, 14.5, 23, 23),
        ),
        Mark.SEEN: (_lid(), _box(9.6, 13.6, 14.4, 18.4)),
        Mark.TAKEN: (  # tally
            (
                (11, 0.5),
                (13, 0.5),
                (13, 5),
                (16.5, 5),
                (20.5, 9),
                (20.5, 23),
                (3.5, 23),
                (3.5, 9),
                (7.5, 5),
                (11, 5),
            ),
            _box(10.2, 8.6, 13.8, 12.2),
        ),
        Mark.HELD: (  # paddle
            (
                (8, 2),
                (16, 2),
                (16, 5),
                (13.5, 5),
                (13.5, 14),
                (22, 14),
                (22, 22),
                (2, 22),
                (2, 14),
                (10.5, 14),
                (10.5, 5),
                (8, 5),
            ),
        ),
        Mark.LATCHED: (  # flood line
            _box(3, 1, 6.2, 23),
            _box(6.2, 4, 22, 7.2),
            _box(10, 17, 13, 20),
            _box(14.6, 17, 17.6, 20),
            _box(19.2, 17, 22.2, 20),
        ),
        Mark.SIMULATED: (  # paper boat
            ((1, 14), (23, 14), (18.5, 21.5), (5.5, 21.5)),
            ((12, 2), (20, 12.5), (4, 12.5)),
        ),
        Mark.HAND_ENTERED: (  # chalk
            ((17.5, 1.5), (22, 6), (9, 17), (5, 18.5), (6, 14)),
            _box(2, 20.2, 16, 22.8),
        ),
        Mark.NOT_JUDGED: _mirrored(((2, 2), (9, 2), (9, 4.8), (4.8, 4.8), (4.8, 9), (2, 9))),
        Mark.TRANSPORT: (  # barge
            ((1, 8), (17, 8), (23, 14), (17, 16.5), (4, 16.5)),
            _box(2, 19.5, 22, 22.1),
        ),
        Mark.AUDIO_PAUSED: (  # a horn and two posts
            _HORN,
            _box(15.6, 3, 18.4, 21),
            _box(20.2, 3, 23, 21),
        ),
        Mark.AUDIO_OFF: (  # a horn and a cross
            _HORN,
            ((14.6, 9), (16.6, 7), (23, 15), (21, 17)),
            ((21, 7), (23, 9), (19.8, 12), (18.8, 10.4)),
            ((17.8, 12.8), (18.8, 14.2), (16.6, 17), (14.6, 15)),
        ),
    }
)
