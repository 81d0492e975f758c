"""Hub and feed are killed again and again while two ladders climb and commands are given.

Invariants 1, 3, 6 and 7 on real processes: kill -9 leaves no time to tidy up anything. The hub is killed while it
runs and while it starts; the feed between and during its sending.
"""

import random
import time
from collections import Counter
from dataclasses import dataclass, field
from pathlib import Path

import pytest

from feeds.simulated.player import Player
from monitor.core.commands import SetTarget
from monitor.core.effects import Persist
from monitor.core.engine import Engine
from monitor.core.entries import Entry, EntryKind
from monitor.core.events import Event, Observed
from monitor.core.wire import CommandAnswer, EntryDelta, GiveCommand
from monitor.record import Begin, Record
from monitor.settings import load_configuration
from shared.instant import SECOND, Instant
from shared.messages import Observation
from shared.quantities import Quantity as Q
from shared.scenario import parse_scenario
from shared.virtual import virtual_ms
from tests.helpers.hub import CONFIG, DeskEnd
from tests.helpers.processes import ALIVE_S, Process, Station, logged_badly

SPEED = 4.0
KILLS = 20
FEED_KILLS = 4
SEED = 2

#: Two beds fall to a high alert, one stays as it is; then all cables are pulled, and the hub climbs on alone.
SCENARIO = """
title = "Two beds fall"
minutes = 10
noise = true
beds = ["B1", "B2", "B3"]
ramp = [
  { bed = "B1", quantity = "pump_flow", from = "0:15", value = 2.0 },
  { bed = "B2", quantity = "pump_flow", from = "0:30", value = 2.0 },
]
link = [{ beds = "all", down = "3:00" }]
"""
ENDS_S = 240

#: When a high alert is called: seconds after it was raised, by rung; again from then on (config/ladder.toml).
CLIMB = {1: 0, 2: 60, 3: 120, 4: 180, 5: 300}
AGAIN_FROM_S = 420


