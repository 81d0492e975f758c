"""Stupid and hostile commands through the real socket: each is refused with words, and no bed is touched."""

import json
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from monitor.core.commands import COMMANDS
from monitor.core.entries import EntryKind
from monitor.core.grades import Role
from monitor.core.unit import Configuration, Person
from monitor.core.wire import CommandAnswer, EntryDelta, GiveCommand, NotUnderstood
from monitor.settings import load_configuration
from shared.frames import BODY_LIMIT, HEADER, FrameRefused
from shared.instant import HOUR
from shared.messages import RefusalReason
from tests.helpers.hub import CONFIG, DeskEnd, Rig
from tests.helpers.hub_play import snapshot
from tests.helpers.logged import expect_logged

FAR = 2**53 - 1
SOON = "now+1h"

LIMIT = {"kind": "limit", "bed": "B1", "rule": "map_low", "value": 55.0, "until": SOON}
HIGH_LIMIT = LIMIT | {"rule": "map_very_low", "value": 45.0}
CALL_ME = {
    "kind": "call_me",
    "bed": "B1",
    "quantity": "pump_flow",
    "below": 3.5,
    "calls": "surgeon-3",
    "until": SOON,
}
TRANSPORT = {"kind": "transport_start", "bed": "B1", "leader": "nurse-1", "back": SOON}
TRIAL = {"kind": "trial_start", "bed": "B1", "trial": "sweep_off", "until": SOON, "second": "nurse-1"}
OFFER = {"kind": "offer", "giver": "nurse-5", "to": "deputy"}
BREAK = {"kind": "break", "who": "nurse-5", "cover": "deputy", "minutes": 30}
AWAY = {"kind": "unreachable", "who": "surgeon-3", "until": SOON}
PLAN = {"kind": "plan", "rung": 2, "stands": "charge-5", "begins": 0, "ends": SOON}

EACH = (LIMIT, CALL_ME, TRANSPORT, TRIAL, OFFER, BREAK, PLAN)

