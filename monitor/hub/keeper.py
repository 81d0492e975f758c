"""The record as the hub sees it: it may refuse, and the hub goes on all the same.

While the record refuses, batches wait here in order and the caller marks everything NOT RECORDED. About once a
second they are tried again, oldest first, so that the order and the hash chain stay whole. Nothing is called stored
meanwhile, so the feeds' journals hold what waits here too. If too many observations wait, they are dropped from
here alone (`dropped` tells the caller once): entries and commands stay, the feeds tell the observations again.
"""

import logging
from collections import deque
from collections.abc import Mapping, Sequence

from monitor.core.entries import Entry
from monitor.core.events import Observed
from monitor.core.wire import CommandAnswer
from monitor.record import Batch, Record
from shared.errors import RecordError
from shared.instant import SECOND, Instant
from shared.link import Span

log = logging.getLogger(__name__)

#: Observations that may wait in memory: about an hour of 30 beds at one a second.
WAITING_LIMIT = 100_000
_AGAIN_MS = SECOND


class Keeper:
    """Writes batches, or keeps what is owed.

    Attributes:
        not_recorded: since when (the hub's time) the record refuses; ``None``: it does not.
        defects: steps that could not be written although the disk is sound; more than 0 is a defect of ours.
    """

    def __init__(self, record: Record, limit: int = WAITING_LIMIT) -> None:
        self.record = record
        self.not_recorded: Instant | None = None
        self.defects = 0
        self._limit = limit
        self._waiting: deque[Batch] = deque()
        self._observations = 0
        self._dropped = False
        self._again_at: Instant = 0

    def write(self, batch: Batch, now: Instant, ticks: Instant) -> bool:
        """Write a batch after everything that waits; give whether it is in the record."""
        if batch:
            self._waiting.append(batch)
            self._observations += sum(isinstance(step.event, Observed) for step in batch.steps)
        if not self._waiting or (self.not_recorded is not None and ticks < self._again_at):
            return self.not_recorded is None
        try:
            while self._waiting:
                self._append_first()
        except RecordError as error:
            self._refused(error, now, ticks)
            return False
        self._observations = 0
        return self.not_recorded is None

    def flush(self, marks: Mapping[str, int], now: Instant, ticks: Instant) -> bool:
        """Make everything durable; give whether ``marks`` may be called stored."""
        if self._waiting:
            return False
        try:
            self.record.flush(marks)
        except RecordError as error:
            self._refused(error, now, ticks)
            return False
        if self.not_recorded is not None:
            log.warning("the record takes writes again; everything that was owed is written")
            self.not_recorded = None
        return True

    @property
    def is_owing(self) -> bool:
        """Tell whether something waits to be written."""
        return bool(self._waiting)

    def dropped(self) -> bool:
        """Tell once that observations were dropped: the links must be forgotten, and a checkpoint is needed."""
        dropped, self._dropped = self._dropped, False
        return dropped

    def waiting(self) -> list[Entry]:
        """Give the entries that are not in the record yet, oldest first."""
        return [entry for batch in self._waiting for step in batch.steps for entry in step.entries]

    def entries(self, bed: str | None, most: int, item: str | None = None) -> list[Entry]:
        """Give the newest entries of a bed (``None``: all) or an item, those that wait included, newest first."""
        wanted = [one for one in self.waiting() if bed is None or one.bed == bed]
        found = [one for one in wanted if item is None or one.item == item][::-1][:most]
        return found if len(found) == most else found + self.record.entries(bed, most - len(found), item)

    def answer(self, command: str) -> CommandAnswer | None:
        """Give what became of a command that waits or is in the record."""
        for batch in self._waiting:
            for step in batch.steps:
                if step.answer is not None and step.answer.id == command:
                    return step.answer.model_copy(update={"recorded": False})
        try:
            return self.record.answer(command)
        except RecordError as error:
            log.error("the command %s cannot be looked up: %s", command, error)
            return None

    def stored_of(self, epoch: str) -> tuple[int, Sequence[Span]]:
        """Give what of an epoch is durable, and what the record holds beyond.

        Nothing when it cannot be read: the feed then tells it again.
        """
        try:
            return self.record.noted(epoch)
        except RecordError as error:
            log.error("epoch %s cannot be looked up: %s", epoch, error)
            return 0, []

    def _append_first(self) -> None:
        batch = self._waiting[0]
        try:
            self.record.append(batch)
        except RecordError:
            raise
        except Exception:  # a defect of ours: one step that cannot be written must not keep all others out for ever
            log.exception("a batch of %d steps cannot be written: its steps are tried one by one", len(batch.steps))
            self._waiting.popleft()
            if len(batch.steps) > 1:
                singly = [Batch([step]) for step in batch.steps]
                self._waiting.extendleft([Batch([], batch.skipped), *reversed(singly)])
            else:
                self.defects += 1
            return
        self._waiting.popleft()

    def _refused(self, error: RecordError, now: Instant, ticks: Instant) -> None:
        self._again_at = ticks + _AGAIN_MS
        if self.not_recorded is None:
            self.not_recorded = now
            log.error("NOT RECORDED: %s; the hub goes on and writes what it owes when it can", error)
        if self._observations > self._limit:
            self._drop_observations()

    def _drop_observations(self) -> None:
        log.error("%d observations wait: dropped from memory, the feeds' journals hold them", self._observations)
        steps = [step for batch in self._waiting for step in batch.steps]
        kept = [step for step in steps if not isinstance(step.event, Observed) or step.entries]
        skipped = [one for batch in self._waiting for one in batch.skipped]
        self._waiting = deque([Batch(kept, skipped)])
        self._observations = 0
        self._dropped = True
