"""One clock for several processes, in a file that they share: it goes on when all of them have come along."""

import mmap
import struct
from enum import IntEnum
from pathlib import Path

#: The one feed whose clock it is.
FEED = "simulated"
#: The clock goes on while a desk is behind it by no more than this.
BEHIND_MS = 300_000
_NUMBER = struct.Struct("=q")


class Place(IntEnum):
    """Who writes which number."""

    CLOCK = 0  # the feed: ms since 1970 UTC
    HEARD = 1  # the hub: up to which number it has heard the feed
    DESK = 2  # the desk and the review: the hub's time that they have come to
    REVIEW = 3
    DESK_ROUND = 4  # how often they have opened every page and every bed
    REVIEW_ROUND = 5


class Pace:
    """Numbers in a file. Each has one writer; a number is written and read whole."""

    def __init__(self, path: Path, begin: int | None = None) -> None:
        """Open the file; with ``begin``: make it, and set its clock."""
        if begin is not None:
            path.write_bytes(_NUMBER.pack(begin) + bytes(_NUMBER.size * (len(Place) - 1)))
        with path.open("r+b") as file:
            self._shared = mmap.mmap(file.fileno(), 0)

    def __getitem__(self, place: Place) -> int:
        number: int = _NUMBER.unpack_from(self._shared, place * _NUMBER.size)[0]
        return number

    def __setitem__(self, place: Place, number: int) -> None:
        _NUMBER.pack_into(self._shared, place * _NUMBER.size, number)
