"""The record of one unit: open it, append to it, ask it, check it."""

import logging
import sqlite3
import struct
from collections.abc import Iterator, Mapping, Sequence
from contextlib import contextmanager, suppress
from pathlib import Path
from typing import Self

from monitor.core.entries import Entry
from monitor.core.events import Event
from monitor.core.wire import CommandAnswer
from monitor.record import checkpoints, configurations, inputs, numbers
from monitor.record.anew import Plan, finish_aside, forget_plan
from monitor.record.batch import Batch, Begin
from monitor.record.checkpoints import Standing
from monitor.record.configurations import Configured
from monitor.record.head_keeping import HeadKeeping
from monitor.record.history import HistoryReading, Series
from monitor.record.journal import Journal
from monitor.record.load_reading import LoadReading
from monitor.record.opening import PATIENCE_S, Damaged, Lock, close_as_it_is, connect, is_damage, not_opened
from monitor.record.restoring import finish
from monitor.record.schema import MIGRATIONS
from monitor.record.sums import thinned_of
from monitor.record.verifying import Broken, verify
from shared.errors import RecordError
from shared.instant import Instant
from shared.link import Span
from shared.quantities import Quantity

log = logging.getLogger(__name__)

#: The past of an item of the equipment is looked for among so many of the newest entries.
ITEM_WITHIN = 20_000


