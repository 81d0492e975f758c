"""Which feed speaks for a bed: the first live one keeps it.

A bed has room for one feed that reads by itself and one by which people enter sets by hand.
"""

from dataclasses import dataclass

from shared.instant import SECOND, Instant

SILENT_MS = 10 * SECOND


@dataclass(frozen=True, slots=True)
class Seat:
    """One place at a bed for a feed."""

    bed: str
    by_hand: bool


class Owners:
    """Seats and who holds them. Times are real ms."""

    def __init__(self) -> None:
        self._holder: dict[Seat, str] = {}
        self._heard: dict[str, Instant] = {}

    def heard(self, feed: str, ticks: Instant) -> None:
        """Note that a feed that holds or claims a seat is alive."""
        self._heard[feed] = ticks

    def claim(self, seat: Seat, feed: str, ticks: Instant) -> str | None:
        """Give the seat to ``feed``, unless a live feed holds it: then give that feed's name."""
        holder = self._holder.get(seat)
        if holder is not None and holder != feed and ticks - self._heard.get(holder, -SILENT_MS) < SILENT_MS:
            return holder
        self._holder[seat] = feed
        return None

    def is_held(self, seat: Seat, ticks: Instant) -> bool:
        """Tell whether a live feed holds the seat."""
        holder = self._holder.get(seat)
        return holder is not None and ticks - self._heard.get(holder, -SILENT_MS) < SILENT_MS
