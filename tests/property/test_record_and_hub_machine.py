"""Hub, record and one feed's link under every kind of trouble at once, without sockets (invariants 1, 6, 7).

Messages are lost, the record refuses, and the hub is killed between any two of its writings and sayings. A naive
model knows what the feed numbered. The hub, its record and the feed's link are the real ones.
"""

import logging
import shutil
import tempfile
from collections import deque
from collections.abc import Callable, Iterator, Sequence
from pathlib import Path

from hypothesis import settings
from hypothesis import strategies as st
from hypothesis.stateful import RuleBasedStateMachine, initialize, invariant, rule

from monitor.core.commands import SetTarget
from monitor.core.effects import Persist
from monitor.core.engine import Engine
from monitor.core.entries import Entry, EntryKind
from monitor.core.events import Observed
from monitor.core.wire import DELTAS, REPLIES, CommandAnswer, EntryDelta, GiveCommand
from monitor.hub.clock import HubClock
from monitor.hub.room import Room
from monitor.hub.runner import Hub
from monitor.record import Begin, Record
from monitor.settings import load_configuration
from shared.errors import RecordError
from shared.feed_link import Do, FeedLink
from shared.frames import decode, encode
from shared.messages import FEED_MESSAGES, PROTOCOL_VERSION, FeedBeat, Hello, Observation
from shared.quantities import Quantity as Q
from tests.helpers.hub import BASE, CONFIG, NOON, bed

LOW = {**BASE, Q.PUMP_FLOW: 2.0}
FEED, EPOCH = "ward", "00000000000000aa"
BEDS = st.lists(st.sampled_from(["B1", "B2"]), min_size=1, max_size=6)
POINTS = st.none() | st.none() | st.integers(0, 25)
CONFIGURATION = load_configuration(CONFIG)


class Killed(BaseException):
    """The process is gone at this point."""


class Wires:
    """In place of the sockets: what came in, what went out."""

    def __init__(self, fuse: Callable[[], None]) -> None:
        self.inbox: dict[Room, deque[list[bytes]]] = {room: deque() for room in Room}
        self.outbox: list[tuple[Room, list[bytes]]] = []
        self._fuse = fuse

    def wait(self, timeout_ms: int) -> None:
        """Nothing is waited for."""

    def drain(self, room: Room) -> Iterator[list[bytes]]:
        while self.inbox[room]:
            yield self.inbox[room].popleft()

    def rebind(self) -> None:
        raise AssertionError("nobody is revoked here")

    def send(self, room: Room, parts: Sequence[bytes]) -> None:
        self._fuse()
        self.outbox.append((room, list(parts)))

    def close(self) -> None:
        self.outbox.clear()


