"""What desks ask: snapshot, history, entries; and commands, each carried out once however often it is sent.

Requests are read as they come and answered after the turn's events are in the record, so that no answer shows what
was not yet written. A long series, and the entries for alert load, are read page by page, one page a turn.
"""

import logging
from collections import OrderedDict, deque
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass

from pydantic import BaseModel

from monitor.core.entries import Entry, EntryKind
from monitor.core.events import Commanded
from monitor.core.lean import lean_of
from monitor.core.meaning.news import LOOKED_THROUGH, BedNews
from monitor.core.meaning.view import Meaning
from monitor.core.unit import Person
from monitor.core.wire import (
    REQUESTS,
    AskCards,
    AskEntries,
    AskHistory,
    AskLoad,
    AskMeaning,
    AskNews,
    AskSnapshot,
    CommandAnswer,
    Entries,
    Follow,
    GiveCommand,
    History,
    Load,
    Meant,
    News,
    NotUnderstood,
    Snapshot,
)
from monitor.hub.allowance import Allowance
from monitor.hub.cards import CardMaker
from monitor.hub.clock import HubClock
from monitor.hub.gate import Gate
from monitor.hub.keeper import Keeper
from monitor.hub.refusals import Refusals
from monitor.hub.sign_in import SignIns
from monitor.hub.stations import commanded, not_from_here, refusal_of
from monitor.record.history import HistoryReading
from monitor.record.load_reading import LoadReading
from monitor.settings.keys_file import FeedKey, StationKey
from shared.beds_now import AskBeds, BedsNow
from shared.errors import RecordError
from shared.frames import ANSWER_LIMIT, FrameRefused, decode, encode, is_packed
from shared.instant import SECOND, Instant
from shared.language.saying import say
from shared.messages import RefusalReason
from shared.sign_in import SignedIn, SignIn, SignOut

log = logging.getLogger(__name__)

#: A column of one quantity is about 80 bytes of JSON, 110 with marks, and a frame holds a million.
COLUMNS_AT_MOST = 8_000
JOBS_AT_MOST, JOBS_OF_A_PEER = 200, 50
#: The newest answers are at hand; an older one is found in the record.
ANSWERS_KEPT = 200
#: A command that a broken line held back for so long is carried out no more: whoever gave it was told NOT RECORDED
#: after 5 s and has telephoned. Longer than a desk may be wrong about the hub's time while its commands are on.
TOO_LATE_MS = 20 * SECOND
#: Peers of which it is remembered that they speak packed frames; a review says so again every few seconds.
_PACKED_KEPT = 256
#: Requests a second that one desk may go on sending: a person gives one or two, a desk that opens about fifty.
RATE, BURST = 100, 2_000
_TOO_MANY = say("more than {rate} requests a second", rate=RATE)


@dataclass(frozen=True, slots=True)
class _Job:
    peer: bytes
    asked: AskHistory
    reading: HistoryReading
    thinned_before: Instant | None

    def answer(self) -> History:
        asked = self.asked
        return History(
            request=asked.request,
            bed=asked.bed,
            slot=asked.slot,
            width_ms=asked.width_ms,
            series=self.reading.series(),
            thinned_before=self.thinned_before,
        )


@dataclass(frozen=True, slots=True)
class _LoadJob:
    peer: bytes
    asked: AskLoad
    reading: LoadReading
    waiting: Callable[[], Iterable[Entry]]

    def answer(self) -> Load:
        self.reading.add(self.waiting())
        return Load(request=self.asked.request, figures=self.reading.figures())