class Record:
    """One SQLite file, written by one process and used from one thread.

    Every method raises RecordError when the disk or the file refuses.

    Attributes:
        path: where the file is.
        missed: what the head beside it names and it does not hold, in words; ``None``: nothing.
    """

    def __init__(self, path: Path, db: sqlite3.Connection, lock: Lock, plan: Plan | None = None) -> None:
        self.path = path
        self._db = db
        self._lock = lock
        self._journal = Journal(db)
        self._head = HeadKeeping(path, db)
        self.missed = self._head.missed
        self._plan = plan
        if not self.is_new:
            self._begun()

    @classmethod
    def open(cls, path: Path, patience: float = PATIENCE_S) -> Self:
        """Open the record at ``path``, or begin one there.

        What an earlier process committed last may not be durable yet; `flush` makes it so. A disk that is full now
        keeps nobody from opening what is there. A restore that was interrupted is finished first.

        Args:
            patience: for how many seconds it is waited for whoever holds it.

        Raises:
            Held: another hub holds it.
            RecordError: it is damaged, foreign, too new, or cannot be begun.
        """
        lock = Lock(path.with_name(f"{path.name}.lock"), patience)
        try:
            finish(path)
            plan = finish_aside(path)
            db = connect(path)
            try:
                return cls(path, db, lock, plan)
            except Exception as error:
                if is_damage(error):
                    close_as_it_is(path, db)
                db.close()
                raise
        except (OSError, sqlite3.Error, UnicodeDecodeError) as error:
            lock.release()
            raise not_opened(path, error) from error
        except BaseException:
            lock.release()
            raise

    def close(self, *, as_it_is: bool = False) -> None:
        """Close the file and let go of the lock; ``as_it_is``: it is damaged, and not one byte of it is changed."""
        with suppress(sqlite3.Error):
            if as_it_is:
                close_as_it_is(self.path, self._db)
            self._db.close()
        self._lock.release()

    @property
    def anew(self) -> str | None:
        """What a new record is to say of the damaged one in whose place it is; ``None``: nothing, or it has."""
        return None if self._plan is None else self._plan.words

    def _begun(self) -> None:
        if self._plan is not None:
            forget_plan(self.path)
            self._plan = None

    @property
    def is_new(self) -> bool:
        """Tell whether nothing was ever written."""
        return self._journal.ordinal == 0

    @property
    def doubled(self) -> int:
        """How many observations came here twice and were kept once; more than 0 is a defect of the caller."""
        return self._journal.doubled

    @property
    def head(self) -> tuple[int, bytes]:
        """Number and digest of the newest entry; elsewhere kept, they prove that none was cut off."""
        return self._journal.head

    def append(self, batch: Batch) -> int:
        """Write a batch, whole or not at all; give the ordinal of its last input.

        A batch with anything but observations is durable when this returns; one of observations is after `flush`.
        The head beside the record follows it.
        """
        ordinal = self._journal.append(batch)
        self._head.follow(*self._journal.head)
        self._begun()
        return ordinal

    def flush(self, stored: Mapping[str, int]) -> None:
        """Make everything appended durable; ``stored`` notes by epoch up to where nothing is missing."""
        self._journal.flush(stored)

    def stored_up_to(self, epoch: str) -> int:
        """Give up to which number of an epoch nothing is missing."""
        with self._asking():
            return numbers.stored_and_held(self._db, epoch)[0]

    def held(self, epoch: str) -> list[Span]:
        """Give the numbers of an epoch that are in the record, or given up, beyond `stored_up_to`."""
        with self._asking():
            return numbers.stored_and_held(self._db, epoch)[1]

    def noted(self, epoch: str) -> tuple[int, list[Span]]:
        """Give up to which number of an epoch everything is durable, as a flush has noted, and the spans beyond."""
        with self._asking():
            return numbers.noted_and_held(self._db, epoch)

    def standing(self) -> list[Standing]:
        """Give the kept checkpoints, newest first."""
        with self._asking():
            return checkpoints.standing(self._db)

    def configured(self) -> Configured | None:
        """Give the configuration that was in force last, or ``None``: no hub has written one down."""
        with self._asking():
            return configurations.in_force(self._db)

    def configurations(self) -> list[Configured]:
        """Give every configuration that was in force, oldest first."""
        with self._asking():
            return [found for _, found in sorted(configurations.since(self._db, -1).items())]

    def replay(self, after: int) -> Iterator[tuple[Event | Begin, Instant]]:
        """Give every input after the ordinal ``after``, in order, with the time at which it was handled."""
        with self._asking():
            yield from inputs.replay(self._db, after)

    def last_at(self) -> Instant:
        """Give the time of the last input; 0 when there is none."""
        with self._asking():
            row = self._db.execute(
                "SELECT max(coalesce((SELECT at FROM observations ORDER BY ordinal DESC LIMIT 1), 0),"
                " coalesce((SELECT at FROM inputs ORDER BY ordinal DESC LIMIT 1), 0))"
            ).fetchone()
        at: int = row[0]
        return at

    def history(
        self, place: tuple[str, int], quantities: Sequence[Quantity], span: tuple[Instant, Instant], width_ms: int
    ) -> Series:
        """Give whole series at once; see `HistoryReading`."""
        reading = self.read_history(place, quantities, span, width_ms)
        while not reading.step():
            pass
        return reading.series()

    def read_history(
        self,
        place: tuple[str, int],
        quantities: Sequence[Quantity],
        span: tuple[Instant, Instant],
        width_ms: int,
        late_s: float = 900,
    ) -> HistoryReading:
        """Begin to read series page by page. ``place`` is bed and slot; ``late_s``: see `HistoryReading`."""
        with self._asking():
            return HistoryReading(self._db, place, quantities, span, width_ms, late_s)

    def thinned_before(self) -> Instant | None:
        """Give up to when observations were thinned, or ``None``: none were."""
        with self._asking():
            thinned = thinned_of(self._db)
        return None if thinned is None else thinned.before

    def read_load(self, begin: Instant, end: Instant) -> LoadReading:
        """Begin to read the alert load of ``begin`` (included) to ``end`` (excluded), page by page."""
        return LoadReading(self._db, begin, end)

    def entries(self, bed: str | None, most: int, item: str | None = None) -> list[Entry]:
        """Give the newest entries of a bed (``None``: of all beds and the unit), newest first.

        ``item``: those of an item of the equipment, among the newest `ITEM_WITHIN` entries.
        """
        wanted, given = ("? IS NULL" if bed is None else "bed = ?"), tuple[str | int | None, ...]((bed,))
        if item is not None:  # no index: so many rows are looked through in one go, and no more
            wanted += " AND number > ? AND instr(body, ?) AND json_extract(body, '$.item') = ?"
            given += (self._journal.head[0] - ITEM_WITHIN, f'"item":"{item}"', item)
        query = f"SELECT body FROM entries WHERE {wanted} ORDER BY number DESC LIMIT ?"
        with self._asking():
            return [Entry.model_validate_json(row[0]) for row in self._db.execute(query, (*given, most))]

    def pages(self, within: int) -> list[Entry]:
        """Give what was written of pages within the newest entries, newest first, without what is unreadable.

        A page in doubt may then not be sent again: that costs less than a hub that does not start for one row.
        """
        query = (
            "SELECT CAST(body AS BLOB) FROM entries WHERE number > ?"
            " AND CASE WHEN json_valid(body) THEN json_extract(body, '$.kind') END = 'paged' ORDER BY number DESC"
        )
        found = []
        with self._asking():
            for (body,) in self._db.execute(query, (self._journal.head[0] - within,)):
                try:
                    found.append(Entry.model_validate_json(body))
                except ValueError:
                    log.warning("an entry of a page is not as it was written, and is passed over")
        return found

    def runs_since(self) -> dict[tuple[str, int], Instant]:
        """Give when the last run began in each bed and slot."""
        query = (
            "SELECT bed, json_extract(body, '$.slot'), max(json_extract(body, '$.at')) FROM entries"
            " WHERE json_extract(body, '$.kind') = 'run_started' GROUP BY 1, 2"
        )
        with self._asking():
            return {(bed, slot): at for bed, slot, at in self._db.execute(query)}

    def answer(self, command: str) -> CommandAnswer | None:
        """Give what became of a command, or ``None`` when it is not in the record."""
        with self._asking():
            row = self._db.execute("SELECT answer FROM answers WHERE command = ?", (command,)).fetchone()
        return None if row is None else CommandAnswer.model_validate_json(row[0])

    def verify(self) -> Broken | None:
        """Check the chain of entries; give the first that does not fit, or ``None``."""
        with self._asking():
            return verify(self._db, MIGRATIONS[-1].version).broken

    @contextmanager
    def _asking(self) -> Iterator[None]:
        try:
            yield
        except sqlite3.Error as error:
            kind = Damaged if is_damage(error) else RecordError
            raise kind(f"the record cannot be read: {error}") from error
        except (ValueError, TypeError, AttributeError, struct.error) as error:  # rows that nobody here has written
            first = str(error).splitlines()[0]
            raise Damaged(f"the record holds something that is not as it was written: {first}") from error
