"""Views as they were made last: made again only when what they are made of has changed.

Two things change a view: an event, and the time. Of an event the engine knows which beds it touched, and whatever
it is not sure of is made anew (`Engine.handle`). Of the time it is worked out with each view up to when that holds:
until something grows stale, is due, or comes onto the roster. A view that is kept is the very object that was given
before, so whoever asks can see at once that nothing has changed.
"""

from dataclasses import dataclass

from monitor.core.bedside.due import coming, in_order
from monitor.core.handling import Handling
from monitor.core.roster.planning import Stretch
from monitor.core.roster.views import stands_until
from monitor.core.state import BedState
from monitor.core.view import DueView, TileView, UnitView
from monitor.core.views import feeds_of, tile_until, tile_view, unit_view
from shared.instant import Instant


@dataclass(frozen=True, slots=True)
class _Until:
    """The time for which something holds: from ``begins`` up to ``ends`` (``None``: for good), within a shift."""

    begins: Instant
    ends: Instant | None
    shift: Stretch | None

    def covers(self, handling: Handling) -> bool:
        now = handling.now
        in_time = self.begins <= now and (self.ends is None or now < self.ends)
        return in_time and handling.shifts.at(now) == self.shift


def _until(handling: Handling, ends: Instant | None) -> _Until:
    return _Until(handling.now, ends, handling.shifts.at(handling.now))


@dataclass(frozen=True, slots=True)
class _Share:
    """What a bed adds to the unit's view: what is due there, and whether a feed reads it and should."""

    due: tuple[DueView, ...]
    feeds: tuple[int, int]


class Shown:
    """The views of one unit. Until something is forgotten here, nothing but time has changed for it."""

    def __init__(self) -> None:
        self._tiles: dict[str, tuple[_Until | None, TileView]] = {}
        self._shares: dict[str, tuple[_Until, _Share]] = {}
        self._unit: tuple[_Until, dict[str, _Share], UnitView] | None = None

    def forget(self, bed: str) -> None:
        """A bed may have changed, and nothing else."""
        if bed in self._tiles:
            self._tiles[bed] = None, self._tiles[bed][1]
        self._shares.pop(bed, None)

    def tile(self, handling: Handling, bed: BedState) -> TileView:
        """Give a bed's view."""
        until, before = self._tiles.get(bed.label, (None, None))
        if before is not None and until is not None and until.covers(handling):
            return before
        until, tile = _until(handling, tile_until(handling, bed)), tile_view(handling, bed, before)
        self._tiles[bed.label] = until, tile
        return tile

    def unit(self, handling: Handling) -> UnitView:
        """Give the unit's view."""
        shares = {label: self._share(handling, bed) for label, bed in handling.state.beds.items()}
        kept = self._unit
        if kept is None or kept[1] != shares or not kept[0].covers(handling):
            due = in_order(one for share in shares.values() for one in share.due)
            until = _until(handling, stands_until(handling))
            kept = self._unit = until, shares, unit_view(handling, due)
        return kept[2]

    def _share(self, handling: Handling, bed: BedState) -> _Share:
        kept = self._shares.get(bed.label)
        if kept is None or not kept[0].covers(handling):
            now, found = handling.now, list(coming(handling, bed))
            due = tuple(view for one in found if (view := one.view(bed.label, now)) is not None)
            ends = min((at for one in found for at in one.changes_after(now)), default=None)
            kept = self._shares[bed.label] = _until(handling, ends), _Share(due, feeds_of([bed]))
        return kept[1]
