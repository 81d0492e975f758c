"""Plays a plan: machines, network and people put together, and looked on at every step."""

import random
import tempfile
from collections.abc import Callable
from functools import partial
from pathlib import Path

from monitor.cli.trials.desk_machine import DeskMachine
from monitor.cli.trials.feed_machine import FeedMachine
from monitor.cli.trials.form_machine import FormMachine
from monitor.cli.trials.hostile import frames
from monitor.cli.trials.hub_machine import HubMachine
from monitor.cli.trials.patients import EVERY_S, Patients, Units, declared
from monitor.cli.trials.people import commands_of
from monitor.cli.trials.review_machine import ReviewMachine
from monitor.cli.trials.watch import Watch
from monitor.hub.room import Room
from monitor.rehearsal.trials.findings import Broken, Outcome, Story
from monitor.rehearsal.trials.network import Network
from monitor.rehearsal.trials.plan import FORM, HUB, NO_FAULT, Item, Kind, Plan
from monitor.rehearsal.trials.timeline import Timeline
from shared.instant import SECOND, Instant
from shared.messages import Origin

#: A kill that comes to none of its points within this time is made all the same.
_AT_LATEST_MS = 5 * SECOND
#: So long after the last trouble everything must be stored.
_SETTLES_S = 120
_MEMORY = Path("/dev/shm")


def play(plan: Plan, units: Units) -> Outcome:
    """Play a plan on a record of its own, which is gone afterwards."""
    place = _MEMORY if _MEMORY.is_dir() else None
    with tempfile.TemporaryDirectory(prefix="trial-", dir=place) as folder:
        trial = Trial(plan, units, Path(folder))
        invariant, words = 0, "all invariants hold"
        try:
            trial.play()
        except Broken as broken:
            invariant, words = broken.invariant, str(broken)
            trial.story.tell(trial.timeline.now, f"BROKEN: {words}")
        finally:
            trial.close()
    story = trial.story
    story.counts.update({f"messages: {kind.value}": times for kind, times in trial.network.counts.items()})
    length = trial.timeline.now * len(plan.beds)
    return Outcome(plan.seed, invariant, words, tuple(story.lines), dict(story.counts), length)


