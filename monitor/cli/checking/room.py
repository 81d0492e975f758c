"""Room on the disks for what is recorded, against what a day takes.

The rates are those of DEVELOPERS.md (*Fifty units, on paper*; *Long runs* for the log of the record), measured at
one reading a second and bed: 207 bytes a reading in the record, 718 as a feed encodes it for its journal, where it
stays while no hub takes it, and of the busiest unit 1 640 entries of 193 bytes a bed and day.
"""

import os
import shutil
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

from monitor.cli.checking.found import Found
from monitor.core.unit import Unit

_READINGS_A_DAY = 24 * 60 * 60
_RECORDED, _IN_JOURNAL, _ENTRIES = 207, 718, 1_640 * 193
_LOG = 53_000_000
#: `thin` always leaves the last four days: a disk without room for them fills whatever is taken out. A hub is away
#: for a day at most (a default chosen here).
RECORDED_DAYS, AWAY_DAYS = 4, 1
_GB, _MB = 1e9, 1e6


def day_of(unit: Unit) -> tuple[int, int]:
    """Give what a day of a unit takes, bytes: in the record, and in the journals of its feeds without a hub."""
    runs = sum(max(1, len(bed.runs)) for bed in unit.beds if not bed.entered_by_hand)
    return (
        runs * _READINGS_A_DAY * _RECORDED + len(unit.beds) * _ENTRIES,
        runs * _READINGS_A_DAY * _IN_JOURNAL,
    )


def room_found(unit: Unit, record: Path, free_at: Callable[[Path], int] | None = None) -> Found:
    """Say how much room there is beside the record and the journals (``feeds`` beside it), and what to do.

    Args:
        free_at: free bytes where a folder is; of this machine where left out.
    """
    ask = free_at or _free_at
    recorded, kept = day_of(unit)
    places = [
        _Place("record", record.parent, f"a day takes {_size(recorded)}", RECORDED_DAYS * recorded + _LOG),
        _Place("journals", record.parent / "feeds", f"a day without the hub takes {_size(kept)}", AWAY_DAYS * kept),
    ]
    lines = []
    wrong = False
    for one in places:
        free = ask(one.there)
        said = f"{one.what} in {one.folder}: {_size(free)} free, {one.takes}"
        if not os.access(one.there, os.W_OK | os.X_OK):
            wrong, said = True, f"{said}. NO RIGHT to write there: give it to who runs this (chown)."
        elif free < sum(other.needs for other in places if other.disk == one.disk):
            wrong, said = True, f"{said}. LITTLE ROOM: {_DO[one.what]}"
        lines.append(said)
    return Found("Room", tuple(lines), wrong)


@dataclass(frozen=True, slots=True)
class _Place:
    """A folder that is written into: what a day there takes, in words, and the bytes that should be free."""

    what: str
    folder: Path
    takes: str
    needs: int

    @property
    def there(self) -> Path:
        """The folder, or the one above it that is there: what is missing is made at the first start."""
        here = self.folder.absolute()
        return next((one for one in (here, *here.parents) if one.is_dir()), Path("/"))

    @property
    def disk(self) -> int:
        return self.there.stat().st_dev


_DO = {
    "record": "on a full disk nothing more is recorded. Make room there, or take another disk (--record).",
    "journals": "on a full disk a feed keeps in memory what the hub has not taken, and a kill loses it.",
}


def _size(count: int) -> str:
    return f"{count / _GB:.1f} GB" if count >= 0.95 * _GB else f"{count / _MB:.0f} MB"


def _free_at(folder: Path) -> int:
    return shutil.disk_usage(folder).free