class HubMachine(RuleBasedStateMachine):
    def __init__(self) -> None:
        super().__init__()
        self.log = logging.getLogger("monitor.hub")
        self.level = self.log.level
        self.log.setLevel(logging.CRITICAL)  # what the record refuses is logged, and expected here
        self.folder = Path(tempfile.mkdtemp())
        self.ms = 0
        self.left: int | None = None
        self.refusing = False
        self.link = FeedLink(FEED, EPOCH)
        self.kept: dict[int, list[bytes]] = {}
        self.readings: dict[int, dict[Q, float]] = {}
        self.given: list[str] = []
        self.answers: dict[str, CommandAnswer] = {}
        self.told: list[Entry] = []
        self.wires = Wires(self.fuse)
        self.up()

    def fuse(self) -> None:
        """Pass one point at which the process may be killed."""
        if self.left is not None:
            self.left -= 1
            if self.left < 0:
                self.left = None
                raise Killed

    def up(self) -> None:
        """Start the hub on its record; a kill while it starts is one more start."""
        while True:
            self.record = Record.open(self.folder / "unit.record")
            self._hurt("append")
            self._hurt("flush")
            clock = HubClock(floor=self.record.last_at(), wall=self.wall, ticks=self.ticks)
            try:
                self.hub = Hub(CONFIGURATION, self.record, clock, lines=self.wires)
            except Killed:
                self.record.close()
                continue
            return

    def _hurt(self, name: str) -> None:
        call = getattr(self.record, name)

        def hurt(argument: object) -> object:
            self.fuse()
            if self.refusing:
                raise RecordError("no room")
            given = call(argument)
            self.fuse()
            return given

        setattr(self.record, name, hurt)

    def wall(self) -> int:
        return NOON + self.ms

    def ticks(self) -> int:
        return 1_000_000 + self.ms

    def turn(self, points: int | None = None) -> None:
        """Take a turn; the process is killed at the point of that number, if it comes so far."""
        self.left = points
        try:
            self.hub.turn(0)
        except Killed:
            self.restart()
        self.left = None
        self.hear()

    def restart(self) -> None:
        self.hear()  # what had left the process before it was killed
        self.record.close()
        for room in Room:
            self.wires.inbox[room].clear()
        self.up()

    def hear(self) -> None:
        """Let the feed and the desk hear what the hub has said."""
        said, self.wires.outbox = self.wires.outbox, []
        for room, parts in said:
            if room is Room.LINK:
                message = decode(parts[1:], FEED_MESSAGES)[1]
                do = self.link.hear(message, self.ticks())
                assert do is not Do.NEW_EPOCH
                if do is Do.FORGET:
                    self.kept = {seq: kept for seq, kept in self.kept.items() if seq > self.link.stored}
                elif do is Do.HELLO:
                    self.say_hello()
            elif room is Room.COMMANDS:
                reply = decode(parts[1:], REPLIES)[1]
                if isinstance(reply, CommandAnswer):
                    before = self.answers.setdefault(reply.id, reply)
                    assert (before.accepted, before.at) == (reply.accepted, reply.at) or not before.recorded
            else:
                delta = decode(parts, DELTAS)[1]
                if isinstance(delta, EntryDelta) and delta.recorded:
                    self.told.append(delta.entry)

    def say_hello(self) -> None:
        hello = Hello(
            version=PROTOCOL_VERSION, feed=FEED, epoch=EPOCH, first=self.link.first, next=self.link.next_seq,
            sent_at=self.wall(), beds=(bed("B1"), bed("B2")),
        )  # fmt: skip
        self.wires.inbox[Room.LINK].append([FEED.encode(), *encode(FEED, hello)])

    def feed_does_what_is_due(self) -> None:
        if self.link.due(self.ticks()) is Do.HELLO:
            self.say_hello()
        beat = FeedBeat(feed=FEED, epoch=EPOCH, next=self.link.next_seq, sent_at=self.wall())
        self.wires.inbox[Room.INGEST].append(encode(FEED, beat))
        span = self.link.resend(self.ticks())
        if span is not None:
            for seq in range(span.first, span.last + 1):
                self.wires.inbox[Room.LINK].append([FEED.encode(), *self.kept[seq]])

    @initialize()
    def feed_is_welcomed(self) -> None:
        self.seconds_pass(2, None)

    @rule(beds=BEDS, low=st.booleans(), lost=st.integers(0, 3), points=POINTS)
    def read(self, beds: list[str], low: bool, lost: int, points: int | None) -> None:
        """A second with readings, of which the line loses the first few; a turn, perhaps the process's last."""
        self.ms += 1_000
        self.feed_does_what_is_due()
        for place, name in enumerate(beds):
            self.ms += 7
            seq = self.link.number()
            readings = {**(LOW if low else BASE), Q.INLET_PRESSURE: -60.0 - seq / 64}
            said = Observation(
                feed=FEED,
                epoch=EPOCH,
                seq=seq,
                bed=name,
                read_at=self.wall(),
                sent_at=self.wall(),
                readings=readings,
            )
            self.readings[seq], self.kept[seq] = readings, encode(name, said)
            if place >= lost:
                self.wires.inbox[Room.INGEST].append(self.kept[seq])
        self.turn(points)

    @rule(seconds=st.integers(1, 4), points=POINTS)
    def seconds_pass(self, seconds: int, points: int | None) -> None:
        for _ in range(seconds):
            self.ms += 1_100
            self.feed_does_what_is_due()
            self.turn(points)

    @rule(ms=st.sampled_from([20, 300, 12_000, 61_000]), points=POINTS)
    def time_passes(self, ms: int, points: int | None) -> None:
        self.ms += ms
        self.feed_does_what_is_due()
        self.turn(points)

    @rule(trouble=st.sampled_from(["refuses", "takes", "takes", "cut", "ended"]))
    def trouble(self, trouble: str) -> None:
        """The record refuses or takes writes again, the line is cut, the hub is ended and started."""
        if trouble == "cut":
            for room in Room:
                self.wires.inbox[room].clear()
            self.wires.outbox.clear()
        elif trouble == "ended":
            self.hub.end()
            self.restart()
        else:
            self.refusing = trouble == "refuses"

    @rule(again=st.booleans())
    def command(self, again: bool) -> None:
        if not (again and self.given):
            self.given.append(f"target-{len(self.given):04}")
        target = SetTarget(
            id=self.given[-1], person="charge-2", bed="B3", quantity=Q.PUMP_FLOW, value=4 + len(self.given) / 1000
        )
        self.wires.inbox[Room.COMMANDS].append([b"desk", *encode("desk", GiveCommand(command=target))])

    @invariant()
    def each_observation_is_in_the_record_or_kept_by_the_feed(self) -> None:
        found = self.recorded()
        assert len(found) == len(set(found)), "nothing twice"
        assert set(range(1, self.link.next_seq)) == set(found) | self.kept.keys(), "nothing lost"
        assert self.record.doubled == 0

    def recorded(self) -> list[int]:
        return [event.observation.seq for event, _ in self.record.replay(0) if isinstance(event, Observed)]

    def teardown(self) -> None:
        try:
            self.heal()
            self.check()
        finally:
            self.record.close()
            shutil.rmtree(self.folder)
            self.log.setLevel(self.level)

    def heal(self) -> None:
        self.refusing = False
        for _ in range(60):
            self.ms += 600
            self.feed_does_what_is_due()
            self.turn()
            if not self.kept and not self.hub.keeper.is_owing and self.hub.keeper.not_recorded is None:
                return
        raise AssertionError(f"{len(self.kept)} observations are not stored after all is well again")

    def check(self) -> None:
        inputs = list(self.record.replay(0))
        entries = self.record.entries(None, 100_000)[::-1]
        assert self.record.verify() is None
        assert sorted(self.recorded()) == list(range(1, self.link.next_seq))
        for event, _ in inputs:
            if isinstance(event, Observed):
                assert event.observation.readings == self.readings[event.observation.seq]
        assert [entry for entry in self.told if entry not in entries] == [], "what was told as recorded is recorded"
        targets = [entry.command for entry in entries if entry.kind is EntryKind.TARGET]
        assert len(targets) == len(set(targets)), "each command once"
        assert {name for name, answer in self.answers.items() if answer.recorded} <= set(targets)
        assert self.hub.defects == self.hub.judge.defects == self.hub.views.defects == self.hub.keeper.defects == 0
        own = [e for e in entries if e.kind is EntryKind.NOTE and (e.text or "").startswith("the hub was ")]
        written, state = self.retold()
        assert [e for e in entries if e not in own and e.kind is not EntryKind.PAGED] == written
        assert self.hub.judge.engine.checkpoint() == state, "it stands where one stands that was never killed"

    def retold(self) -> tuple[list[Entry], bytes]:
        """What one engine writes that hears every input of the record again, and where it then stands."""
        engine: Engine | None = None
        written: list[Entry] = []
        for event, at in self.record.replay(0):
            if isinstance(event, Begin):
                engine = Engine(CONFIGURATION, at)
                effects = engine.start(at)
            else:
                assert engine is not None
                effects = engine.handle(event, at)
            written += [effect.entry for effect in effects if isinstance(effect, Persist)]
        assert engine is not None
        return written, engine.checkpoint()


HubMachine.TestCase.settings = settings(max_examples=40, stateful_step_count=30, deadline=None)
TestHubMachine = HubMachine.TestCase