@dataclass
class Course:
    """What the test did: the hub was away in each of ``away``, in the hub's own time."""

    station: Station
    path: Path
    hub: Process
    feed: Process
    desk: DeskEnd
    away: list[tuple[Instant, Instant]] = field(default_factory=list)
    starts: list[float] = field(default_factory=list)
    given: list[str] = field(default_factory=list)
    kills: int = 0

    def now(self) -> Instant:
        return virtual_ms(self.station.start, time.time_ns() // 1_000_000, SPEED)

    def listen(self, seconds: float) -> None:
        """Hear the hub for so long, and give it a command as soon as it has answered the last one."""
        ends = time.monotonic() + seconds
        while (left := ends - time.monotonic()) > 0:
            self.desk.sub.socket.poll(min(50, max(1, round(left * 1000))))
            self.hear()

    def hear(self) -> None:
        self.desk.sub.listen()
        self.desk.ask.listen()
        if not self.given or self.given[-1] in self.answered():
            self.given.append(f"target-{len(self.given):04}")
            self.ask()

    def ask(self) -> None:
        """Give the last command, perhaps once more."""
        if self.given:
            target = SetTarget(
                id=self.given[-1],
                person="charge-2",
                bed="B3",
                quantity=Q.PUMP_FLOW,
                value=4 + len(self.given) / 1000,
            )
            self.desk.ask.say("desk", GiveCommand(command=target))

    def answered(self) -> list[str]:
        return [answer.id for answer in self.desk.ask.of(CommandAnswer) if answer.accepted]

    def kill(self, rng: random.Random) -> None:
        """Kill the hub, once more perhaps while it starts, and start it again."""
        killed, line = self.now(), ""
        while not line:
            self.hub.kill()
            self.kills += 1
            self.hub = self.station.launch_hub()
            again = rng.random() < 0.3 and self.kills < KILLS
            line = self.hub.says_within(rng.uniform(0, 1.5) if again else ALIVE_S)
            assert line or again, self.hub.log.read_text()
        assert line.startswith("hub ready"), self.hub.log.read_text()
        self.starts.append(self.hub.worked_s)
        self.away.append((killed, self.now()))
        self.ask()

    def kill_feed(self) -> None:
        """Kill the feed and start it again; the hub goes on."""
        self.feed.kill()
        self.feed = self.station.feed(self.path)

    def latest(self, due: Instant) -> Instant:
        """Give until when a call that is due must have been made: within 1 s, or within 1 s of the restart."""
        latest = due + SECOND
        for killed, back in self.away:
            if killed <= latest and due <= back:
                latest = back + round(SECOND * SPEED)
        return latest


@pytest.mark.slow
@pytest.mark.timeout(300)
def test_that_kills_of_hub_and_feed_lose_double_delay_and_change_nothing(tmp_path: Path) -> None:
    rng = random.Random(SEED)
    path = tmp_path / "two_beds_fall.toml"
    path.write_text(SCENARIO, encoding="utf-8")
    with Station(tmp_path, SPEED) as station:
        feed = station.feed(path)
        course = Course(station, path, station.hub(), feed, DeskEnd(station.endpoints))
        try:
            while course.kills < KILLS:
                course.listen(rng.uniform(0, 0.8))
                if course.kills % (KILLS // FEED_KILLS) == 2:
                    course.kill_feed()
                course.kill(rng)
            course.listen(max(0.0, (station.start + ENDS_S * SECOND - course.now()) / SECOND / SPEED))
            ends = time.monotonic() + ALIVE_S
            while station.missing() and time.monotonic() < ends:
                course.listen(0.2)
            course.listen(2.5)  # two seconds of the wall: "stored" is said
            assert course.hub.end() == 0
            course.desk.sub.listen()
            assert course.feed.end() == 0
            assert logged_badly(course.hub.log) == []
        finally:
            course.desk.close()
        numbered, kept = station.in_journal()
        assert kept == 0, "the feed was told that all of it is stored"
        record = Record.open(station.record)
        try:
            check(course, record, numbered)
        finally:
            record.close()
    assert max(course.starts) <= 3.0, f"seconds of work for each restart: {course.starts}"


def check(course: Course, record: Record, numbered: int) -> None:
    inputs = list(record.replay(0))
    assert record.verify() is None
    assert record.missed is None, "the head was never ahead"
    found = sorted((e.observation for e, _ in inputs if isinstance(e, Observed)), key=lambda one: one.seq)
    assert numbered > 100
    assert [one.seq for one in found] == list(range(1, numbered + 1)), "each number once"
    assert len({one.epoch for one in found}) == 1
    everything_is_as_it_was_read(course, found)
    entries = record.entries(None, 100_000)[::-1]
    told = [delta.entry for delta in course.desk.sub.of(EntryDelta)]
    assert len(told) > 20
    assert [entry for entry in told if entry not in entries] == [], "what a screen showed is in the record"
    assert all(delta.recorded for delta in course.desk.sub.of(EntryDelta))
    commands_were_carried_out_once(course, entries)
    the_ladder_was_climbed_on_time(course, entries)
    one_engine_that_was_never_killed_writes_the_same(inputs, entries)


def everything_is_as_it_was_read(course: Course, found: list[Observation]) -> None:
    """The same scenario once more: every reading in the record is what its bed showed at that second."""
    player = Player(parse_scenario(SCENARIO), course.station.start)
    shown = {(draft.bed, draft.read_at): draft for second in range(ENDS_S) for draft in player.second(second)}
    assert len({(one.bed, one.read_at) for one in found}) == len(found)
    for one in found:
        draft = shown[one.bed, one.read_at]
        assert (one.readings, one.estimated, one.conditions) == (draft.readings, draft.estimated, draft.conditions)


def commands_were_carried_out_once(course: Course, entries: list[Entry]) -> None:
    done = Counter(entry.command for entry in entries if entry.kind is EntryKind.TARGET)
    answered = course.answered()
    assert len(answered) > KILLS
    assert all(done[name] == 1 for name in answered), "each answered command once"
    assert max(done.values()) == 1
    assert set(done) <= set(course.given)


def the_ladder_was_climbed_on_time(course: Course, entries: list[Entry]) -> None:
    ended = entries[-1].at
    for bed in ("B1", "B2"):
        [raised] = [e for e in entries if e.kind is EntryKind.RAISED and e.bed == bed and e.rule == "flow_very_low"]
        called = {
            rung: [e.at for e in entries if e.kind is EntryKind.CALLED and e.bed == bed and e.rung == rung
                   and e.episode == raised.episode and e.at < raised.at + AGAIN_FROM_S * SECOND]
            for rung in CLIMB
        }  # fmt: skip
        assert len(called[3]) == 1, f"{bed} climbed at least to rung 3: {called}"
        for rung, seconds in CLIMB.items():
            due = raised.at + seconds * SECOND
            if course.latest(due) < ended:
                assert len(called[rung]) == 1, f"{bed}: rung {rung} is called once: {called}"
            for at in called[rung]:
                assert due <= at <= course.latest(due), f"{bed}: rung {rung} is called {at - due} ms after its time"


def one_engine_that_was_never_killed_writes_the_same(
    inputs: list[tuple[Event | Begin, Instant]], entries: list[Entry]
) -> None:
    """Every input again, from the beginning, into one engine: what it writes is what the record holds."""
    configuration = load_configuration(CONFIG)
    written: list[Entry] = []
    engine: Engine | None = None
    for event, at in inputs:
        if isinstance(event, Begin):
            assert engine is None
            engine = Engine(configuration, at)
            effects = engine.start(at)
        else:
            assert engine is not None
            effects = engine.handle(event, at)
        written += [effect.entry for effect in effects if isinstance(effect, Persist)]
    own = [e for e in entries if e.kind is EntryKind.NOTE and (e.text or "").startswith("the hub was ")]
    assert len(own) >= KILLS // 2
    assert [e for e in entries if e not in own and e.kind is not EntryKind.PAGED] == written
