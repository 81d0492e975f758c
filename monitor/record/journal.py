"""Writing: one transaction for a batch, and how sure it is afterwards.

Durability in SQLite's write-ahead log
--------------------------------------
A commit appends pages to the log. With ``synchronous = FULL`` SQLite also calls fsync on the log before the commit
returns: it, and everything committed before it, survives a power cut. With ``synchronous = NORMAL`` that fsync is
left out: the commit survives the end of the process (the pages are the system's), and a power cut may take back the
newest commits, never an older one without the newer. (SQLite documentation, "PRAGMA synchronous" and "Write-Ahead
Logging"; tests/monitor/test_record_durability.py counts the fsync calls.)

So one connection and the one file are enough. Between transactions, where SQLite allows it, the setting is changed:

* a batch with an entry, an answer, a command, a declaration or a tick commits with FULL;
* a batch of observations alone commits with NORMAL, and may be published at once;
* `flush` commits one small row with FULL when anything was committed since the last FULL. Only then may a feed
  be told that its observations are stored: until then its own journal holds them.

After an error nothing that was not yet flushed is trusted: a failed fsync may have dropped pages that later fsyncs
do not miss. The next flush then folds the whole log into the file, which writes and syncs every page anew. Somebody
who reads the record for long (a backup) stands in the way of that: the flush then refuses, without waiting, and is
tried again until the reader is done.
"""

import sqlite3
from collections.abc import Iterator, Mapping
from contextlib import contextmanager, suppress

from monitor.core.events import Commanded, Declared, FeedsFound, Observed, TimePassed
from monitor.record import checkpoints, configurations
from monitor.record.batch import Batch, Begin, Step
from monitor.record.chain import Chain
from monitor.record.inputs import body_of
from monitor.record.packing import COLUMNS, Packing, layout_of
from monitor.record.sums import Sums, of_input, of_observation
from shared.errors import RecordError

_OBSERVATION = (
    f"INSERT INTO observations ({COLUMNS}) VALUES (?,?,?,?,?,?,?,?,?,?) ON CONFLICT (epoch, seq) DO NOTHING"
)


class Journal:
    """The writing side of a record. Used from one thread.

    Attributes:
        ordinal: of the last input; 0 when there is none.
        doubled: observations that were in the record already and were left alone; more than 0 is a defect.
    """

    def __init__(self, db: sqlite3.Connection) -> None:
        self._db = db
        self._packing = Packing(db)
        self._chain = Chain.of(db)
        self._sums = Sums(db)
        self._waiting = True  # what an earlier process committed last may not be flushed
        self._distrusted = False
        self.doubled = 0
        self.ordinal: int = db.execute(
            "SELECT max(coalesce((SELECT max(ordinal) FROM observations), 0),"
            " coalesce((SELECT max(ordinal) FROM inputs), 0))"
        ).fetchone()[0]

    @property
    def head(self) -> tuple[int, bytes]:
        """Number and digest of the newest entry."""
        return self._chain.number, self._chain.head

    def append(self, batch: Batch) -> int:
        """Write a batch in one transaction and give the ordinal of its last input.

        Raises:
            RecordError: the disk refuses; nothing of the batch is in the record.
        """
        with self._transaction(full=not batch.may_wait):
            if batch.configured is not None:
                configurations.save(self._db, self.ordinal, batch.configured)
            for step in batch.steps:
                self._step(step)
            for skipped in batch.skipped:
                epoch = self._packing.epoch(skipped.feed, skipped.epoch)
                self._db.execute(
                    "INSERT INTO skipped VALUES (?, ?, ?, ?)", (epoch, skipped.first, skipped.last, skipped.reason)
                )
            if batch.checkpoint is not None:
                checkpoints.save(self._db, self.ordinal, batch.checkpoint)
                self._sums.write(self.ordinal, batch.checkpoint.at)
        return self.ordinal

    def flush(self, stored: Mapping[str, int]) -> None:
        """Make everything durable that was appended so far.

        Args:
            stored: by epoch, up to which number the record holds or has given up everything; written down, so that
                a restart need not count again.

        Raises:
            RecordError: the disk refuses; nothing may be called stored.
        """
        if not (self._waiting or stored):
            return
        with self._transaction(full=True):
            self._db.execute("UPDATE flushes SET count = count + 1")
            self._db.executemany(
                "UPDATE epochs SET stored = ? WHERE epoch = ? AND stored < ?",
                [(up_to, epoch, up_to) for epoch, up_to in stored.items()],
            )
        if self._distrusted:
            self._write_anew()

    @contextmanager
    def _transaction(self, *, full: bool) -> Iterator[None]:
        before = (self.ordinal, self._chain.number, self._chain.head, self.doubled)
        put_back = self._sums.kept()
        try:
            self._db.execute(f"PRAGMA synchronous = {'FULL' if full else 'NORMAL'}")
            self._db.execute("BEGIN IMMEDIATE")
            yield
            self._db.execute("COMMIT")
        except BaseException as error:
            self.ordinal, self._chain.number, self._chain.head, self.doubled = before
            put_back()
            self._packing.forget()
            self._distrusted = self._waiting = True
            with suppress(sqlite3.Error):
                if self._db.in_transaction:
                    self._db.execute("ROLLBACK")
            if isinstance(error, sqlite3.Error):
                raise RecordError(f"the record refuses: {error}") from error
            raise
        self._waiting = not full

    def _write_anew(self) -> None:
        self._waiting = True
        try:
            patience = self._db.execute("PRAGMA busy_timeout").fetchone()[0]
            self._db.execute("PRAGMA busy_timeout = 0")  # the hub's turn waits for no reader
            try:
                busy = self._db.execute("PRAGMA wal_checkpoint(TRUNCATE)").fetchone()[0]
            finally:
                self._db.execute(f"PRAGMA busy_timeout = {patience}")
        except sqlite3.Error as error:
            raise RecordError(f"the record refuses: {error}") from error
        if busy:
            raise RecordError("the record refuses: a reader stands in the way of writing it anew")
        self._distrusted = self._waiting = False

    def _step(self, step: Step) -> None:
        event = step.event
        if isinstance(event, Observed):
            said = event.observation
            row = self._packing.row(self.ordinal + 1, step.at, said)
            written = self._db.execute(_OBSERVATION, row).rowcount
            if written:
                self._sums.add(of_observation(self.ordinal + 1, step.at, said, layout_of(said), row[-2], row[-1]))
            self.ordinal += written
            self.doubled += 1 - written
        elif isinstance(event, Begin | Declared | Commanded | TimePassed | FeedsFound):
            self.ordinal += 1
            kind, body = body_of(event)
            self._db.execute("INSERT INTO inputs VALUES (?, ?, ?, ?)", (self.ordinal, step.at, kind, body))
            self._sums.add(of_input(self.ordinal, step.at, kind, body))
        for entry in step.entries:
            self._chain.append(self._db, self.ordinal, entry)
        if step.answer is not None:
            self._db.execute(
                "INSERT INTO answers VALUES (?, ?, ?) ON CONFLICT (command) DO NOTHING",
                (step.answer.id, self.ordinal, step.answer.model_dump_json()),
            )
