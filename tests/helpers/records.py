"""Records to be tampered with, and a frozen one of an older version."""

import gzip
import sqlite3
from collections.abc import Iterator
from contextlib import closing, contextmanager
from pathlib import Path

FROZEN = Path(__file__).parents[1] / "monitor" / "records"
#: Where the chain of the frozen record of version 1 ends, as it was printed when it was made.
OLD_HEAD = "629062de2c08005de5761b988d41221d325035dd742d4ce09d9ecbc7439a2023"
OLD_ENTRIES = 7
#: The same of version 2.
HEAD_2 = "576b721ed857155ab70c80bbcbc3207648fdcd321f07087309e47119ff4cb230"
ENTRIES_2 = 6
#: The same of version 3.
HEAD_3 = "3fa371f009abc8373e522e25c0cd14b55f8893b96dd43a99b92bba232c6828a1"
ENTRIES_3 = 6


def thaw(version: int, to: Path) -> Path:
    """Unpack the frozen record of a version."""
    to.write_bytes(gzip.decompress((FROZEN / f"version_{version}.record.gz").read_bytes()))
    return to


@contextmanager
def unguarded(path: Path) -> Iterator[sqlite3.Connection]:
    """Open a record as somebody would who wants to change what it says: no trigger stands in the way."""
    with closing(sqlite3.connect(path, isolation_level=None)) as db:
        for (name,) in db.execute("SELECT name FROM sqlite_schema WHERE type = 'trigger'").fetchall():
            db.execute(f"DROP TRIGGER {name}")
        db.execute("DROP INDEX IF EXISTS runs_started")  # it reads the bodies, and would refuse one that is no JSON
        yield db


def tamper(path: Path, *statements: str) -> None:
    """Carry out statements that the record itself would refuse."""
    with unguarded(path) as db:
        for statement in statements:
            db.execute(statement)