#: What is read, looked at and refused in words for a person: a part of the words.
REFUSED: list[tuple[dict[str, Any], str]] = [
    *((one | {"bed": "B99"}, "B99") for one in (LIMIT, CALL_ME, TRANSPORT, TRIAL)),
    *((one | {"bed": "B8"}, "no run is open") for one in (LIMIT, CALL_ME, TRANSPORT, TRIAL)),
    *((one | {"slot": 2}, "pump 2") for one in (LIMIT, CALL_ME, TRIAL)),
    *((one | {"until": 1}, "within") for one in (LIMIT, CALL_ME, TRIAL, AWAY)),
    *((one | {"until": FAR}, "within") for one in (LIMIT, CALL_ME, TRIAL, AWAY)),
    *(
        (one | {"person": "stranger"}, "not among")
        for one in (LIMIT, CALL_ME, TRANSPORT, TRIAL, OFFER, BREAK, PLAN)
    ),
    *((one | {"person": "looker"}, "looks on") for one in EACH),
    (LIMIT | {"rule": "no_such_rule"}, "no limit"),
    (LIMIT | {"rule": "pump_stopped"}, "no limit"),
    (LIMIT | {"value": 1e300}, "not possible"),
    (LIMIT | {"second": "charge-2"}, "another"),
    (LIMIT | {"second": "stranger"}, "another"),
    (HIGH_LIMIT, "two people"),
    *((HIGH_LIMIT | {"second": second}, "two people") for second in ("charge-2", "stranger", "looker")),
    *((TRIAL | {"second": second}, "two people") for second in ("charge-2", "stranger", "looker")),
    ({"kind": "limit_end", "bed": "B1", "rule": "map_low"}, "no own limit"),
    (CALL_ME | {"calls": "stranger"}, "not among"),
    (CALL_ME | {"calls": "looker"}, "looks on"),
    (CALL_ME | {"quantity": "left_atrial_pressure"}, "not fitted"),
    ({"kind": "call_me_end", "bed": "B1", "quantity": "pump_flow"}, "nobody has asked"),
    (TRANSPORT | {"leader": "looker"}, "looks on"),
    (TRANSPORT | {"back": 1}, "within"),
    (TRANSPORT | {"back": FAR}, "within"),
    (TRANSPORT | {"departure": {"clamps": FAR}}, "future"),
    ({"kind": "cylinder", "bed": "B1", "litres": 400.0}, "not in transport"),
    ({"kind": "run_move", "bed": "B1", "to": "B1"}, "a run is open"),
    ({"kind": "run_move", "bed": "B1", "to": "B2"}, "a run is open"),
    ({"kind": "run_move", "bed": "B1", "to": "B99"}, "no bed B99"),
    ({"kind": "run_move", "bed": "B8", "to": "B8"}, "no run is open"),
    ({"kind": "audio_pause", "bed": "B99"}, "no bed"),
    ({"kind": "audio_pause", "bed": "B8"}, "no run is open"),
    ({"kind": "audio_pause", "bed": "B1", "seconds": 0}, "not paused"),
    ({"kind": "audio_pause", "bed": "B1", "person": "surgeon-3"}, "in the unit"),
    ({"kind": "reason", "bed": "B1", "alert": 77, "revision": 1, "reason": "other"}, "no longer open"),
    (OFFER | {"to": "nurse-5"}, "somebody else"),
    (OFFER | {"to": "looker"}, "looks on"),
    (OFFER | {"giver": "deputy", "to": "nurse-5", "posts": [{"rung": 2}]}, "to offer"),
    (OFFER | {"posts": [{"rung": 1, "bed": "B99"}]}, "no post"),
    *(({"kind": kind, "offer": 77}, "no longer open") for kind in ("accept", "offer_decline", "offer_end")),
    (BREAK | {"cover": "nurse-5"}, "somebody else"),
    (BREAK | {"cover": "looker"}, "looks on"),
    (BREAK | {"told_to": "looker"}, "in the unit"),
    (BREAK | {"who": "stranger"}, "not among"),
    (BREAK | {"minutes": 1}, "lasts"),
    ({"kind": "break_end", "who": "nurse-5"}, "no break"),
    (AWAY | {"who": "stranger"}, "not among"),
    (AWAY | {"instead": "surgeon-3"}, "somebody else"),
    (AWAY | {"instead": "looker"}, "looks on"),
    ({"kind": "reachable", "who": "surgeon-3"}, "not written down"),
    (PLAN | {"ends": FAR}, "366 days"),
    (PLAN | {"begins": 0, "ends": 1}, "past"),
    (PLAN | {"stands": "looker"}, "looks on"),
    ({"kind": "plan_end", "plan": 77}, "no longer"),
    ({"kind": "roster", "rung": 2, "stands": "looker"}, "looks on"),
]
#: What is refused before anybody looks at it.
UNREADABLE: list[tuple[dict[str, Any], str]] = [
    (LIMIT | {"value": "NaN"}, "value"),
    (CALL_ME | {"below": "Infinity"}, "below"),
    (CALL_ME | {"above": 5.0}, "either below or above"),
    (LIMIT | {"reason": "x" * 200}, "reason"),
    (CALL_ME | {"note": "x" * 200}, "note"),
    (LIMIT | {"slot": 3}, "slot"),
    (LIMIT | {"rule": "../flow"}, "rule"),
    ({"kind": "audio_pause", "bed": "B1", "seconds": 121}, "seconds"),
    ({"kind": "cylinder", "bed": "B1", "litres": -1.0}, "litres"),
    (PLAN | {"begins": FAR, "ends": 0}, "ends after"),
    ({"kind": "made_up"}, "kind"),
]


@pytest.fixture
def rig(tmp_path: Path) -> Iterator[Rig]:
    with Rig(tmp_path, with_looker()) as rig:
        yield rig


def with_looker() -> Configuration:
    shipped = load_configuration(CONFIG)
    people = (*shipped.unit.people, Person(name="looker", label="Looker", role=Role.VIEWER))
    return shipped.model_copy(update={"unit": shipped.unit.model_copy(update={"people": people})})


