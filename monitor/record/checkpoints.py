"""Checkpoints: the engine's state at an ordinal. Two are kept for a restart, lest the newer one cannot be read.

The first one of every hour is kept for good, compressed: from it the hours after it can be judged again.
"""

import sqlite3
import zlib
from dataclasses import dataclass

from monitor.record.batch import Checkpoint
from shared.instant import HOUR, Instant

KEPT = 2


@dataclass(frozen=True, slots=True)
class Standing:
    """A checkpoint and the ordinal of the last input that it covers."""

    ordinal: int
    checkpoint: Checkpoint


def save(db: sqlite3.Connection, ordinal: int, checkpoint: Checkpoint) -> None:
    """Write a checkpoint within the caller's transaction; those before the last two go.

    The first of an hour is kept in ``hours`` too.
    """
    hour = checkpoint.at // HOUR * HOUR
    is_first = db.execute("SELECT 1 FROM hours WHERE at >= ? LIMIT 1", (hour,)).fetchone() is None
    if is_first:
        db.execute(
            "INSERT OR REPLACE INTO hours VALUES (?, ?, ?)",
            (ordinal, checkpoint.at, zlib.compress(checkpoint.engine)),
        )
    db.execute(
        "INSERT OR REPLACE INTO checkpoints VALUES (?, ?, ?, ?)",
        (ordinal, checkpoint.at, checkpoint.engine, checkpoint.latest),
    )
    db.execute(
        "DELETE FROM checkpoints"
        " WHERE ordinal NOT IN (SELECT ordinal FROM checkpoints ORDER BY ordinal DESC LIMIT ?)",
        (KEPT,),
    )


def standing(db: sqlite3.Connection) -> list[Standing]:
    """Give the checkpoints that are kept for a restart, newest first."""
    rows = db.execute("SELECT ordinal, at, engine, latest FROM checkpoints ORDER BY ordinal DESC")
    return [Standing(ordinal, Checkpoint(at, engine, latest)) for ordinal, at, engine, latest in rows]


def before(db: sqlite3.Connection, at: Instant) -> tuple[int, bytes] | None:
    """Give ordinal and engine of the last hour's state that is not after ``at``, or ``None``: there is none."""
    row = db.execute(
        "SELECT ordinal, engine FROM hours WHERE at <= ? ORDER BY ordinal DESC LIMIT 1", (at,)
    ).fetchone()
    return None if row is None else (row[0], zlib.decompress(row[1]))
