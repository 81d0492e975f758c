"""The head of the chain, kept beside the record: so that entries cut off at the end are missed.

A record ``unit.db`` has ``unit.db.head``. Its first line names the newest entry, written over in place right after
each batch with an entry is durable: it is never ahead of the record, and behind it by one batch at most. Further
lines name entries that were missed when the record was opened: they stay, whatever is written after them.

What it cannot do: whoever can write the folder can write both files anew. Against that a head is kept on paper, and
given to ``verify --head``.
"""

import os
import re
import zlib
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path

from shared.errors import RecordError
from shared.instant import SECOND, Instant

_LINE = re.compile(r"(entry|missed) (\d+) +digest ([0-9a-f]{64}) written (\S{24}) check ([0-9a-f]{8})")
_READ_AGAIN = 3
#: The fewest hexadecimal digits of a head on paper that are taken: 64 bits.
SHORTEST = 16


@dataclass(frozen=True, slots=True)
class Head:
    """A digest that was written down.

    Attributes:
        number: of its entry; ``None``: not known.
        digest: in hexadecimal, whole or its beginning.
        kept: where it is kept, in words.
        at: when its entry was written, the hub's time; ``None``: not known.
        missed: it was found missing when the record was opened.
    """

    number: int | None
    digest: str
    kept: str
    at: Instant | None = None
    missed: bool = False

    def is_one_of(self, digests: Sequence[bytes]) -> bool:
        """Tell whether it is one of these digests."""
        return any(digest.hex().startswith(self.digest) for digest in digests)


def head_path(record: Path) -> Path:
    """Give where the head of a record is kept."""
    return record.with_name(f"{record.name}.head")


def read_heads(record: Path) -> list[Head]:
    """Give what is kept beside a record, the newest entry first; nothing where there is no such file.

    Raises:
        RecordError: the file is there and cannot be understood.
    """
    path = head_path(record)
    for left in reversed(range(_READ_AGAIN)):
        try:
            return [_head_of(line, path) for line in path.read_text(encoding="ascii").splitlines()]
        except FileNotFoundError:
            return []
        except OSError as error:
            raise RecordError(f"{path} cannot be read: {error.strerror}") from error
        except ValueError:  # caught in the middle of being written over, perhaps
            if not left:
                raise RecordError(f"{path} is not as the hub writes it: what it kept is lost") from None
    raise AssertionError("unreachable")


def write_heads(record: Path, heads: Sequence[Head]) -> None:
    """Write what is to be kept, over what is there. A line keeps its length, so this needs room but once.

    Raises:
        OSError: the disk refuses.
    """
    text = "".join(_line_of(head) for head in heads).encode()
    handle = os.open(head_path(record), os.O_WRONLY | os.O_CREAT, 0o644)
    try:
        os.pwrite(handle, text, 0)
    finally:
        os.close(handle)


def head_on_paper(text: str) -> Head:
    """Give the head that somebody has typed: hexadecimal digits, at least the first 16, in groups as one likes.

    Raises:
        ValueError: it is none.
    """
    digits = "".join(text.replace("-", " ").split()).lower()
    if not re.fullmatch(f"[0-9a-f]{{{SHORTEST},64}}", digits):
        raise ValueError(f"a head is {SHORTEST} to 64 digits of 0 to 9 and a to f")
    return Head(None, digits, "the head that was given")


def _line_of(head: Head) -> str:
    moment = datetime.fromtimestamp((head.at or 0) / SECOND, UTC).isoformat(timespec="milliseconds")
    word = "missed" if head.missed else "entry"
    text = f"{word} {head.number:<12} digest {head.digest} written {moment.replace('+00:00', 'Z')}"
    return f"{text} check {zlib.crc32(text.encode()):08x}\n"


def _head_of(line: str, path: Path) -> Head:
    found = _LINE.fullmatch(line)
    if found is None or f"{zlib.crc32(line.rpartition(' check ')[0].encode()):08x}" != found[5]:
        raise ValueError("not a line of a head")
    at = round(datetime.fromisoformat(found[4]).timestamp() * SECOND)
    return Head(int(found[2]), found[3], path.name, at, missed=found[1] == "missed")
