"""The life of one alert, as two tables.

Theory. An alert has two states that must not be mixed. The *condition* follows the readings: quiet, pending
while the delay runs, present, then ended. The *signal* follows the people: raised until somebody knows, seen,
taken, and, once the condition has ended, cleared, or latched (still listed, "ended, not seen") until a person in
the unit has seen it, then reviewed. Everything else - what is filled, what is called, what is listed - derives
from the pair and from who holds the episode.

A low alert ends by itself. A high or medium one that nobody had seen latches. A rule that is marked latching
latches whatever was seen before. When a hold ends with the condition still present, the signal falls back from
taken to seen: somebody knows, nobody has it.

All of it stands in the two tables below; what is not in a table cannot happen and is refused.
"""

from types import MappingProxyType

from shared.word import Word


class ConditionState(Word):
    """What the readings say."""

    QUIET = "quiet"
    PENDING = "pending"
    PRESENT = "present"


class Sample(Word):
    """How one sample stands to the limit, the delay and the deadband."""

    WITHIN = "within"
    BEYOND = "beyond"
    BEYOND_LONG = "beyond_long"
    BETWEEN = "between"


class Turn(Word):
    """What a sample did to the condition."""

    NOTHING = "nothing"
    BEGAN = "began"
    DIPPED = "dipped"
    STARTED = "started"
    ENDED = "ended"


_C, _S, _T = ConditionState, Sample, Turn

CONDITION = MappingProxyType(
    {
        (_C.QUIET, _S.WITHIN): (_C.QUIET, _T.NOTHING),
        (_C.QUIET, _S.BETWEEN): (_C.QUIET, _T.NOTHING),
        (_C.QUIET, _S.BEYOND): (_C.PENDING, _T.BEGAN),
        (_C.QUIET, _S.BEYOND_LONG): (_C.PRESENT, _T.STARTED),
        (_C.PENDING, _S.WITHIN): (_C.QUIET, _T.DIPPED),
        (_C.PENDING, _S.BETWEEN): (_C.QUIET, _T.DIPPED),
        (_C.PENDING, _S.BEYOND): (_C.PENDING, _T.NOTHING),
        (_C.PENDING, _S.BEYOND_LONG): (_C.PRESENT, _T.STARTED),
        (_C.PRESENT, _S.WITHIN): (_C.QUIET, _T.ENDED),
        (_C.PRESENT, _S.BETWEEN): (_C.PRESENT, _T.NOTHING),
        (_C.PRESENT, _S.BEYOND): (_C.PRESENT, _T.NOTHING),
        (_C.PRESENT, _S.BEYOND_LONG): (_C.PRESENT, _T.NOTHING),
    }
)


class SignalState(Word):
    """What the people know of it."""

    RAISED = "raised"
    SEEN = "seen"
    TAKEN = "taken"
    LATCHED = "latched"
    CLEARED = "cleared"
    REVIEWED = "reviewed"


class SignalEvent(Word):
    """What happens to a signal. Three kinds of end: by itself (low), plain, and of a latching rule."""

    SEEN = "seen"
    TAKEN = "taken"
    HOLD_ENDED = "hold_ended"
    ENDED_LOW = "ended_low"
    ENDED = "ended"
    ENDED_LATCHING = "ended_latching"


_G, _E = SignalState, SignalEvent

SIGNAL = MappingProxyType(
    {
        (_G.RAISED, _E.SEEN): _G.SEEN,
        (_G.RAISED, _E.TAKEN): _G.TAKEN,
        (_G.RAISED, _E.HOLD_ENDED): _G.RAISED,
        (_G.RAISED, _E.ENDED_LOW): _G.CLEARED,
        (_G.RAISED, _E.ENDED): _G.LATCHED,
        (_G.RAISED, _E.ENDED_LATCHING): _G.LATCHED,
        (_G.SEEN, _E.SEEN): _G.SEEN,
        (_G.SEEN, _E.TAKEN): _G.TAKEN,
        (_G.SEEN, _E.HOLD_ENDED): _G.SEEN,
        (_G.SEEN, _E.ENDED_LOW): _G.CLEARED,
        (_G.SEEN, _E.ENDED): _G.CLEARED,
        (_G.SEEN, _E.ENDED_LATCHING): _G.LATCHED,
        (_G.TAKEN, _E.SEEN): _G.TAKEN,
        (_G.TAKEN, _E.TAKEN): _G.TAKEN,
        (_G.TAKEN, _E.HOLD_ENDED): _G.SEEN,
        (_G.TAKEN, _E.ENDED_LOW): _G.CLEARED,
        (_G.TAKEN, _E.ENDED): _G.CLEARED,
        (_G.TAKEN, _E.ENDED_LATCHING): _G.LATCHED,
        (_G.LATCHED, _E.SEEN): _G.REVIEWED,
        (_G.LATCHED, _E.TAKEN): _G.REVIEWED,
        (_G.LATCHED, _E.HOLD_ENDED): _G.LATCHED,
    }
)

#: Signals that stand on the board.
LISTED = frozenset({_G.RAISED, _G.SEEN, _G.TAKEN, _G.LATCHED})
#: Signals whose condition has ended.
OVER = frozenset({_G.LATCHED, _G.CLEARED, _G.REVIEWED})


def next_signal(state: SignalState, event: SignalEvent) -> SignalState:
    """Give the signal after an event. Raises KeyError where the table has no such pair."""
    return SIGNAL[(state, event)]
