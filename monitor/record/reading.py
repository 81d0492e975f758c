"""Looking into a record without touching it, also while a hub writes it."""

import json
import os
import sqlite3
import struct
import zlib
from collections.abc import Collection, Iterator, Sequence
from contextlib import closing, contextmanager
from pathlib import Path
from typing import Any
from urllib.parse import quote

from monitor.analysis.alert_load import LoadFigures
from monitor.core.entries import Entry, EntryKind
from monitor.core.events import Event
from monitor.record import checkpoints, configurations, copying, inputs, slicing
from monitor.record.batch import Begin
from monitor.record.bed_reading import BedReading
from monitor.record.beside import ASIDE, DAMAGED
from monitor.record.checkpoints import Standing
from monitor.record.configurations import Configured
from monitor.record.counting import Inputs, count_inputs
from monitor.record.entries_reading import entries_since
from monitor.record.head import Head, head_path
from monitor.record.hours_reading import HoursReading
from monitor.record.load_reading import LoadReading
from monitor.record.opening import MAGIC, is_damage
from monitor.record.portions import PortionReading
from monitor.record.schema import APPLICATION, MIGRATIONS
from monitor.record.slicing import Hours
from monitor.record.sums import SUMMED, SumsReading, Thinned, thinned_of
from monitor.record.verifying import Verification
from shared.errors import RecordError
from shared.instant import Instant

#: Bytes of its header (SQLite documentation, "Database File Format", 1.3).
_HEADER = 100
_WHAT_TO_DO = "leave it as it is, and see whether a backup is whole (verify BACKUP)"


