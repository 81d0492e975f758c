"""The moment at which a face is made: the hub's time, the state of the link, and where clocks are read."""

from datetime import tzinfo

from monitor.desk.link_state import LinkState
from shared.instant import SECOND, Instant

#: Later than any time that is met.
_FOREVER: Instant = 1 << 62


class Moment:
    """The hub's time in ms, and what it was asked for. ``zone``: of written clock times, ``None``: this machine's.

    A moment notes until when what is made of it stands (`leaves`): whoever looks at the time may count with it. So
    `has_come`, `has_counted` and `whole` are for what changes more seldom than the `second`.
    """

    __slots__ = ("_now", "_until", "link", "zone")

    def __init__(self, now: Instant, link: LinkState = LinkState.LIVE, zone: tzinfo | None = None) -> None:
        self._now, self.link, self.zone = now, link, zone
        self._until = _FOREVER

    def again(self) -> "Moment":
        """Give the same moment, of which nothing was asked yet."""
        return Moment(self._now, self.link, self.zone)

    def leaves(self, made_of: "Moment") -> bool:
        """Tell whether what was made of another moment would be made of this one too: only time passed."""
        same = self.link is made_of.link and self.zone is made_of.zone
        return same and made_of._now <= self._now < made_of._until

    def heed(self, made_of: "Moment") -> None:
        """Stand no longer than what was made of another moment: that is part of what is made of this one."""
        self._ends(made_of._until)

    @property
    def now(self) -> Instant:
        """Give the hub's time: what is made of it is over with the next ms."""
        self._ends(self._now + 1)
        return self._now

    @property
    def second(self) -> Instant:
        """Give the hub's time floored to its second: whatever counts does so once a second."""
        floored = self._now // SECOND * SECOND
        self._ends(floored + SECOND)
        return floored

    def has_come(self, at: Instant) -> bool:
        """Tell whether a time is now or was before."""
        if self._now >= at:
            return True
        self._ends(at)
        return False

    def has_counted(self, at: Instant) -> bool:
        """Tell whether a time has come for whatever counts once a second: with the next whole second."""
        return self.has_come(-(-at // SECOND) * SECOND)

    def whole(self, since: Instant, unit: int) -> int:
        """Give how many whole units of ``unit`` ms have passed since then."""
        count = (self._now - since) // unit
        self._ends(since + (count + 1) * unit)
        return count

    @property
    def veiled(self) -> bool:
        """Tell whether the hub is lost and nothing shown is current."""
        return self.link is LinkState.NOT_LIVE

    def _ends(self, at: Instant) -> None:
        if at < self._until:
            self._until = at
