"""Slips beside the record: what others would have written into the log, which the hub alone may write."""

import logging
from contextlib import suppress

from monitor.record import Record, Step
from monitor.record.taken_out import slips_beside, slips_folder
from shared.errors import RecordError
from shared.instant import SECOND, Instant

log = logging.getLogger(__name__)

_SOON_MS = SECOND // 10


class Slips:
    """Takes slips in, each once: the record remembers their ids, and a slip goes when it is durable there."""

    def __init__(self, record: Record) -> None:
        self._record = record
        self._folder = slips_folder(record.path)
        self._given: set[str] = set()
        self._at: Instant = 0

    def due(self, now: Instant, ticks: Instant) -> list[Step]:
        """Give the steps to be written now; ``ticks`` in real ms. It is looked for slips about once a second."""
        if ticks < self._at:
            return []
        self._at = ticks + SECOND
        if not self._folder.is_dir():  # nothing was ever taken out
            return []
        steps = []
        for path, slip in slips_beside(self._record.path):
            try:
                is_written = self._record.answer(slip.id) is not None
            except RecordError as error:
                log.error("the slip %s cannot be looked up, and waits: %s", slip.id, error)
                continue
            if is_written:
                with suppress(OSError):  # it stays, and is passed over: its id is known
                    path.unlink()
                self._given.discard(slip.id)
            elif slip.id not in self._given:
                self._given.add(slip.id)
                steps.append(slip.step(now))
                self._at = ticks + _SOON_MS
        return steps
