"""What another process of this machine has used, as Linux tells it."""

import time
from pathlib import Path

_MB = 1000 * 1000


def cpu_s(pid: int) -> float:
    """Give the seconds of processor time of a process, all its threads together.

    The clock of another process is named by its number, as clock_getcpuclockid(3) of the C library does on Linux.

    Raises:
        OSError: there is no such process, or this is not Linux.
    """
    return time.clock_gettime((~pid << 3) | 2)


def memory_mb(pid: int) -> tuple[float, float]:
    """Give PSS and USS of a process in MB: its share of what it holds, and what nobody else holds.

    Raises:
        OSError: there is no such process, or this is not Linux.
    """
    found = {"Pss": 0, "Private_Clean": 0, "Private_Dirty": 0}
    for line in Path(f"/proc/{pid}/smaps_rollup").read_text(encoding="ascii").splitlines():
        name, _, rest = line.partition(":")
        if name in found:
            found[name] = int(rest.split()[0]) * 1024
    return found["Pss"] / _MB, (found["Private_Clean"] + found["Private_Dirty"]) / _MB


def load() -> float:
    """Give how many tasks wanted a processor in the last minute, on average."""
    return float(Path("/proc/loadavg").read_text(encoding="ascii").split()[0])
