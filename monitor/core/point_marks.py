"""What a trend shows of a reading besides its value: how it came in, and whether it can be trusted."""

from collections.abc import Mapping

from shared.instant import MINUTE, SECOND, Instant
from shared.language.saying import to_say
from shared.messages import Observation
from shared.quantities import Quantity
from shared.word import Word


class PointMark(Word):
    """A reading without any was measured, and sent as it was read."""

    ESTIMATED = "estimated"
    DOUBTFUL = "doubtful"
    BY_HAND = "by_hand"
    LATE = "late"
    CORRECTED = "corrected"
    UNCHECKED = "unchecked"


Marks = frozenset[PointMark]
#: No line is drawn between sets entered by hand that are further apart: an hourly round, and a quarter of an hour.
JOIN_MS = 75 * MINUTE
#: What trends on paper show, in words.
KEY = to_say(
    "line: measured, broken line: estimated; dot: by hand, hollow: entered late, tick: corrected, underlined: who "
    "entered it was not checked, open square: doubtful; hatched: nothing was read"
)
#: A number with one of these is marked as well as its dot: it is not taken as plainly true.
UNSURE: Marks = frozenset({PointMark.DOUBTFUL, PointMark.UNCHECKED})
#: Those in words, beside a number.
UNSURE_WORDS = {PointMark.DOUBTFUL: "doubtful", PointMark.UNCHECKED: "unchecked"}
#: Of a reading that was measured, and of one that a person entered.
MEASURED: Marks = frozenset()
BY_HAND: Marks = frozenset({PointMark.BY_HAND})


def set_marks(
    read_at: Instant, entered_at: Instant | None, version: int, late_s: float, unchecked: bool = False
) -> Marks:
    """Give the marks of a set entered by hand.

    Args:
        entered_at: when its first version was; ``None``: nobody knows, which is not late.
        late_s: a set that was entered longer than this after it was read is late.
        unchecked: who entered this version was not checked, or may not.
    """
    found = {PointMark.BY_HAND}
    if entered_at is not None and entered_at - read_at > late_s * SECOND:
        found.add(PointMark.LATE)
    if version > 1:
        found.add(PointMark.CORRECTED)
    if unchecked:
        found.add(PointMark.UNCHECKED)
    return frozenset(found)


def marks_of(observation: Observation, late_s: float) -> Mapping[Quantity, Marks]:
    """Give the marks of an observation, of a set that of its first version; what was measured is not there."""
    base = (
        set_marks(observation.read_at, observation.entered_at, 1, late_s, observation.unchecked is not None)
        if observation.by is not None
        else MEASURED
    )
    return {
        quantity: marks
        for quantity in observation.readings
        if (
            marks := base
            | ({PointMark.ESTIMATED} if quantity in observation.estimated else MEASURED)
            | ({PointMark.DOUBTFUL} if quantity in observation.doubtful else MEASURED)
        )
    }