class Desks:
    """All desks.

    Args:
        keeper: where the past is.
        snapshot: gives everything as it stands, for a request's id.
        follow: told of a review that follows.
        news: gives what is new to a person at every bed, from the newest entries of each.
        meaning: gives what the numbers of a run mean, by bed, slot and who asks.
        beds: gives beds and runs as the entry form must know them, for a request's id.
        send: sends parts to a peer; what cannot go is lost.
        since: when the last run began in each bed and slot.
        sign_ins: who may speak under which name.
        clock: the hub's time.
        late_s: a set entered by hand longer than this after it was read is late.
        cards: makes the figures of the handover cards.
        people: the unit's people by name.
        gate: knows whose key the request in hand came with; ``None``: there are no keys.

    Attributes:
        refused: requests that could not be read, or were too many.
    """

    def __init__(
        self,
        keeper: Keeper,
        snapshot: Callable[[str], Snapshot],
        follow: Callable[[bytes, Follow], None],
        news: Callable[[str, Callable[[str], list[Entry]]], tuple[BedNews, ...]],
        meaning: Callable[[str, int, str | None], Meaning | None],
        beds: Callable[[str], BedsNow],
        send: Callable[[Sequence[bytes]], None],
        since: dict[tuple[str, int], Instant],
        sign_ins: SignIns,
        clock: HubClock,
        late_s: float,
        cards: CardMaker,
        people: Mapping[str, Person],
        gate: Gate | None = None,
    ) -> None:
        self.refused = 0
        self._refusals = Refusals()
        self._allowed = Allowance(RATE, BURST)
        self.cards = cards
        self._late_s = late_s
        self._people = people
        self._gate = gate
        self._sign_ins = sign_ins
        self._clock = clock
        self._keeper = keeper
        self._snapshot = snapshot
        self._follow = follow
        self._packed: OrderedDict[bytes, None] = OrderedDict()
        self._news = news
        self._meaning = meaning
        self._beds = beds
        self._send = send
        self._since = since
        self._asked: list[
            tuple[bytes, AskSnapshot | Follow | AskEntries | AskMeaning | AskNews | AskBeds, FeedKey | None]
        ] = []
        self._jobs: deque[_Job | _LoadJob] = deque()
        self._awaiting: dict[str, list[bytes]] = {}
        self._answers: OrderedDict[str, CommandAnswer] = OrderedDict()

    @property
    def is_reading(self) -> bool:
        """Tell whether a series is still being read."""
        return bool(self._jobs)

    def note(self, entries: Iterable[Entry]) -> None:
        """Note runs that begin: no series reaches back to the run before, which was somebody else's."""
        for entry in entries:
            if entry.kind is EntryKind.RUN_STARTED and entry.bed and entry.slot:
                self._since[entry.bed, entry.slot] = entry.at

    def hear(self, peer: bytes, parts: Sequence[bytes]) -> Commanded | None:
        """Hear a request; give the command that it brings, if that is new. What is too much is not heard."""
        key = self._gate.speaker if self._gate is not None else None
        ticks = self._clock.ticks()
        if not self._allowed.take(peer if key is None else key.fingerprint, ticks):
            self._refuse(peer, FrameRefused(RefusalReason.OUT_OF_ORDER, _TOO_MANY), ticks)
            return None
        self._note_packed(peer, parts)
        try:
            _, request = decode(parts, REQUESTS, packed=True)
        except FrameRefused as refused:
            self._refuse(peer, refused, ticks)
            return None
        form = key if isinstance(key, FeedKey) else None
        if form is not None and not isinstance(request, AskBeds | SignIn | SignOut):
            self._turned_away(
                say(
                    "Feed {name}, key {fingerprint}, asked {type}",
                    name=form.name,
                    fingerprint=form.fingerprint,
                    type=request.type.replace("_", " "),
                )
            )
            self._reply(
                peer,
                NotUnderstood(reason=say("the key of {name} is that of a feed: ask from a desk", name=form.name)),
            )
            return None
        station = key if isinstance(key, StationKey) else None
        if isinstance(request, GiveCommand):
            return self._command(peer, request, station)
        if isinstance(request, SignOut):
            self._sign_ins.sign_out(request, self._clock.now())
            return None
        if isinstance(request, SignIn):
            answer = self._not_from_here(request, station) or self._sign_ins.ask(peer, request, self._clock.ticks())
            if answer is not None:
                self._reply(peer, answer)
            return None
        if isinstance(request, AskHistory):
            self._begin_history(peer, request)
        elif isinstance(request, AskLoad):
            self._begin_load(peer, request)
        elif isinstance(request, AskCards):
            self.cards.ask(peer, request.request)
        else:
            self._asked.append((peer, request, form))
        return None

    def _refuse(self, peer: bytes, refused: FrameRefused, ticks: Instant) -> None:
        """Answer what cannot be read; what is too much is answered and written down once a second."""
        self.refused += 1
        tell = self._refusals.count(refused.reason, peer.hex(), ticks)
        if tell:
            log.warning("a desk's request cannot be read: %s", refused)
        if tell or refused.reason is not RefusalReason.OUT_OF_ORDER:
            self._reply(peer, NotUnderstood(reason=str(refused)))

    def _is_full(self, peer: bytes) -> bool:
        """Tell whether no further series can wait for a peer: nobody keeps the others from theirs."""
        return len(self._jobs) >= JOBS_AT_MOST or sum(job.peer == peer for job in self._jobs) >= JOBS_OF_A_PEER

    def answered(self, answer: CommandAnswer, recorded: bool) -> None:
        """Tell everybody who gave this command what became of it."""
        said = answer.model_copy(update={"recorded": recorded})
        self._answers[said.id] = said
        while len(self._answers) > ANSWERS_KEPT:
            self._answers.popitem(last=False)
        for peer in self._awaiting.pop(said.id, ()):
            self._reply(peer, said)

    def recovered(self) -> None:
        """Note that everything owed was written: what was answered NOT RECORDED is in the record now."""
        self._answers.clear()

    def reply(self) -> None:
        """Answer what was asked, and read one page of the series that is being read."""
        asked, self._asked = self._asked, []
        for peer, request, form in asked:
            if isinstance(request, AskSnapshot):
                self._reply(peer, self._snapshot(request.request))
            elif isinstance(request, Follow):
                self._follow(peer, request)
            elif isinstance(request, AskBeds):
                self._reply(peer, _seen_by(form, self._beds(request.request)))
            elif isinstance(request, AskNews):
                told = self._news(request.person, lambda bed: list(self._keeper.entries(bed, LOOKED_THROUGH, None)))
                self._reply(peer, News(request=request.request, person=request.person, beds=told))
            elif isinstance(request, AskMeaning):
                meaning = self._meaning(request.bed, request.slot, request.person)
                self._reply(peer, Meant(request=request.request, meaning=meaning))
            else:
                self._entries(peer, request)
        for peer, signed_in in self._sign_ins.heard(self._clock.now(), self._clock.ticks()):
            self._reply(peer, signed_in)
        for peer, cards in self.cards.heard(self._clock.ticks()):
            self._reply(peer, cards)
        if self._jobs:
            self._read_on()

    def _not_from_here(self, request: SignIn, station: StationKey | None) -> SignedIn | None:
        reason = not_from_here(station, request.person, self._people) if station is not None else ""
        if not reason or station is None:
            return None
        self._turned_away(
            say(
                "{person} wanted to sign in at {name}, key {fingerprint}",
                person=request.person,
                name=station.name,
                fingerprint=station.fingerprint,
            )
        )
        return SignedIn(request=request.request, person=request.person, reason=reason[:200])

    def _turned_away(self, words: str) -> None:
        if self._gate is not None:
            self._gate.turned_away(words)

    def _command(self, peer: bytes, given: GiveCommand, station: StationKey | None) -> Commanded | None:
        now, command = self._clock.now(), given.command
        reason = refusal_of(station, command, self._people) if station is not None else ""
        if reason and station is not None:
            what = say("gave {kind} as {person}", kind=command.kind.replace("_", " "), person=command.person)
            self._turned_away(
                say(
                    "Station {name}, key {fingerprint}, {what}",
                    name=station.name,
                    fingerprint=station.fingerprint,
                    what=what,
                )
            )
            self._reply(peer, CommandAnswer(id=command.id, accepted=False, at=now, recorded=True, reason=reason))
            return None
        who, refusal = self._sign_ins.refusal(command, given.session, given.second, now)
        if refusal:
            said = CommandAnswer(id=command.id, accepted=False, at=now, recorded=True, reason=refusal, sign_in=who)
            self._reply(peer, said)
            return None
        waiting = self._awaiting.get(command.id)
        if waiting is not None:
            waiting.append(peer)
            return None
        answer = self._answers.get(command.id) or self._keeper.answer(command.id)
        if answer is not None:
            self._reply(peer, answer)
            return None
        late = now - given.given_at if given.given_at is not None else 0
        if late > TOO_LATE_MS * self._clock.speed:
            reason = say(
                "it came {seconds} s after it was given: look again",
                seconds=round(late / self._clock.speed / SECOND),
            )
            self._reply(peer, CommandAnswer(id=command.id, accepted=False, at=now, recorded=True, reason=reason))
            return None
        self._awaiting[command.id] = [peer]
        return commanded(station, command, self._people)

    def _entries(self, peer: bytes, asked: AskEntries) -> None:
        try:
            found = self._keeper.entries(asked.bed, asked.most, asked.item)
        except RecordError as error:
            self._reply(peer, NotUnderstood(reason=str(error)))
            return
        self._reply(peer, Entries(request=asked.request, bed=asked.bed, entries=tuple(found)))

    def _begin_history(self, peer: bytes, asked: AskHistory) -> None:
        columns = (asked.end - asked.begin) // asked.width_ms * len(asked.quantities)
        if columns > COLUMNS_AT_MOST:
            reason = say(
                "{request}: {columns} columns asked for, at most {columns_at_most}: ask for wider ones",
                request=asked.request,
                columns=columns,
                columns_at_most=COLUMNS_AT_MOST,
            )
            self._reply(peer, NotUnderstood(reason=reason))
            return
        if self._is_full(peer):
            self._reply(
                peer,
                NotUnderstood(
                    reason=say("{request}: too many series are being read, ask later", request=asked.request)
                ),
            )
            return
        place = (asked.bed, asked.slot)
        begin = max(asked.begin, self._since.get(place, 0))
        try:
            span = (begin, asked.end)
            reading = self._keeper.record.read_history(place, asked.quantities, span, asked.width_ms, self._late_s)
            thinned = self._keeper.record.thinned_before()
        except RecordError as error:
            self._reply(peer, NotUnderstood(reason=f"{asked.request}: {error}"))
            return
        is_asked = thinned is not None and begin < thinned
        self._jobs.append(_Job(peer, asked, reading, thinned if is_asked else None))

    def _begin_load(self, peer: bytes, asked: AskLoad) -> None:
        if self._is_full(peer):
            self._reply(
                peer,
                NotUnderstood(reason=say("{request}: too much is being read, ask later", request=asked.request)),
            )
            return
        try:
            reading = self._keeper.record.read_load(asked.begin, asked.end)
        except RecordError as error:
            self._reply(peer, NotUnderstood(reason=f"{asked.request}: {error}"))
            return
        self._jobs.append(_LoadJob(peer, asked, reading, self._keeper.waiting))

    def _read_on(self) -> None:
        job = self._jobs[0]
        try:
            done = job.reading.step()
        except RecordError as error:
            self._reply(job.peer, NotUnderstood(reason=f"{job.asked.request}: {error}"))
            self._jobs.popleft()
            return
        if done:
            self._jobs.popleft()
            self._reply(job.peer, job.answer())

    def _note_packed(self, peer: bytes, parts: Sequence[bytes]) -> None:
        """Whoever asks in packed frames is answered in packed frames."""
        if is_packed(parts):
            self._packed[peer] = None
            self._packed.move_to_end(peer)
            while len(self._packed) > _PACKED_KEPT:
                self._packed.popitem(last=False)

    def _reply(self, peer: bytes, reply: BaseModel) -> None:
        packed = peer in self._packed
        if packed and isinstance(reply, History):
            reply = lean_of(reply)
        try:
            parts = encode("hub", reply, packed=packed, limit=ANSWER_LIMIT)
        except FrameRefused as refused:
            log.error("an answer is too large: %s", refused)
            reason = say("the answer is too large: {refused}", refused=refused)
            parts = encode("hub", NotUnderstood(reason=reason), packed=packed)
        self._send([peer, *parts])


def _seen_by(form: FeedKey | None, beds: BedsNow) -> BedsNow:
    """Leave out of an answer the beds for which the key of a form is none."""
    if form is None:
        return beds
    return beds.model_copy(update={"beds": tuple(one for one in beds.beds if form.speaks_for(one.bed))})
