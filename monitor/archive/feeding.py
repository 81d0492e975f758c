"""Copying what is new of a record into the archive, and going on exactly where it stopped.

The place up to which a record is archived stands in the archive itself, and moves in the transaction that writes
the rows: whatever is killed, and whenever, nothing is missing and nothing is there twice. A portion is read
first, as any reader reads, and its file is let go before the archive is spoken to: however long that takes, no
hub waits.
"""

import json
import zlib
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from itertools import chain
from typing import Any

from monitor.archive.connecting import Away, Connection, telling
from monitor.archive.packed import packed
from monitor.archive.schema import make_sure_of_version
from monitor.archive.standing import Archived, Next, newest_of, standing_of
from monitor.record.portions import EntryRow, Portion, PortionReading, Stretch
from shared.errors import RecordError
from shared.instant import Instant

_KNOWN = {
    "epochs": "ON CONFLICT (record, id) DO UPDATE SET stored = excluded.stored"
    " WHERE epochs.stored < excluded.stored",
    "hours": "ON CONFLICT (record, ordinal) DO UPDATE SET at = excluded.at, engine = excluded.engine"
    " WHERE hours.at <> excluded.at",
}
_NEW = "ON CONFLICT DO NOTHING"


@dataclass(frozen=True, slots=True)
class Fed:
    """What one portion has brought. ``told``: what is to be known of it, in words."""

    record: Archived
    observations: int
    inputs: int
    entries: int
    told: tuple[str, ...]


@contextmanager
def alone(db: Connection, unit: str) -> Iterator[None]:
    """Be the only feeder of a unit for the length of the block.

    Raises:
        RecordError: there is one.
    """
    make_sure_of_version(db)
    with telling():
        row = db.execute("SELECT pg_try_advisory_lock(hashtextextended(%s, 1))", (f"feeds {unit}",)).fetchone()
    if not row or not row[0]:
        raise Away(f'unit "{unit}" has a feeder already, or one that was killed is not quite gone: stop it first')
    try:
        yield
    finally:
        if not db.closed and not db.broken:
            with telling():
                db.execute("SELECT pg_advisory_unlock(hashtextextended(%s, 1))", (f"feeds {unit}",))


def which(db: Connection, unit: str, record: PortionReading, said: str | None) -> Archived | Next:
    """Tell which record of the unit this is; see `standing_of`."""
    with telling(), db.transaction():
        return standing_of(db, unit, record, said)


def write(db: Connection, unit: str, standing: Archived | Next, portion: Portion) -> Fed:
    """Write a portion and the place where it ends, in one transaction.

    Raises:
        Away: the archive does not answer; whether the transaction holds is seen in the archive.
        RecordError: the archive refuses; nothing of the portion is in it.
    """
    told = list(portion.odd)
    with telling(), db.transaction():
        if isinstance(standing, Next):
            told.insert(0, standing.text)
            standing = _begun(db, unit, standing, portion)
        _move(db, standing, portion)
        _fill(db, standing.id, portion)
        told += _thinned(db, standing.id, portion)
        for text in told:
            db.execute("INSERT INTO notices (record, text) VALUES (%s, %s)", (standing.id, text))
        now = newest_of(db, unit, standing.number)
    observations = sum(len(stretch.rows) for stretch in portion.stretches)
    return Fed(now, observations, len(portion.inputs), len(portion.entries), tuple(told))


def _begun(db: Connection, unit: str, begins: Next, portion: Portion) -> Archived:
    end, parent = portion.end, begins.parent
    row = db.execute(
        "SELECT unit FROM records r JOIN entries e ON e.record = r.id"
        " WHERE r.unit <> %s AND e.number = %s AND coalesce(e.sealed, e.digest) = %s LIMIT 1",
        (unit, end.entry, end.head),
    ).fetchone()
    if row is not None:
        raise RecordError(
            f'this record is archived as unit "{row[0]}": give its name (--unit), nothing was written'
        )
    place = begins.place
    db.execute(
        "INSERT INTO records (unit, number, parent, after_ordinal, after_entry, ordinal, entry, head, sum, last_at)"
        " SELECT %s, coalesce(max(number), 0) + 1, %s, %s, %s, %s, %s, %s, %s, 0 FROM records WHERE unit = %s",
        (
            *(unit, parent.id if parent else None, place.ordinal, place.entry),
            *(place.ordinal, place.entry, place.head, place.sum, unit),
        ),
    )
    return newest_of(db, unit)


