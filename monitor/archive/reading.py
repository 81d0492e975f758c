"""A record in the archive, read as one beside a hub is: with the same code, and to the same figures."""

import sqlite3
from collections.abc import Collection, Iterator
from contextlib import ExitStack, closing, contextmanager
from pathlib import Path

from monitor.analysis.alert_load import LoadFigures
from monitor.archive.bringing import Hours, bring
from monitor.archive.connecting import Connection, connected, telling
from monitor.archive.schema import make_sure_of_version
from monitor.archive.standing import Archived, newest_of, records_of
from monitor.core.entries import Entry, EntryKind
from monitor.record.entries_reading import entry_of
from monitor.record.hours_reading import HoursReading
from monitor.record.reading import RecordToRead
from monitor.record.schema import MIGRATIONS
from shared.instant import Instant


class ArchivedRecord:
    """A record of a unit, for reading alone. Each hours that are asked for are brought into memory first.

    Every method raises RecordError when the archive refuses.

    Attributes:
        unit, number: of the record; ``name``: both, for people.
    """

    def __init__(self, db: Connection, record: Archived, open_ones: ExitStack) -> None:
        self._db, self._record, self._open = db, record, open_ones
        self.unit, self.number = record.unit, record.number
        self.name = record.unit if record.number == 1 else f"{record.unit} (record {record.number})"

    def ends(self) -> tuple[Instant, Instant]:
        """Give the times of the first entry and of the last that is archived (0: none)."""
        first = Hours(0, 1)  # nothing is that old: the first entry alone
        return self._brought(first).ends()[0], self._record.last_at

    def head(self) -> tuple[int, str]:
        """Give number and digest (hexadecimal) of the newest entry."""
        return self._record.entry, self._record.head.hex()

    def load(self, begin: Instant, end: Instant) -> LoadFigures:
        """Give the alert load of ``begin`` (included) to ``end`` (excluded)."""
        return self._brought(Hours(begin, end)).load(begin, end)

    def hours(self, begin: Instant, end: Instant) -> HoursReading:
        """Give what a report needs of ``begin`` (included) to ``end`` (excluded), unless it was never archived."""
        return self._brought(Hours(begin, end)).hours(begin, end)

    def entries_since(
        self, begin: Instant, kinds: Collection[EntryKind] | None, bed: str | None
    ) -> Iterator[Entry]:
        """Give the entries from ``begin`` on, of some kinds and of a bed alone if they are named, in order.

        What this record shares with the one that it was restored from is that one's.
        """
        query = (
            "SELECT number, body FROM entries WHERE record = %s AND at >= %s"
            " AND (%s::text[] IS NULL OR kind = ANY(%s)) AND (%s::text IS NULL OR bed = %s) ORDER BY number"
        )
        named = None if kinds is None else [kind.value for kind in kinds]
        with telling(), self._db.cursor(name="entries") as cursor:
            for number, body in cursor.execute(query, (self._record.id, begin, named, named, bed, bed)):
                yield entry_of(int(str(number)), str(body))

    def bring(self, to: Path, begin: Instant, end: Instant) -> None:
        """Write what is needed of some hours into a new file."""
        with closing(sqlite3.connect(to, isolation_level=None)) as db:
            bring(self._db, self._record, db, Hours(begin, end))

    def _brought(self, hours: Hours) -> RecordToRead:
        db = self._open.enter_context(closing(sqlite3.connect(":memory:", isolation_level=None)))
        bring(self._db, self._record, db, hours)
        return RecordToRead(Path(self.name), db, MIGRATIONS[-1].version)


@contextmanager
def all_archived(place: str, unit: str | None = None) -> Iterator[list[ArchivedRecord]]:
    """Open every record of all units, or of one, as of one moment.

    Raises:
        Away, RecordError: the archive does not answer or refuses, or the unit is not in it.
    """
    with connected(place, reading=True) as db, ExitStack() as open_ones:
        make_sure_of_version(db)
        with telling():
            if unit is not None:
                newest_of(db, unit)
            records = records_of(db, unit)
        yield [ArchivedRecord(db, record, open_ones) for record in records]


@contextmanager
def archived(place: str, unit: str, number: int | None = None) -> Iterator[ArchivedRecord]:
    """Open the newest record of a unit in the archive, or the one with a number, as of one moment.

    Raises:
        Away, RecordError: the archive does not answer or refuses, or the unit is not in it.
    """
    with connected(place, reading=True) as db, ExitStack() as open_ones:
        make_sure_of_version(db)
        with telling():
            record = newest_of(db, unit, number)
        yield ArchivedRecord(db, record, open_ones)
