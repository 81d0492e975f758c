"""What desks hear: one running number over all deltas, and a beat that names the last one given."""

from collections.abc import Callable, Sequence

from monitor.core.entries import Entry
from monitor.core.point_marks import marks_of
from monitor.core.view import TileView, UnitView
from monitor.core.wire import (
    Beat,
    Delta,
    EntryDelta,
    LatestReadings,
    ReadingsAnew,
    ReadingsDelta,
    TileDelta,
    UnitDelta,
)
from shared.frames import encode
from shared.instant import Instant
from shared.messages import Observation


class Publishing:
    """Numbers deltas and sends them.

    Args:
        boot: id of this start of the hub.
        send: sends parts to every desk.
        late_s: a set entered by hand longer than this after it was read is late.
        also: given every delta besides, for those who are told in another way.

    Attributes:
        seq: number of the last delta; 0 before the first.
        boot: id of this start of the hub.
    """

    def __init__(
        self, boot: str, send: Callable[[Sequence[bytes]], None], late_s: float, also: Callable[[Delta], None]
    ) -> None:
        self.seq = 0
        self.boot = boot
        self._send = send
        self._late_s = late_s
        self._also = also
        self._tiles: dict[str, TileView] = {}
        self._unit: UnitView | None = None

    def readings(self, observation: Observation, late: bool) -> None:
        """Publish what was read. ``late``: newer stands."""
        delta = ReadingsDelta(
            boot=self.boot,
            seq=self._next(),
            bed=observation.bed,
            slot=observation.slot,
            read_at=observation.read_at,
            values=observation.readings,
            estimated=observation.estimated,
            marks=dict(marks_of(observation, self._late_s)) or None,
            by_hand=observation.by is not None,
            late=late,
        )
        self._give(observation.bed, delta)

    def anew(self, readings: LatestReadings) -> None:
        """Publish what a run's newest readings are after a set was corrected or struck."""
        self._give(readings.bed, ReadingsAnew(boot=self.boot, seq=self._next(), **dict(readings)))

    def entry(self, entry: Entry, recorded: bool) -> None:
        """Publish an entry of the alert log."""
        delta = EntryDelta(boot=self.boot, seq=self._next(), entry=entry, recorded=recorded)
        self._give(entry.bed or "hub", delta)

    def tile(self, tile: TileView, always: bool) -> None:
        """Publish a bed's view if it has changed; unless ``always``, a newer reading alone is no change."""
        before = self._tiles.get(tile.bed)
        if before is tile:
            return
        if before is not None:
            shown, same = vars(tile), vars(before)
            if (same if always else {**same, "last_reading_at": tile.last_reading_at}) == shown:
                return
        self._tiles[tile.bed] = tile
        self._give(tile.bed, TileDelta(boot=self.boot, seq=self._next(), tile=tile))

    def unit(self, unit: UnitView) -> None:
        """Publish the unit's view if it has changed. The very object that was given last has not."""
        before, self._unit = self._unit, unit
        if unit is not before and unit != before:
            self._give("hub", UnitDelta(boot=self.boot, seq=self._next(), unit=unit))

    def beat(self, now: Instant) -> None:
        """Say that the hub is alive."""
        self._give("hub", Beat(boot=self.boot, seq=self.seq, hub_time=now))

    def _next(self) -> int:
        self.seq += 1
        return self.seq

    def _give(self, topic: str, delta: Delta) -> None:
        self._send(encode(topic, delta))
        self._also(delta)
