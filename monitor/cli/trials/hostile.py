"""What a stranger says: nothing of it is a message of a peer that may speak, and nothing may come of it."""

import json
import random
from collections.abc import Iterator

from monitor.hub.room import Room
from shared.frames import BODY_LIMIT, HEADER

NAME = b"stranger"
_EPOCH = "ffffffffffffffff"


def frames(rng: random.Random, count: int, feed: str, bed: str) -> Iterator[tuple[Room, list[bytes]]]:
    """Give so many messages, each with its room."""
    for _ in range(count):
        room = rng.choice((Room.INGEST, Room.LINK, Room.COMMANDS))
        parts = _parts(rng, feed, bed)
        yield room, parts if room is Room.INGEST else [NAME, *parts]


def _parts(rng: random.Random, feed: str, bed: str) -> list[bytes]:
    observation = {
        "type": "observation", "feed": feed, "epoch": _EPOCH, "seq": rng.randint(1, 2**40), "bed": bed, "slot": 1,
        "read_at": 1_750_000_000_000, "sent_at": 1_750_000_000_000, "readings": {"pump_flow": 0.0},
    }  # fmt: skip
    match rng.randrange(9):
        case 0:
            return [rng.randbytes(rng.randint(0, 50)) for _ in range(rng.randint(0, 6))]
        case 1:
            return [bed.encode(), HEADER, rng.randbytes(200)]
        case 2:
            return [bed.encode(), b"WK999", b"{}"]
        case 3:
            return [bed.encode(), HEADER, b"[" * 5_000]
        case 4 if rng.random() < 0.2:
            return [bed.encode(), HEADER, b" " * (BODY_LIMIT + 1)]
        case 5:
            return [b"x" * 41, HEADER, b"{}"]
        case 6:
            hello = {"type": "hello", "version": 99, "feed": feed, "epoch": _EPOCH, "first": 1, "next": 9}
            return [feed.encode(), HEADER, json.dumps({**hello, "sent_at": 1, "beds": []}).encode()]
        case 7:
            beat = {"type": "feed_beat", "feed": feed, "epoch": _EPOCH, "next": 2**40, "sent_at": 1}
            return [feed.encode(), HEADER, json.dumps(beat).encode()]
        case _:
            return [bed.encode(), HEADER, json.dumps(observation).encode()]
