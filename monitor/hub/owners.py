"""Which feed speaks for a bed: the first live one keeps it.

A bed has room for one feed that reads by itself and one by which people enter sets by hand.
"""

from dataclasses import dataclass

from monitor.core.events import Rival
from shared.instant import SECOND, Instant
from shared.language.saying import say

SILENT_MS = 10 * SECOND
#: So long a second feed must go on claiming a bed until that is told: longer than a feed that took its place needs.
TOLD_MS = 15 * SECOND
#: So long after its last claim it counts as gone.
GONE_MS = 60 * SECOND


@dataclass(frozen=True, slots=True)
class Seat:
    """One place at a bed for a feed."""

    bed: str
    by_hand: bool


@dataclass(slots=True)
class _Claim:
    holder: str
    rival: str
    first: Instant
    last: Instant


class Owners:
    """Seats and who holds them. Times are real ms.

    Attributes:
        notes: words about beds that another feed took over because the first fell silent; the caller clears it.
    """

    def __init__(self) -> None:
        self.notes: list[str] = []
        self._holder: dict[Seat, str] = {}
        self._heard: dict[str, Instant] = {}
        self._claims: dict[Seat, _Claim] = {}

    def heard(self, feed: str, ticks: Instant) -> None:
        """Note that a feed that holds or claims a seat is alive."""
        self._heard[feed] = ticks

    def claim(self, seat: Seat, feed: str, ticks: Instant) -> str | None:
        """Give the seat to ``feed``, unless a live feed holds it: then give that feed's name."""
        holder = self._holder.get(seat)
        if holder is not None and holder != feed:
            if ticks - self._heard.get(holder, -SILENT_MS) < SILENT_MS:
                self._note_rival(seat, holder, feed, ticks)
                return holder
            if not seat.by_hand:
                self.notes.append(
                    say(
                        "{bed} is read by the feed {feed} from here on: {holder} fell silent",
                        bed=seat.bed,
                        feed=feed,
                        holder=holder,
                    )
                )
        self._holder[seat] = feed
        return None

    def rivals(self, ticks: Instant) -> tuple[Rival, ...]:
        """Give the beds that a second feed goes on claiming."""
        gone = [seat for seat, one in self._claims.items() if ticks - one.last > GONE_MS]
        for seat in gone:
            del self._claims[seat]
        told = sorted((s.bed, c.holder, c.rival) for s, c in self._claims.items() if c.last - c.first >= TOLD_MS)
        return tuple(Rival(*one) for one in told)

    def is_held(self, seat: Seat, ticks: Instant) -> bool:
        """Tell whether a live feed holds the seat."""
        holder = self._holder.get(seat)
        return holder is not None and ticks - self._heard.get(holder, -SILENT_MS) < SILENT_MS

    def _note_rival(self, seat: Seat, holder: str, rival: str, ticks: Instant) -> None:
        if seat.by_hand:
            return
        one = self._claims.get(seat)
        if one is None or one.holder != holder:
            self._claims[seat] = one = _Claim(holder, rival, ticks, ticks)
        one.rival, one.last = rival, ticks
