"""A feed's journal on a virtual disk: what `feeds.journal` does, without a file.

The disk outlives the process. As in the real one, what was appended is durable when `append` returns.
`tests/monitor/test_trial.py` holds the two to each other.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field

from shared.errors import RecordError
from shared.feed_talk import Kept


@dataclass(slots=True)
class Disk:
    """What is on the disk, and whether it takes writes."""

    feed: str
    epoch: str
    next_seq: int = 1
    first: int = 1
    kept: dict[int, Kept] = field(default_factory=dict)
    full: bool = False


class VirtualJournal:
    """The journal of one feed.

    Args:
        disk: what it is on.
        numbered: is told what was appended, and of which epoch.
        forgot: is told up to which number of which epoch everything was dropped.
    """

    def __init__(
        self,
        disk: Disk,
        numbered: Callable[[str, Sequence[Kept]], None],
        forgot: Callable[[str, int], None],
    ) -> None:
        self.feed, self.epoch = disk.feed, disk.epoch
        self.first, self.next_seq = disk.first, disk.next_seq
        self._disk, self._numbered, self._forgot = disk, numbered, forgot

    def append(self, batch: Sequence[Kept]) -> None:
        """Keep a batch, numbered without a gap from `next_seq`. Raises RecordError: the disk refuses."""
        if not batch:
            return
        numbers = [kept.seq for kept in batch]
        assert numbers == list(range(self.next_seq, self.next_seq + len(batch))), "numbers without a gap"
        if self._disk.full:
            raise RecordError("the journal refuses: the disk is full")
        self._disk.kept |= {kept.seq: kept for kept in batch}
        self.next_seq = self._disk.next_seq = batch[-1].seq + 1
        self._numbered(self.epoch, batch)

    def read(self, first: int, last: int) -> list[Kept]:
        """Give what is kept of ``first`` to ``last``, both included, in order."""
        return [self._disk.kept[seq] for seq in range(first, last + 1) if seq in self._disk.kept]

    def forget(self, up_to: int) -> None:
        """Drop everything up to ``up_to``. What a full disk does not drop now goes later."""
        if up_to < self.first or self._disk.full:
            return
        for seq in range(self.first, up_to + 1):
            self._disk.kept.pop(seq, None)
        self.first = self._disk.first = min(up_to + 1, self.next_seq)
        self._forgot(self.epoch, up_to)

    def begin_epoch(self, epoch: str, batch: Sequence[Kept]) -> None:
        """Begin a new epoch with ``batch``, numbered from 1, in place of everything that was kept."""
        disk = self._disk
        self.epoch = disk.epoch = epoch
        disk.kept = {kept.seq: kept for kept in batch}
        self.first = disk.first = 1
        self.next_seq = disk.next_seq = len(batch) + 1
        self._numbered(epoch, batch)
