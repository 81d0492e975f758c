"""The hub's side of all feeds: who is there, which numbers came, what is asked for, what is called stored.

Messages come in as parts, events for the engine go out. Everything that a feed does wrong is counted and answered
here and changes nothing for any other bed. `ticks` are real ms for timers, `now` is the hub's time.
"""

import logging
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field

from monitor.core.events import ClockOff, Declared, Event, FeedsFound, Observed
from monitor.core.judging.editions import is_later
from monitor.hub.allowance import Allowance
from monitor.hub.door import Refusal, admit
from monitor.hub.feed_clock import FeedClock
from monitor.hub.gate import Gate
from monitor.hub.owners import Owners, Seat
from monitor.hub.refusals import Refusals
from monitor.record import Skipped
from monitor.settings.keys_file import FeedKey
from shared.frames import FrameRefused, decode
from shared.instant import SECOND, Instant
from shared.language.saying import say
from shared.link import HubLink, Span
from shared.messages import (
    FEED_MESSAGES,
    PROTOCOL_VERSION,
    BedDeclared,
    FeedBeat,
    FeedMessage,
    Hello,
    Observation,
    Origin,
    RefusalReason,
    Refused,
    Unchecked,
    Welcome,
)

log = logging.getLogger(__name__)

FEEDS = 64
EPOCHS_OF_A_FEED = 4
#: Observations a second that one feed may go on telling: 64 beds ten times a second, and a resend beside it.
RATE, BURST = 1_100, 5_000
#: After a start nothing is said of feeds for so long: who claims what is not yet known.
_SETTLED_MS = 20 * SECOND


@dataclass(slots=True)
class Peer:
    """A feed that has said hello: its clock, its links by epoch, the newest last, and the beds that it declared."""

    clock: FeedClock
    links: dict[str, HubLink] = field(default_factory=dict)
    beds: dict[str, BedDeclared] = field(default_factory=dict)


