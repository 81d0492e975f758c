"""Looks on: everything that a hub writes and says, and every board once a second, is held to the invariants."""

from collections import Counter
from collections.abc import Callable, Sequence

from monitor.cli.trials.calls import Calls, Place
from monitor.cli.trials.desk_machine import DeskMachine
from monitor.cli.trials.disk import TrialRecord
from monitor.cli.trials.fresh import Freshness
from monitor.cli.trials.holders import Holders
from monitor.cli.trials.numbers import Numbers
from monitor.cli.trials.patients import MARK
from monitor.cli.trials.retold import hold_to_it
from monitor.cli.trials.sets import Sets
from monitor.core.entries import Entry, EntryKind
from monitor.core.events import Observed
from monitor.core.grades import LadderClass
from monitor.core.unit import Configuration
from monitor.core.wire import DELTAS, REPLIES, CommandAnswer, EntryDelta, ReadingsDelta
from monitor.hub.clock import HubClock
from monitor.hub.room import Room
from monitor.hub.runner import Hub
from monitor.record import Step
from monitor.rehearsal.trials.findings import Broken, Story
from shared.instant import Instant
from shared.messages import FEED_MESSAGES, RefusalReason, Resend, Stored

_TOLD = frozenset({EntryKind.RAISED, EntryKind.FOLDED, EntryKind.PROMOTED, EntryKind.TAKEN, EntryKind.SKIPPED})


