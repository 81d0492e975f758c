"""What a process holds, as Linux tells it (proc(5)): its own memory, descriptors, threads; and how it grew."""

import os
from collections.abc import Collection, Sequence
from dataclasses import dataclass
from pathlib import Path

_ESTABLISHED = "01"


@dataclass(frozen=True, slots=True)
class Footprint:
    """One look at a process. ``own_kb``: what would come back if it ended; ``resident_kb``: with what is shared."""

    own_kb: int
    resident_kb: int
    descriptors: int
    threads: int


def footprint(pid: int) -> Footprint:
    """Look at a process that runs (else OSError)."""
    proc = Path(f"/proc/{pid}")
    rows = (line.split() for line in (proc / "smaps_rollup").read_text().splitlines()[1:])
    kb = {row[0].rstrip(":"): int(row[1]) for row in rows}
    threads = (proc / "stat").read_text().rpartition(")")[2].split()[17]
    own = kb["Private_Clean"] + kb["Private_Dirty"]
    return Footprint(own, kb["Rss"], len(os.listdir(proc / "fd")), int(threads))


@dataclass(frozen=True, slots=True)
class Growth:
    """How much more there was at the end of a stretch than at its beginning. ``memory``: a share of 1."""

    memory: float
    descriptors: int
    threads: int

    @property
    def is_steady(self) -> bool:
        """Whether memory grew by less than 2 %, and nothing else at all."""
        return self.memory < 0.02 and self.descriptors <= 0 and self.threads <= 0


def growth(looks: Sequence[Footprint]) -> Growth:
    """Compare the last quarter of some looks with the first: the least memory, descriptors and threads.

    A process breathes: what is done with waits until it is collected, a child is started for a moment. What is lost
    never comes back, so the least of a stretch rises.
    """
    part = len(looks) // 4
    assert part >= 3, "too few looks to tell breathing from growing"
    first, last = looks[:part], looks[-part:]
    return Growth(
        min(look.own_kb for look in last) / min(look.own_kb for look in first) - 1,
        min(look.descriptors for look in last) - min(look.descriptors for look in first),
        min(look.threads for look in last) - min(look.threads for look in first),
    )


def waiting_bytes(ports: Collection[int]) -> int:
    """Give what waits in the queues of TCP, both ways, on any of some ports of this machine."""
    found = 0
    for line in Path("/proc/net/tcp").read_text().splitlines()[1:]:
        _, here, there, state, queues, *_ = line.split()
        if state == _ESTABLISHED and {int(end.rpartition(":")[2], 16) for end in (here, there)} & set(ports):
            found += sum(int(queue, 16) for queue in queues.split(":"))
    return found
