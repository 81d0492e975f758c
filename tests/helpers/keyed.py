"""A unit whose network has keys, and a relay that keeps what goes over a line, as somebody on the network could."""

import selectors
import socket
import threading
from datetime import UTC, datetime
from pathlib import Path
from types import TracebackType
from typing import Self
from urllib.parse import urlsplit

import zmq

from monitor.core.grades import Role
from monitor.settings.key_files import load_keys, load_pair, make_pair
from monitor.settings.key_names import FOLDER, HUB, PUBLIC, SECRET
from monitor.settings.keys_file import FeedKey, KeysFile, StationKey, load_keys_file, write_keys_file
from shared.keys import Keys

_SINCE = datetime(2026, 1, 1, tzinfo=UTC)
LONG_AGO = datetime(2026, 1, 2, tzinfo=UTC)


class KeyedUnit:
    """The folder of a unit's keys. A name may be made again: that is its newest pair."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        make_pair(folder / FOLDER, HUB)
        write_keys_file(folder, KeysFile())

    def feed(self, name: str, *beds: str, by_hand: bool = False) -> Keys:
        public = make_pair(self.folder / FOLDER, name)
        self._add(FeedKey(name=name, public=public, since=_SINCE, beds=beds, by_hand=by_hand))
        return self.of(name)

    def station(self, name: str, *roles: Role, revoked: datetime | None = None) -> Keys:
        public = make_pair(self.folder / FOLDER, name)
        self._add(StationKey(name=name, public=public, since=_SINCE, roles=roles or tuple(Role), revoked=revoked))
        return self.of(name)

    def of(self, name: str) -> Keys:
        return load_keys(self.folder / FOLDER / f"{name}{SECRET}", self.folder / FOLDER / f"{HUB}{PUBLIC}")

    def stranger(self) -> Keys:
        """Somebody who knows the hub's key, and whom the hub does not know."""
        public, secret = zmq.curve_keypair()
        return Keys(public, secret, load_pair(self.folder / FOLDER / f"{HUB}{SECRET}")[0])

    def revoke(self, name: str) -> None:
        write_keys_file(self.folder, self.listed().ended(name, LONG_AGO))

    def listed(self) -> KeysFile:
        found = load_keys_file(self.folder)
        assert found is not None
        return found

    def _add(self, row: FeedKey | StationKey) -> None:
        write_keys_file(self.folder, self.listed().with_key(row))


class Relay:
    """Goes between peers and an address, and keeps every byte that came from there."""

    def __init__(self, address: str) -> None:
        self._to = urlsplit(address)
        self.bytes = bytearray()
        self._listener = socket.create_server(("127.0.0.1", 0))
        self.address = f"tcp://127.0.0.1:{self._listener.getsockname()[1]}"
        self._ends: dict[socket.socket, tuple[socket.socket, bool]] = {}
        self._awake, self._wake = socket.socketpair()
        self._selector = selectors.DefaultSelector()
        for one in (self._listener, self._awake):
            self._selector.register(one, selectors.EVENT_READ)
        self._thread = threading.Thread(target=self._run, name="relay")

    def __enter__(self) -> Self:
        self._thread.start()
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        self._wake.close()
        self._thread.join()
        for one in (*self._ends, self._listener, self._awake):
            one.close()
        self._selector.close()

    def _run(self) -> None:
        while True:
            for key, _ in self._selector.select():
                one = key.fileobj
                if one is self._awake:
                    return
                if one is self._listener:
                    self._join()
                elif isinstance(one, socket.socket) and one in self._ends:
                    self._carry(one)

    def _join(self) -> None:
        near, _ = self._listener.accept()
        try:
            far = socket.create_connection((self._to.hostname or "", self._to.port or 0))
        except OSError:
            near.close()
            return
        for one, other, is_far in ((near, far, False), (far, near, True)):
            self._ends[one] = other, is_far
            self._selector.register(one, selectors.EVENT_READ)

    def _carry(self, one: socket.socket) -> None:
        other, is_far = self._ends[one]
        try:
            data = one.recv(65536)
            if data:
                other.sendall(data)
        except OSError:
            data = b""
        if is_far:
            self.bytes += data
        if not data:
            for end in (one, other):
                self._selector.unregister(end)
                del self._ends[end]
                end.close()
