"""The gate of the network: which keys are let in at which socket, and whose message is in hand.

A peer is its key. The list of keys is looked at once a second; a faulty new one leaves the old one in force and
says so. Whoever is turned away becomes an entry of the log, and learns nothing.
"""

import logging
from collections.abc import Callable, Iterable
from pathlib import Path

from monitor.hub.clock import monotonic_ms, wall_ms
from monitor.hub.room import Room
from monitor.settings.key_files import load_pair
from monitor.settings.key_names import FOLDER, HUB, KEYS, SECRET
from monitor.settings.keys_file import FeedKey, KeysFile, StationKey, load_keys_file
from shared.errors import ConfigurationError
from shared.instant import MINUTE, Instant
from shared.keys import fingerprint
from shared.language.saying import say

log = logging.getLogger(__name__)

#: Entries a minute about those who are turned away; whatever is beyond is counted, for a knock costs nothing.
TOLD_A_MINUTE = 20
#: Whoever knocks goes on knocking, ten times a second, as a desk does that was left on: told so seldom.
KNOCKS_AGAIN_MS = 10 * MINUTE


class Gate:
    """The hub's own pair, the keys that it knows, and what is to be written down of them.

    Args:
        folder: of the configuration.
        beds: labels of the unit's beds.
        wall: ms since 1970 UTC, by which a key is revoked; ``ticks``: real ms for timers.

    Attributes:
        public, secret: the hub's own pair, Z85.
        speaker: whose message is in hand.

    Raises:
        ConfigurationError: the list or the hub's key is not there, is faulty, or others may read the key.
    """

    def __init__(
        self,
        folder: Path,
        beds: Iterable[str],
        wall: Callable[[], Instant] = wall_ms,
        ticks: Callable[[], Instant] = monotonic_ms,
    ) -> None:
        self._folder, self._beds, self._wall, self._ticks = folder, tuple(beds), wall, ticks
        self.public, self.secret = load_pair(folder / FOLDER / f"{HUB}{SECRET}")
        self.speaker: FeedKey | StationKey | None = None
        self._stamp = _stamp(folder / KEYS)
        self._file = self._read()
        self._fault = ""
        self._allowed = self._now_allowed()
        self._met: set[str] = set()
        self._said: list[str] = []
        self._told: dict[str, Instant] = {}
        self._minute, self._in_minute, self._untold = ticks(), 0, 0

    # -- who is let in ----------------------------------------------------------------------------------------

    def admits(self, room: Room, public: str, address: str) -> bool:
        """Tell whether whoever holds a key may connect to a socket; the first time it is written down."""
        row = self._allowed.get(public)
        if row is not None and _may_enter(row, room):
            if public not in self._met:
                self._met.add(public)
                self._said.append(
                    say(
                        "{kind} {name} connected with the key {fingerprint}",
                        kind=_kind(row),
                        name=row.name,
                        fingerprint=row.fingerprint,
                    )
                )
            return True
        self.turned_away(
            say("{who} knocked at {room} from {address}", who=self._who(public), room=room.value, address=address),
            KNOCKS_AGAIN_MS,
        )
        return False

    def hears(self, room: Room, public: str) -> bool:
        """Tell whether a message is to be heard; from then on its sender is the `speaker`."""
        self.speaker = self._allowed.get(public)
        return self.speaker is not None and _may_enter(self.speaker, room)

    def stranger(self, room: Room) -> None:
        """Note somebody who came without a key, does not know the hub's, or left before showing one."""
        self.turned_away(
            say("Somebody came to {room} without a key of this network", room=room.value), KNOCKS_AGAIN_MS
        )

    def turned_away(self, words: str, again_ms: int = MINUTE) -> None:
        """Write down that somebody was turned away: the same words once in so long, and not too many of them."""
        ticks = self._ticks()
        self._told = {said: ends for said, ends in self._told.items() if ends > ticks}
        if words in self._told:
            return
        if ticks - self._minute >= MINUTE:
            self._minute, self._in_minute = ticks, 0
        if self._in_minute >= TOLD_A_MINUTE:
            self._untold += 1
            return
        self._in_minute += 1
        self._told[words] = ticks + again_ms
        more = say(" ({untold} more were turned away before)", untold=self._untold) if self._untold else ""
        self._untold = 0
        log.warning("%s: refused%s", words, more)
        self._said.append(say("{words}: refused{more}", words=words, more=more))

    def said(self) -> list[str]:
        """Give, once, what is to be written down."""
        said, self._said = self._said, []
        return said

    # -- the list ---------------------------------------------------------------------------------------------

    def look(self) -> bool:
        """Look whether the list has changed, or a key's time has come; true: somebody is not let in any more."""
        stamp = _stamp(self._folder / KEYS)
        if stamp != self._stamp:
            self._stamp = stamp
            self._take_anew()
        before, self._allowed = self._allowed, self._now_allowed()
        gone = [row for public, row in before.items() if public not in self._allowed]
        for row in gone:
            self._met.discard(row.public)
            self._said.append(
                say(
                    "{kind} {name} is not heard any more: its key {fingerprint} is revoked",
                    kind=_kind(row),
                    name=row.name,
                    fingerprint=row.fingerprint,
                )
            )
        return bool(gone)

    def _take_anew(self) -> None:
        try:
            self._file, fault = self._read(), ""
        except ConfigurationError as error:
            fault = str(error)
        if fault and fault != self._fault:
            log.error("the list of keys is faulty, the one before stays in force: %s", fault)
            self._said.append(
                say("The list of keys is faulty, the one before stays in force: {fault}", fault=fault)
            )
        elif not fault:
            self._said.append(say("The list of keys was read anew"))
        self._fault = fault

    def _read(self) -> KeysFile:
        file = load_keys_file(self._folder, self._beds)
        if file is None:
            raise ConfigurationError(f"there is no {KEYS} in {self._folder}: weirkeeper keys hub makes one")
        return file

    def _now_allowed(self) -> dict[str, FeedKey | StationKey]:
        at = self._wall()
        return {row.public: row for row in self._file.rows() if row.is_allowed(at)}

    def _who(self, public: str) -> str:
        row = next((row for row in self._file.rows() if row.public == public), None)
        if row is None:
            return say("A stranger with the key {fingerprint}", fingerprint=fingerprint(public))
        if row.public not in self._allowed:
            return say(
                "{kind} {name} with its revoked key {fingerprint}",
                kind=_kind(row),
                name=row.name,
                fingerprint=row.fingerprint,
            )
        return say(
            "{kind} {name} with the key {fingerprint}", kind=_kind(row), name=row.name, fingerprint=row.fingerprint
        )


def gate_of(folder: Path, beds: Iterable[str]) -> Gate | None:
    """Give the gate of a configuration folder; ``None`` where it has no keys. Raises ConfigurationError."""
    return Gate(folder, beds) if (folder / KEYS).exists() else None


def _may_enter(row: FeedKey | StationKey, room: Room) -> bool:
    """Feeds do not see what desks see; a form by which people enter sets asks who may, as desks do."""
    if isinstance(row, StationKey):
        return room in (Room.PUBLISH, Room.COMMANDS)
    return room in (Room.INGEST, Room.LINK) or (row.by_hand and room is Room.COMMANDS)


def _kind(row: FeedKey | StationKey) -> str:
    return "Feed" if isinstance(row, FeedKey) else "Station"


def _stamp(path: Path) -> tuple[int, int, int, int] | None:
    try:
        found = path.stat()
    except OSError:
        return None
    return found.st_mtime_ns, found.st_size, found.st_mode, found.st_ino