def _move(db: Connection, record: Archived, portion: Portion) -> None:
    begin, end = portion.begin, portion.end
    moved = db.execute(
        "UPDATE records SET ordinal = %s, entry = %s, head = %s, sum = %s, last_at = greatest(last_at, %s)"
        " WHERE id = %s AND ordinal = %s AND entry = %s AND head = %s",
        (
            *(end.ordinal, end.entry, end.head, end.sum, _last_at(portion)),
            *(record.id, begin.ordinal, begin.entry, begin.head),
        ),
    )
    if moved.rowcount != 1:
        raise Away(f'somebody else has fed unit "{record.unit}" meanwhile: look where it stands now')


def _last_at(portion: Portion) -> Instant:
    entry = said_in(portion.entries[-1][3])[0] if portion.entries else 0
    rows = [stretch.rows[-1][1] for stretch in portion.stretches if stretch.rows]
    return max(entry, *rows, *(row[1] for row in portion.inputs[-1:]), 0)


def _fill(db: Connection, record: int, portion: Portion) -> None:
    for table, rows in portion.beside.items():
        if rows:
            marks = ", ".join(["%s"] * (len(rows[0]) + 1))
            query = f"INSERT INTO {table} VALUES ({marks}) {_KNOWN.get(table, _NEW)}"
            with db.cursor() as cursor:
                cursor.executemany(query.encode(), [(record, *row) for row in rows])
    _copy(db, "stretches", (_stretch(record, one) for one in portion.stretches))
    _copy(db, "inputs", ((record, *row) for row in portion.inputs))
    _copy(db, "entries", (_entry(record, row) for row in portion.entries))
    if portion.checkpoints:
        ordinals = [row[0] for row in portion.checkpoints]
        db.execute("DELETE FROM checkpoints WHERE record = %s AND ordinal <> ALL(%s)", (record, ordinals))
        for ordinal, at, engine, latest in portion.checkpoints:
            there = db.execute("SELECT at FROM checkpoints WHERE record = %s AND ordinal = %s", (record, ordinal))
            if there.fetchone() != (at,):
                db.execute("DELETE FROM checkpoints WHERE record = %s AND ordinal = %s", (record, ordinal))
                values = (record, ordinal, at, zlib.compress(engine), zlib.compress(latest))
                db.execute("INSERT INTO checkpoints VALUES (%s, %s, %s, %s, %s)", values)


def _copy(db: Connection, table: str, rows: Iterator[Sequence[Any]]) -> None:
    first = next(rows, None)
    if first is None:
        return
    with db.cursor() as cursor, cursor.copy(f"COPY {table} FROM STDIN".encode()) as copy:
        for row in chain((first,), rows):
            copy.write_row(row)


def _stretch(record: int, one: Stretch) -> tuple[Any, ...]:
    times = [row[5] for row in one.rows]
    span = (min(times), max(times)) if times else (None, None)
    has_sets = any(row[9] is not None and '"edition"' in row[9] for row in one.rows)
    return (record, one.upto, one.after, one.at, one.digest, len(times), *span, has_sets, packed(one.rows))


def _entry(record: int, row: EntryRow) -> tuple[Any, ...]:
    return (record, *row, *said_in(row[3]))


def said_in(body: str) -> tuple[int, str]:
    """Give time and kind of an entry, as far as its body still says them (0 and nothing)."""
    try:
        said = json.loads(body)
        at, kind = said.get("at"), said.get("kind")
    except (ValueError, AttributeError):
        return 0, ""
    return at if isinstance(at, int) else 0, kind if isinstance(kind, str) else ""


def _thinned(db: Connection, record: int, portion: Portion) -> list[str]:
    """Write down once that observations were thinned before they came here, and say so."""
    thinned, after = portion.thinned, portion.begin.ordinal
    if thinned is None:
        return []
    row = (record, after, thinned.upto, thinned.before, thinned.observations, thinned.digest, thinned.others)
    written = db.execute(
        "INSERT INTO thinned VALUES (%s, %s, %s, %s, %s, %s, %s, %s) ON CONFLICT DO NOTHING", (*row, thinned.entry)
    )
    if written.rowcount != 1:
        return []
    return [
        f"observations up to input {thinned.upto} were thinned before they were archived (entry {thinned.entry} "
        f"says by whom and why): those after input {after} are not here"
    ]
