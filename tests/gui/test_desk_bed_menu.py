"""What is written down at a bed: every path of the table by keyboard, each one command, with who and why."""

from datetime import UTC

import pytest
from PySide6.QtCore import Qt
from pytestqt.qtbot import QtBot

from monitor.core.bed_commands import (
    AnswerProposal,
    DepartureItem,
    DropCallMe,
    DropLimit,
    ProposeLimit,
    SetLimit,
)
from monitor.core.commands import (
    Device,
    EndRun,
    Exchange,
    GiveReason,
    StartRun,
    StartTransport,
)
from monitor.core.grades import Priority
from monitor.core.view import ProposalView
from monitor.desk.menu.table import PATHS, Item, paths_of
from monitor.desk.standing import standing_lines
from monitor.desk.tile.moment import Moment
from shared.instant import HOUR, MINUTE
from shared.quantities import Quantity as Q
from shared.support import DEFAULT_SENSORS, Side, Support
from tests.helpers.desk import Desk, press_key
from tests.helpers.menu import INLET, OWN, TAKEN, VERY_LOW, WALKS, WISH, asked, only, press, ready, settable
from tests.helpers.views import NOW, alert, beat, episode, filled, holder, latest, run, tile


def test_that_every_path_of_the_table_is_walked_here() -> None:
    assert set(WALKS) == {path.item for path in PATHS} == set(Item)
    keys = [path.key for path in PATHS]
    assert len(keys) == len(set(keys))


@pytest.mark.parametrize("item", list(Item))
def test_that_every_path_gives_its_command_by_keyboard_with_who(qtbot: QtBot, item: Item) -> None:
    fields, keys, kind, wanted = WALKS[item]
    desk = ready(qtbot, **fields)
    press(desk, keys)
    command = only(desk)
    assert isinstance(command, kind)
    assert (command.person, command.bed) == ("charge", "B2")  # type: ignore[attr-defined]
    assert {name: getattr(command, name) for name in wanted} == wanted
    assert desk.window.panel.question is None


@pytest.mark.parametrize("item", list(Item))
def test_that_every_form_is_reached_in_at_most_three_keys_also_with_two_pumps(qtbot: QtBot, item: Item) -> None:
    fields, keys, _, _ = WALKS[item]
    if "runs" not in fields:
        fields = fields | {"runs": (run(Support.LA_AO), run(Support.RA_PA_OXY, slot=2))}
    desk = ready(qtbot, **fields)
    press(desk, keys[:2])
    if "which pump" in asked(desk):
        press(desk, "2")
    assert "write down" not in asked(desk)
    assert "which pump" not in asked(desk)
    assert desk.commands() or asked(desk)


def test_that_escape_leaves_every_step_of_every_path_unwritten(qtbot: QtBot) -> None:
    desk = ready(qtbot, runs=(settable(),))
    for keys in ("mo", "mo1", "mo13200", "ml2-9", "mt1", "mt12", "mt121", "mt1214", "ma1", "mn1", "mv1", "mi1b3"):
        press(desk, keys)
        assert desk.window.panel.question is not None, keys
        press_key(desk.window.panel, Qt.Key.Key_Escape)
        assert desk.window.panel.question is None
    assert desk.commands() == []


def test_that_the_order_names_who_prescribed(qtbot: QtBot) -> None:
    desk = ready(qtbot)
    press(desk, "mo13200⏎")
    question = desk.window.panel.question
    assert question is not None
    assert {choice.label for choice in question.choices} >= {"Intensivist 1", "Surgeon 3", "Perfusionist 1"}
    press(desk, "oDr on call⏎")
    assert only(desk).prescriber == "Dr on call"


def test_that_a_limit_of_a_high_rule_asks_for_another_person(qtbot: QtBot) -> None:
    desk = ready(qtbot, runs=(settable(),))
    press(desk, "ml3-140⏎12")
    question = desk.window.panel.question
    assert question is not None
    assert "second person" in question.title
    assert "charge" not in {choice.value for choice in question.choices}
    press(desk, "1")
    command = only(desk)
    assert isinstance(command, SetLimit)
    assert command.second not in (None, "charge")
    assert command.until - NOW == pytest.approx(HOUR, abs=2_000)


