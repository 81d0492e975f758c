"""Telling reviews, which are elsewhere on a thin line: readings merged, everything else as it comes.

A review says `Follow` on the command socket and is told in packs (`monitor.core.lean`) on that connection, until it
has been silent for `SILENT_MS`: snapshot and packs come in one order, and a cut line takes nothing from anybody.
An alert, its answers, the log and the unit's view go at once, with the readings of that bed that still wait: number
and alert agree. Only this waits, at most `MERGED_MS`: newer readings, and a bed's view in which nothing but values
has changed. Readings that a feed sends late are not told, for after a cut they are many: a review asks for them in
turn. A set that somebody entered late is told at once.
"""

import logging
from collections.abc import Callable, Sequence

from monitor.core.lean import Followed, Pack
from monitor.core.view import TileView
from monitor.core.wire import (
    Beat,
    Delta,
    EntryDelta,
    Follow,
    NotUnderstood,
    ReadingsAnew,
    ReadingsDelta,
    Snapshot,
    TileDelta,
)
from shared.frames import ANSWER_LIMIT, FrameRefused, encode
from shared.instant import SECOND, Instant
from shared.language.saying import say

log = logging.getLogger(__name__)

#: So long are readings merged; a pack goes at least each `BEAT_MS`; a review is forgotten after `SILENT_MS`.
MERGED_MS, BEAT_MS, SILENT_MS = 5 * SECOND, SECOND, 15 * SECOND
#: Reviews at a time.
AT_MOST = 32


class Lean:
    """Every review that follows. All hear the same packs.

    Args:
        boot: id of this start of the hub.
        send: sends parts to a peer; what cannot go is lost, and the review sees a gap.
    """

    def __init__(self, boot: str, send: Callable[[Sequence[bytes]], None]) -> None:
        self.number = 0
        self._boot = boot
        self._send = send
        self._heard: dict[bytes, Instant] = {}
        self._out: list[Delta] = []
        self._readings: dict[tuple[str, int], ReadingsDelta] = {}
        self._tiles: dict[str, TileDelta] = {}
        self._told: dict[str, TileView] = {}
        self._merged_at = self._told_at = Instant(0)

    @property
    def followers(self) -> int:
        """How many reviews follow now."""
        return len(self._heard)

    def follows(self, peer: bytes) -> bool:
        """Tell whether this review is told what there is to tell."""
        return peer in self._heard

    def take(self, delta: Delta) -> None:
        """Take what every desk is told."""
        if not self._heard or isinstance(delta, Beat):
            return
        if isinstance(delta, ReadingsDelta):
            self._merge(delta)
        elif isinstance(delta, TileDelta):
            self._tile(delta)
        else:
            bed = delta.entry.bed if isinstance(delta, EntryDelta) else None
            self._at_once(delta, delta.bed if isinstance(delta, ReadingsAnew) else bed)

    def follow(
        self, peer: bytes, asked: Follow, now: Instant, ticks: Instant, snapshot: Callable[[str], Snapshot]
    ) -> None:
        """Hear a review: say that it was heard, and tell everything where it does not follow already."""
        if peer not in self._heard and len(self._heard) >= AT_MOST:
            reason = say("{most} reviews follow already: close one of them", most=AT_MOST)
            self._send([peer, *encode("hub", NotUnderstood(reason=reason), packed=True)])
            return
        follows = peer in self._heard and asked.boot == self._boot and 0 < asked.pack <= self.number
        self._send([peer, *encode("hub", Followed(request=asked.request, ticks=ticks), packed=True)])
        if not follows:
            self._tell_all(now, ticks)  # what waits is older than the snapshot
            self.number = max(self.number, 1)  # 0 is a review that has nothing
            stands = snapshot(asked.request)
            self._told |= {tile.bed: tile for tile in stands.tiles if tile.bed not in self._told}
            stands = stands.model_copy(update={"seq": self.number})
            self._send([peer, *encode("hub", stands, packed=True, limit=ANSWER_LIMIT)])
        self._heard[peer] = ticks

    def tell(self, now: Instant, ticks: Instant) -> None:
        """Tell what is to be told by now."""
        for peer in [peer for peer, heard in self._heard.items() if ticks - heard > SILENT_MS]:
            del self._heard[peer]
        if not self._heard:
            self._forget()
        elif ticks - self._merged_at >= MERGED_MS:
            self._tell_all(now, ticks)
        elif self._out or ticks - self._told_at >= BEAT_MS:
            self._pack(now, ticks)

    def _merge(self, delta: ReadingsDelta) -> None:
        """Keep the newest readings of a run; what they do not replace goes with the next pack."""
        if delta.late:
            self._out += [delta] if delta.by_hand else []
            return
        place = (delta.bed, delta.slot)
        before = self._readings.get(place)
        if before is not None and (delta.by_hand or before.by_hand or before.values.keys() - delta.values.keys()):
            self._out.append(before)
        self._readings[place] = delta

    def _tile(self, delta: TileDelta) -> None:
        bed = delta.tile.bed
        told = self._told.get(bed)
        if told is not None and _without_values(told) == _without_values(delta.tile):
            self._tiles[bed] = delta
        else:
            self._tiles.pop(bed, None)
            self._told[bed] = delta.tile
            self._at_once(delta, bed)

    def _at_once(self, delta: Delta, bed: str | None) -> None:
        for place in [place for place in self._readings if place[0] == bed]:
            self._out.append(self._readings.pop(place))
        self._out.append(delta)

    def _tell_all(self, now: Instant, ticks: Instant) -> None:
        self._merged_at = ticks
        self._out += [*self._readings.values(), *self._tiles.values()]
        self._told |= {bed: delta.tile for bed, delta in self._tiles.items()}
        self._readings, self._tiles = {}, {}
        self._pack(now, ticks)

    def _pack(self, now: Instant, ticks: Instant) -> None:
        if not self._heard:
            self._out = []
            return
        deltas, self._out = tuple(self._out), []
        self._told_at = ticks
        self.number += 1
        pack = Pack(boot=self._boot, number=self.number, hub_time=now, ticks=ticks, deltas=deltas)
        try:
            parts = encode("hub", pack, packed=True, limit=ANSWER_LIMIT)
        except FrameRefused as refused:
            log.error("a pack is too large: %s", refused)  # the reviews see the gap and ask for everything anew
            return
        for peer in self._heard:
            self._send([peer, *parts])

    def _forget(self) -> None:
        self._out, self._readings, self._tiles, self._told = [], {}, {}, {}


def _without_values(tile: TileView) -> TileView:
    """Give a bed's view without what changes with each reading."""
    blank = {"value": None, "last_reading_at": None, "title": ""}
    episodes = tuple(
        episode.model_copy(
            update={"title": "", "alerts": tuple(alert.model_copy(update=blank) for alert in episode.alerts)}
        )
        for episode in tile.episodes
    )
    return tile.model_copy(update={"last_reading_at": None, "episodes": episodes})