class Trial:
    """One unit in virtual time."""

    def __init__(self, plan: Plan, units: Units, folder: Path) -> None:
        self.timeline, self.story = Timeline(), Story()
        self.network = Network(self.timeline)
        self._plan = plan
        configuration = units.configuration(plan.beds, plan.by_hand)
        self._watch = Watch(configuration, plan.by_hand, plan.beside, self.story, lambda: self.timeline.now)
        self._patients = Patients(plan.beds)
        self._hub = HubMachine(configuration, folder, self.timeline, self.story, self._watch)
        around = (self._patients, self.timeline, self.network, self.story, self._watch, plan.seed)
        self._feeds = {
            name: FeedMachine(name, declared(beds), *around) for name, beds in plan.feeds.items() if name != FORM
        }
        self._form: FormMachine | None = None
        if FORM in plan.feeds:
            typed = (*plan.by_hand, *plan.beside)
            self._form = FormMachine(FORM, declared(typed, Origin.ENTERED), *around)
            self._form.beside = plan.beside
            self._feeds[FORM] = self._form
        here = (self.timeline, self.network, self.story, lambda: self._hub.hub is not None)
        self._reviews = {name: ReviewMachine(name, *here) for name in plan.reviews}
        self._desks = {name: DeskMachine(name, *here) for name in plan.desks} | self._reviews
        self._hub.sends = self._from_hub
        for feed in self._feeds.values():
            feed.to_hub = {room: partial(self._hub.arrives, room) for room in (Room.INGEST, Room.LINK)}
        for desk in self._desks.values():
            desk.to_hub = partial(self._hub.arrives, Room.COMMANDS)

    def play(self) -> None:
        """Play it to its end. Raises Broken: an invariant does not hold."""
        self._hub.up()
        for feed in self._feeds.values():
            feed.up()
        for item in self._plan.items:
            self.timeline.at(item.at, partial(self._befall, item))
        self.timeline.at(0, self._second)
        self.timeline.run(self._plan.length)
        self._heal()
        for _ in range(_SETTLES_S):
            self.timeline.run(self.timeline.now + SECOND)
            if self._is_settled() and not self._behind():
                break
        else:
            behind = self._behind()
            if self._is_settled() and behind:
                raise Broken(2, f"{behind[0]} does not show what stands two minutes after all is well again")
            raise Broken(1, "not everything is stored two minutes after all is well again")
        self.timeline.run(self.timeline.now + 3 * SECOND)
        hub = self._hub.hub
        assert hub is not None
        self._watch.at_the_end(hub, self._hub.record)
        self._hub.stop()

    def close(self) -> None:
        """Let go of the record."""
        self._hub.abandon()

    # -- what happens by itself -------------------------------------------------------------------------------

    def _second(self) -> None:
        second = self.timeline.now // SECOND
        for place, (name, beds) in enumerate(self._plan.feeds.items()):
            is_due = (second + 3 * place) % EVERY_S == 1 and self.timeline.now < self._plan.length
            if is_due and name != FORM:
                self._feeds[name].read(beds)
        for desk in self._desks.values():
            desk.second()
        self._watch.second(tuple(self._desks.values()))
        self.timeline.after(SECOND, self._second)

    def _from_hub(self, room: Room, parts: list[bytes]) -> None:
        now = self.timeline.now
        if room is Room.PUBLISH:
            for name, desk in self._desks.items():
                if name not in self._reviews:
                    self.network.send(name, parts, partial(desk.published, now))
            return
        name = parts[0].decode("ascii", "replace")
        if room is Room.LINK and name in self._feeds:
            self.network.send(name, parts[1:], self._feeds[name].heard)
        elif room is Room.COMMANDS and name in self._desks:
            self.network.send(name, parts[1:], partial(self._desks[name].replied, now))

    def _is_settled(self) -> bool:
        hub = self._hub.hub
        if hub is None or hub.keeper.is_owing or hub.keeper.not_recorded is not None:
            return False
        for feed in self._feeds.values():
            if feed.in_memory and feed.is_settled:
                feed.down()  # what it keeps in memory is stored: its disk is well again
                feed.up()
        return all(feed.is_settled and not feed.in_memory for feed in self._feeds.values())

    def _behind(self) -> list[str]:
        """Name the desks that do not show, as live, what the hub stands on."""
        hub = self._hub.hub
        desks = self._desks.values()
        return [desk.name for desk in desks if hub is None or desk.is_veiled or not desk.is_whole(hub)]

    def _heal(self) -> None:
        self.story.tell(self.timeline.now, "all troubles end")
        self.network.heal()
        self._hub.platter.full, self._hub.platter.slow = False, 0
        self._hub.fuse.out()
        self._hub.up()
        for feed in self._feeds.values():
            feed.disk.full = False
            feed.up()
        for desk in self._desks.values():
            if not desk.is_on:
                desk.on()

    # -- what befalls it --------------------------------------------------------------------------------------

    def _befall(self, item: Item) -> None:
        self.story.tell(self.timeline.now, item.words().split("  ", 1)[1])
        if item.kind not in NO_FAULT:
            self.story.counts[f"faults: {item.kind.value}"] += 1
        _BEFALLS[item.kind](self, item)

    def _trouble(self, item: Item) -> None:
        self.network.trouble(item)

    def _kill_hub(self, item: Item) -> None:
        self._at_a_point(item, self._hub.down, "killed")

    def _cut_power(self, item: Item) -> None:
        """The machine goes: at the point, for what is written in the same moment is not lost by itself."""
        self._at_a_point(item, partial(self._hub.down, power=random.Random(item.seed)), "cut off from power")

    def _at_a_point(self, item: Item, down: Callable[[str], None], how: str) -> None:
        self._hub.ends_by = down
        self._hub.fuse.light(item.size)
        length = item.length
        if item.kind is Kind.HUB_KILLED_TWICE:
            up: Callable[[], None] = partial(self._hub.up, item.size)
        else:
            up = self._hub.up

        def at_latest() -> None:
            if self._hub.fuse.burns:
                down(how)
            self.timeline.after(length, up)

        self.story.counts["hub kills"] += 1
        self.timeline.after(_AT_LATEST_MS, at_latest)

    def _stop_hub(self, item: Item) -> None:
        self._hub.stop()
        self.timeline.after(item.length, self._hub.up)

    def _stall(self, item: Item) -> None:
        self._hub.stall(item.size)

    def _disk(self, item: Item) -> None:
        platter = self._hub.platter
        if item.kind is Kind.DISK_FULL:
            platter.full = True
            self.timeline.after(item.length, lambda: setattr(platter, "full", False))
        else:
            platter.slow = item.size
            self.timeline.after(item.length, lambda: setattr(platter, "slow", 0))

    def _kill_feed(self, item: Item) -> None:
        feed = self._feeds[item.who]
        feed.fuse.light(item.size)

        def at_latest() -> None:
            if feed.fuse.burns:
                feed.down()
            self.timeline.after(item.length, feed.up)

        self.timeline.after(_AT_LATEST_MS, at_latest)

    def _fill_feed(self, item: Item) -> None:
        disk = self._feeds[item.who].disk
        disk.full = True
        self.timeline.after(item.length, lambda: setattr(disk, "full", False))

    def _set_clock(self, item: Item) -> None:
        if item.who == HUB:
            self._hub.set_clock(item.size)
        else:
            self._feeds[item.who].skew += item.size

    def _start_desk(self, item: Item) -> None:
        desk = self._desks[item.who]
        desk.off()
        self.timeline.after(item.length, desk.on)

    def _hostile(self, item: Item) -> None:
        rng = random.Random(item.seed)
        at: Instant = 0
        for room, parts in frames(rng, item.size, next(iter(self._feeds)), rng.choice(self._plan.beds)):
            at += rng.randrange(400)
            self.timeline.after(at, partial(self._hub.arrives, room, parts))
        self.story.counts["messages of strangers"] += item.size

    def _situation(self, item: Item) -> None:
        self._patients.become(item.who, item.what)

    def _cable(self, item: Item) -> None:
        self._patients.cut.add(item.who)
        self.timeline.after(item.length, lambda: self._patients.cut.discard(item.who))

    def _type(self, item: Item) -> None:
        if self._form is not None:
            self._form.enter(item)

    def _act(self, item: Item) -> None:
        desk = self._desks[item.who]
        for command in commands_of(item, desk, self._plan.beds):
            desk.give(command)


_BEFALLS: dict[Kind, Callable[[Trial, Item], None]] = {
    Kind.LOSS: Trial._trouble,
    Kind.DELAY: Trial._trouble,
    Kind.SLOW: Trial._trouble,
    Kind.DOUBLE: Trial._trouble,
    Kind.PARTITION: Trial._trouble,
    Kind.HUB_KILLED: Trial._kill_hub,
    Kind.HUB_KILLED_TWICE: Trial._kill_hub,
    Kind.POWER_CUT: Trial._cut_power,
    Kind.HUB_STOPPED: Trial._stop_hub,
    Kind.HUB_STALLS: Trial._stall,
    Kind.DISK_FULL: Trial._disk,
    Kind.DISK_SLOW: Trial._disk,
    Kind.FEED_KILLED: Trial._kill_feed,
    Kind.FEED_FULL: Trial._fill_feed,
    Kind.CLOCK: Trial._set_clock,
    Kind.DESK_STARTED: Trial._start_desk,
    Kind.HOSTILE: Trial._hostile,
    Kind.SITUATION: Trial._situation,
    Kind.CABLE: Trial._cable,
    Kind.ACT: Trial._act,
    Kind.SET: Trial._type,
}
