"""Bytes and messages. Every message travels as three ZeroMQ parts: topic, header, body.

topic   what a subscriber filters by: a bed label, or a room such as ``hub``; 1 to 40 bytes of ASCII
header  ``WK`` and the protocol version as decimal ASCII, e.g. ``WK1``
body    the message as UTF-8 JSON, at most `BODY_LIMIT` bytes

A **packed** message has the header ``WK1z`` and the same JSON as one zlib stream (RFC 1950) in its body. It is
taken only where it is asked for, and what it unpacks to is held to `BODY_LIMIT` while it is unpacked.

What a hub answers its desks may be larger (`ANSWER_LIMIT`): a snapshot holds every bed, in trouble or not.

Sockets carry their own limit (`PART_LIMIT`, ZMQ_MAXMSGSIZE), so that an oversized part never reaches memory.
"""

import zlib
from collections.abc import Sequence
from typing import Any, TypeVar

from pydantic import BaseModel, TypeAdapter, ValidationError

from shared.messages import PROTOCOL_VERSION, RefusalReason

TOPIC_LIMIT = 40
BODY_LIMIT = 1_000_000
PART_LIMIT = BODY_LIMIT + 1024
#: 256 beds, the most that a unit has, of 100 kB each: a bed with everything that can stand at it stays below that.
ANSWER_LIMIT = 26_000_000
ANSWER_PART_LIMIT = ANSWER_LIMIT + 1024
HEADER = b"WK%d" % PROTOCOL_VERSION
PACKED_HEADER = HEADER + b"z"

M = TypeVar("M")


class FrameRefused(ValueError):
    """What came is not a message of ours; ``reason`` is countable, ``detail`` is for a person."""

    def __init__(self, reason: RefusalReason, detail: str) -> None:
        super().__init__(f"{reason.value}: {detail}")
        self.reason = reason
        self.detail = detail[:500]


def encode(topic: str, message: BaseModel, *, packed: bool = False, limit: int = BODY_LIMIT) -> list[bytes]:
    """Give the three parts of a message; ``packed``: for a peer that speaks packed frames.

    Raises:
        FrameRefused: the message is larger than ``limit`` (a defect of the sender).
    """
    body = message.model_dump_json(exclude_none=True, by_alias=True).encode()
    if len(body) > limit:
        raise FrameRefused(RefusalReason.OVERSIZED, f"{type(message).__name__} of {len(body)} bytes")
    if packed:
        return [topic.encode("ascii"), PACKED_HEADER, zlib.compress(body, 9)]
    return [topic.encode("ascii"), HEADER, body]


def is_packed(parts: Sequence[bytes]) -> bool:
    """Tell whether a message says of itself that it is packed."""
    return len(parts) == 3 and parts[1] == PACKED_HEADER


def decode(
    parts: Sequence[bytes], adapter: TypeAdapter[M], *, packed: bool = False, limit: int = BODY_LIMIT
) -> tuple[str, M]:
    """Give topic and message of three parts, checked against the models of ``adapter``.

    ``packed``: a packed message is taken too. ``limit``: the largest body, unpacked.

    Raises:
        FrameRefused: wrong number of parts, topic, version, size, JSON or fields.
    """
    if len(parts) != 3:
        raise FrameRefused(RefusalReason.MALFORMED, f"{len(parts)} parts instead of 3")
    topic, header, body = parts
    if not 1 <= len(topic) <= TOPIC_LIMIT or not topic.isascii():
        raise FrameRefused(RefusalReason.MALFORMED, f"topic of {len(topic)} bytes")
    if header != HEADER and not (packed and header == PACKED_HEADER):
        raise FrameRefused(
            RefusalReason.WRONG_VERSION, f"header {bytes(header[:8])!r}, this side speaks {HEADER.decode()}"
        )
    if len(body) > limit:
        raise FrameRefused(RefusalReason.OVERSIZED, f"body of {len(body)} bytes, at most {limit}")
    if header == PACKED_HEADER:
        body = _unpacked(body, limit)
    try:
        return topic.decode("ascii"), adapter.validate_json(body)
    except ValidationError as error:
        raise FrameRefused(RefusalReason.MALFORMED, first_fault(error)) from None


def _unpacked(body: bytes, limit: int) -> bytes:
    """Unpack, and never more than a body may hold. Raises FrameRefused."""
    stream = zlib.decompressobj()
    try:
        plain = stream.decompress(body, limit + 1)
    except zlib.error as error:
        raise FrameRefused(RefusalReason.MALFORMED, f"packed body: {error}") from None
    if len(plain) > limit:
        raise FrameRefused(RefusalReason.OVERSIZED, f"packed body of {len(body)} bytes, more than {limit} unpacked")
    if not stream.eof or stream.unused_data:
        raise FrameRefused(RefusalReason.MALFORMED, "packed body that is not one whole zlib stream")
    return plain


def first_fault(error: ValidationError) -> str:
    """Put the first fault of a validation into one line: where, and what is wrong."""
    faults: list[Any] = error.errors(include_url=False, include_input=False)
    fault = faults[0]
    place = ".".join(str(step) for step in fault["loc"]) or "message"
    more = f" (and {len(faults) - 1} more)" if len(faults) > 1 else ""
    return f"{place}: {fault['msg']}{more}"
