"""The hub's loop: hear, judge, write, tell. One thread, one turn after the other, nothing waits for anybody.

A turn takes everything that came, hands it to the engine event by event, writes all that came of it in one
transaction and only then publishes. About once a second the record is flushed, feeds are told what is stored, and
desks hear a beat. Every 20 s, and at a clean end, a checkpoint is written.
"""

import logging
import secrets
from collections.abc import Callable, Mapping, Sequence
from pathlib import Path

from monitor.core.endpoints import Endpoints
from monitor.core.entries import Entry, EntryKind
from monitor.core.events import Event, Observed, TimePassed
from monitor.core.unit import Configuration
from monitor.core.view import ConfiguredView, TileView
from monitor.core.wire import CommandAnswer, Snapshot
from monitor.hub.beds_now import beds_now
from monitor.hub.cards import CardMaker
from monitor.hub.clock import HubClock
from monitor.hub.desks import Desks
from monitor.hub.feeds import Feeds
from monitor.hub.gate import Gate
from monitor.hub.judge import Judged
from monitor.hub.keeper import Keeper
from monitor.hub.lean import Lean
from monitor.hub.pages import Outbox, post_for
from monitor.hub.publishing import Publishing
from monitor.hub.room import Room
from monitor.hub.sheets import Sheets
from monitor.hub.sign_in import SignIns
from monitor.hub.slips import Slips
from monitor.hub.sockets import HEARING, Lines, Sockets
from monitor.hub.starting import start
from monitor.hub.turn import Read, Turn, read_of
from monitor.hub.views import Views
from monitor.record import Checkpoint, Record, Step
from monitor.record.configurations import changes
from shared.frames import encode
from shared.given_back import FreeMemory
from shared.instant import SECOND, Instant
from shared.messages import FeedMessage

log = logging.getLogger(__name__)

_WAIT_MS = 100
_HEAR_MS = 40
#: How the beds stand is looked at once a second, so many parts of them one after the other: a reading that comes
#: meanwhile waits for one part at most.
_PARTS = 8
#: Somebody waits for the answer to a secret: how often it is looked for.
_CHECKING_MS = 20
_CHECKPOINT_MS = 20 * SECOND
#: Entries that a start looks through for pages that were under way; a page is settled within minutes.
_LOOKED_BACK = 20_000


