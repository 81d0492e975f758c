"""Which beds' sound is paused at a moment, as the hub says, and what of the news is then still heard."""

from collections.abc import Iterable, Iterator

from monitor.core.entries import Entry
from monitor.core.grades import Priority
from monitor.core.view import EpisodeView, TileView
from monitor.desk import words
from monitor.desk.store import Store
from shared.instant import SECOND, Instant


def paused_left(tile: TileView | None, now: Instant) -> int | None:
    """Give the ms that a bed's sound is still paused, or ``None`` where it is not."""
    pause = tile.audio_paused if tile is not None else None
    return pause.until - now if pause is not None and pause.until > now else None


def pause_words(tile: TileView | None, now: Instant) -> str:
    """Give the countdown ``1:45`` of a bed's pause, else nothing. It moves with the second."""
    left = paused_left(tile, now // SECOND * SECOND)
    return words.countdown(left) if left is not None and paused_left(tile, now) is not None else ""


def paused_beds(store: Store, now: Instant | None) -> dict[str, str]:
    """Give the beds whose sound is paused, each with its countdown, in the unit's order."""
    if now is None:
        return {}
    tiles = store.tiles
    paused = [bed for bed in store.beds() if bed in tiles and tiles[bed].audio_paused is not None]
    return {bed: left for bed in paused if (left := pause_words(tiles[bed], now))}


def heard_still(entries: Iterable[Entry], paused: Iterable[str]) -> Iterator[Entry]:
    """Give the entries that are heard: at a paused bed only those of a high."""
    silent = frozenset(paused)
    return (entry for entry in entries if entry.bed not in silent or entry.priority is Priority.HIGH)


def not_paused(
    needs: Iterable[tuple[str | None, EpisodeView]], paused: Iterable[str]
) -> Iterator[tuple[str | None, EpisodeView]]:
    """Give the needs of the beds whose sound is not paused, and every high: no pause holds that nobody has one."""
    silent = frozenset(paused)
    return (pair for pair in needs if pair[0] not in silent or pair[1].priority is Priority.HIGH)
