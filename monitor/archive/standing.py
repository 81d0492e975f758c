"""Whose record it is: up to where a unit's record is archived, and what it means that another is there.

A record is known by its chain, not by its file: it is the same if it holds the last archived entry and digest. If
it does not, the record itself may say why: it was restored from a backup, or begun anew in the place of a damaged
one. Then it follows as the unit's next record, and what was archived of the one before stays. Anything else is
another record under the same name, which is refused until a person says that it is meant.
"""

import json
import re
from dataclasses import dataclass
from typing import Any

from psycopg.rows import class_row

from monitor.archive.connecting import Connection
from monitor.record.anew import BEGUN_ANEW
from monitor.record.chain import START
from monitor.record.portions import Place, PortionReading
from monitor.record.restoring import RESTORED
from shared.errors import RecordError
from shared.instant import Instant

_COLUMNS = "id, unit, number, parent, after_ordinal, after_entry, ordinal, entry, head, sum, last_at"
_HEAD = re.compile(r"head names entry (\d+) of .*?digest ([0-9a-f]{64})")


@dataclass(frozen=True, slots=True)
class Archived:
    """A record of a unit, and up to where it is archived: one row of ``records``.

    Attributes:
        number: of the unit's records, from 1.
        parent: ``id`` of the one that it was restored from, with which it shares everything up to ``after_entry``
            and ``after_ordinal``; ``None``: it began by itself.
        last_at: the hub's time of the newest that is archived.
    """

    id: int
    unit: str
    number: int
    parent: int | None
    after_ordinal: int
    after_entry: int
    ordinal: int
    entry: int
    head: bytes
    sum: bytes | None
    last_at: Instant

    @property
    def place(self) -> Place:
        """Up to where it is archived."""
        return Place(self.ordinal, self.entry, self.head, self.sum)


@dataclass(frozen=True, slots=True)
class Next:
    """A record that is not archived yet: what it begins after, and what is told of it."""

    parent: Archived | None
    place: Place
    text: str


def records_of(db: Connection, unit: str | None = None) -> list[Archived]:
    """Give the records of a unit, or of all of them: by unit, the newest last."""
    with db.cursor(row_factory=class_row(Archived)) as rows:
        return rows.execute(
            f"SELECT {_COLUMNS} FROM records WHERE %(unit)s::text IS NULL OR unit = %(unit)s"
            ' ORDER BY unit COLLATE "C", number',
            {"unit": unit},
        ).fetchall()


def newest_of(db: Connection, unit: str, number: int | None = None) -> Archived:
    """Give the newest record of a unit, or the one with a number. Raises RecordError: it is not archived."""
    found = [one for one in records_of(db, unit) if number in (None, one.number)]
    if not found:
        units = sorted({one.unit for one in records_of(db)})
        known = f"it has {', '.join(units)}" if units else "nothing is in it yet"
        what = f'unit "{unit}"' if number is None else f'record {number} of unit "{unit}"'
        raise RecordError(f"{what} is not in the archive: {known}")
    return found[-1]


def standing_of(db: Connection, unit: str, record: PortionReading, said: str | None) -> Archived | Next:
    """Tell which record of the unit this is, so that feeding goes on there.

    Args:
        said: who says that another record is meant, and why; ``None``: nobody.

    Raises:
        RecordError: it is another record, and nobody has said so.
    """
    known = records_of(db, unit)
    for one in reversed(known):
        if record.is_after(one.place):
            return one
    if not known:
        return Next(None, Place(), f'the archive of unit "{unit}" begins')
    last = known[-1]
    common = _common(db, last, record)
    said_itself = _told(record.body(common.entry + 1))
    where = f"record {last.number} is archived up to entry {last.entry}"
    if common.entry and said_itself.startswith(RESTORED):
        words = f"{said_itself}; {where}, and this one is the same up to entry {common.entry}"
        return Next(last, common, words)
    if not common.entry and _follows(db, known, said_itself):
        return Next(None, Place(), f"{said_itself}; {where}, which stays")
    same = f"it is the same up to entry {common.entry}" if common.entry else "no entry is the same"
    if said is None:
        raise RecordError(
            f'this is another record than the one archived as unit "{unit}": {where}, and {same}. If it is meant, '
            "give --another --by ROLE --why WORDS: it becomes the unit's next record; else give another --unit"
        )
    return Next(last if common.entry else None, common, f"another record, {said}; {where}, and {same}")


def lineage(db: Connection, record: Archived) -> list[tuple[Archived, int, int]]:
    """Give the records of which one is made, the oldest first, each with its last ordinal and entry that count."""
    by_id = {one.id: one for one in records_of(db, record.unit)}
    found, upto = [], (record.ordinal, record.entry)
    one: Archived | None = record
    while one is not None:
        found.append((one, *upto))
        upto = (one.after_ordinal, one.after_entry)
        one = by_id[one.parent] if one.parent is not None else None
    return found[::-1]


def _common(db: Connection, last: Archived, record: PortionReading) -> Place:
    """Give the last place that both have: a digest of inputs covers all before it, and so does one of an entry."""
    parts = lineage(db, last)
    for ordinal, digest in record.sums_before(last.ordinal):
        if ordinal and sum_in(db, parts, ordinal) == digest:
            break
    else:
        return Place()
    number = record.entry_before(ordinal)
    while number and head_in(db, parts, number) != record.head(number):
        number -= 1
    return Place(ordinal, number, record.head(number) or START, digest)


def owner_of(parts: list[tuple[Archived, int, int]], *, ordinal: int = 0, entry: int = 0) -> Archived | None:
    """Give the record of a lineage in which an input or an entry stands, or ``None``: in none of them."""
    for one, last_ordinal, last_entry in parts:
        if ordinal <= last_ordinal and entry <= last_entry:
            return one
    return None


def sum_in(db: Connection, parts: list[tuple[Archived, int, int]], ordinal: int) -> bytes | None:
    """Give the digest of the inputs of a lineage up to one of them, or ``None``: there is none."""
    return _digest(db, owner_of(parts, ordinal=ordinal), "SELECT digest FROM stretches WHERE upto = %s", ordinal)


def head_in(
    db: Connection, parts: list[tuple[Archived, int, int]], entry: int, *, old: bool = False
) -> bytes | None:
    """Give the digest of an entry of a lineage (``old``: the one it was written with), or ``None``."""
    which = "digest" if old else "coalesce(sealed, digest)"
    return _digest(db, owner_of(parts, entry=entry), f"SELECT {which} FROM entries WHERE number = %s", entry)


def _digest(db: Connection, one: Archived | None, query: str, number: int) -> bytes | None:
    if one is None:
        return None
    row: Any = db.execute(f"{query} AND record = %s".encode(), (number, one.id)).fetchone()
    return None if row is None else row[0]


def _follows(db: Connection, known: list[Archived], text: str) -> bool:
    """Tell whether a record says that it stands in the place of one that is archived, by the head of that.

    A head beyond what is archived cannot be compared: the archive is some seconds behind.
    """
    named = _HEAD.search(text) if text.startswith(BEGUN_ANEW) else None
    if named is None:
        return False
    number, digest = int(named[1]), bytes.fromhex(named[2])
    return number > known[-1].entry or head_in(db, lineage(db, known[-1]), number) == digest


def _told(body: str | None) -> str:
    try:
        return str(json.loads(body or "{}").get("text", ""))
    except (ValueError, AttributeError):
        return ""
