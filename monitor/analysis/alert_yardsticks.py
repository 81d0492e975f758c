"""Yardsticks of the process industry, set beside a unit's own figures. They are no hospital's norm.

They are meant for one operator and at least 30 days. For contrast: 187 audible alarms a bed and day were counted in
one hospital's intensive-care units (Drew 2014, PLoS One 9:e110274): 1.30 a bed in 10 min, or 10.4 for eight beds,
which is a flood without an end by this yardstick.
"""

from dataclasses import dataclass

LABEL = "process industry's yardstick, not a hospital norm"
SEEN = "ANSI/ISA-18.2-2016 cl. 16.4, as a public document restates it"
MEMORY = "from memory: ISA-18.2, EEMUA 191"


@dataclass(frozen=True, slots=True)
class Yardstick:
    """One figure of the process industry: what is acceptable, in words, and where that is from."""

    figure: str
    acceptable: str
    source: str


YARDSTICKS = (
    Yardstick("per 10 min, mean", "about 1, at most about 2", SEEN),
    Yardstick("per hour, mean", "about 6, at most about 12", SEEN),
    Yardstick("10-min bins over 10", "under about 1 %", SEEN),
    Yardstick("hours over 30", "under about 1 %", MEMORY),
    Yardstick("peak in 10 min", "at most 10", SEEN),
    Yardstick("time in flood", "under about 1 %", SEEN),
    Yardstick("ten most frequent rules", "about 1-5 % of the load", SEEN),
    Yardstick("chattering or fleeting", "none", SEEN),
    Yardstick("stale, over 24 h", "fewer than 5 on any day", SEEN),
    Yardstick("low / medium / high", "about 80 / 15 / 5 %", SEEN),
)
BY_FIGURE = {yardstick.figure: yardstick for yardstick in YARDSTICKS}

#: Alarms in 10 min, from which on, and what EEMUA 191 says of it (from memory).
_LOAD = ((10.0, "very likely unacceptable"), (5.0, "over-demanding"), (1.0, "manageable"))
#: In the first 10 min after an upset (from memory: EEMUA 191).
_UPSET = ((100, "excessive"), (19, "hard"), (9, "between manageable and hard"))


def load_band(per_10_min: float) -> str:
    """Give the band of EEMUA 191 (from memory) for a mean rate per 10 min and operator.

    More than 1 a min: very likely unacceptable; 1 in 2 min: over-demanding; 1 in 5 min: manageable; less than 1 in
    10 min: very likely acceptable. What lies between manageable and over-demanding is called so.
    """
    if per_10_min > _LOAD[0][0]:
        return _LOAD[0][1]
    if per_10_min >= _LOAD[1][0]:
        return _LOAD[1][1]
    if per_10_min > 2.0:
        return "between manageable and over-demanding"
    return _LOAD[2][1] if per_10_min >= _LOAD[2][0] else "very likely acceptable"


def upset_band(in_first_10_min: int) -> str:
    """Give the band of EEMUA 191 (from memory) for the alarms of the first 10 min after an upset."""
    return next((words for above, words in _UPSET if in_first_10_min > above), "manageable")
