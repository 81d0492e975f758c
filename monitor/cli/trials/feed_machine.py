"""A machine with a feed on it: the real logic of a feed, a virtual journal, a clock that may be wrong."""

import logging
import random
from collections.abc import Callable, Sequence

from monitor.cli.trials.fuse import Fuse, Killed
from monitor.cli.trials.journal import Disk, VirtualJournal
from monitor.cli.trials.patients import NOON, Patients
from monitor.cli.trials.watch import Watch
from monitor.hub.room import Room
from monitor.rehearsal.trials.findings import Story
from monitor.rehearsal.trials.network import Deliver, Network
from monitor.rehearsal.trials.timeline import Timeline
from shared.feed_talk import Draft, FeedTalk, Kept
from shared.instant import SECOND, Instant
from shared.messages import BedDeclared

log = logging.getLogger(__name__)

_RESENDING_MS = 100
_Does = Callable[[FeedTalk], None]
_Sends = Callable[[list[bytes]], bool]


class FeedMachine:
    """One feed. ``hub``: gives where what is sent on a room arrives.

    Attributes:
        skew: ms by which its wall clock is wrong.
        disk: of its journal.
        fuse: when the process ends.
    """

    def __init__(
        self,
        name: str,
        beds: Sequence[BedDeclared],
        patients: Patients,
        timeline: Timeline,
        network: Network,
        story: Story,
        watch: Watch,
        seed: int,
    ) -> None:
        self.name, self.skew, self.fuse = name, 0, Fuse()
        self._beds, self._patients = tuple(beds), patients
        self._timeline, self._network, self._story, self._watch = timeline, network, story, watch
        self._rng = random.Random(f"{seed} {name}")
        self.disk = Disk(name, self._draw_epoch())
        self._memory: list[str] = []
        self._talk: FeedTalk | None = None
        self._life = 0
        self.to_hub: dict[Room, Deliver] = {}

    @property
    def is_settled(self) -> bool:
        """Tell whether the hub holds everything that was ever numbered here."""
        return self._talk is not None and self._talk.link.first == self._talk.link.next_seq

    @property
    def in_memory(self) -> bool:
        """Tell whether the disk refused and what is kept is in memory."""
        return self._talk is not None and self._talk.in_memory

    def up(self) -> None:
        """Start the process on its journal."""
        if self._talk is not None:
            return
        self._life += 1
        self._talk = FeedTalk(
            self._journal(self.disk),
            self._beds,
            clock=self._wall,
            ticks=self._ticks,
            live=self._sends(Room.INGEST),
            talk=self._sends(Room.LINK),
            spare=self._spare,
            draw_epoch=self._draw_epoch,
            log=log,
        )
        self._turn(self._life)

    def down(self) -> None:
        """End the process as a kill does."""
        if self._talk is None:
            return
        self.fuse.out()
        self._talk = None
        self._watch.numbers.memory_gone(self._memory)
        self._memory.clear()
        self._story.counts["feed kills"] += 1

    def heard(self, parts: list[bytes]) -> None:
        """Hear the hub, if the process lives."""
        if self._talk is not None:
            self._alive(lambda talk: talk.hear(parts))

    def read(self, beds: Sequence[str]) -> None:
        """Read these beds and publish; a bed whose cable is pulled gives nothing."""
        if self._talk is None:
            return
        at = self._wall()
        drafts = [
            Draft(bed=bed, read_at=at, readings=readings)
            for bed in beds
            if (readings := self._patients.readings(bed)) is not None
        ]
        self._alive(lambda talk: talk.publish(drafts))

    def _turn(self, life: int) -> None:
        """Do what is due, again and again, for as long as this process lives."""
        if self._talk is None or life != self._life:
            return
        self._alive(lambda talk: talk.due())
        resending = self._talk is not None and self._talk.link.is_resending
        self._timeline.after(_RESENDING_MS if resending else SECOND, lambda: self._turn(life))

    def _alive(self, does: _Does) -> None:
        assert self._talk is not None
        try:
            does(self._talk)
        except Killed:
            self.down()

    def _journal(self, disk: Disk) -> VirtualJournal:
        return VirtualJournal(disk, self._numbered, self._watch.numbers.forgot)

    def _numbered(self, epoch: str, batch: Sequence[Kept]) -> None:
        self._watch.numbers.numbered(epoch, batch)
        self._story.counts["observations"] += len(batch)
        self.fuse.point()

    def _spare(self) -> VirtualJournal:
        disk = Disk(self.name, self._draw_epoch())
        self._memory.append(disk.epoch)
        self._story.tell(self._timeline.now, f"{self.name} goes on in memory")
        return self._journal(disk)

    def _sends(self, room: Room) -> _Sends:
        def send(frames: list[bytes]) -> bool:
            self.fuse.point()
            parts = frames if room is Room.INGEST else [self.name.encode(), *frames]
            self._network.send(self.name, parts, self.to_hub[room])
            return True

        return send

    def _wall(self) -> Instant:
        return NOON + self._timeline.now + self.skew

    def _ticks(self) -> Instant:
        return self._timeline.now

    def _draw_epoch(self) -> str:
        return f"{self._rng.getrandbits(64):016x}"
