"""A unit that is shown: the real hub and the real desk's window in one process, their line and clock virtual.

The same scenario gives the same screens, whatever the machine is and however busy. Everything shown is simulated.
"""

import time
from collections.abc import Callable, Mapping, Sequence
from datetime import UTC
from pathlib import Path

from PySide6.QtCore import Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QWidget

from monitor.cli.hub_children import card_command
from monitor.cli.trials.hub_machine import Wires
from monitor.core.unit import Configuration
from monitor.core.wire import Request
from monitor.desk.client import TOPIC
from monitor.desk.hearing import Heard, Hearing
from monitor.desk.lean_hearing import LeanHearing
from monitor.desk.unit_desk import HubGiven, UnitDesk
from monitor.desk.window import DeskWindow
from monitor.hub.clock import HubClock
from monitor.hub.room import Room
from monitor.hub.runner import Hub
from monitor.record import Record
from monitor.rehearsal.sources import EPOCH, FEED
from shared.frames import encode
from shared.instant import SECOND, Instant
from shared.messages import PROTOCOL_VERSION, BedDeclared, FeedBeat, Hello, Observation

#: The monotonic clock of a machine that has run for a while.
_RAN_MS = 1_000_000
_KEYS = {"⏎": Qt.Key.Key_Return, "⎋": Qt.Key.Key_Escape, "→": Qt.Key.Key_Right, "↓": Qt.Key.Key_Down}
#: Figures of handover cards are worked out by a process of its own, which is no part of the virtual time.
_LOOKED_AGAIN_S = 0.05


class _Line:
    """A desk's way to the hub, without a socket; ``name``: as the hub knows it."""

    def __init__(
        self, name: str, lean: bool, deliver: Callable[[Heard], None], leaves: Callable[[list[bytes]], None]
    ) -> None:
        self.hearing = LeanHearing(deliver) if lean else Hearing(deliver)
        self._name, self._leaves = name, leaves

    def start(self) -> None:
        """Nothing is opened."""

    def stop(self) -> None:
        """Nothing is closed."""

    def send(self, request: Request) -> None:
        """Send a request."""
        self._leaves([self._name.encode(), *encode(TOPIC, request, packed=self.hearing.packed)])

    def ask_anew(self) -> None:
        """Ask for everything anew with the hub's next word."""
        self.hearing.ask_anew()

    def asks(self, request: Request) -> bool:
        """Send what the picture needs to be whole."""
        self.send(request)
        return True


class ShownUnit:
    """The hub on a record, and its desks. Use as a context: all is closed on the way out.

    Args:
        files: what the configuration was read from.
        record: its file; a new one is begun, an old one gone on with.
        now: the hub's first moment.

    Attributes:
        now: the hub's time.
        is_cut: nothing passes between hub and desks.
    """

    def __init__(
        self,
        configuration: Configuration,
        files: Mapping[str, str],
        record: Path,
        now: Instant,
        beds: Sequence[BedDeclared],
    ) -> None:
        self.now, self._began = now, now
        self._next, self.is_cut = 1, False
        self._desks: list[UnitDesk] = []
        self._wires = Wires(self._leaves)
        self._record = Record.open(record)
        clock = HubClock(1.0, now, self._record.last_at(), lambda: self.now, self._ticks)
        self.hub = Hub(
            configuration, self._record, clock, None, files, cards=card_command(record), lines=self._wires
        )
        hello = Hello(
            version=PROTOCOL_VERSION, feed=FEED, epoch=EPOCH, first=1, next=1, sent_at=now, beds=tuple(beds)
        )
        self._wires.inbox[Room.LINK].append([FEED.encode(), *encode(FEED, hello)])
        self.pass_to(now)

    def open_desk(self, given: HubGiven, theme: str, size: tuple[int, int], review: bool = False) -> None:
        """Open another desk, at which keys are pressed from now on; ``review``: over a thin line."""
        name = f"desk-{len(self._desks)}"
        desk = UnitDesk(
            given,
            theme,
            review,
            self._seconds,
            UTC,
            lambda deliver: _Line(name, review, deliver, self._arrives),
        )
        self._desks.append(desk)
        self.window.resize(*size)
        self.window.show()
        self.settle()
        if review:
            self.window.toggle_page(self.window.home)

    @property
    def window(self) -> DeskWindow:
        """The window of the desk that was opened last."""
        return self._desks[-1].window

    def __enter__(self) -> "ShownUnit":
        return self

    def __exit__(self, *_: object) -> None:
        for desk in self._desks:
            desk.window.close()
            desk.window.deleteLater()
        self.hub.end()
        self._record.close()

    def tell(self, observations: Sequence[Observation]) -> None:
        """Let the feed say so much, numbered anew, with the beat that follows."""
        inbox = self._wires.inbox[Room.INGEST]
        for one in observations:
            said = one.model_copy(update={"seq": self._next})
            self._next += 1
            inbox.append(encode(said.bed, said))
        beat = FeedBeat(feed=FEED, epoch=EPOCH, next=self._next, sent_at=self.now)
        inbox.append(encode(FEED, beat))

    def pass_to(self, now: Instant, observations: Sequence[Observation] = ()) -> None:
        """Let it become a later moment, in which the feed says so much; the desk hears all that follows."""
        self.now = now
        self.tell(observations)
        self.settle()

    def settle(self) -> None:
        """Let hub and desk speak until nothing is left to say."""
        is_first = True
        while is_first or self._has_more():
            is_first = False
            self.hub.turn(0)
            for desk in self._desks:
                line = desk.client
                assert isinstance(line, _Line)
                line.hearing.ask(self._seconds(), line.asks)
                desk.window.take_heard()
            if self.hub.desks.cards.is_working:
                time.sleep(_LOOKED_AGAIN_S)  # the hub looks whether that process has ended; nothing else tells it
        for desk in self._desks:
            desk.window.tick()

    def _has_more(self) -> bool:
        desks = self.hub.desks
        return any(self._wires.inbox.values()) or desks.is_reading or desks.cards.is_working

    def keys(self, typed: str) -> None:
        """Type at the desk, each key where the focus is; what follows is heard before the next."""
        for key in typed:
            panel = self.window.panel
            at: QWidget = self.window
            if panel.question is not None:
                at = panel.field.edit if panel.field is not None else panel
            elif self.window.keys.isVisible():
                at = self.window.keys
            if key in _KEYS:
                QTest.keyClick(at, _KEYS[key])
            else:
                QTest.keyClicks(at, key)
            self.settle()

    def _arrives(self, parts: list[bytes]) -> None:
        if not self.is_cut:
            self._wires.inbox[Room.COMMANDS].append(parts)

    def _leaves(self, room: Room, parts: list[bytes]) -> None:
        if self.is_cut:
            return
        for number, desk in enumerate(self._desks):
            line = desk.client
            if room is Room.PUBLISH and not line.hearing.packed:
                line.hearing.published(parts, self._seconds())
            elif room is Room.COMMANDS and parts[0] == f"desk-{number}".encode():
                line.hearing.replied(parts[1:], self._seconds())

    def _ticks(self) -> Instant:
        return _RAN_MS + self.now - self._began

    def _seconds(self) -> float:
        return self._ticks() / SECOND
