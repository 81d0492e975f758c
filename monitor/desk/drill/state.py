"""How a drill stands at a desk, as a table.

none      the desk watches, and nothing else
offered   somebody has asked for one: two people of the unit are to say that they begin it
running   the invented beds have the window, under the band; the live unit stands in the line above it
aside     the live unit has the window: it wants somebody, or people went to look; the drill's beds go on unseen
ended     over: what was done stands in the window, until it is closed

Whatever the live unit wants comes first in every state: it is the one event that nobody can refuse. Going back to a
drill is for people to do.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from enum import StrEnum
from types import MappingProxyType


class DrillState(StrEnum):
    """What the window shows, and whose keys these are."""

    NONE = "none"
    OFFERED = "offered"
    RUNNING = "running"
    ASIDE = "aside"
    ENDED = "ended"


class DrillEvent(StrEnum):
    """What moves it."""

    ASKED = "asked for"
    AGREED = "two people begin it"
    LEFT = "nobody begins it"
    LIVE_CALLS = "the live unit wants the desk"
    LOOKED = "somebody looks at the live unit"
    BACK = "back to the drill"
    FAILED = "a process of the drill is gone"
    STOPPED = "people end it"
    CLOSED = "what was done was read"


_S, _E = DrillState, DrillEvent
TABLE: Mapping[tuple[DrillState, DrillEvent], DrillState] = MappingProxyType(
    {
        (_S.NONE, _E.ASKED): _S.OFFERED,
        (_S.OFFERED, _E.AGREED): _S.RUNNING,
        (_S.OFFERED, _E.LEFT): _S.NONE,
        (_S.OFFERED, _E.LIVE_CALLS): _S.NONE,
        (_S.RUNNING, _E.LIVE_CALLS): _S.ASIDE,
        (_S.RUNNING, _E.LOOKED): _S.ASIDE,
        (_S.RUNNING, _E.FAILED): _S.ENDED,
        (_S.RUNNING, _E.STOPPED): _S.ENDED,
        (_S.ASIDE, _E.BACK): _S.RUNNING,
        (_S.ASIDE, _E.FAILED): _S.ENDED,
        (_S.ASIDE, _E.STOPPED): _S.ENDED,
        (_S.ENDED, _E.LIVE_CALLS): _S.NONE,
        (_S.ENDED, _E.CLOSED): _S.NONE,
    }
)


@dataclass(slots=True)
class Standing:
    """How a drill stands, and why it came to that."""

    state: DrillState = DrillState.NONE
    why: str = ""

    def turn(self, event: DrillEvent, why: str = "") -> bool:
        """Let something happen; false: it changes nothing as it stands."""
        after = TABLE.get((self.state, event))
        if after is None:
            return False
        self.state, self.why = after, why
        return True
