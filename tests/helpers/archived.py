"""Records to be archived, and whether what is archived is what was recorded."""

import sqlite3
import sys
from contextlib import closing
from pathlib import Path
from typing import Any

from monitor.archive.bringing import bring
from monitor.archive.connecting import Connection, connected
from monitor.archive.standing import newest_of
from monitor.cli import archive_feed
from monitor.cli.main import main
from monitor.record import Batch, Checkpoint, Record, portions
from tests.helpers.inputs import AT, commanded, entry, observed
from tests.helpers.processes import until

#: What is told of a feed may be noted a moment later than the checkpoint after which nothing else came.
_TABLES = {
    "entries": "*", "sealed": "*", "inputs": "*", "observations": "*", "sums": "*", "answers": "*", "hours": "*",
    "checkpoints": "*", "configurations": "*", "thinned": "*", "places": "*", "layouts": "*", "skipped": "rowid, *",
    "epochs": "id, feed, epoch",
}  # fmt: skip
UNIT = "North"


def fill(record: Record, first: int, last: int, words: str = "note") -> None:
    """Write observations with an entry at each fifth, a command at each seventh, a checkpoint at each tenth."""
    for n in range(first, last + 1):
        at = AT + 1000 * n
        steps = [observed(n, *([entry(f"{words} {n}", at)] if n % 5 == 0 else []), at=at, read_at=at)]
        if n % 7 == 0:
            steps.append(commanded(f"c-{n:04}", at))
        kept = Checkpoint(at, f"engine {n}".encode(), b"latest") if n % 10 == 0 else None
        record.append(Batch(steps, checkpoint=kept))


def begin(path: Path, upto: int = 60, words: str = "note") -> Path:
    """Begin a record and write as far."""
    record = Record.open(path)
    fill(record, 1, upto, words)
    record.flush({})
    record.close()
    return path


def go_on(path: Path, first: int, last: int) -> None:
    """Go on with a record."""
    record = Record.open(path)
    fill(record, first, last)
    record.close()


def feed(path: Path, place: str, *words: str, unit: str = UNIT) -> int:
    """Feed once; give the exit status."""
    return main(["archive", "feed", str(path), "--to", place, "--unit", unit, *words])


def rows(db: sqlite3.Connection) -> dict[str, list[Any]]:
    """Give every row of a record by its table."""
    return {
        table: db.execute(f"SELECT {columns} FROM {table} ORDER BY 1").fetchall()
        for table, columns in _TABLES.items()
    }


def recorded(path: Path) -> dict[str, list[Any]]:
    """Give every row of a record's file."""
    with closing(sqlite3.connect(f"file:{path}?mode=ro", uri=True)) as db:
        return rows(db)


def archived(place: str, unit: str = UNIT, number: int | None = None) -> dict[str, list[Any]]:
    """Give every row of a record in the archive."""
    with connected(place, reading=True) as db, closing(sqlite3.connect(":memory:", isolation_level=None)) as made:
        bring(db, newest_of(db, unit, number), made)
        return rows(made)


def upto(place: str, unit: str = UNIT) -> int:
    """Give the last input that is archived."""
    with connected(place) as db:
        return _upto(db, unit)


def until_archived(place: str, ordinal: int, unit: str = UNIT) -> None:
    """Wait until an input is archived, asking over one connection."""
    with connected(place) as db:
        until(lambda: _upto(db, unit) >= ordinal, f"input {ordinal} is archived")


def _upto(db: Connection, unit: str) -> int:
    found = db.execute("SELECT coalesce(max(ordinal), 0) FROM records WHERE unit = %s", (unit,)).fetchone()
    assert found is not None
    return int(str(found[0]))


if __name__ == "__main__":  # a feeder whose portions are small, and which looks often: so it is killed anywhere
    portions.PAGE = 20
    archive_feed.LOOK_S, archive_feed.STATES_S = 0.1, 0.0
    sys.exit(main(sys.argv[1:]))