class Hub:
    """One unit's hub on its sockets and its record.

    Args:
        configuration: the unit, its limits and its ladder.
        record: open; the caller closes it.
        clock: the hub's time.
        endpoints: where to bind, if not where the configuration says.
        files: what the configuration was read from, for the record.
        people_in: the folder of people.toml; ``None``: nobody is asked for a secret.
        cards: the command that prints the figures of the handover cards as JSON; empty: there are none.
        sheets: has the downtime sheets made; ``None``: there are none.
        lines: what it hears and speaks on; ``None``: sockets that it binds.
        gate: lets in keys alone; ``None``: there are none, and the sockets stay on this machine.

    Attributes:
        defects: messages and checkpoints that the hub itself failed on; more than 0 is a defect of ours.

    Raises:
        ConfigurationError: a port is in use, an address is wrong, or the record belongs to other beds.
        RecordError: the record cannot be read.
    """

    def __init__(
        self,
        configuration: Configuration,
        record: Record,
        clock: HubClock,
        endpoints: Endpoints | None = None,
        files: Mapping[str, str] | None = None,
        people_in: Path | None = None,
        cards: Sequence[str] = (),
        sheets: Sheets | None = None,
        lines: Lines | None = None,
        gate: Gate | None = None,
    ) -> None:
        self.clock = clock
        self.keeper = Keeper(record)
        self.defects = 0
        self._beds = tuple(bed.label for bed in configuration.unit.beds)
        by_hand = frozenset(bed.label for bed in configuration.unit.beds if bed.entered_by_hand)
        post = post_for(configuration.unit.pages)
        self._sockets = lines or Sockets(endpoints or configuration.unit.endpoints, gate)
        self._gate = gate
        self._routes: dict[str, bytes] = {}
        try:
            started = start(configuration, record, clock.now(), files)
            past, since = record.pages(_LOOKED_BACK), record.runs_since()
            known = [*record.configurations(), *filter(None, (started.batch.configured,))]
        except BaseException:
            self._sockets.close()
            raise
        self.judge, self._latest, self.replayed = started.judge, started.latest, started.replayed
        self.feeds = Feeds({}, by_hand, self.keeper.stored_of, self._to_feed, clock.speed, gate)
        self.outbox = Outbox(configuration.unit, post, test=clock.is_demonstration, after=record.head[0], past=past)
        self.sign_ins = SignIns(people_in, {person.name: person.label for person in configuration.unit.people})
        configured = tuple(ConfiguredView(at=at, files=files) for at, files in reversed([*changes(known)]))
        self.views = Views(
            self.judge,
            clock,
            lambda: self.keeper.not_recorded,
            self.outbox.views,
            self.sign_ins.view,
            configured,
            sheets.view if sheets is not None else lambda: None,
        )
        late_s = configuration.ladder.timings.entered_set_s
        boot = secrets.token_hex(4)
        self.lean = Lean(boot, lambda parts: self._sockets.send(Room.COMMANDS, parts))
        self.publishing = Publishing(
            boot, lambda parts: self._sockets.send(Room.PUBLISH, parts), late_s, self.lean.take
        )
        self.desks = Desks(
            self.keeper,
            self._snapshot,
            lambda peer, asked: self.lean.follow(peer, asked, clock.now(), clock.ticks(), self._snapshot),
            self.views.news,
            self.views.meaning,
            lambda request: beds_now(request, self._beds, self.judge.engine, self.views, self._latest, clock.now()),
            lambda parts: self._sockets.send(Room.COMMANDS, parts),
            since,
            self.sign_ins,
            clock,
            late_s,
            CardMaker(cards),
            {person.name: person for person in configuration.unit.people},
            gate,
        )
        self._slips = Slips(record)
        self._sheets = sheets
        self._noted: dict[str, TileView] = {}
        self._refresh_slots()
        self._second_at = self._checkpoint_at = clock.ticks()
        self._part = _part_at(clock.ticks()) - _PARTS
        self._time_again_at: Instant = 0
        self._is_ending = False
        self._turn = Turn()
        self._turn.batch = started.batch
        self._turn.news += [entry for step in started.batch.steps for entry in step.entries]
        self._turn.note(self.outbox.resume(clock.now()), clock.now())
        self._pass_time()
        self._finish()

    def run(self, stop: Callable[[], bool]) -> None:
        """Take turns until ``stop`` says so, then end cleanly."""
        free = FreeMemory()
        while not stop():
            self.turn()
            free.look(self.clock.ticks())
        self.end()

    def turn(self, wait_ms: int = _WAIT_MS) -> None:
        """Wait for something, at most so long, then do everything that is to be done."""
        self._sockets.wait(self.patience(wait_ms))
        for room in HEARING:
            ends = self.clock.ticks() + _HEAR_MS
            for parts in self._sockets.drain(room):
                self._hear(room, parts)
                if self.clock.ticks() > ends:
                    break  # a flood waits in its socket, which takes from its peers in turn
        self._pass_time()
        self._turn.note(self.outbox.heard(self.clock.now()), self.clock.now())
        for step in self._slips.due(self.clock.now(), self.clock.ticks()):
            self._turn.own(step)
        self._note_sign_ins()
        self._note_sheets()
        self._note_peers()
        self.feeds.due(self.clock.ticks())
        self._judge(self.feeds.found(self.clock.ticks()))
        self._finish()

    def end(self) -> None:
        """End the pages, write a last checkpoint, make everything durable, tell the feeds, close the sockets."""
        self._is_ending = True
        self.outbox.stop()
        self.sign_ins.close()
        if self._sheets is not None:
            self._sheets.stop()
        now = self.clock.now()
        self._turn.note(self.outbox.heard(now), now)
        note = Entry(at=now, kind=EntryKind.NOTE, text="the hub was stopped")
        self._turn.batch.steps.append(Step(now, None, (note,)))
        self._turn.news.append(note)
        self._checkpoint_at = self.clock.ticks()
        self._second_at = self.clock.ticks()
        self._finish()
        self.desks.cards.close()
        self._sockets.close()

    def patience(self, wait_ms: int) -> int:
        """Give for how many real ms nothing is due, at most ``wait_ms``."""
        if self.desks.is_reading:
            return 0
        if self.sign_ins.is_checking:
            wait_ms = min(wait_ms, _CHECKING_MS)
        due = self.judge.engine.next_deadline()
        if self.clock.ticks() < self._time_again_at:
            return wait_ms
        return wait_ms if due is None else min(wait_ms, self.clock.real_ms_until(due))

    def _hear(self, room: Room, parts: list[bytes]) -> None:
        """Hear one message. A defect of ours on the way costs this message and no other bed's."""
        try:
            events = self._events_of(room, parts)
        except Exception:  # a defect of ours costs this message and no other bed's
            self.defects += 1
            log.exception("the hub failed on a message of %d parts on %s", len(parts), room.value)
            return
        self._judge(events)

    def _judge(self, events: Sequence[Event]) -> None:
        for event in events:
            self._pass_time()  # by itself: should the engine fail on this event, no call is lost with it
            now, event = self.clock.now(), self.judge.held_to_roles(event)
            judged = self.judge.handle(event, now)
            self._latest.note(judged.step.entries)
            self.desks.note(judged.step.entries)
            read = None
            if isinstance(event, Observed):
                read = read_of(event.observation, self._latest, self.judge.engine)
                if event.observation.is_refused:
                    self.feeds.not_allowed(event.observation, self.clock.ticks())
            self._take(judged, now, read)

    def _events_of(self, room: Room, parts: list[bytes]) -> list[Event]:
        now, ticks = self.clock.now(), self.clock.ticks()
        if room is Room.INGEST:
            return self.feeds.live(parts, now, ticks)
        if room is Room.LINK:
            if self._gate is not None and self._gate.speaker is not None:
                self._routes[self._gate.speaker.name] = parts[0]
            return self.feeds.talk(parts[0], parts[1:], now, ticks)
        given = self.desks.hear(parts[0], parts[1:])
        return [] if given is None else [given]

    def _pass_time(self) -> None:
        """Let the engine do what is due; a moment in which nothing was due is no input of the record."""
        now, ticks = self.clock.now(), self.clock.ticks()
        due = self.judge.engine.next_deadline()
        if due is None or due > now or ticks < self._time_again_at:
            return
        failed = self.judge.defects
        self._take(self.judge.handle(TimePassed(), now), now)
        if self.judge.defects > failed:
            self._time_again_at = ticks + SECOND  # it stays due: not again and again without a pause

    def _take(self, judged: Judged, now: Instant, read: Read | None = None) -> None:
        """Take in what came of an event; its pages are written with it. A defect in those costs no call."""
        self._turn.add(judged, read)
        try:
            self._turn.note([entry for held in judged.held for entry in self.outbox.held(held, now)], now)
            self._turn.note([self.outbox.take(page, now) for page in judged.pages], now)
        except Exception:  # a page is besides: no defect in one may cost a call
            self.defects += 1
            log.exception("the hub failed to page anybody of %d calls", len(judged.pages))

    def _finish(self) -> None:
        """Write what this turn brought, then tell it."""
        now, ticks = self.clock.now(), self.clock.ticks()
        turn, self._turn = self._turn, Turn()
        self._note_lost(turn, now)
        turn.batch.skipped, self.feeds.skipped = self.feeds.skipped, []
        if ticks >= self._checkpoint_at and not self.keeper.is_owing:
            self._checkpoint_at = ticks + _CHECKPOINT_MS
            turn.batch.checkpoint = self._checkpoint(now)
        recorded = self.keeper.write(turn.batch, now, ticks)
        if self.keeper.dropped():
            self.feeds.forget_links()
            self._checkpoint_at = ticks
        if not self._is_ending:
            self.outbox.send(now)
        self._tell(turn, recorded, now)
        self._look_round(now, ticks)
        if ticks >= self._second_at:
            self._second_at = ticks + SECOND
            self._every_second(now, ticks)
        self._answer_desks()

    def _answer_desks(self) -> None:
        try:
            self.lean.tell(self.clock.now(), self.clock.ticks())
            self.desks.reply()
        except Exception:  # a defect of ours costs this answer: the watch over the beds goes on
            self.defects += 1
            log.exception("the hub failed to answer a desk")

    def _checkpoint(self, now: Instant) -> Checkpoint | None:
        try:
            return Checkpoint(now, self.judge.engine.checkpoint(), self._latest.dump())
        except Exception:  # a checkpoint only shortens a restart: the inputs are in the record
            self.defects += 1
            log.exception("no checkpoint can be made: a restart begins at the one before and takes longer")
            return None

    def _note_sign_ins(self) -> None:
        now = self.clock.now()
        said = [Entry(at=now, kind=EntryKind.SIGN_IN, text=words) for words in self.sign_ins.said()]
        self._turn.note(said, now)

    def _note_peers(self) -> None:
        now, said = self.clock.now(), self._gate.said() if self._gate is not None else []
        self._turn.note([Entry(at=now, kind=EntryKind.PEER, text=words[:300]) for words in said], now)

    def _note_sheets(self) -> None:
        now = self.clock.now()
        said = self._sheets.due(now, self.clock.ticks()) if self._sheets is not None else []
        self._turn.note([Entry(at=now, kind=EntryKind.NOTE, text=words) for words in said], now)

    def _note_lost(self, turn: Turn, now: Instant) -> None:
        for words in (*self.feeds.notes, *self.clock.jumps):
            note = Entry(at=now, kind=EntryKind.NOTE, text=words)
            turn.batch.steps.append(Step(now, None, (note,)))
            turn.news.append(note)
        self.feeds.notes, self.clock.jumps = [], []

    def _tell(self, turn: Turn, recorded: bool, now: Instant) -> None:
        for one in turn.news:
            try:
                self._tell_one(one, recorded)
            except Exception:  # a defect of ours costs this piece of news and no other
                self.defects += 1
                log.exception("the hub failed to tell of a %s", type(one).__name__)
        for bed in turn.touched:
            self._tell_place(bed, now, always=True)

    def _tell_one(self, one: Read | Entry | CommandAnswer, recorded: bool) -> None:
        if isinstance(one, Read):
            if one.anew is None:
                self.publishing.readings(one.observation, one.late)
            else:
                self.publishing.anew(one.anew)
        elif isinstance(one, CommandAnswer):
            self.desks.answered(one, recorded)
        else:
            self.publishing.entry(one, recorded)

    def _tell_place(self, bed: str | None, now: Instant, *, always: bool) -> None:
        """Tell how a bed, or the unit, stands. A view that cannot be told costs no other place and no call."""
        try:
            if bed is None:
                self.publishing.unit(self.views.unit(now))
            else:
                self._tell_bed(bed, now, always=always)
        except Exception:  # a defect of ours costs this view and no other place
            self.defects += 1
            log.exception("the hub failed to tell how %s stands", bed or "the unit")

    def _tell_bed(self, bed: str, now: Instant, *, always: bool) -> None:
        tile = self.views.tile(bed, now)
        if tile is None:
            return
        self._note_slots(bed, tile)
        self.publishing.tile(tile, always)

    def _refresh_slots(self) -> None:
        now = self.clock.now()
        for bed in self._beds:
            self._note_slots(bed, self.judge.engine.tile(bed, now))

    def _note_slots(self, bed: str, tile: TileView) -> None:
        if self._noted.get(bed) is tile:
            return  # the very view that was noted: nothing has changed at the bed
        self._noted[bed] = tile
        self.feeds.slots[bed] = frozenset(run.description.slot for run in tile.runs)
        self.feeds.ended[bed] = self.judge.engine.ended(bed)

    def _look_round(self, now: Instant, ticks: Instant) -> None:
        """Tell how the beds stand whose turn it is: a view may change with time alone."""
        part = _part_at(ticks)
        for due in range(max(self._part, part - _PARTS), part):
            for bed in self._beds[due % _PARTS :: _PARTS]:
                self._tell_place(bed, now, always=False)
        self._part = part

    def _every_second(self, now: Instant, ticks: Instant) -> None:
        marks = self.feeds.marks()
        owing = self.keeper.not_recorded is not None
        if self.keeper.flush(marks, now, ticks):
            self.feeds.confirm(marks, now)
            if owing:
                self.desks.recovered()
        self.sign_ins.look()
        if self._gate is not None and self._gate.look():
            self._sockets.rebind()  # a peer that is let in no more is cut off; the others come back by themselves
        self._tell_place(None, now, always=False)
        self.publishing.beat(now)

    def _snapshot(self, request: str) -> Snapshot:
        now = self.clock.now()
        return Snapshot(
            request=request,
            seq=self.publishing.seq,
            boot=self.publishing.boot,
            hub_time=now,
            unit=self.views.unit(now),
            tiles=tuple(tile for bed in self._beds if (tile := self.views.tile(bed, now)) is not None),
            readings=self._latest.views(),
        )

    def _to_feed(self, feed: str, message: FeedMessage) -> None:
        self._sockets.send(Room.LINK, [self._routes.get(feed, feed.encode()), *encode("hub", message)])


def _part_at(ticks: Instant) -> int:
    return ticks * _PARTS // SECOND
