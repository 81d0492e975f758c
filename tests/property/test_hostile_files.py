"""Spoiled files of every kind that people or programs write: read, or refused in words with the file's own error.

Snapshots as desks hear them and checkpoints are among them; nothing here may end in any other exception.
"""

import os
import random
from collections.abc import Callable
from pathlib import Path

import pytest

from monitor.core.checkpoint import load as load_checkpoint
from monitor.core.engine import Engine
from monitor.core.wire import REPLIES, Snapshot
from monitor.settings import load_configuration
from monitor.settings.card_files import load_card
from monitor.settings.loading import (
    load_entry,
    load_equipment,
    load_ladder,
    load_limits,
    load_patterns,
    load_profile,
    load_unit,
)
from shared.errors import ConfigurationError
from shared.frames import HEADER, FrameRefused, decode, encode
from shared.recording import read_recording
from shared.recording_map import parse_map
from shared.scenario import parse_scenario
from tests.helpers.views import BOOT, NOW, latest, tile, unit
from tests.shared.test_recording import MAP, ROWS

CONFIG = Path(__file__).parents[2] / "config"
SPOILED = 2_000 if os.environ.get("WEIRKEEPER_LONG") else 15

JUNK = (
    "-1", "0", "1e400", "nan", "inf", "99999999999999999999", '""', '"B1"', "[]", "{}", "[[[[]]]]", "true",
    "1979-05-27T07:32:00Z", "'", "\x00", "=", "]", "\u2028", "\ud7ff" * 50, "[" * 2_000, "a.b.c = 1", "[[rule]]",
)  # fmt: skip


def _checkpoint() -> str:
    engine = Engine(load_configuration(CONFIG), NOW)
    engine.start(NOW)
    return engine.checkpoint().decode()


def _snapshot() -> str:
    said = Snapshot(
        request="r", seq=1, boot=BOOT, hub_time=NOW, unit=unit(), tiles=(tile(),), readings=(latest("B7"),)
    )
    return encode("hub", said)[2].decode()


def shipped(name: str) -> str:
    return (CONFIG / name).read_text(encoding="utf-8")


#: What is read: its text, and what reads it.
FILES: dict[str, tuple[Callable[[], str], Callable[[str], object]]] = {
    "unit": (lambda: shipped("unit.toml"), lambda text: load_unit(text, "unit.toml", ("broad", "small"))),
    "limits": (lambda: shipped("limits.toml"), lambda text: load_limits(text, "limits.toml")),
    "ladder": (lambda: shipped("ladder.toml"), lambda text: load_ladder(text, "ladder.toml")),
    "patterns": (lambda: shipped("patterns.toml"), lambda text: load_patterns(text, "patterns.toml")),
    "entry": (lambda: shipped("entry.toml"), lambda text: load_entry(text, "entry.toml")),
    "equipment": (
        lambda: shipped("equipment.toml"),
        lambda text: load_equipment(text, "equipment.toml", {"B1": [1]}),
    ),
    "profile": (lambda: shipped("pumps/broad.toml"), lambda text: load_profile(text, "broad.toml")),
    "card": (lambda: shipped("cards/pump_stop.toml"), lambda text: load_card(text, "pump_stop.toml")),
    "scenario": (lambda: shipped("scenarios/11_transport_tired_battery.toml"), parse_scenario),
    "night": (lambda: shipped("scenarios/night_of_entry.toml"), parse_scenario),
    "map": (lambda: MAP, parse_map),
    "recording": (lambda: ROWS, lambda text: read_recording(text.splitlines(), parse_map(MAP))),
    "snapshot": (_snapshot, lambda text: decode([b"hub", HEADER, text.encode("utf-8", "replace")], REPLIES)),
    "checkpoint": (_checkpoint, lambda text: load_checkpoint(text.encode("utf-8", "replace"), {})),
}
REFUSALS: dict[str, type[Exception]] = {"snapshot": FrameRefused, "checkpoint": ValueError}


def spoil(draw: random.Random, text: str) -> str:
    """Spoil a text in one of many ways."""
    lines = text.splitlines()
    at = draw.randrange(len(lines))
    match draw.randrange(7):
        case 0:
            return text[: draw.randrange(len(text))]
        case 1:
            place = draw.randrange(len(text))
            return text[:place] + chr(draw.randrange(1, 0xD7FF)) + text[place + draw.randrange(3) :]
        case 2:
            del lines[at]
        case 3:
            lines.insert(at, lines[draw.randrange(len(lines))])
        case 4:
            lines[at] = lines[at].partition("=")[0] + "= " + draw.choice(JUNK)
        case 5:
            words = lines[at].split(" ")
            words[draw.randrange(len(words))] = draw.choice(JUNK)
            lines[at] = " ".join(words)
        case _:
            lines[at] = draw.choice(JUNK)
    return "\n".join(lines)


@pytest.mark.parametrize("kind", FILES)
def test_that_a_spoiled_file_is_read_or_refused_in_words(kind: str) -> None:
    draw = random.Random(f"{kind} 6")
    whole, reads = FILES[kind]
    text, refused = whole(), 0
    reads(text)
    for _ in range(SPOILED):
        spoiled = spoil(draw, text)
        try:
            reads(spoiled)
        except REFUSALS.get(kind, ConfigurationError) as error:
            refused += bool(str(error).strip())
    if kind != "recording":  # a row that cannot be read is a fault of the recording, which is kept
        assert refused, "nothing was spoiled"
