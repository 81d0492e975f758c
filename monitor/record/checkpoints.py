"""Checkpoints: the engine's state at an ordinal. Two are kept, lest the newer one cannot be read."""

import sqlite3
from dataclasses import dataclass

from monitor.record.batch import Checkpoint

KEPT = 2


@dataclass(frozen=True, slots=True)
class Standing:
    """A checkpoint and the ordinal of the last input that it covers."""

    ordinal: int
    checkpoint: Checkpoint


def save(db: sqlite3.Connection, ordinal: int, checkpoint: Checkpoint) -> None:
    """Write a checkpoint within the caller's transaction and drop those that are older than the last two."""
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
    """Give the checkpoints that are kept, newest first."""
    rows = db.execute("SELECT ordinal, at, engine, latest FROM checkpoints ORDER BY ordinal DESC")
    return [Standing(ordinal, Checkpoint(at, engine, latest)) for ordinal, at, engine, latest in rows]
