"""The moment at which a face is made: the hub's time, the state of the link, and where clocks are read."""

from dataclasses import dataclass
from datetime import tzinfo

from monitor.desk.link_state import LinkState
from shared.instant import SECOND, Instant


@dataclass(frozen=True, slots=True)
class Moment:
    """``now`` is the hub's time in ms. ``zone``: of written clock times, ``None`` for that of this machine."""

    now: Instant
    link: LinkState = LinkState.LIVE
    zone: tzinfo | None = None

    @property
    def second(self) -> Instant:
        """Give the hub's time floored to its second: whatever counts does so once a second."""
        return self.now // SECOND * SECOND

    @property
    def veiled(self) -> bool:
        """Tell whether the hub is lost and nothing shown is current."""
        return self.link is LinkState.NOT_LIVE
