"""The files that belong to a record beside the file itself, and the names under which a record is put aside."""

import os
from datetime import UTC, datetime
from pathlib import Path

from shared.instant import SECOND, Instant

#: What belongs to a record beside the file itself; the lock stays.
BESIDE = ("-wal", "-shm", ".head")
#: In the name of a record that was put aside: by a restore, and by a hub that found it damaged.
ASIDE, DAMAGED = ".aside-", ".damaged-"


def with_suffix(path: Path, suffix: str) -> Path:
    """Give the path with a suffix after its whole name."""
    return path.with_name(f"{path.name}{suffix}")


def is_there(record: Path) -> bool:
    """Tell whether a record, or anything that belongs to one, is there."""
    return any(with_suffix(record, suffix).exists() for suffix in ("", *BESIDE))


def free_name(record: Path, word: str, now: Instant) -> Path:
    """Give a name with ``word`` and the moment in it, under which nothing is there yet."""
    moment = f"{datetime.fromtimestamp(now // SECOND, UTC):%Y%m%dT%H%M%SZ}"
    name, again = with_suffix(record, f"{word}{moment}"), 1
    while is_there(name):
        again += 1
        name = with_suffix(record, f"{word}{moment}-{again}")
    return name


def write_durably(path: Path, text: str, draft: Path) -> None:
    """Write a small file so that it is there whole or not at all. Raises OSError."""
    with draft.open("w", encoding="utf-8") as file:
        file.write(text)
        file.flush()
        os.fsync(file.fileno())
    os.replace(draft, path)