def placed(rig: Rig, number: int, said: dict[str, Any]) -> dict[str, Any]:
    now = rig.hub.clock.now()
    times = {name: now + HOUR for name, value in said.items() if value == SOON}
    return {"person": "charge-2", "id": f"hostile-{number}", **said, **times}


def say(rig: Rig, desk: DeskEnd, number: int, said: dict[str, Any]) -> None:
    command = COMMANDS.validate_python(placed(rig, number, said), strict=False)
    desk.ask.say("desk", GiveCommand(command=command))


def answers(desk: DeskEnd) -> dict[str, CommandAnswer]:
    return {answer.id: answer for answer in desk.ask.of(CommandAnswer)}


def test_that_each_stupid_command_is_refused_in_words_and_touches_no_bed(rig: Rig) -> None:
    desk = rig.desk()
    rig.turn()
    before = [rig.hub.judge.engine.tile(bed.label, 0) for bed in rig.configuration.unit.beds]
    for number, (said, _) in enumerate(REFUSED):
        say(rig, desk, number, said)
    rig.until(lambda: len(answers(desk)) == len(REFUSED))
    found = answers(desk)
    for number, (said, words) in enumerate(REFUSED):
        answer = found[f"hostile-{number}"]
        assert not answer.accepted, said
        assert words in answer.reason, (said, answer.reason)
    assert [rig.hub.judge.engine.tile(bed.label, 0) for bed in rig.configuration.unit.beds] == before
    assert rig.hub.judge.defects == rig.hub.defects == rig.hub.views.defects == 0


def test_that_a_command_that_cannot_be_read_is_told_so_and_costs_nothing(
    rig: Rig, caplog: pytest.LogCaptureFixture
) -> None:
    desk = rig.desk()
    for number, (said, _) in enumerate(UNREADABLE):
        body = json.dumps({"type": "give_command", "command": placed(rig, number, said)})
        desk.ask.say_raw([b"desk", HEADER, body.replace('"NaN"', "NaN").replace('"Infinity"', "Infinity").encode()])
    rig.until(lambda: len(desk.ask.of(NotUnderstood)) == len(UNREADABLE))
    for (said, words), told in zip(UNREADABLE, desk.ask.of(NotUnderstood), strict=True):
        assert words in told.reason, (said, told.reason)
    assert rig.hub.judge.defects == rig.hub.defects == 0
    expect_logged(caplog, "a desk's request cannot be read")


@pytest.mark.parametrize("moment", [-1, 2**53, 2**70, 10**400])
@pytest.mark.parametrize(
    "asked",
    [
        {"type": "ask_history", "bed": "B1", "slot": 1, "quantities": ["pump_flow"], "width_ms": 1_000},
        {"type": "ask_load"},
    ],
    ids=lambda asked: str(asked["type"]),
)
def test_that_a_moment_beyond_all_time_is_not_understood(
    rig: Rig, asked: dict[str, Any], moment: int, caplog: pytest.LogCaptureFixture
) -> None:
    desk = rig.desk()
    said = {"request": "far", **asked, "begin": moment, "end": moment + 1_000}
    desk.ask.say_raw([b"desk", HEADER, json.dumps(said).encode()])
    rig.until(lambda: bool(desk.ask.of(NotUnderstood)))
    assert rig.hub.defects == 0
    expect_logged(caplog, "a desk's request cannot be read")


def test_that_a_command_given_at_a_moment_beyond_all_time_is_not_understood(
    rig: Rig, caplog: pytest.LogCaptureFixture
) -> None:
    desk = rig.desk()
    said = {"type": "give_command", "command": placed(rig, 1, CALL_ME), "given_at": -(10**400)}
    desk.ask.say_raw([b"desk", HEADER, json.dumps(said).encode()])
    rig.until(lambda: bool(desk.ask.of(NotUnderstood)))
    assert rig.hub.defects == 0
    expect_logged(caplog, "a desk's request cannot be read")


