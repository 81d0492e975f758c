"""A machine with the hub on it: the real hub on a real record, its lines and clock virtual."""

import random
from collections import deque
from collections.abc import Callable, Iterator, Sequence
from pathlib import Path

from monitor.cli.trials.disk import Platter, TrialRecord, cut_power
from monitor.cli.trials.fuse import Fuse, Killed
from monitor.cli.trials.patients import NOON
from monitor.cli.trials.watch import Watch
from monitor.core.unit import Configuration
from monitor.hub.clock import HubClock
from monitor.hub.room import Room
from monitor.hub.runner import Hub
from monitor.rehearsal.trials.findings import Broken, Story
from monitor.rehearsal.trials.timeline import Timeline
from shared.errors import RecordError
from shared.instant import SECOND, Instant

_SOON_MS = 1
#: The monotonic clock of a machine that has run for a while.
_RAN_MS = 1_000_000


class Wires:
    """The hub's lines: what came and is not heard yet, and what leaves."""

    def __init__(self, sends: Callable[[Room, list[bytes]], None]) -> None:
        self.inbox: dict[Room, deque[list[bytes]]] = {room: deque() for room in Room}
        self._sends = sends

    def wait(self, timeout_ms: int) -> None:
        """Nothing is waited for."""

    def drain(self, room: Room) -> Iterator[list[bytes]]:
        """Give what has come."""
        while self.inbox[room]:
            yield self.inbox[room].popleft()

    def send(self, room: Room, parts: Sequence[bytes]) -> None:
        """Send."""
        self._sends(room, list(parts))

    def rebind(self) -> None:
        """Nobody is connected by a key."""

    def close(self) -> None:
        """Nothing is open."""


class HubMachine:
    """One hub, through all its lives.

    Attributes:
        hub: the process, ``None`` while there is none.
        skew: ms by which the wall clock is wrong.
        platter: its disk.
        fuse: when the process ends.
        ends_by: how it ends at a point.
        sends: takes what leaves, by room; set by whoever puts the unit together.
    """

    def __init__(
        self, configuration: Configuration, folder: Path, timeline: Timeline, story: Story, watch: Watch
    ) -> None:
        self.hub: Hub | None = None
        self.skew = 0
        self.fuse = Fuse()
        self.sends: Callable[[Room, list[bytes]], None] = lambda room, parts: None
        self._configuration, self._path = configuration, folder / "unit.record"
        self._timeline, self._story, self._watch = timeline, story, watch
        self._lag = 0
        self.platter = Platter(self.fuse.point, self._takes)
        self._wires = Wires(self._leaves)
        self.ends_by: Callable[[str], None] = self.down
        self._wake_at: Instant = -1
        self._busy_until: Instant = 0

    def up(self, points: int | None = None) -> None:
        """Start the process on its record; ``points``: it is killed after so many, and started again."""
        if self.hub is not None:
            return
        try:
            self.record = TrialRecord.open(self._path)
        except RecordError as error:
            raise Broken(6, f"the record does not open again: {error}") from error
        self.record.platter, self.record.written = self.platter, self._watch.written
        if points is not None:
            self.fuse.light(points)
        clock = HubClock(floor=self.record.last_at(), wall=self._wall, ticks=self._ticks)
        self._watch.starts(self.record, clock)
        try:
            self.hub = Hub(self._configuration, self.record, clock, lines=self._wires)
        except Killed:
            self._watch.away_from(clock.now())
            self.record.close(as_it_is=True)
            self._story.counts["kills while starting"] += 1
            self.up()
            return
        self.fuse.out()
        self._watch.started(self.hub, self.record)
        self._story.counts["hub starts"] += 1
        self._wake(self._timeline.now + _SOON_MS)

    def down(self, how: str, power: random.Random | None = None) -> None:
        """End the process as a kill does; ``power``: its machine's power is cut with it."""
        self.fuse.out()
        if self.hub is None:
            return
        self._watch.ends(self.hub)
        self.hub.outbox.stop()
        self.hub.sign_ins.close()
        self.hub = None
        self.record.close(as_it_is=True)
        left = cut_power(self._path, self.platter.synced, power) if power is not None else ""
        for waiting in self._wires.inbox.values():
            waiting.clear()
        self._story.tell(self._timeline.now, f"hub {how}" + (f": {left}" if left else ""))

    def stop(self) -> None:
        """End the process cleanly."""
        hub, self.hub = self.hub, None
        self.fuse.out()
        if hub is not None:
            self._watch.ends(hub)
            hub.end()
            self.record.close()
            self._story.tell(self._timeline.now, "hub stopped")

    def stall(self, ms: int) -> None:
        """Let the process stand still for so long."""
        if self.hub is not None:
            self._watch.away_from(self.hub.clock.now())
            self._busy_until = max(self._busy_until, self._timeline.now + ms)

    def arrives(self, room: Room, parts: list[bytes]) -> None:
        """Take in what comes over the network; nothing is there to take it while the process is not."""
        if self.hub is not None:
            self._wires.inbox[room].append(parts)
            self._wake(self._timeline.now + _SOON_MS)

    def set_clock(self, ms: int) -> None:
        """Set the wall clock by so many ms."""
        if self.hub is not None:
            self._watch.away_from(self.hub.clock.now())
        self.skew += ms

    def abandon(self) -> None:
        """Leave everything as it is."""
        if self.hub is not None:
            self.hub.outbox.stop()
            self.hub.sign_ins.close()
            self.hub = None
            self.record.close(as_it_is=True)

    def _ends(self) -> None:
        """The process has passed its last point."""
        self.ends_by("killed")

    def _wake(self, at: Instant) -> None:
        at = max(at, self._busy_until)
        if self._timeline.now < self._wake_at <= at:
            return
        self._wake_at = at
        self._timeline.at(at, lambda: self._turn(at))

    def _turn(self, at: Instant) -> None:
        """Take a turn of the hub, unless another one was put in before."""
        if self.hub is None or at != self._wake_at:
            return
        if self._timeline.now < self._busy_until:  # it has begun to stand still since this turn was put in
            self._wake_at = -1
            self._wake(self._timeline.now)
            return
        self._watch.is_there(self.hub.clock.now())
        self._lag = 0
        try:
            self.hub.turn(0)
        except Killed:
            self._ends()
            return
        if self._lag:
            self._watch.away_from(self.hub.clock.now() - self._lag)
            self._busy_until, self._lag = self._timeline.now + self._lag, 0
        self._wake_at = -1
        self._wake(self._timeline.now + max(_SOON_MS, self.hub.patience(SECOND)))

    def _leaves(self, room: Room, parts: list[bytes]) -> None:
        self.fuse.point()
        self._watch.said(room, parts)
        if self._lag:  # the disk took so long before this left
            self._timeline.after(self._lag, lambda: self.sends(room, parts))
        else:
            self.sends(room, parts)

    def _takes(self, ms: int) -> None:
        self._lag += ms

    def _wall(self) -> Instant:
        return NOON + self._timeline.now + self._lag + self.skew

    def _ticks(self) -> Instant:
        return _RAN_MS + self._timeline.now + self._lag