class RecordToRead:
    """A record opened for reading alone. Every method raises RecordError when the file refuses.

    Attributes:
        version: of the file, as its migrations count.
        cut_short: in words, that the file has lost its end; ``None``: it has not.
    """

    def __init__(self, path: Path, db: sqlite3.Connection, version: int, cut_short: str | None = None) -> None:
        self.path = path
        self.version = version
        self.cut_short = cut_short
        self._db = db

    def ends(self) -> tuple[Instant, Instant]:
        """Give the times of the first entry and of the last input (0: none)."""
        row = self._ask("SELECT coalesce(min(json_extract(body, '$.at')), 0) FROM entries WHERE number <= 1")
        last = self._ask(
            "SELECT max(coalesce((SELECT at FROM observations ORDER BY ordinal DESC LIMIT 1), 0),"
            " coalesce((SELECT at FROM inputs ORDER BY ordinal DESC LIMIT 1), 0),"
            " coalesce((SELECT json_extract(body, '$.at') FROM entries ORDER BY number DESC LIMIT 1), 0))"
        )
        return row, last

    def load(self, begin: Instant, end: Instant) -> LoadFigures:
        """Give the alert load of ``begin`` (included) to ``end`` (excluded)."""
        reading = LoadReading(self._db, begin, end)
        while not reading.step():
            pass
        return reading.figures()

    def hours(self, begin: Instant, end: Instant) -> HoursReading:
        """Give what a report needs of ``begin`` (included) to ``end`` (excluded), unless it was thinned since."""
        thinned = self.thinned()
        if thinned is not None and begin < thinned.before:
            raise thinned.refusal()
        return HoursReading(self._db, begin, end)

    def of_bed(self, bed: str, begin: Instant, end: Instant) -> BedReading:
        """Read what was read at a bed from ``begin`` (included) to ``end`` (excluded), as it is at this moment."""
        return BedReading(self._db, self.version, bed, begin, end)

    def configured(self) -> Configured | None:
        """Give the configuration that was in force last, or ``None``: no hub has written one down."""
        if self.version < configurations.KEPT_SINCE:
            return None
        with self._asking():
            return configurations.in_force(self._db)

    def standing(self) -> list[Standing]:
        """Give the states that are kept for a restart, newest first."""
        with self._asking():
            return checkpoints.standing(self._db)

    def replay(self, after: int) -> Iterator[tuple[Event | Begin, Instant]]:
        """Give every input after the ordinal ``after``, in order, with the time at which it was handled."""
        rows = inputs.replay(self._db, after)
        while True:
            with self._asking():  # what is done with an input between two is no fault of the record
                found = next(rows, None)
            if found is None:
                return
            yield found

    def head(self) -> tuple[int, str]:
        """Give number and digest (hexadecimal) of the newest entry; 0 and nothing when there is none."""
        found = self._one("SELECT number, lower(hex(digest)) FROM entries ORDER BY number DESC LIMIT 1")
        return (0, "") if found is None else found

    def newest(self) -> int:
        """Give the number of the newest entry; 0 when there is none."""
        return self._ask("SELECT coalesce(max(number), 0) FROM entries")

    def verification(self, heads: Sequence[Head] = ()) -> Verification:
        """Begin to go through the chain of entries, page by page."""
        return Verification(self._db, self.version, heads)

    def inputs(self) -> Inputs:
        """Count the inputs, and find the first that is missing."""
        try:
            return count_inputs(self._db, self.thinned())
        except sqlite3.Error as error:
            raise RecordError(f"the inputs of {self.path} cannot be read: {error}; {_WHAT_TO_DO}") from error

    def damage(self) -> str | None:
        """Give the first fault in the structure of the whole file, or ``None``. A long read: never beside a hub."""
        found: str = self._db.execute("PRAGMA quick_check(1)").fetchone()[0]
        return None if found == "ok" else " ".join(found.split())

    def make_sure_of_room(self, folder: Path, *, beside_a_hub: bool = True) -> None:
        """See that a copy of it finds room in a folder, and a hub that writes it goes on having some."""
        copying.make_sure_of_room(copying.size_of(self._db), folder, self.path if beside_a_hub else None)

    def copy(self, to: Path, told: copying.Told) -> None:
        """Copy it as it is at this moment into an empty file."""
        copying.copy(self._db, to, told)

    def cut(self, to: Path, hours: Hours) -> None:
        """Cut some hours out of it into a new file, with all that they were judged by."""
        self.of_now()
        slicing.cut(self._db, to, hours)

    def of_now(self) -> None:
        """Raise RecordError where it is of an older version, which lacks what is asked for."""
        if self.version < MIGRATIONS[-1].version:
            raise RecordError(f"{self.path} is of version {self.version}: a hub of now brings it to this one first")

    def entries_since(
        self, begin: Instant, kinds: Collection[EntryKind] | None, bed: str | None
    ) -> Iterator[Entry]:
        """Give the entries from ``begin`` on, of some kinds and of a bed alone if they are named, in order."""
        with self._asking():
            yield from entries_since(self._db, begin, kinds, bed)

    def portions(self) -> PortionReading:
        """Begin to read portion by portion what is new in it."""
        self.of_now()
        return PortionReading(self._db)

    def sums(self) -> SumsReading | None:
        """Begin to go through the inputs by their digests, page by page; ``None``: that version has none."""
        try:
            return SumsReading(self._db) if self.version >= SUMMED else None
        except sqlite3.Error as error:
            raise RecordError(f"the digests of inputs in {self.path} cannot be read: {error}") from error

    def thinned(self) -> Thinned | None:
        """Give what was thinned, or ``None``: nothing."""
        try:
            return thinned_of(self._db) if self.version >= SUMMED else None
        except sqlite3.Error as error:
            raise RecordError(f"the record {self.path} cannot be read: {error}") from error

    @contextmanager
    def _asking(self) -> Iterator[None]:
        try:
            yield
        except (sqlite3.Error, ValueError) as error:
            raise RecordError(f"the record {self.path} cannot be read: {error}; {_WHAT_TO_DO}") from error

    def _ask(self, query: str) -> int:
        found: int = self._one(query)[0]
        return found

    def _one(self, query: str) -> Any:
        try:
            return self._db.execute(query).fetchone()
        except sqlite3.Error as error:
            raise RecordError(f"the record {self.path} cannot be read: {error}") from error


@contextmanager
def read_only(path: Path, *, cut_short: bool = False) -> Iterator[RecordToRead]:
    """Open the record at ``path`` for reading and close it again. No lock is taken: a hub may write it meanwhile.

    Args:
        cut_short: take a file that has lost its end too, to see how much of it can still be read.

    Raises:
        RecordError: there is no such file, or it is no record, too new, damaged, or cannot be read.
    """
    if not _is_file(path):
        raise RecordError(f"{path}: there is no such file; give the record that a hub has written (--record)")
    if path.stat().st_size == 0:
        raise RecordError(
            f"{path} is empty: nothing was ever written into it, or all of it was lost; {_WHAT_TO_DO}"
        )
    try:
        with closing(_connect(path)) as db:
            found = _missing_end(path, db)
            if found is not None:
                if not cut_short:
                    raise RecordError(f"the record {path} cannot be read: {found}; {_WHAT_TO_DO}")
                db.execute("PRAGMA writable_schema = ON")  # SQLite then takes the pages that are there
            yield RecordToRead(path, db, _version(path, db), found)
    # UnicodeDecodeError: SQLite's words of what is damaged; JSONDecodeError, zlib.error: a row that is
    except (sqlite3.Error, UnicodeDecodeError, json.JSONDecodeError, zlib.error) as error:
        if _is_damage(error):
            raise _damaged(path, error, cut_short) from error
        raise RecordError(f"the record {path} cannot be read: {error}; {_what_to_do(path, error)}") from error
    except RecordError as error:
        if _is_damage(error.__cause__):
            raise _damaged(path, error.__cause__, cut_short) from error
        raise