@pytest.mark.parametrize(
    ("said", "accepted"),
    [
        (BREAK, 1),
        ({"kind": "help", "bed": "B1", "what": "air"}, 20),
        (PLAN, 500),
        (CALL_ME, 1000),
        (OFFER, 1),
        (AWAY | {"instead": "charge-5"}, 1000),
    ],
)
def test_that_a_thousand_commands_in_a_burst_leave_the_hub_as_quick_and_small_as_before(
    rig: Rig, said: dict[str, Any], accepted: int
) -> None:
    """What is told of a bed or the unit must stay far below what a frame holds."""
    desk = rig.desk()
    for number in range(1000):
        say(rig, desk, number, said)
    rig.until(lambda: len(answers(desk)) == 1000, seconds=60)
    assert sum(answer.accepted for answer in answers(desk).values()) == accepted
    now = rig.hub.clock.now()
    engine = rig.hub.judge.engine
    assert len(engine.tile("B1", now).model_dump_json()) < BODY_LIMIT // 10
    assert len(engine.unit(now).model_dump_json()) < BODY_LIMIT // 5
    assert rig.hub.judge.defects == rig.hub.defects == 0


def test_that_a_view_too_large_to_be_told_does_not_end_the_hub(
    rig: Rig, monkeypatch: pytest.MonkeyPatch, caplog: pytest.LogCaptureFixture
) -> None:
    desk = rig.desk()
    rig.turn()

    def too_large(*_: object) -> None:
        raise FrameRefused(RefusalReason.OVERSIZED, "body of 2000000 bytes")

    monkeypatch.setattr(rig.hub.publishing, "unit", too_large)
    monkeypatch.setattr(rig.hub.publishing, "tile", too_large)
    say(rig, desk, 1, {"kind": "help", "bed": "B1", "what": "air"})
    rig.until(lambda: bool(answers(desk)))
    rig.turn(1.5)
    called = [entry.person for entry in rig.record.entries("B1", 50) if entry.kind is EntryKind.CALLED]
    assert "nurse-1" in called
    assert rig.hub.defects >= 2
    expect_logged(caplog, "the hub failed to tell how")


def test_that_two_desks_are_put_in_order_and_both_see_the_same(rig: Rig) -> None:
    """Both accept the same offer, both set the same limit, one ends the pause that the other began."""
    one, two = rig.desk(), rig.desk()
    say(rig, one, 1, OFFER)
    say(rig, one, 2, {"kind": "audio_pause", "bed": "B2"})
    rig.until(lambda: len(answers(one)) == 2)
    (offer,) = rig.hub.judge.engine.unit(rig.hub.clock.now()).roster.offers
    accept = {"kind": "accept", "person": "deputy", "offer": offer.id, "told_to": "nurse-1"}
    say(rig, one, 3, accept)
    say(rig, two, 4, accept)
    say(rig, one, 5, LIMIT)
    say(rig, two, 6, LIMIT | {"value": 52.0, "person": "intensivist-1"})
    say(rig, two, 7, {"kind": "audio_pause", "bed": "B2", "seconds": 0, "person": "nurse-2"})
    rig.until(lambda: len(answers(one)) == 4 and len(answers(two)) == 3)
    said = {**answers(one), **answers(two)}
    accepts = [said["hostile-3"], said["hostile-4"]]
    assert sorted(answer.accepted for answer in accepts) == [False, True]
    assert {answer.reason for answer in accepts} == {"", "this offer is no longer open"}
    assert all(said[f"hostile-{number}"].accepted for number in (5, 6, 7))
    shown = [snapshot(rig, desk) for desk in (one, two)]
    assert shown[0].tiles == shown[1].tiles
    assert shown[0].unit == shown[1].unit
    written = [entry for entry in rig.record.entries("B1", 50) if entry.kind is EntryKind.LIMIT_SET]
    tile = next(tile for tile in shown[0].tiles if tile.bed == "B1")
    own = [limit.own for run in tile.runs for limit in run.settable if limit.own is not None]
    assert [(limit.value, limit.by) for limit in own] == [(written[0].limit, written[0].person)], "the later stands"
    assert [e.entry for e in one.sub.of(EntryDelta)][-6:] == [e.entry for e in two.sub.of(EntryDelta)][-6:]
