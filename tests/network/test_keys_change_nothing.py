"""A unit with keys works like one without: the same things told at random give the same log, state and answers."""

import random
from pathlib import Path
from typing import Any

import pytest

from monitor.core.entries import EntryKind
from monitor.core.wire import AskSnapshot, Snapshot
from shared.quantities import Quantity as Q
from tests.helpers.hub import BASE, Rig, bed
from tests.helpers.keyed import KeyedUnit
from tests.helpers.signing import SigningDesk

WORDS: tuple[dict[str, Any], ...] = (
    {"kind": "help", "bed": "B1", "what": "bleeding"},
    {"kind": "care_marker", "bed": "B2", "minutes": 2},
    {"kind": "target", "bed": "B2", "slot": 1, "quantity": "pump_flow", "value": 4.0},
    {"kind": "event", "bed": "B1", "what": "scan", "at": 1_800_000_900_000},
    {"kind": "order", "bed": "B99", "slot": 1, "quantity": "pump_speed", "value": 3400, "prescriber": "int-1"},
)
WHO = ("charge-2", "nurse-1", "perfusionist-1", "nobody")


def played(folder: Path, seed: int, keyed: bool) -> tuple[list[Any], list[Any], list[Any]]:
    """Play a course; give its log without what is of keys, the answers, and how the beds stand."""
    draw = random.Random(seed)
    folder.mkdir()
    unit = KeyedUnit(folder) if keyed else None
    feed_keys = unit.feed("ward", "B1", "B2") if unit is not None else None
    desk_keys = unit.station("desk-1") if unit is not None else None
    answers: list[Any] = []
    with Rig(folder, keys=folder if keyed else None) as rig:
        feed = rig.feed("ward", bed("B1"), bed("B2"), keys=feed_keys)
        desk = SigningDesk(rig, desk_keys)
        rig.times.stand_still()  # two courses of one length, however busy the machine
        told = 0
        for _ in range(60):
            if draw.random() < 0.25:
                said = dict(draw.choice(WORDS))
                answer = desk.give("", draw.choice(WHO), str(said.pop("kind")), **said)
                answers.append((answer.accepted, answer.reason))
            else:
                label, flow = draw.choice(("B1", "B2")), draw.choice((4.2, 4.1, 0.3))
                feed.read(label, rig.hub.clock.now(), readings={**BASE, Q.PUMP_FLOW: flow})
                told += 1
                rig.until(lambda told=told: len(rig.observations()) == told)  # type: ignore[misc]
            rig.turn(draw.choice((0, 1, 20)))
        desk.end.ask.say("desk", AskSnapshot(request="end"))
        rig.until(lambda: bool(desk.end.ask.of(Snapshot)))
        tiles = desk.end.ask.of(Snapshot)[0].tiles
        log = [e for e in reversed(rig.record.entries(None, 500)) if e.kind is not EntryKind.PEER]
    entries = [(e.kind, e.bed, e.rule, e.priority, e.person, e.text) for e in log if e.kind is not EntryKind.NOTE]
    stands = [(t.bed, [(a.rule, a.priority) for e in t.episodes for a in e.alerts]) for t in tiles]
    return entries, answers, stands


@pytest.mark.parametrize("seed", [3])
def test_that_keys_change_nothing_of_what_is_judged_told_and_answered(tmp_path: Path, seed: int) -> None:
    without = played(tmp_path / "without", seed, keyed=False)
    with_keys = played(tmp_path / "with", seed, keyed=True)
    assert len(without[0]) > 30
    assert {accepted for accepted, _ in without[1]} == {True, False}
    assert with_keys == without