class Feeds:
    """All feeds.

    Args:
        stored_of: what the record holds of an epoch, without a gap and beyond it.
        send: sends a message to a feed by name; what cannot go is lost.
        speed: how many times faster than the wall the hub's time runs, and that of the feeds.
        gate: knows whose key the message in hand came with; ``None``: there are no keys.

    Attributes:
        slots: the unit's beds with the slots in which a run is open; the caller keeps it up.
        ended: by bed, when the last run ended in the slots in which none is; likewise.
        refusals: what was turned away.
        skipped: numbers that will never be in the record; the caller writes them down and clears the list.
        notes: words about what no feed holds any more, and who reads a bed from now on; likewise.
    """

    def __init__(
        self,
        slots: dict[str, frozenset[int]],
        by_hand: frozenset[str],
        stored_of: Callable[[str], tuple[int, Sequence[Span]]],
        send: Callable[[str, FeedMessage], None],
        speed: float = 1.0,
        gate: Gate | None = None,
    ) -> None:
        self.slots = slots
        self.ended: dict[str, Mapping[int, Instant]] = {}
        self.refusals = Refusals()
        self.skipped: list[Skipped] = []
        self.notes: list[str] = []
        self._by_hand = by_hand
        self._stored_of = stored_of
        self._send = send
        self._owners = Owners()
        self._peers: dict[str, Peer] = {}
        self._told: dict[str, tuple[str, BedDeclared]] = {}
        self._allowed = Allowance(RATE, BURST)
        self._speed = speed
        self._gate = gate
        self._found: FeedsFound | None = None
        self._first_at: Instant | None = None

    def live(self, parts: Sequence[bytes], now: Instant, ticks: Instant) -> list[Event]:
        """Hear a message of the ingest socket; give the events that it means."""
        try:
            _, message = decode(parts, FEED_MESSAGES)
        except FrameRefused as refused:
            self._outside(refused, "ingest", ticks)
            return []
        if isinstance(message, Observation | FeedBeat) and not self._is_its_own(message):
            self.refusals.counts[RefusalReason.UNKNOWN_FEED] += 1
        elif isinstance(message, Observation):
            return self._observation(message, now, ticks)
        elif isinstance(message, FeedBeat):
            self._beat(message, now, ticks)
        else:
            self._outside(
                FrameRefused(RefusalReason.MALFORMED, say("{type} on ingest", type=message.type)), "ingest", ticks
            )
        return []

    def talk(self, identity: bytes, parts: Sequence[bytes], now: Instant, ticks: Instant) -> list[Event]:
        """Hear a message of the link socket from the peer ``identity``; give the events that it means."""
        key = self._key()
        name = _name(identity) if key is None else key.name
        try:
            _, message = decode(parts, FEED_MESSAGES)
            if not isinstance(message, Hello | Observation):
                raise FrameRefused(RefusalReason.MALFORMED, f"{message.type} on link")
            if not self._is_its_own(message) or message.feed != name:
                raise FrameRefused(RefusalReason.UNKNOWN_FEED, f"{name} speaks in the name of {message.feed}")
        except FrameRefused as refused:
            if self._outside(refused, name, ticks):
                self._send(name, Refused(reason=refused.reason, detail=refused.detail))
            return []
        if isinstance(message, Observation):
            return self._observation(message, now, ticks, again=True)
        return self._hello(message, now, ticks)

    def due(self, ticks: Instant) -> None:
        """Ask for what is missing."""
        for name, peer in self._peers.items():
            for link in peer.links.values():
                request = link.due(ticks)
                if request is not None:
                    self._send(name, request)

    def marks(self) -> dict[str, int]:
        """Give by epoch up to which number everything came, where that is more than was called stored."""
        return {
            epoch: link.contiguous
            for peer in self._peers.values()
            for epoch, link in peer.links.items()
            if link.contiguous > link.stored
        }

    def confirm(self, marks: Mapping[str, int], now: Instant) -> None:
        """Tell the feeds what is durable at ``now``: the record was flushed after `marks` gave ``marks``."""
        for name, peer in self._peers.items():
            for epoch, link in peer.links.items():
                stored = link.durable(marks[epoch]) if epoch in marks else None
                if stored is not None:
                    self._send(name, stored.model_copy(update={"hub_time": now}))

    def found(self, ticks: Instant) -> list[Event]:
        """Give what is wrong with feeds, where that has changed, once who claims what is known after a start."""
        self._first_at = ticks if self._first_at is None else self._first_at
        self.notes += self._owners.notes
        self._owners.notes = []
        if ticks - self._first_at < _SETTLED_MS:
            return []
        off = sorted((name, peer.clock.off) for name, peer in self._peers.items() if peer.clock.off)
        found = FeedsFound(self._owners.rivals(ticks), tuple(ClockOff(*one) for one in off))
        if found == self._found:
            return []
        self._found = found
        return [found]

    def not_allowed(self, observation: Observation, ticks: Instant) -> None:
        """Tell a feed that a correction or a strike changes nothing: whoever is named may not; it is kept."""
        what = "strike" if observation.edition is not None and observation.edition.struck else "correction"
        why = say("{by} may not enter readings at {bed}", by=observation.by, bed=observation.bed)
        if observation.unchecked is Unchecked.ALONE:
            why = say("a set of somebody else is struck by two people")
        words = say("{why}: this {what} changes nothing", why=why, what=what)
        self._refuse(observation.feed, Refusal(RefusalReason.NOT_ALLOWED, words), ticks, observation.seq)

    def forget_links(self) -> None:
        """Forget what came: the record could not keep it. Feeds say hello again and tell it anew."""
        for peer in self._peers.values():
            peer.links.clear()

    def _hello(self, hello: Hello, now: Instant, ticks: Instant) -> list[Event]:
        if hello.version != PROTOCOL_VERSION:
            words = say(
                "version {version}; this hub speaks {protocol_version}",
                version=hello.version,
                protocol_version=PROTOCOL_VERSION,
            )
            self._refuse(hello.feed, Refusal(RefusalReason.WRONG_VERSION, words), ticks)
            return []
        link = self._link_for(hello, ticks)
        if link is None:
            return []
        for span in link.hello(hello.first, hello.next, ticks):
            self.skipped.append(Skipped(hello.feed, hello.epoch, span.first, span.last, "lost"))
            count = span.last - span.first + 1
            self.notes.append(
                say(
                    "feed {feed}: {number} observations are lost, its journal no longer holds them",
                    feed=hello.feed,
                    number=count,
                )
            )
        self._owners.heard(hello.feed, ticks)
        self._peers[hello.feed].clock.heard(hello.sent_at, now)
        self._send(
            hello.feed,
            Welcome(version=PROTOCOL_VERSION, feed=hello.feed, epoch=hello.epoch, stored=link.stored, hub_time=now),
        )
        return self._declared(self._peers[hello.feed], hello, ticks)

    def _link_for(self, hello: Hello, ticks: Instant) -> HubLink | None:
        owner = next((name for name, peer in self._peers.items() if hello.epoch in peer.links), hello.feed)
        full = hello.feed not in self._peers and len(self._peers) >= FEEDS
        if owner != hello.feed or full:
            detail = (
                say("this epoch belongs to {owner}", owner=owner)
                if not full
                else say("{feeds} feeds are known: no more are let in", feeds=FEEDS)
            )
            self._refuse(hello.feed, Refusal(RefusalReason.UNKNOWN_FEED, detail), ticks)
            return None
        peer = self._peers.setdefault(hello.feed, Peer(FeedClock(self._speed)))
        link = peer.links.pop(hello.epoch, None)
        if link is None:
            stored, held = self._stored_of(hello.epoch)
            link = HubLink(hello.feed, hello.epoch, stored=stored, held=held)
            log.info("feed %s, epoch %s: %d stored", hello.feed, hello.epoch, stored)
        peer.links[hello.epoch] = link
        while len(peer.links) > EPOCHS_OF_A_FEED:
            del peer.links[next(iter(peer.links))]
        return link

    def _declared(self, peer: Peer, hello: Hello, ticks: Instant) -> list[Event]:
        peer.beds = {}
        news: list[BedDeclared] = []
        for said in hello.beds:
            refusal = self._claim(said, hello.feed, ticks)
            if refusal is not None:
                self._refuse(hello.feed, refusal, ticks)
            if said.bed in self.slots:
                peer.beds[said.bed] = said
                if refusal is None and self._is_news(said, hello.feed, ticks):
                    news.append(said)
        return [Declared(hello.feed, tuple(news))] if news else []

    def _key(self) -> FeedKey | None:
        """The key of the feed whose message is in hand."""
        speaker = self._gate.speaker if self._gate is not None else None
        return speaker if isinstance(speaker, FeedKey) else None

    def _is_its_own(self, message: Hello | Observation | FeedBeat) -> bool:
        """Tell whether a feed speaks under the name of its key."""
        key = self._key()
        if self._gate is None:
            return True
        if key is None:
            return False  # a station tells no readings: the gate lets none in here
        if message.feed == key.name:
            return True
        self._gate.turned_away(
            say(
                "Feed {name}, key {fingerprint}, spoke in the name of {feed}",
                name=key.name,
                fingerprint=key.fingerprint,
                feed=message.feed,
            )
        )
        return False

    def _beyond_its_key(self, bed: str, by_hand: bool | None = None) -> Refusal | None:
        """Refuse what a feed says of a bed for which its key is none, before it learns of whose that bed is."""
        key = self._key()
        if self._gate is None or key is None:
            return None
        if not key.speaks_for(bed):
            self._gate.turned_away(
                say(
                    "Feed {name}, key {fingerprint}, spoke for {bed}",
                    name=key.name,
                    fingerprint=key.fingerprint,
                    bed=bed,
                )
            )
            return Refusal(
                RefusalReason.NOT_YOUR_BED,
                say("the key of {name} does not speak for {bed}", name=key.name, bed=bed),
            )
        if by_hand is not None and by_hand is not key.by_hand:
            how = say("as entered by hand") if by_hand else say("as read from a console")
            self._gate.turned_away(
                say(
                    "Feed {name}, key {fingerprint}, spoke for {bed} {how}",
                    name=key.name,
                    fingerprint=key.fingerprint,
                    bed=bed,
                    how=how,
                )
            )
            return Refusal(
                RefusalReason.NOT_YOUR_BED, say("the key of {name} does not speak {how}", name=key.name, how=how)
            )
        return None

    def _claim(self, said: BedDeclared, feed: str, ticks: Instant) -> Refusal | None:
        beyond = self._beyond_its_key(said.bed, said.origin is Origin.ENTERED)
        if beyond is not None:
            return beyond
        if said.bed not in self.slots:
            return Refusal(RefusalReason.UNKNOWN_BED, say("there is no bed {bed} in this unit", bed=said.bed))
        other = self._owners.claim(Seat(said.bed, said.origin is Origin.ENTERED), feed, ticks)
        if other is None:
            return None
        return Refusal(
            RefusalReason.NOT_YOUR_BED, say("the feed {other} speaks for {bed}", other=other, bed=said.bed)
        )

    def _is_news(self, said: BedDeclared, feed: str, ticks: Instant) -> bool:
        """Tell whether the engine must hear how a bed is read from now on; it counts as told.

        Sets entered by hand say so only where the unit reads a bed by hand and no other feed does.
        """
        by_hand = said.origin is Origin.ENTERED
        if by_hand and (said.bed not in self._by_hand or self._owners.is_held(Seat(said.bed, False), ticks)):
            return False
        if self._told.get(said.bed) == (feed, said):
            return False
        self._told[said.bed] = (feed, said)
        return True

    def _beat(self, beat: FeedBeat, now: Instant, ticks: Instant) -> None:
        link = self._known(beat.feed, beat.epoch)
        reason = RefusalReason.NOT_HELLO if link is None else link.beat(beat.next, ticks)
        if reason is not None:
            self._refuse(beat.feed, Refusal(reason, say("say hello first")), ticks)
        else:
            self._owners.heard(beat.feed, ticks)
            self._peers[beat.feed].clock.heard(beat.sent_at, now, beat.heard)

    def _observation(
        self, observation: Observation, now: Instant, ticks: Instant, again: bool = False
    ) -> list[Event]:
        feed, seq = observation.feed, observation.seq
        link = self._known(feed, observation.epoch)
        if link is not None and not self._allowed.take(feed, ticks):
            words = say("more than {rate} a second: asked for later", rate=RATE)
            self._refuse(feed, Refusal(RefusalReason.OUT_OF_ORDER, words), ticks, seq)
            return []
        if link is not None and is_later(observation) and link.must_wait(seq, ticks):
            return []  # a correction of what has not come yet would change nothing, and the set would stand
        reason = RefusalReason.NOT_HELLO if link is None else link.observation(seq, ticks)
        if reason is RefusalReason.DUPLICATE:
            self.refusals.counts[reason] += 1
            return []
        if reason is not None:
            words = (
                say("say hello first")
                if reason is RefusalReason.NOT_HELLO
                else say("too scattered: asked for later")
            )
            self._refuse(feed, Refusal(reason, words), ticks, seq)
            return []
        self._owners.heard(feed, ticks)
        observation = self._by_hub_time(observation, again)
        admitted = self._at_the_bed(observation, ticks) or admit(observation, self.slots, now, self.ended)
        if isinstance(admitted, Refusal):
            self.skipped.append(Skipped(feed, observation.epoch, seq, seq, admitted.reason.value))
            self._refuse(feed, admitted, ticks, seq)
            return []
        if admitted.left_out is not None:
            self._refuse(feed, admitted.left_out, ticks, seq)
        said = self._peers[feed].beds[observation.bed]
        news: list[Event] = [Declared(feed, (said,))] if self._is_news(said, feed, ticks) else []
        return [*news, Observed(admitted.observation)]

    def _by_hub_time(self, observation: Observation, again: bool) -> Observation:
        """Give the time of reading by the hub's clock; what a person wrote stays as it is written.

        What is told ``again`` may be from before the feed's clock was set: it is made older by it, never younger.
        """
        off = self._peers[observation.feed].clock.off
        off = max(0, off) if again else off
        if not off or observation.by is not None:
            return observation
        return observation.model_copy(update={"read_at": max(0, observation.read_at - off)})

    def _at_the_bed(self, observation: Observation, ticks: Instant) -> Refusal | None:
        """Refuse what a feed says of a bed that it did not declare, or that another one speaks for."""
        beyond = self._beyond_its_key(observation.bed)
        if beyond is not None:
            return beyond
        said = self._peers[observation.feed].beds.get(observation.bed)
        if said is None:
            if observation.bed not in self.slots:
                return Refusal(
                    RefusalReason.UNKNOWN_BED, say("there is no bed {bed} in this unit", bed=observation.bed)
                )
            return Refusal(
                RefusalReason.NOT_YOUR_BED,
                say("{feed} did not declare {bed}", feed=observation.feed, bed=observation.bed),
            )
        if said.origin is Origin.ENTERED and observation.by is None:
            return Refusal(RefusalReason.MALFORMED, say("by: a set entered by hand names who entered it"))
        return self._claim(said, observation.feed, ticks)

    def _known(self, feed: str, epoch: str) -> HubLink | None:
        peer = self._peers.get(feed)
        return peer.links.get(epoch) if peer else None

    def _refuse(self, feed: str, refusal: Refusal, ticks: Instant, seq: int | None = None) -> None:
        tell = self.refusals.count(refusal.reason, feed, ticks)
        if tell or refusal.reason is RefusalReason.NOT_ALLOWED:  # each is a person's act, whose form waits for it
            self._send(feed, Refused(reason=refusal.reason, detail=refusal.detail, seq=seq))
            if refusal.reason is not RefusalReason.NOT_HELLO:
                log.warning("feed %s: %s: %s", feed, refusal.reason.value, refusal.detail)

    def _outside(self, refused: FrameRefused, peer: str, ticks: Instant) -> bool:
        tell = self.refusals.count(refused.reason, peer, ticks)
        if tell:
            log.warning("%s: turned away: %s", peer, refused)
        return tell


def _name(identity: bytes) -> str:
    """Give the name of a line; ZeroMQ makes one up where the peer has none, or came again before it was read."""
    name = identity.decode("ascii", "replace")
    return name if name.isprintable() else say("a line without a name")