def _is_damage(error: BaseException | None) -> bool:
    """Tell whether the file is at fault, or a row of it that is no longer what was written."""
    row = isinstance(error, UnicodeDecodeError | json.JSONDecodeError | zlib.error)
    return row or (isinstance(error, Exception) and is_damage(error))


def _damaged(path: Path, error: BaseException | None, verifying: bool) -> RecordError:
    why = " ".join(str(error).split("\n")[0].split())
    how_far = "" if verifying else f" How far it is whole: verify {path}."
    return RecordError(
        f"the record {path} cannot be read: it is damaged ({why}).{how_far} What to do: copy its whole folder away "
        "as it is, and see whether a backup is whole (verify BACKUP) to work with, or to put in its place (restore "
        "BACKUP INTO)"
    )


def _is_file(path: Path) -> bool:
    try:
        return path.is_file()
    except OSError as error:
        raise RecordError(f"{path} cannot be read: {error.strerror}; whoever asks may not look there") from error


def _what_to_do(path: Path, error: Exception) -> str:
    if getattr(error, "sqlite_errorcode", 0) & 0xFF in (sqlite3.SQLITE_BUSY, sqlite3.SQLITE_LOCKED):
        return "its hub keeps it to itself, as on a full disk: make room, start the hub anew and try again"
    if not os.access(path, os.R_OK):
        return "whoever asks may not read it"
    return _WHAT_TO_DO


def find_record(place: Path) -> Path:
    """Give the record that is meant: a file, or the only record in a folder.

    Raises:
        RecordError: there is none, or there are several.
    """
    if not place.is_dir():
        return place
    try:
        found = sorted(path for path in place.iterdir() if path.is_file() and _is_record(path))
    except OSError as error:
        raise RecordError(f"{place} cannot be read: {error.strerror}") from error
    if not found:
        raise RecordError(f"{place}: there is no record in this folder; give the file that a hub has written")
    if len(found) > 1:
        names = ", ".join(path.name for path in found)
        raise RecordError(f"{place} holds {len(found)} records: give one of {names}")
    return found[0]


def _is_record(path: Path) -> bool:
    """A young record has its mark in the write-ahead log still, but a head beside it."""
    if (
        path.name.startswith(".") or path.suffix == ".part" or ASIDE in path.name or DAMAGED in path.name
    ):  # never the one that is meant
        return False
    with path.open("rb") as file:
        header = file.read(_HEADER)
    is_marked = header[68:72] == struct.pack(">I", APPLICATION)
    return header.startswith(MAGIC) and (is_marked or head_path(path).exists())


def _connect(path: Path) -> sqlite3.Connection:
    """A closed record on a disk that takes no writes has no log beside it: it is read as it is."""
    name = f"file:{quote(str(path.resolve()))}?mode=ro"
    db = sqlite3.connect(name, uri=True, timeout=2.0, isolation_level=None)
    try:
        db.execute("PRAGMA schema_version").fetchone()
    except sqlite3.OperationalError:
        db.close()
        if path.with_name(f"{path.name}-wal").exists():
            raise
        return sqlite3.connect(f"{name}&immutable=1", uri=True, isolation_level=None)
    except sqlite3.DatabaseError as error:
        if error.sqlite_errorcode != sqlite3.SQLITE_CORRUPT:
            db.close()
            raise
    except BaseException:
        db.close()
        raise
    return db


def _missing_end(path: Path, db: sqlite3.Connection) -> str | None:
    """Say how much of the file is missing, if SQLite finds it shorter than its header says."""
    try:
        db.execute("SELECT count(*) FROM sqlite_schema").fetchone()
    except sqlite3.DatabaseError as error:
        if error.sqlite_errorcode != sqlite3.SQLITE_CORRUPT:
            raise
        with path.open("rb") as file:
            header = file.read(_HEADER)
        page, pages = struct.unpack(">H", header[16:18])[0], struct.unpack(">I", header[28:32])[0]
        size, asked = path.stat().st_size, pages * (65_536 if page == 1 else page)
        if size >= asked:
            raise
        return f"it is cut short: {size} bytes are there, {asked} were written"
    return None


def _version(path: Path, db: sqlite3.Connection) -> int:
    application = db.execute("PRAGMA application_id").fetchone()[0]
    version: int = db.execute("PRAGMA user_version").fetchone()[0]
    if application != APPLICATION:
        raise RecordError(f"{path} is a database of something else: give the record that a hub has written")
    newest = MIGRATIONS[-1].version
    if version > newest:
        raise RecordError(
            f"{path} was written by a newer Weirkeeper (version {version}, this one knows {newest}): use that one"
        )
    return version
