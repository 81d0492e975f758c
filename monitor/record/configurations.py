"""The configuration that was in force from an ordinal on, as the text of its files: by it the past is retraced."""

import hashlib
import json
import sqlite3
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from functools import cached_property
from itertools import pairwise

from shared.instant import Instant

#: The version of the file from which on configurations are kept.
KEPT_SINCE = 3


@dataclass(frozen=True)
class Configured:
    """A configuration as its files say it.

    Attributes:
        at: the hub's time from which on it holds.
        files: text by path within the configuration folder.
    """

    at: Instant
    files: Mapping[str, str]

    @cached_property
    def text(self) -> str:
        """The files as canonical JSON."""
        return json.dumps(dict(self.files), sort_keys=True, separators=(",", ":"), ensure_ascii=False)

    @property
    def digest(self) -> str:
        """SHA-256 of that, as hexadecimal digits: the log names it, and the log has a chain."""
        return hashlib.sha256(self.text.encode()).hexdigest()


def changes(known: Iterable[Configured]) -> Iterator[tuple[Instant, tuple[str, ...]]]:
    """Give when each configuration but the first came into force, and which files it changed; oldest first."""
    for earlier, one in pairwise(known):
        names = {*one.files, *earlier.files}
        yield one.at, tuple(sorted(name for name in names if one.files.get(name) != earlier.files.get(name)))


def save(db: sqlite3.Connection, ordinal: int, configured: Configured) -> None:
    """Write down that a configuration holds for every input after ``ordinal``, within the caller's transaction."""
    db.execute(
        "INSERT INTO configurations (ordinal, at, files) VALUES (?, ?, ?)",
        (ordinal, configured.at, configured.text),
    )


def in_force(db: sqlite3.Connection, ordinal: int | None = None) -> Configured | None:
    """Give the configuration for the input after ``ordinal`` (left out: for the next one), or ``None``: unknown."""
    row = db.execute(
        "SELECT at, files FROM configurations WHERE ordinal <= coalesce(?, ordinal) ORDER BY number DESC LIMIT 1",
        (ordinal,),
    ).fetchone()
    return None if row is None else Configured(row[0], json.loads(row[1]))


def since(db: sqlite3.Connection, ordinal: int) -> dict[int, Configured]:
    """Give the configurations that came into force after the input ``ordinal``, by the ordinal that they follow.

    Of several without an input between them the last counts: nothing was judged by the others.
    """
    rows = db.execute("SELECT ordinal, at, files FROM configurations WHERE ordinal > ? ORDER BY number", (ordinal,))
    return {after: Configured(at, json.loads(files)) for after, at, files in rows}
