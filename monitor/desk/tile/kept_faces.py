"""Faces of tiles as they were made last: made anew only after news of the bed, or once time alone changes them."""

from collections.abc import Iterable

from monitor.core.view import TileView
from monitor.desk.store import Store
from monitor.desk.tile.compose import compose_words, with_numbers
from monitor.desk.tile.face import Face
from monitor.desk.tile.frame import Frames
from monitor.desk.tile.moment import Moment
from shared.language.saying import spoken


class KeptFaces:
    """What a face is made of besides the moment is the store's: whoever hears that it has changed must `forget`."""

    def __init__(self, store: Store) -> None:
        self._store = store
        self._frames = Frames()
        self._kept: dict[str, tuple[Face, Moment]] = {}
        self._words: dict[str, tuple[TileView, object, Face, Moment]] = {}

    def forget(self, beds: Iterable[str] | None = None) -> None:
        """Take it that something has changed at these beds, or at all of them."""
        if beds is None:
            self._kept.clear()
            self._words.clear()
            return
        for bed in beds:
            self._kept.pop(bed, None)

    def face(self, tile: TileView, moment: Moment) -> Face:
        """Give the face of a bed at a moment."""
        kept = self._kept.get(tile.bed)
        if kept is not None and moment.leaves(kept[1]):
            return kept[0]
        words, stands = self._words_of(tile, moment)
        made_of = moment.again()
        made_of.heed(stands)
        face = with_numbers(words, tile, self._store, made_of, self._frames)
        self._kept[tile.bed] = face, made_of
        return face

    def _words_of(self, tile: TileView, moment: Moment) -> tuple[Face, Moment]:
        """Give the face without what is read: it is the same while nothing but readings came."""
        kept = self._words.get(tile.bed)
        if kept is not None and kept[1] is spoken() and moment.leaves(kept[3]) and _only_read_since(tile, kept[0]):
            return kept[2:]
        made_of = moment.again()
        words = compose_words(tile, self._store, made_of)
        self._words[tile.bed] = tile, spoken(), words, made_of
        return words, made_of


def _only_read_since(tile: TileView, before: TileView) -> bool:
    """Tell whether two views of a bed that is read differ in the time of its last reading at most."""
    if tile.stale or tile.last_reading_at is None or before.last_reading_at is None:
        return False
    return {**vars(before), "last_reading_at": tile.last_reading_at} == vars(tile)
