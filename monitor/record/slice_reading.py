"""Reading a slice of a record: where it begins, what followed, and whether its entries are as they were written."""

import sqlite3
import zlib
from collections.abc import Iterator
from contextlib import closing, contextmanager
from dataclasses import dataclass
from pathlib import Path
from urllib.parse import quote

from monitor.core.events import Event
from monitor.record import configurations, inputs
from monitor.record.batch import Begin
from monitor.record.chain import digest_of
from monitor.record.configurations import Configured
from monitor.record.schema import APPLICATION, MIGRATIONS
from monitor.record.slicing import Hours
from shared.errors import RecordError
from shared.instant import Instant

_ROWS = """
SELECT number, ordinal, CAST(bed AS BLOB), CAST(body AS BLOB), coalesce(sealed.digest, entries.digest)
FROM entries LEFT JOIN sealed USING (number) ORDER BY number
"""


@dataclass(frozen=True, slots=True)
class Written:
    """An entry as it stands in the record: its number, the ordinal of its input, its canonical JSON."""

    number: int
    ordinal: int
    body: str


class Slice:
    """A slice that is open for reading.

    Attributes:
        hours: what it was cut for.
        base: the ordinal of the last input that its state covers; 0: it begins with the record.
    """

    def __init__(self, db: sqlite3.Connection) -> None:
        self._db = db
        bed, begin, finish, self.base, self._before = db.execute("SELECT * FROM slice").fetchone()
        self.hours = Hours(bed, begin, finish)

    def state(self) -> bytes | None:
        """Give the engine as it stood at the base, or ``None``: the slice begins with the record."""
        row = self._db.execute("SELECT engine FROM hours WHERE ordinal = ?", (self.base,)).fetchone()
        return None if row is None else zlib.decompress(row[0])

    def configurations(self) -> dict[int, Configured]:
        """Give every configuration, by the ordinal after which it came into force."""
        return configurations.since(self._db, -1)

    def first_configuration(self) -> Configured:
        """Give the configuration with which the slice begins."""
        known = self.configurations()
        return known[max(after for after in known if after <= self.base)]

    def inputs(self) -> Iterator[tuple[int, Event | Begin, Instant]]:
        """Give every input after the base with its ordinal and time, in order."""
        return inputs.numbered(self._db, self.base)

    def entries(self) -> Iterator[Written]:
        """Give every entry, in order."""
        for number, ordinal, body in self._db.execute("SELECT number, ordinal, body FROM entries ORDER BY number"):
            yield Written(number, ordinal, body)

    def head(self) -> tuple[int, bytes] | None:
        """Give number and digest of its last entry, which the whole record has too; ``None``: it has no entry."""
        row = self._db.execute(_ROWS.replace("ORDER BY number", "ORDER BY number DESC LIMIT 1")).fetchone()
        return None if row is None else (row[0], row[4])

    def broken(self) -> int | None:
        """Give the number of the first entry that is not as it was written, or ``None``."""
        before, last = self._before, None
        for number, ordinal, bed, body, digest in self._db.execute(_ROWS):
            missing = last is not None and number != last + 1
            if missing or digest_of(before, number, ordinal, bed, body) != digest:
                return int(number)
            before, last = digest, number
        return None


@contextmanager
def open_slice(path: Path) -> Iterator[Slice]:
    """Open a slice. Raises RecordError where it is none, of another version, or cannot be read."""
    try:
        with closing(sqlite3.connect(f"file:{quote(str(path))}?mode=ro", uri=True, isolation_level=None)) as db:
            if db.execute("PRAGMA application_id").fetchone()[0] != APPLICATION:
                raise RecordError(f"{path} is no slice of a record")
            version, newest = db.execute("PRAGMA user_version").fetchone()[0], MIGRATIONS[-1].version
            if version != newest:
                raise RecordError(f"{path} is of version {version}, this Weirkeeper reads {newest}: use that one")
            yield Slice(db)
    except (sqlite3.Error, zlib.error) as error:
        raise RecordError(f"{path} cannot be read: {error}") from error
