"""Roster commands and the roster's view survive the wire as they are."""

from typing import Any

import pytest

from monitor.core.commands import COMMANDS
from monitor.core.view import UnitView
from monitor.core.wire import REQUESTS, GiveCommand
from shared.instant import HOUR, MINUTE
from tests.helpers.ward import BEGIN, Ward, shift

POSTS = [{"rung": 2}, {"rung": 1, "bed": "B1"}]
SAID: list[dict[str, Any]] = [
    {"kind": "plan", "rung": 1, "bed": "B1", "stands": "nurse-1", "begins": 0, "ends": 1},
    {"kind": "plan_end", "plan": 1},
    {"kind": "offer", "giver": "charge-1", "to": "charge-2", "posts": POSTS},
    {"kind": "accept", "offer": 1, "takes": [1, 2], "told_to": "charge-1"},
    {"kind": "offer_decline", "offer": 1},
    {"kind": "offer_end", "offer": 1},
    {"kind": "break", "who": "nurse-1", "cover": "nurse-2", "minutes": 20, "posts": POSTS, "takes": [3]},
    {"kind": "break_end", "who": "nurse-1"},
    {
        "kind": "unreachable",
        "who": "perf-1",
        "until": 10,
        "instead": "perf-2",
        "told_to": "charge-1",
        "why": "theatre",
    },
    {"kind": "reachable", "who": "perf-1"},
]


@pytest.mark.parametrize("said", SAID, ids=lambda said: said["kind"])
def test_that_a_command_comes_off_the_wire_as_it_was_given(said: dict[str, Any]) -> None:
    command = COMMANDS.validate_python({"id": "given-1", "person": "charge-1", **said}, strict=False)
    read = REQUESTS.validate_json(GiveCommand(command=command).model_dump_json())
    assert isinstance(read, GiveCommand)
    assert read.command == command


def test_that_a_post_of_the_unit_has_no_bed() -> None:
    said = {
        "kind": "offer",
        "id": "given-1",
        "person": "charge-1",
        "to": "charge-2",
        "posts": [{"rung": 2, "bed": "B1"}],
    }
    with pytest.raises(ValueError, match="only the first rung has a post for each bed"):
        COMMANDS.validate_python(said, strict=False)


def test_that_the_view_of_a_roster_in_full_use_comes_off_the_wire_as_it_was() -> None:
    ward = Ward([shift("Day", "07:00", "19:00", charge="charge-1")], BEGIN + 8 * HOUR, surgeon=None)
    ward.does("offer", giver="charge-1", to="charge-2", posts=({"rung": 2},))
    ward.does("unreachable", who="perf-1", until=ward.now + HOUR, instead="perf-2", told_to="charge-1")
    ward.does("break", who="nurse-1", cover="nurse-3", minutes=20, told_to="charge-1")
    ward.does("plan", rung=4, begins=ward.now + HOUR, ends=ward.now + 2 * HOUR)
    ward.after(11)
    view = ward.engine.unit(ward.now)
    assert all(
        getattr(view.roster, part) for part in ("posts", "offers", "breaks", "away", "plans", "forecast", "loads")
    )
    assert UnitView.model_validate_json(view.model_dump_json()) == view
    assert view.roster.offers[0].at == ward.now - 11 * MINUTE
