"""A power cut, as SQLite promises: the log as far as it was synced is on the disk, of the rest any part.

`Kept` follows a record that is being written and keeps, at each moment at which somebody was told that something is
safe, how long the log was and what was safe. `Cut` is one state in which a power cut may leave the files.
"""

import shutil
import struct
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

from monitor.record.head import head_path

HEADER, FRAME_HEADER = 32, 24  # bytes (SQLite documentation, "WAL-mode File Format")
FILES = ("", "-wal", "-shm", ".head", ".lock")


@dataclass(frozen=True, slots=True)
class Safe:
    """What had been called safe when the log had ``size`` bytes: entries, and observations up to a number."""

    size: int
    entries: int
    stored: int
    head: bytes


@dataclass(frozen=True, slots=True)
class Cut:
    """The log as far as ``size``; ``after``: what stands in it beyond; ``shm``, ``head``: the files beside it."""

    size: int
    after: str
    shm: str
    head: str


def beside(path: Path, suffix: str) -> Path:
    return path.with_name(f"{path.name}{suffix}")


class Kept:
    """Follows the record at ``path``, whose log must never be folded into the file meanwhile."""

    def __init__(self, path: Path) -> None:
        self.path = path
        self.safe: list[Safe] = []

    def told(self, entries: int, stored: int) -> None:
        """Note that so much was just called safe."""
        head = head_path(self.path)
        kept = head.read_bytes() if head.exists() else b""
        self.safe.append(Safe(beside(self.path, "-wal").stat().st_size, entries, stored, kept))

    def freeze(self, folder: Path) -> "Frozen":
        """Copy the files as they are, while the record is open."""
        folder.mkdir()
        for suffix in ("", "-wal", "-shm"):
            shutil.copy(beside(self.path, suffix), folder / f"frozen{suffix}")
        return Frozen(folder / "frozen", self.safe)


class Frozen:
    """The files of a record in the middle of its life, to be cut anywhere."""

    def __init__(self, path: Path, safe: list[Safe]) -> None:
        self.file, self.shm = path.read_bytes(), beside(path, "-shm").read_bytes()
        self.log = beside(path, "-wal").read_bytes()
        self.safe = safe
        self.page: int = struct.unpack(">I", self.log[8:12])[0]
        self.frames = (len(self.log) - HEADER) // (self.page + FRAME_HEADER)
        assert (len(self.log) - HEADER) % (self.page + FRAME_HEADER) == 0
        assert [one.size for one in safe] == sorted(one.size for one in safe), "the log was folded into the file"

    def cuts(self, every: int = 1) -> Iterator[Cut]:
        """Give a cut at every boundary of a frame, and several within each; what stands beside changes in turn."""
        afters, shms, heads = (
            ("short", "zeros", "noise"),
            ("none", "stale", "torn"),
            ("older", "torn", "last", "none"),
        )
        sizes = [0, 1, HEADER - 1]
        for number in range(0, self.frames, every):
            begin = HEADER + number * (self.page + FRAME_HEADER)
            within = (0, 4, FRAME_HEADER - 1, FRAME_HEADER, FRAME_HEADER + 1, FRAME_HEADER + self.page // 2)
            sizes += [*(begin + one for one in within), begin + FRAME_HEADER + self.page - 1]
        sizes.append(len(self.log))
        for turn, size in enumerate(sizes):
            yield Cut(size, afters[turn % 3], shms[turn // 3 % 3], heads[turn % 4])

    def last(self, cut: Cut) -> Safe:
        """Give what was safe, at the latest, when the log had been synced as far as the cut."""
        return max((one for one in self.safe if one.size <= cut.size), key=lambda one: one.size, default=_NOTHING)

    def lay(self, cut: Cut, path: Path) -> Safe:
        """Lay the files down as a power cut leaves them; give what must be there."""
        safe = self.last(cut)
        for suffix in FILES:
            beside(path, suffix).unlink(missing_ok=True)
        path.write_bytes(self.file)
        rest = len(self.log) - cut.size
        after = {"short": b"", "zeros": bytes(rest), "noise": bytes(n * 37 % 251 for n in range(rest))}[cut.after]
        beside(path, "-wal").write_bytes(self.log[: cut.size] + after)
        if cut.shm != "none":
            beside(path, "-shm").write_bytes(self.shm if cut.shm == "stale" else self.shm[: len(self.shm) // 3])
        before = [one.head for one in self.safe if one.size <= cut.size and one.head]
        if before and cut.head != "none":
            head = {"older": before[0], "last": before[-1], "torn": before[-1][:-40] + bytes(40)}[cut.head]
            head_path(path).write_bytes(head)
        return safe


_NOTHING = Safe(0, 0, 0, b"")