def test_that_a_nurse_proposes_a_limit_and_another_one_accepts_or_refuses_it(qtbot: QtBot) -> None:
    desk = ready(qtbot, who="nurse-7", runs=(settable(),))
    press(desk, "ml2-120⏎12")
    made = only(desk)
    assert isinstance(made, ProposeLimit)
    assert (made.person, made.rule, made.value, made.reason) == (
        "nurse-7",
        "inlet_low",
        -120.0,
        "Usual for this patient",
    )
    proposed = ProposalView(value=-160.0, by="nurse-7", at=NOW, until=NOW + HOUR, reason="Ordered", ends=NOW + HOUR)
    very_low = VERY_LOW.model_copy(update={"proposed": proposed, "own": OWN})
    for who, keys, accept in (("charge", "ml111", True), ("charge", "ml12", False), ("nurse-7", "ml11", False)):
        desk = ready(qtbot, who=who, runs=(settable(settable=(very_low,)),))
        press(desk, "ml")
        question = desk.window.panel.question
        assert question is not None
        assert "proposed −160 mmHg · Nurse 7" in question.choices[0].label
        press(desk, keys[2:])
        answer = only(desk)
        assert isinstance(answer, AnswerProposal)
        assert (answer.accept, answer.value, answer.until, answer.person) == (accept, -160.0, NOW + HOUR, who)
        assert (answer.second is not None) == accept, "a high rule asks for its second person"
    assert "Proposed, not in force: Drain P below −160 mmHg until 15:32 · Nurse 7 · Ordered · answer: M L" in [
        line.text for line in standing_lines(desk.store.tiles["B2"], desk.store, Moment(NOW, zone=UTC), "")
    ]


def test_that_an_own_limit_and_a_call_me_can_be_taken_back(qtbot: QtBot) -> None:
    own = INLET.model_copy(update={"own": OWN})
    desk = ready(qtbot, runs=(settable(settable=(own,), call_me=(WISH,)),))
    press(desk, "ml12")
    assert isinstance(desk.commands()[-1], DropLimit)
    press(desk, "mi")
    question = desk.window.panel.question
    assert question is not None
    key = next(one.key for one in question.pages()[0] if one.label.startswith("Take back"))
    press(desk, key)
    assert isinstance(desk.commands()[-1], DropCallMe)


def test_that_the_departure_list_keeps_the_time_of_each_tick(qtbot: QtBot) -> None:
    desk = ready(qtbot)
    press(desk, "mt1211")
    desk.seconds += 60
    beat(desk.store, desk.seconds, NOW + 60_000)
    press(desk, "440n")  # the fourth ticked, then the tick taken back; the cylinder is not known
    command = only(desk)
    assert set(command.departure) == {DepartureItem.CLAMPS}
    assert command.departure[DepartureItem.CLAMPS] - NOW == pytest.approx(0, abs=2_000)
    assert command.cylinder_l is None
    assert command.back - NOW == pytest.approx(31 * MINUTE, abs=3_000)


def test_that_the_sweep_is_asked_for_where_the_bed_reads_none(qtbot: QtBot) -> None:
    readings = latest("B2")
    bare = readings.model_copy(
        update={"values": {q: v for q, v in readings.values.items() if q is not Q.SWEEP_GAS_FLOW}}
    )
    desk = Desk(qtbot, filled([tile("B2")], [bare]))
    desk.window.board.set_focus_bed("B2")
    press(desk, "mt1210600⏎")
    assert "sweep" in asked(desk)
    press(desk, "3.5⏎")
    assert only(desk).sweep == 3.5


