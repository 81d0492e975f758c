"""The state of the desk's link to the hub, as a table.

starting   nothing complete has come yet
live       something complete came within 3 s
late       nothing for more than 3 s: the header says so, tiles no longer say "live"
not live   nothing for 15 s: veil over everything, commands off, telephone list; only a new snapshot ends it

Only messages that could be applied count: a hub whose deltas arrive but whose snapshot does not is silent.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from enum import StrEnum
from types import MappingProxyType

from monitor.desk.reach import NOT_SAID, HubAddress, Reach, tried_words

LATE_S = 3.0
NOT_LIVE_S = 15.0


class LinkState(StrEnum):
    """What the desk may claim about its picture."""

    STARTING = "starting"
    LIVE = "live"
    LATE = "late"
    NOT_LIVE = "not live"


class LinkEvent(StrEnum):
    """What moves the link."""

    SNAPSHOT = "snapshot"
    HEARD = "heard"
    SILENT_3 = "silent for 3 s"
    SILENT_15 = "silent for 15 s"


_S, _E = LinkState, LinkEvent
TABLE: Mapping[tuple[LinkState, LinkEvent], LinkState] = MappingProxyType(
    {
        (_S.STARTING, _E.SNAPSHOT): _S.LIVE,
        (_S.STARTING, _E.SILENT_15): _S.NOT_LIVE,
        (_S.LIVE, _E.SILENT_3): _S.LATE,
        (_S.LATE, _E.SNAPSHOT): _S.LIVE,
        (_S.LATE, _E.HEARD): _S.LIVE,
        (_S.LATE, _E.SILENT_15): _S.NOT_LIVE,
        (_S.NOT_LIVE, _E.SNAPSHOT): _S.LIVE,
    }
)


@dataclass(slots=True)
class Link:
    """The link's state and the second of the last word.

    ``begun``: when the desk began to listen; ``hub``: where, and ``reach``: how far the connection got there.
    """

    begun: float
    hub: HubAddress = NOT_SAID
    reach: Reach = Reach.LOOKING
    state: LinkState = LinkState.STARTING
    heard: float | None = None

    def hear(self, monotonic: float, snapshot: bool = False) -> None:
        """Take something complete from the hub."""
        if self.state is LinkState.NOT_LIVE and not snapshot:
            return  # a picture that was lost is not made whole by what came afterwards
        self.heard = monotonic if self.heard is None else max(self.heard, monotonic)
        self._move(LinkEvent.SNAPSHOT if snapshot else LinkEvent.HEARD)

    def tick(self, monotonic: float) -> bool:
        """Let time pass; tell whether the state changed."""
        before, silent = self.state, self.silent(monotonic)
        if silent > LATE_S:
            self._move(LinkEvent.SILENT_3)
        if silent >= NOT_LIVE_S:
            self._move(LinkEvent.SILENT_15)
        return self.state is not before

    def silent(self, monotonic: float) -> float:
        """Give the seconds since the last word, or since the desk began to listen."""
        return max(0.0, monotonic - (self.begun if self.heard is None else self.heard))

    @property
    def tried(self) -> str:
        """Where the hub is looked for, with what, and how far that got; empty where nobody has said where."""
        return tried_words(self.hub, self.reach)

    @property
    def commands_allowed(self) -> bool:
        """Commands are off until a picture stands and once it is lost."""
        return self.state in (LinkState.LIVE, LinkState.LATE)

    def _move(self, event: LinkEvent) -> None:
        self.state = TABLE.get((self.state, event), self.state)
