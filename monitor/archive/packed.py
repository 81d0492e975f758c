"""Observations of a stretch as one compact piece, and back, without losing a bit.

Rows of one stretch are alike: column by column, numbers as differences from the row before, and values byte by
byte (all first bytes, then all second ones), they are made small by zlib. A piece is: version, count of rows, then
zlib of eight columns of whole numbers, the lengths of the values, the values, and the marks as JSON.
"""

import json
import struct
import zlib
from collections.abc import Sequence

import numpy as np

from monitor.record.packing import Row
from shared.errors import RecordError

_VERSION = 1
_HEAD = struct.Struct("<BI")
_NUMBERS = 8
_DOUBLE = 8


def packed(rows: Sequence[Row]) -> bytes:
    """Give the piece of some rows."""
    numbers = np.array([row[:_NUMBERS] for row in rows], dtype="<i8").reshape(len(rows), _NUMBERS)
    lengths = np.array([len(row[8]) for row in rows], dtype="<i8")
    values = np.frombuffer(b"".join(row[8] for row in rows), dtype=np.uint8)
    marks = json.dumps([row[9] for row in rows], separators=(",", ":"), ensure_ascii=False).encode()
    columns = np.diff(numbers, axis=0, prepend=0).T
    whole = b"".join((columns.tobytes(), lengths.tobytes(), _turned(values).tobytes(), marks))
    return _HEAD.pack(_VERSION, len(rows)) + zlib.compress(whole)


def unpacked(piece: bytes) -> list[Row]:
    """Give back the rows of a piece.

    Raises:
        RecordError: it is none, or of a newer Weirkeeper.
    """
    try:
        version, count = _HEAD.unpack_from(piece)
        if version != _VERSION:
            raise RecordError(f"observations are packed as version {version}: a newer Weirkeeper wrote them")
        if not count:
            return []
        whole = zlib.decompress(piece[_HEAD.size :])
        columns = np.frombuffer(whole, dtype="<i8", count=count * _NUMBERS).reshape(_NUMBERS, count)
        lengths = np.frombuffer(whole, dtype="<i8", count=count, offset=columns.nbytes)
        begin = columns.nbytes + lengths.nbytes
        size = int(lengths.sum())
        values = _turned_back(np.frombuffer(whole, dtype=np.uint8, count=size, offset=begin)).tobytes()
        marks = json.loads(whole[begin + size :])
        ends = np.cumsum(lengths).tolist()
        numbers = np.cumsum(columns, axis=1).T.tolist()
        begins = [0, *ends[:-1]]
        return [
            (*one, values[first:last], mark)
            for one, first, last, mark in zip(numbers, begins, ends, marks, strict=True)
        ]
    except (struct.error, zlib.error, ValueError) as error:
        raise RecordError(f"observations are not as they were packed: {error}") from error


def _turned(
    values: "np.ndarray[tuple[int], np.dtype[np.uint8]]",
) -> "np.ndarray[tuple[int, ...], np.dtype[np.uint8]]":
    """Put the bytes of doubles apart; what is no whole number of doubles stays."""
    return values.reshape(-1, _DOUBLE).T.ravel() if len(values) % _DOUBLE == 0 else values


def _turned_back(
    values: "np.ndarray[tuple[int], np.dtype[np.uint8]]",
) -> "np.ndarray[tuple[int, ...], np.dtype[np.uint8]]":
    return values.reshape(_DOUBLE, -1).T.ravel() if len(values) % _DOUBLE == 0 else values