def test_that_minutes_can_stand_for_the_litres_of_a_cylinder(qtbot: QtBot) -> None:
    desk = ready(qtbot)
    press(desk, "mt1210m45⏎")
    command = only(desk)
    assert (command.cylinder_l, command.cylinder_min) == (None, 45.0)


def test_that_a_bed_without_an_oxygenator_is_asked_nothing_about_gas(qtbot: QtBot) -> None:
    desk = ready(qtbot, runs=(run(Support.LA_AO),))
    press(desk, "mt12110")
    assert isinstance(only(desk), StartTransport)
    press(desk, "mo")
    question = desk.window.panel.question
    assert question is not None
    assert {"sweep_gas_flow", "fdo2"}.isdisjoint(choice.value for choice in question.choices)


def test_that_a_trial_shows_the_last_anticoagulation_value_with_its_age(qtbot: QtBot) -> None:
    values = latest("B2")
    known = values.model_copy(update={"values": {**values.values, Q.ACT: (NOW - 130 * MINUTE, 182.0)}})
    desk = Desk(qtbot, filled([tile("B2")], [known]))
    desk.window.board.set_focus_bed("B2")
    press(desk, "ma1")
    assert "ACT 182 s, 2 h 10 min old" in asked(desk)
    other = ready(qtbot)
    press(other, "ma1")
    assert "not known here" in asked(other)


def test_that_a_turn_down_has_two_people_a_hard_end_and_its_floor(qtbot: QtBot) -> None:
    desk = ready(qtbot)
    press(desk, WALKS[Item.TRIAL][1])
    command = only(desk)
    assert command.second not in (None, command.person)
    assert command.until - NOW == pytest.approx(60 * MINUTE, abs=2_000)


def test_that_a_bed_with_two_pumps_asks_which_once(qtbot: QtBot) -> None:
    desk = ready(qtbot, runs=(run(Support.LA_AO), run(Support.RA_PA_OXY, slot=2)))
    press(desk, "mx221")
    command = only(desk)
    assert isinstance(command, Exchange)
    assert (command.slot, command.device) == (2, Device.OXYGENATOR)


def test_that_an_empty_bed_offers_only_that_a_run_starts(qtbot: QtBot) -> None:
    desk = ready(qtbot, runs=())
    press(desk, "m")
    question = desk.window.panel.question
    assert question is not None
    assert [choice.value for choice in question.choices] == [Item.RUN_STARTS]


def test_that_a_run_starts_blank_with_what_is_fitted(qtbot: QtBot) -> None:
    desk = ready(qtbot, runs=())
    press(desk, "ms42n1")  # LV-Ao, small, no oxygenator, the usual side
    question = desk.window.panel.question
    assert question is not None
    assert question.ticks is not None
    key = {choice.value: choice.key for choice in question.pages()[0]}
    press(desk, f"{key[Q.HEART_RATE]}{key[Q.CENTRAL_VENOUS_PRESSURE]}06⏎nnn")
    command = only(desk)
    assert isinstance(command, StartRun)
    description = command.run
    assert (description.support, description.profile, description.side) == (Support.LV_AO, "small", Side.LEFT)
    usual = DEFAULT_SENSORS[Support.LV_AO]
    assert description.sensors == usual - {Q.CENTRAL_VENOUS_PRESSURE} | {Q.HEART_RATE}
    assert not description.oxygenator
    assert command.targets == {}
    assert description.started_at == pytest.approx(NOW - 6 * HOUR, abs=2_000)


def test_that_a_second_pump_starts_in_the_free_place_without_the_patients_own_readings(qtbot: QtBot) -> None:
    desk = ready(qtbot, runs=(run(Support.LA_AO),))
    press(desk, "ms51n10nnn")
    command = only(desk)
    assert command.run.slot == 2
    assert Q.MEAN_ARTERIAL_PRESSURE not in command.run.sensors


