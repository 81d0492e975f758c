"""Faces of tiles as they were made last: made anew only after news of the bed, or once time alone changes them."""

from collections.abc import Iterable

from monitor.core.view import TileView
from monitor.desk.store import Store
from monitor.desk.tile.compose import compose
from monitor.desk.tile.face import Face
from monitor.desk.tile.frame import Frames
from monitor.desk.tile.moment import Moment


class KeptFaces:
    """What a face is made of besides the moment is the store's: whoever hears that it has changed must `forget`."""

    def __init__(self, store: Store) -> None:
        self._store = store
        self._frames = Frames()
        self._kept: dict[str, tuple[Face, Moment]] = {}

    def forget(self, beds: Iterable[str] | None = None) -> None:
        """Take it that something has changed at these beds, or at all of them."""
        if beds is None:
            self._kept.clear()
            return
        for bed in beds:
            self._kept.pop(bed, None)

    def face(self, tile: TileView, moment: Moment) -> Face:
        """Give the face of a bed at a moment."""
        kept = self._kept.get(tile.bed)
        if kept is not None and moment.leaves(kept[1]):
            return kept[0]
        made_of = moment.again()
        face = compose(tile, self._store, made_of, self._frames)
        self._kept[tile.bed] = face, made_of
        return face
