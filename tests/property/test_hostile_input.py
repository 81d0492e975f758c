"""Bad input by the thousand at every door of a running hub: no crash, no hang, and no effect on another bed.

Frames are made from good ones by spoiling bytes, values, keys and parts. A stranger's feed and strangers' commands
may do to their own bed what the protocol allows, and anybody may call help; B1, which an honest feed reads all
along, stays as it is.
"""

import json
import logging
import os
import random
import sys
import time
from collections.abc import Callable
from pathlib import Path
from typing import Any, get_args

import pytest
from pydantic import BaseModel

from monitor.core.commands import CallHelp, Command
from monitor.core.grades import Priority
from monitor.core.wire import REQUESTS, GiveCommand
from monitor.hub.room import Room
from shared.frames import BODY_LIMIT, HEADER, FrameRefused, decode, encode
from shared.messages import FEED_MESSAGES, FeedBeat, Hello, Observation
from tests.helpers.hub import BASE, NOON, FeedEnd, Rig, bed
from tests.helpers.hub_play import raise_high

LONG = bool(os.environ.get("WEIRKEEPER_LONG"))
INPUTS = 1_000_000 if LONG else 12_000
BETWEEN = 400
#: The long form says how far it is after so many.
TOLD_EVERY = 20_000
STRANGERS = ("who", "x" * 40)
STRANGER, EPOCH = "stranger", "feedfeedfeedfeed"

JUNK: tuple[Any, ...] = (
    None, True, "", "x" * 500, "\u0000", "B1", "B99", -1, 0, 2**53, 2**70, 10**400, -1e308, 1e-320, 3.5, [], {},
    {"a": 1},
)  # fmt: skip

#: What fields of commands are filled with, besides what their names ask for.
LIKELY: tuple[Any, ...] = (
    "B1", "B2", "who", "pump_flow", "map_low", "air", "at_bedside", "going", "expected", "console-1", "sweep_off",
    "", True, 0, 1, 1, 2, 30, 4.2, NOON, NOON + 3_600_000, None, [], {}, {"pump_flow": 4.0}, {"bed": "B1"},
)  # fmt: skip
KINDS: list[type[BaseModel]] = list(get_args(get_args(Command)[0]))
DAY = 86_400_000
#: One of each request, but for commands.
ASKED: tuple[dict[str, Any], ...] = (
    {"type": "ask_snapshot"},
    {"type": "follow", "boot": "", "pack": 3},
    {"type": "ask_history", "bed": "B1", "slot": 1, "quantities": ["pump_flow"], "begin": NOON - DAY, "end": NOON,
     "width_ms": 180_000},
    {"type": "ask_entries", "bed": "B1", "most": 5},
    {"type": "ask_load", "begin": NOON - DAY, "end": NOON},
    {"type": "ask_cards"},
    {"type": "ask_meaning", "bed": "B1", "slot": 1, "person": "who"},
    {"type": "ask_news", "person": "who"},
    {"type": "ask_beds", "feed": "stranger"},
    {"type": "sign_in", "person": "who", "secret": "0000"},
    {"type": "sign_out", "session": "00000000000000000000000000000000"},
)  # fmt: skip


def good(draw: random.Random, now: int, given: int) -> tuple[Room, list[bytes]]:
    """A frame that may be understood, of somebody who may not touch B1; ``given``: how many went before."""
    seq = draw.randrange(1, 5_000) + given // 20
    label = draw.choice(("B2", "B1", "B3", "B99"))
    match draw.randrange(6):
        case 0:
            hello = Hello(
                version=1, feed=STRANGER, epoch=EPOCH, first=1, next=seq, sent_at=now, beds=(bed("B2"), bed("B1"))
            )
            return Room.LINK, [STRANGER.encode(), *encode(STRANGER, hello)]
        case 1:
            return Room.INGEST, encode(STRANGER, FeedBeat(feed=STRANGER, epoch=EPOCH, next=seq, sent_at=now))
        case 2 | 3:
            read = Observation(
                feed=STRANGER, epoch=EPOCH, seq=seq, bed=label, read_at=now - draw.randrange(-200_000, 200_000),
                sent_at=now, readings=BASE,
            )  # fmt: skip
            return Room.INGEST, encode(label, read)
        case 4:
            request = {"type": "give_command", "command": _command(draw, f"bad-{given:07}")}
        case _:
            request = draw.choice(ASKED) | {"request": "r"}
    return Room.COMMANDS, [draw.randbytes(5), b"desk", HEADER, json.dumps(request).encode()]


def _command(draw: random.Random, name: str) -> dict[str, Any]:
    """A command of any kind by a stranger, its fields filled with what may fit; or one that fits."""
    said: dict[str, Any] = {"id": name, "person": draw.choice(STRANGERS)}
    answer = {"bed": "B1", "alert": 1, "revision": draw.randrange(1, 9)}
    fits = ({"kind": "take"} | answer, {"kind": "seen"} | answer, {"kind": "help", "bed": "B2", "what": "air"})
    if draw.random() < 0.5:
        return said | draw.choice(fits)
    fields = draw.choice(KINDS).model_fields
    filled = {name: draw.choice(LIKELY) for name in fields if name not in ("id", "person", "kind")}
    return said | filled | {"kind": fields["kind"].default}