class Watch:
    """Of one trial. ``by_hand``: beds whose numbers are typed, ``beside``: beside a cable. ``now``: ms so far."""

    def __init__(
        self,
        configuration: Configuration,
        by_hand: Sequence[str],
        beside: Sequence[str],
        story: Story,
        now: Callable[[], Instant],
    ) -> None:
        self.numbers = Numbers(now)
        self.calls = Calls(configuration.ladder)
        self.holders = Holders(now)
        self.fresh = Freshness(configuration.limits, configuration.ladder.timings.entered_set_s)
        self.sets = Sets(by_hand, beside)
        self._configuration, self._story, self._now = configuration, story, now
        self._hub: Hub | None = None
        self._record: TrialRecord | None = None
        self._in_record: set[str] = set()
        self._own: Counter[str] = Counter()
        self._read: set[tuple[str, int, Instant]] = set()
        self._told: list[str] = []
        self._away: Instant | None = None
        self._answered: set[str] = set()
        self._looked: dict[str, tuple[str, int]] = {}

    # -- the hub's lives --------------------------------------------------------------------------------------

    def starts(self, record: TrialRecord, clock: HubClock) -> None:
        """A record was opened again."""
        self._record = record
        self.is_there(clock.now())
        entries = record.all_entries()
        self._in_record = {entry.model_dump_json() for entry in entries}
        for told in self._told:
            if told not in self._in_record:
                raise Broken(6, f"told as recorded, and not in the record after a start: {told}")
        if record.missed is not None or record.verify() is not None:
            raise Broken(6, f"the chain of the log does not hold: {record.missed or record.verify()}")
        self.numbers.after_start(record)
        self.calls.rebuild(entries)
        self.holders.rebuild(entries)

    def started(self, hub: Hub, record: TrialRecord) -> None:
        """The hub is up on it."""
        self._hub, self._record = hub, record
        self.sets.rebuild(record.replay(0), record.all_entries())
        for event, _ in record.replay(0):  # a snapshot tells these, whether they were published before or not
            if isinstance(event, Observed):
                one = event.observation
                given = self.numbers.given.get((one.epoch, one.seq))
                if given is not None and one.by is None:
                    self.fresh.told(one.bed, given.at, one.read_at)

    def ends(self, hub: Hub) -> None:
        """The hub is about to end. What the record refused is lost with it, as if the hub had been away since."""
        refused_since = hub.keeper.not_recorded
        self.away_from(hub.clock.now() if refused_since is None else refused_since)
        self.look_for_defects(hub)
        self._story.counts["doubles turned away"] += hub.feeds.refusals.counts[RefusalReason.DUPLICATE]
        self._hub = None

    def away_from(self, now: Instant) -> None:
        """From this moment of the hub's time on nothing can be expected of it."""
        self._away = now if self._away is None else min(now, self._away)

    def is_there(self, now: Instant) -> None:
        """From now on it can again."""
        if self._away is not None:
            self.calls.away.append((self._away, now))
            self._away = None

    def look_for_defects(self, hub: Hub) -> None:
        """No message, however wrong, may make the hub fail on itself."""
        found = hub.defects + hub.judge.defects + hub.views.defects + hub.keeper.defects
        if found:
            raise Broken(8, f"the hub failed on itself {found} times")
        if hub.keeper.record is self._record and self._record is not None and self._record.doubled:
            raise Broken(1, f"{self._record.doubled} observations came to the record twice")

    # -- what it writes and says ------------------------------------------------------------------------------

    def written(self, step: Step) -> None:
        """A step is in the record."""
        texts = [entry.model_dump_json() for entry in step.entries]
        self._in_record.update(texts)
        self.sets.take(step.event, step.entries)
        if step.event is None:
            self._own.update(texts)
        elif isinstance(step.event, Observed):
            one = step.event.observation
            self._read.add((one.bed, one.slot, one.read_at))
            if not self._refuses():
                behind = -self.numbers.hub_off[0]
                self.fresh.judged(step, self.numbers.given.get((one.epoch, one.seq)), self._now(), behind)

    def said(self, room: Room, parts: Sequence[bytes]) -> None:
        """The hub sends something."""
        body = parts[-1]
        if room is Room.PUBLISH:
            if body.startswith(b'{"type":"entry"'):
                delta = DELTAS.validate_json(body)
                assert isinstance(delta, EntryDelta)
                self._entry(delta)
            elif body.startswith(b'{"type":"readings"'):
                read = DELTAS.validate_json(body)
                assert isinstance(read, ReadingsDelta)
                self._readings(read)
        elif room is Room.LINK:
            self._to_feed(body)
        elif body.startswith(b'{"type":"command_answer"'):
            answer = REPLIES.validate_json(body)
            assert isinstance(answer, CommandAnswer)
            self._answer(answer)

    def _entry(self, delta: EntryDelta) -> None:
        if self._hub is not None:
            self.numbers.hub_says(self._hub.clock.now())
        entry = delta.entry
        text = entry.model_dump_json()
        if delta.recorded:
            if text not in self._in_record:
                raise Broken(6, f"told as recorded before it was written: {text}")
            self._told.append(text)
        else:
            self._story.counts["entries told NOT RECORDED"] += 1
        self._story.counts[f"entries {entry.kind.value}"] += 1
        if entry.kind in _TOLD:
            what = entry.rule or entry.person or ""
            self._story.tell(self._now(), f"{entry.bed or 'unit'} {entry.kind.value} {what}")
        self.calls.take_in(entry, self._class_of(entry))
        self.holders.take_in(entry)

    def _class_of(self, entry: Entry) -> LadderClass | None:
        if self._hub is None or entry.kind is not EntryKind.RAISED or entry.episode is None:
            return None
        engine, now = self._hub.judge.engine, self._hub.clock.now()
        episodes = engine.unit(now).episodes if entry.bed is None else engine.tile(entry.bed, now).episodes
        ladders = [view.ladder for view in episodes if view.id == entry.episode]
        return ladders[0].ladder if ladders and ladders[0] is not None else None

    def _readings(self, read: ReadingsDelta) -> None:
        at = self.numbers.read.get((read.bed, read.values[MARK]))
        if at is None:
            raise Broken(8, f"readings of {read.bed} were told that no feed gave")
        if not read.by_hand:
            self.fresh.told(read.bed, at, read.read_at)
        if not self._refuses() and (read.bed, read.slot, read.read_at) not in self._read:
            raise Broken(6, f"readings of {read.bed} were told before they were written")

    def _refuses(self) -> bool:
        return self._hub is not None and self._hub.keeper.not_recorded is not None

    def _answer(self, answer: CommandAnswer) -> None:
        if not (answer.accepted and answer.recorded):
            return
        assert self._record is not None
        if self._record.answer(answer.id) is None:
            raise Broken(6, f"the command {answer.id} was answered as recorded before it was written")
        self._answered.add(answer.id)

    def _to_feed(self, body: bytes) -> None:
        message = FEED_MESSAGES.validate_json(body)
        if isinstance(message, Resend):
            self._story.counts["resends asked for"] += 1
        elif isinstance(message, Stored):
            assert self._record is not None
            self.numbers.called_stored(message.epoch, message.up_to, self._record)
        elif message.type == "welcome":
            assert self._record is not None
            self.numbers.called_stored(message.epoch, message.stored, self._record)

    # -- once a second ----------------------------------------------------------------------------------------

    def second(self, desks: Sequence[DeskMachine]) -> None:
        """Look at every board."""
        for desk in desks:
            if desk.is_on:
                self.fresh.look(desk, self._now())
                store = desk.store
                if store.unit is not None and not desk.is_veiled:
                    self.holders.remembered(desk.name, store.tiles, store.unit, desk.said_at)
        hub = self._hub
        if hub is None or self._away is not None:
            return
        self.look_for_defects(hub)
        now = hub.clock.now()
        self.numbers.hub_says(now)
        ladders: dict[Place, LadderClass] = {}
        told = (hub.publishing.boot, hub.publishing.seq)
        for desk in desks:
            store = desk.store
            if not desk.is_whole(hub) or store.unit is None:
                continue
            if self._looked.get(desk.name) != told:  # else nothing has changed since
                self._looked[desk.name] = told
                self._story.counts[f"{desk.kind} held to the log"] += 1
                self.holders.look(store.tiles, store.unit, now)
                if desk.shows_readings_at_once and hub.keeper.not_recorded is None and not hub.keeper.is_owing:
                    self.sets.look(desk.name, store.readings)
            for tile in store.tiles.values():
                self.calls.behind(tile.bed, tile.episodes, now)
                for view in tile.episodes:
                    if view.id is not None and view.ladder is not None:
                        ladders[tile.bed, view.id] = view.ladder.ladder
            self.calls.behind(None, store.unit.episodes, now)
        self.calls.second(now, ladders)

    def at_the_end(self, hub: Hub, record: TrialRecord) -> None:
        """Hold the whole record to the invariants."""
        self.look_for_defects(hub)
        for told in self._told:
            if told not in self._in_record:
                raise Broken(6, f"told as recorded, and not in the record: {told}")
        lost = hold_to_it(self._configuration, hub, record, self.numbers, self._own, self._answered)
        counts = self._story.counts
        counts["observations lost with a memory"] += lost
        counts["calls held to their time"] += self.calls.checked
        counts["alerts and holders looked for on boards"] += self.holders.checked
        counts["tiles and turns held to their age"] += self.fresh.checked
        counts["sets by hand looked for on boards"] += self.sets.checked
        counts["reviews held to what their line promises"] += self.fresh.ages
