"""A copy of a record as one file, from one moment, while a hub goes on writing it.

SQLite's online backup begins anew whenever another process writes, and beside a hub it never ends: of 600 MB it
began anew 224 times in 25 s. It does not when the source is held at one moment by a read transaction, which in
write-ahead mode keeps no writer waiting. So the pages are copied in steps within one, and each step is synced, lest
all are written out at the end, when the hub would wait for the disk: beside a copy of 620 MB the slowest commit of
a hub took 12 ms so, 0.2 to 0.3 s without, or with VACUUM INTO. Meanwhile the write-ahead log grows by what the hub
writes, and cannot be written anew (`journal`).
"""

import os
import shutil
import sqlite3
from collections.abc import Callable
from contextlib import closing, suppress
from pathlib import Path

from shared.errors import RecordError

#: Pages a step (4 KiB each).
_PAGES = 1_000
#: A disk with fewer bytes free is full, whatever SQLite says of it.
_LITTLE = 65_536

#: Told how many pages are done, and of how many.
Told = Callable[[int, int], None]


def size_of(db: sqlite3.Connection) -> int:
    """Give the bytes that a copy takes."""
    pages: int = db.execute("PRAGMA page_count").fetchone()[0]
    each: int = db.execute("PRAGMA page_size").fetchone()[0]
    return pages * each


def copy(db: sqlite3.Connection, to: Path, told: Told) -> None:
    """Copy what ``db`` holds at this moment into the file ``to``, which is empty, and sync it.

    Raises:
        RecordError: there is no room, or one of the two disks refuses.
    """
    try:
        with closing(sqlite3.connect(to, isolation_level=None)) as copied, to.open("rb") as written:
            copied.execute("PRAGMA synchronous = OFF")  # synced here, step by step

            def step(_: int, left: int, pages: int) -> None:
                os.fsync(written.fileno())
                told(pages - left, pages)

            db.execute("BEGIN")
            try:
                db.execute("SELECT count(*) FROM sqlite_schema").fetchone()  # the moment
                db.backup(copied, pages=_PAGES, progress=step)
            finally:
                db.execute("COMMIT")
            copied.execute("PRAGMA journal_mode = DELETE")  # one file, to be read on a disk that takes no writes
            os.fsync(written.fileno())
    except (sqlite3.Error, OSError) as error:
        is_full = shutil.disk_usage(to.parent).free < _LITTLE
        why = "its disk is full; make room there, or choose another disk" if is_full else str(error)
        raise RecordError(f"the copy {to} cannot be written: {why}") from error


def make_sure_of_room(size: int, folder: Path, record: Path | None) -> None:
    """See that a copy finds room in ``folder``, and leaves as much again to a hub that writes on the same disk.

    Args:
        record: what the hub writes; ``None``: no hub runs.

    Raises:
        RecordError: it does not.
    """
    try:
        free = shutil.disk_usage(folder).free
        is_shared = record is not None and folder.stat().st_dev == record.stat().st_dev
    except OSError as error:
        raise RecordError(f"{folder} cannot be written: {error.strerror}") from error
    asked = 2 * size if is_shared else size
    if free < asked:
        why = " (as much again is left to the hub, which writes on the same disk)" if is_shared else ""
        raise RecordError(
            f"no room in {folder}: {megabytes(asked)} are asked{why}, {megabytes(free)} are free; "
            "make room there, or choose another disk"
        )


def belong(made: Path, like: Path) -> None:
    """Let a file belong to whoever has ``like``: what an administrator has made, the hub must be able to write."""
    found = like.stat()
    with suppress(PermissionError):
        os.chown(made, found.st_uid, found.st_gid)
    made.chmod(found.st_mode & 0o666)


def megabytes(size: int) -> str:
    """Write a size for a person."""
    return f"{size / 1e6:.1f} MB"


def sync(path: Path) -> None:
    """Make a file, or the names in a folder, durable."""
    handle = os.open(path, os.O_RDONLY)
    try:
        os.fsync(handle)
    finally:
        os.close(handle)
