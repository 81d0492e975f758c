"""The header as it was composed last: composed anew only after news, or once time alone changes it."""

from monitor.desk.header_face import HeaderFace, compose_header
from monitor.desk.link_state import LinkState
from monitor.desk.sound.face import SoundFace
from monitor.desk.store import Store
from monitor.desk.tile.moment import Moment


class KeptHeader:
    """What a header is made of besides the moment is the store's and the sound's: whoever hears of news says so."""

    def __init__(self, store: Store) -> None:
        self._store = store
        self._kept: tuple[HeaderFace, Moment] | None = None

    def face(self, moment: Moment | None, silent_s: float, sound: SoundFace, *, anew: bool) -> HeaderFace:
        """Give the header. While the hub is not live its silence is counted, and each time is another one."""
        kept = self._kept
        if moment is None or self._store.link.state is not LinkState.LIVE:
            self._kept = None
            return compose_header(self._store, moment, silent_s, sound)
        if not anew and kept is not None and moment.leaves(kept[1]):
            return kept[0]
        made_of = moment.again()
        face = compose_header(self._store, made_of, silent_s, sound)
        self._kept = face, made_of
        return face
