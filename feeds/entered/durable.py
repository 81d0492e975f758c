"""A text on disk, whole or not at all: written beside, flushed, then put in its place."""

import os
from pathlib import Path

from shared.errors import RecordError


def write_durably(path: Path, text: str) -> None:
    """Write a text; it is on disk when this returns, and the old one stands until then.

    Raises:
        RecordError: the disk refuses; the old text stands.
    """
    beside = path.with_name(f"{path.name}.new")
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        with beside.open("w", encoding="utf-8") as out:
            out.write(text)
            out.flush()
            os.fsync(out.fileno())
        beside.replace(path)
        _flush_folder(path.parent)
    except OSError as error:
        raise RecordError(f"{path} cannot be written: {error.strerror or error}") from error


def remove_durably(path: Path) -> None:
    """Remove a file, if it is there; it is gone from the disk when this returns.

    Raises:
        RecordError: the disk refuses.
    """
    try:
        path.unlink(missing_ok=True)
        _flush_folder(path.parent)
    except FileNotFoundError:
        return
    except OSError as error:
        raise RecordError(f"{path} cannot be removed: {error.strerror or error}") from error


def _flush_folder(folder: Path) -> None:
    handle = os.open(folder, os.O_RDONLY)
    try:
        os.fsync(handle)
    finally:
        os.close(handle)