def test_that_targets_to_choose_from_stand_with_their_unit(qtbot: QtBot) -> None:
    desk = ready(qtbot, runs=(settable(targets={Q.PUMP_FLOW: 4.2}),))
    press(desk, "mg")
    question = desk.window.panel.question
    assert question is not None
    assert "Flow\ntarget 4.2 L/min" in [choice.label for choice in question.choices]


def test_that_a_run_starts_with_the_patients_size_where_it_is_known(qtbot: QtBot) -> None:
    desk = ready(qtbot, runs=())
    press(desk, "ms11y10n82,5⏎178⏎nn")
    description = only(desk).run
    assert (description.weight, description.height) == (82.5, 178)


def test_that_a_weight_without_a_height_is_kept_as_it_is(qtbot: QtBot) -> None:
    desk = ready(qtbot, runs=())
    press(desk, "ms11y10n82⏎nnn")
    description = only(desk).run
    assert (description.weight, description.height) == (82, None)


def test_that_swapped_weight_and_height_are_asked_for_again_with_the_reason(qtbot: QtBot) -> None:
    desk = ready(qtbot, runs=())
    press(desk, "ms11y10n178⏎82⏎")
    question = desk.window.panel.question
    assert question is not None
    assert question.title.endswith("weight of the patient")
    assert "are they swapped" in question.note
    press(desk, "82⏎178⏎nn")
    assert (only(desk).run.weight, only(desk).run.height) == (82, 178)


def test_that_a_second_pump_takes_over_the_patients_size(qtbot: QtBot) -> None:
    first = run(Support.LA_AO)
    sized = first.description.model_copy(update={"weight": 70.0, "height": 170.0})
    desk = ready(qtbot, runs=(first.model_copy(update={"description": sized}),))
    press(desk, "ms51n10nn")
    assert (only(desk).run.weight, only(desk).run.height) == (70, 170)


def test_that_the_end_of_a_run_names_what_is_still_listed(qtbot: QtBot) -> None:
    ended = alert("Pump stopped", Priority.HIGH, present=False, ended_at=NOW)
    desk = ready(qtbot, episodes=(episode("Pump stopped", Priority.HIGH, alerts=(ended,), over=True),))
    press(desk, "mn1")
    question = desk.window.panel.question
    assert question is not None
    assert "Pump stopped, ended, not seen" in question.note
    assert desk.commands() == []
    press(desk, "y")
    assert isinstance(only(desk), EndRun)


def test_that_a_move_says_what_goes_along(qtbot: QtBot) -> None:
    own = INLET.model_copy(update={"own": OWN})
    desk = ready(qtbot, runs=(settable(settable=(own,)),), episodes=(episode(),))
    press(desk, "mv")
    question = desk.window.panel.question
    assert question is not None
    assert "1 alert, 1 own limit, no call-me-ifs" in question.note


def test_that_a_reason_is_asked_for_after_the_take_of_a_high_and_only_then(qtbot: QtBot) -> None:
    desk = ready(qtbot, episodes=(TAKEN,))
    press(desk, "w1")
    assert isinstance(only(desk), GiveReason)
    quiet = ready(qtbot, episodes=(episode("Flow", Priority.HIGH, holder=holder("charge")),))
    press(quiet, "w")
    assert quiet.window.panel.question is None
    assert not [path for path in paths_of(quiet.store.tiles["B2"]) if path.item is Item.REASON]


@pytest.mark.parametrize(("priority", "later"), [(Priority.HIGH, True), (Priority.MEDIUM, False)])
def test_that_only_a_high_can_be_taken_without_a_reason_yet(qtbot: QtBot, priority: Priority, later: bool) -> None:
    desk = ready(qtbot, episodes=(episode("Flow", priority),))
    press(desk, "tb0")
    assert bool(desk.commands()) is later


def test_that_nobody_writes_down_anything_unsigned(qtbot: QtBot) -> None:
    desk = ready(qtbot, who=None)
    press(desk, "m")
    assert asked(desk) == "Who are you?"
    press(desk, "1")
    assert asked(desk) == "At B2: write down"
    assert desk.commands() == []
