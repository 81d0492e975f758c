"""A file system of its own for a test that needs a disk to be full."""

import ctypes
import errno
import shutil
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path

import pytest


@contextmanager
def small_disk(place: Path, size: str = "1m") -> Iterator[Path]:
    """Mount a small file system at ``place``; the test is skipped where that is not allowed."""
    place.mkdir()
    libc = ctypes.CDLL(None, use_errno=True)
    if libc.mount(b"none", str(place).encode(), b"tmpfs", 0, f"size={size}".encode()):
        reason = errno.errorcode.get(ctypes.get_errno(), "?")
        pytest.skip(f"no small file system can be mounted here ({reason})")
    try:
        yield place
    finally:
        libc.umount2(str(place).encode(), 2)


def make_read_only(place: Path) -> None:
    """Let a small file system take no more writes (mount(2): MS_REMOUNT, MS_RDONLY)."""
    libc = ctypes.CDLL(None, use_errno=True)
    assert libc.mount(b"none", str(place).encode(), b"tmpfs", 0x20 | 0x1, None) == 0


def fill(place: Path) -> Path:
    """Write a file until not one byte more fits; give the file."""
    ballast = place / "ballast"
    with ballast.open("wb", buffering=0) as out:
        for size in (4096, 1):
            with suppress(OSError):
                while True:
                    out.write(bytes(size))
    assert shutil.disk_usage(place).free == 0
    return ballast
