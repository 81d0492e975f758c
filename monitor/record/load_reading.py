"""Alert load from the record, read in pages, so that the hub does other things between them.

Every entry from the first on is looked at: an alert that stands, a run that is open and a take that holds may be
older than the stretch that is asked for. Kinds that change no figure are left out by SQLite itself.
"""

import sqlite3
from collections.abc import Iterable

from monitor.analysis.alert_load import LoadFigures, alert_load
from monitor.core.annunciations import OF_LOAD, Annunciations
from monitor.core.entries import Entry, EntryKind
from shared.errors import RecordError
from shared.instant import Instant

#: Entries a page; `step` reads one page.
PAGE = 500

_PAGE = f"""
SELECT body FROM entries WHERE number > ? AND number <= ?
  AND json_extract(body, '$.kind') IN ({", ".join(f"'{kind.value}'" for kind in sorted(OF_LOAD))}) ORDER BY number
"""


class LoadReading:
    """Reads what `alert_load` needs for ``begin`` (included) to ``end`` (excluded), ms.

    Raises RecordError when the file refuses.
    """

    def __init__(self, db: sqlite3.Connection, begin: Instant, end: Instant) -> None:
        self._db = db
        self._span = (begin, end)
        self._seen = 0
        self._is_past = False
        self._found = Annunciations(begin)
        self._last = self._newest()

    def step(self, rows: int = PAGE) -> bool:
        """Read at most ``rows`` entries; give whether that was all."""
        if self._is_past or self._seen >= self._last:
            return True
        upto = min(self._seen + rows, self._last)
        try:
            bodies = self._db.execute(_PAGE, (self._seen, upto)).fetchall()
            self.add(Entry.model_validate_json(body) for (body,) in bodies)
        except sqlite3.Error as error:
            raise RecordError(f"the record cannot be read: {error}") from error
        except ValueError as error:  # a row that is no longer what was written
            first = str(error).splitlines()[0]
            raise RecordError(f"the record holds an entry that is not as it was written: {first}") from error
        self._seen = upto
        if self._seen >= self._last:
            self._last = self._newest()  # written meanwhile
        return self._is_past or self._seen >= self._last

    def _newest(self) -> int:
        try:
            found: int = self._db.execute("SELECT coalesce(max(number), 0) FROM entries").fetchone()[0]
        except sqlite3.Error as error:
            raise RecordError(f"the record cannot be read: {error}") from error
        return found

    def add(self, entries: Iterable[Entry]) -> None:
        """Take entries that follow those read so far: the record's own, or what waits to be written."""
        for entry in entries:
            if entry.at >= self._span[1]:
                self._is_past = True
                if entry.kind is EntryKind.NOTE:  # of a hub that may have been away as the stretch ended
                    self._found.take(entry)
                return
            self._found.take(entry)

    def figures(self) -> LoadFigures:
        """Give the figures of what was read."""
        begin, end = self._span
        return alert_load(self._found.alerts(), self._found.observed(end), begin, end)