def spoil(draw: random.Random, parts: list[bytes]) -> list[bytes]:
    """Spoil a frame in one of many ways; its last part is the body."""
    parts = list(parts)
    match draw.randrange(9):
        case 0:
            parts[-1] = parts[-1][: draw.randrange(len(parts[-1]) + 1)]
        case 1:
            body = bytearray(parts[-1])
            for _ in range(draw.randrange(1, 6)):
                body[draw.randrange(len(body))] = draw.randrange(256)
            parts[-1] = bytes(body)
        case 2:
            parts[draw.randrange(len(parts))] = draw.randbytes(draw.randrange(60))
        case 3:
            parts[-2] = draw.choice((b"WK0", b"WK2", b"WK999999", b"XX1", b"", HEADER + b" "))
        case 4:
            depth = draw.randrange(2, 50_000)
            parts[-1] = b"[" * depth + b"]" * depth
        case 5:
            del parts[draw.randrange(len(parts))]
        case 6 if draw.random() < 0.01:
            parts[-1] = b" " * (BODY_LIMIT + draw.randrange(2))
        case _:
            parts[-1] = json.dumps(_spoiled(draw, json.loads(parts[-1]))).encode()
    return parts


def _spoiled(draw: random.Random, value: Any) -> Any:
    """Change one value, key or item somewhere in a document."""
    if not isinstance(value, dict | list) or not value or draw.random() < 0.3:
        return draw.choice(JUNK)
    keys: list[Any] = list(value) if isinstance(value, dict) else list(range(len(value)))
    key = draw.choice(keys)
    match draw.randrange(4):
        case 0:
            del value[key]
        case 1 if isinstance(value, dict):
            value[draw.choice(("x", "__class__", key + "_", ""))] = value.pop(key)
        case _:
            value[key] = _spoiled(draw, value[key])
    return value


def may_touch_b1(room: Room, parts: list[bytes]) -> bool:
    """Tell whether a frame came out as what the honest feed or a person of the unit might say."""
    try:
        if room is Room.COMMANDS:
            request = decode(parts[1:], REQUESTS)[1]
            if not isinstance(request, GiveCommand):
                return False
            command = request.command
            return command.person not in STRANGERS or (isinstance(command, CallHelp) and command.bed == "B1")
        message = decode(parts[1:] if room is Room.LINK else parts, FEED_MESSAGES)[1]
    except FrameRefused:
        return False
    return getattr(message, "feed", STRANGER) != STRANGER


def hurl(
    rig: Rig,
    honest: FeedEnd,
    frame: Callable[[int], tuple[Room, list[bytes]]],
    tell: Callable[[int, int], None],
) -> int:
    """Throw inputs at the hub, with an honest reading of B1 every so often; give the longest turn in ms.

    A feed that says nothing for 10 s may be followed by another: on a busy machine the hub's clock must not run on.
    """
    rig.times.stand_still()
    longest, thrown = 0.0, 0
    for begin in range(0, INPUTS, BETWEEN):
        rig.times.ms += 1_000
        began = time.monotonic()
        for given in range(begin, begin + BETWEEN):
            room, parts = frame(given)
            if not may_touch_b1(room, parts):
                rig.hub._hear(room, parts)
                thrown += 1
        longest = max(longest, time.monotonic() - began)
        tell(begin + BETWEEN, thrown)
        # a little else each time: a console that stands still for two minutes is told of, and rightly
        moving = {quantity: value + begin // BETWEEN % 7 / 100 for quantity, value in BASE.items()}
        said = honest.read("B1", rig.hub.clock.now(), readings=moving)
        rig.until(lambda said=said: rig.hub.feeds._peers["ward"].links[honest.epoch].contiguous >= said.seq)  # type: ignore[misc]
    return round(longest * 1000)


def test_that_bad_input_at_every_door_crashes_nothing_and_touches_no_other_bed(
    tmp_path: Path, caplog: pytest.LogCaptureFixture, capsys: pytest.CaptureFixture[str]
) -> None:
    draw = random.Random(8)
    began = time.process_time()

    def tell(given: int, thrown: int) -> None:
        if LONG and given % TOLD_EVERY == 0:
            with capsys.disabled():
                worked = time.process_time() - began
                sys.stderr.write(f"{given} inputs made, {thrown} thrown, {worked:.0f} s of processor time\n")

    with caplog.at_level(logging.ERROR, logger="monitor.hub"), Rig(tmp_path) as rig:
        honest = rig.feed("ward", bed("B1"))

        def frame(given: int) -> tuple[Room, list[bytes]]:
            room, parts = good(draw, NOON + rig.times.ms, given)
            return room, parts if draw.random() < 0.1 else spoil(draw, parts)

        longest = hurl(rig, honest, frame, tell)
        assert rig.hub.defects == rig.hub.judge.defects == 0
        tile = rig.hub.judge.engine.tile("B1", rig.hub.clock.now())
        assert [e.title for e in tile.episodes if e.priority is not Priority.LOW] == ["Two feeds for this bed"]
        honest_ones = [o for o in rig.observations() if o.bed == "B1"]
        assert [(o.feed, o.seq) for o in honest_ones] == [("ward", n) for n in range(1, INPUTS // BETWEEN + 1)]
        assert {e.kind for e in rig.record.entries("B1", 10_000)} & {"taken", "seen", "help"} == set()
        assert longest < 60_000, "400 inputs took more than a minute: something hangs"
        raise_high(rig, honest)
