"""What is written down at a bed: every path of the table by keyboard, each one command, with who and why."""

from collections.abc import Callable
from typing import Any

import pytest
from PySide6.QtCore import Qt
from PySide6.QtWidgets import QLabel, QPushButton
from pytestqt.qtbot import QtBot

from monitor.core.bed_commands import (
    ChangeCylinder,
    DepartureItem,
    DropCallMe,
    DropLimit,
    MoveRun,
    SetCallMe,
    SetLimit,
)
from monitor.core.commands import (
    CallHelp,
    CareMarker,
    Device,
    EndRun,
    EndTransport,
    EndTrial,
    Exchange,
    GiveReason,
    HelpKind,
    Order,
    Reason,
    ReturnCheck,
    SetTarget,
    StartRun,
    StartTransport,
    StartTrial,
)
from monitor.core.grades import Priority, TrialKind
from monitor.core.view import CallMeView, LimitView, OwnLimitView, TileView, TransportView
from monitor.core.wire import TileDelta
from monitor.desk.menu.table import PATHS, Item, paths_of
from monitor.desk.panel import NOT_SENT
from shared.instant import HOUR, MINUTE
from shared.quantities import Quantity as Q
from shared.support import DEFAULT_SENSORS, Side, Support
from tests.helpers.desk import Desk, click, press_key, type_keys
from tests.helpers.one_bed import Bed
from tests.helpers.views import NOW, alert, beat, episode, filled, hear, holder, latest, run, tile

LOW_FLOW = LimitView(rule="flow_low", priority=Priority.MEDIUM, quantity=Q.PUMP_FLOW, above=False, default=3.57)
INLET = LimitView(
    rule="inlet_low", priority=Priority.MEDIUM, quantity=Q.INLET_PRESSURE, above=False, default=-100.0
)
VERY_LOW = LimitView(
    rule="inlet_very_low", priority=Priority.HIGH, quantity=Q.INLET_PRESSURE, above=False, default=-150.0
)
OWN = OwnLimitView(value=-90.0, by="nurse-7", since=NOW - HOUR, until=NOW + 10 * MINUTE, reason="Ordered")
WISH = CallMeView(quantity=Q.PUMP_FLOW, below=3.5, calls="perfusionist", by="charge", until=NOW + HOUR)
AWAY = TransportView(leader="charge", began=NOW - 5 * MINUTE, back=NOW + 40 * MINUTE)
BACK = AWAY.model_copy(update={"ended_at": NOW - MINUTE})
LIMITS = (LOW_FLOW, INLET, VERY_LOW)


def settable(**more: Any) -> Any:
    return run().model_copy(update={"settable": LIMITS, **more})


def ready(qtbot: QtBot, who: str | None = "charge", **fields: Any) -> Desk:
    """B2 with the focus, and B3, which is empty."""
    desk = Desk(qtbot, filled([tile("B2", **fields), tile("B3", runs=())]), who=who)
    desk.window.board.set_focus_bed("B2")
    return desk


def press(desk: Desk, keys: str) -> None:
    """Press keys where they would go: the panel while it asks, else the window; ``⏎`` is Enter."""
    for key in keys:
        panel = desk.window.panel
        target = panel if panel.question is not None else desk.window
        if key == "⏎":
            press_key(target, Qt.Key.Key_Return)
        else:
            type_keys(target, key)


def only(desk: Desk) -> Any:
    (command,) = desk.commands()
    return command


def asked(desk: Desk) -> str:
    question = desk.window.panel.question
    return question.title if question is not None else ""


def the_bed() -> TileView:
    return tile("B2", runs=(settable(),))


TAKEN = episode("Flow 2.2, limit 2.5", Priority.HIGH, holder=holder("charge", reason=None))

#: Every path of the table: the bed as it stands, all keys to the command, and what the command must be.
WALKS: dict[Item, tuple[dict[str, Any], str, type, dict[str, Any]]] = {
    Item.ORDER: ({}, "mo13200⏎1", Order, {"quantity": Q.PUMP_SPEED, "value": 3200.0}),
    Item.TARGET: ({}, "mg14,4⏎", SetTarget, {"quantity": Q.PUMP_FLOW, "value": 4.4}),
    Item.LIMIT: (
        {"runs": (settable(),)},
        "ml2-90⏎21",
        SetLimit,
        {"rule": "inlet_low", "value": -90.0, "second": None, "reason": "Ordered"},
    ),
    Item.CALL_ME: ({}, "mi1b3.5⏎22", SetCallMe, {"quantity": Q.PUMP_FLOW, "below": 3.5, "above": None}),
    Item.CARE: ({}, "mc5", CareMarker, {"minutes": 5}),
    Item.HELP: ({}, "mha", CallHelp, {"what": HelpKind.AIR}),
    Item.REASON: ({"episodes": (TAKEN,)}, "mw2", GiveReason, {"reason": Reason.CIRCULATION_CHECKED}),
    Item.TRANSPORT: (
        {},
        "mt121140600⏎",
        StartTransport,
        {"leader": "charge", "destination": "CT", "cylinder_l": 600.0, "sweep": None},
    ),
    Item.BACK: ({"transport": AWAY}, "mb", EndTransport, {}),
    Item.CYLINDER: ({"transport": AWAY}, "mk1100⏎", ChangeCylinder, {"litres": 1100.0}),
    Item.CHECK: ({"transport": BACK}, "mr", ReturnCheck, {}),
    Item.EXCHANGE: ({}, "mx22", Exchange, {"device": Device.OXYGENATOR, "reason": "Clots seen"}),
    Item.TRIAL: ({}, "ma1y141,0⏎", StartTrial, {"trial": TrialKind.TURN_DOWN, "floor_flow": 1.0}),
    Item.TRIAL_ENDS: ({}, "me", EndTrial, {}),
    Item.RUN_STARTS: (
        {"runs": ()},
        "ms11y10n4.2⏎70⏎",
        StartRun,
        {"targets": {Q.PUMP_FLOW: 4.2, Q.MEAN_ARTERIAL_PRESSURE: 70.0}},
    ),
    Item.RUN_ENDS: ({}, "mn1y", EndRun, {"reason": "Weaned"}),
    Item.MOVE: ({}, "mv1y", MoveRun, {"to": "B3"}),
}


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


@pytest.mark.parametrize(
    ("typed", "why"),
    [
        ("35000", "Not possible: 0 to 12"),
        ("3.500", "whole rpm"),
        ("3,500", "whole rpm"),
        ("-3500", "never below zero"),
        ("1.2.3", "One decimal point"),
        ("3 500", "One decimal point"),
        ("03500", "No zero in front"),
        ("35e2", "Digits only"),
        ("", "Nothing is typed yet"),
    ],
)
def test_that_what_cannot_be_is_refused_beside_the_field_and_nothing_is_sent(
    qtbot: QtBot, typed: str, why: str
) -> None:
    desk = ready(qtbot)
    press(desk, f"mo1{typed}⏎")
    panel = desk.window.panel
    assert panel.field is not None
    assert why in panel.field.said.replace("\u2009", " ")
    assert panel.field.edit.text() == typed
    assert desk.commands() == []


def test_that_a_field_is_never_filled_and_shows_what_stands_beside_it(qtbot: QtBot) -> None:
    desk = ready(qtbot, runs=(settable(),))
    press(desk, "ml2")
    field = desk.window.panel.field
    assert field is not None
    assert field.edit.text() == ""
    press(desk, "-90")
    assert field.edit.text() == "-90"
    assert "+10 against default" in field.said
    press(desk, "-")
    assert field.edit.text() == "90"


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
    press(desk, f"{key[Q.HEART_RATE]}{key[Q.CENTRAL_VENOUS_PRESSURE]}06⏎nn")
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
    press(desk, "ms51n10nn")
    command = only(desk)
    assert command.run.slot == 2
    assert Q.MEAN_ARTERIAL_PRESSURE not in command.run.sensors


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


def test_that_a_half_typed_form_survives_new_data_and_the_other_theme(qtbot: QtBot) -> None:
    desk = ready(qtbot)
    press(desk, "mo132")
    hear(desk.store, TileDelta(seq=2, tile=tile("B2", judged=30)))
    desk.at(2.0)
    desk.window.set_theme("night")
    press(desk, "00⏎0")
    assert only(desk).value == 3200.0


def test_that_a_form_is_kept_while_nothing_can_be_sent_and_says_so(qtbot: QtBot) -> None:
    desk = ready(qtbot)
    press(desk, "mo13200")
    desk.at(60.0)
    assert not desk.store.link.commands_allowed
    press(desk, "⏎")
    panel = desk.window.panel
    assert panel.field is not None
    assert panel.field.edit.text() == "3200"
    assert NOT_SENT in [label.text() for label in labels(desk)]
    assert desk.commands() == []


def test_that_nothing_is_written_at_a_bed_that_has_another_run_since(qtbot: QtBot) -> None:
    desk = ready(qtbot)
    press(desk, "mo13200⏎")
    hear(desk.store, TileDelta(seq=2, tile=tile("B2", runs=(run(Support.VV),))))
    press(desk, "1")
    assert desk.commands() == []
    desk.window.tick()
    assert "other runs than when you began" in desk.window.footer.face.told


def test_that_keys_go_to_the_form_although_the_window_was_clicked(qtbot: QtBot) -> None:
    desk = ready(qtbot)
    press(desk, "mo1")
    desk.window.setFocus()
    type_keys(desk.window, "3200")
    press_key(desk.window, Qt.Key.Key_Enter)
    press(desk, "1")
    assert only(desk).value == 3200.0


def test_that_the_mouse_alone_writes_an_order_down(qtbot: QtBot) -> None:
    desk = ready(qtbot)
    desk.window.answering.write_down("B2", Item.ORDER)
    for words in ("1   Speed", "3", "2", "0", "0", "Enter   Go on", "1   Perfusionist 1"):
        click(button(desk, lambda text, words=words: text == words))  # type: ignore[misc]
    assert only(desk).value == 3200.0


def test_that_a_few_words_are_at_most_120_characters_and_ask_for_no_names(qtbot: QtBot) -> None:
    desk = ready(qtbot)
    press(desk, "mn")
    press(desk, "o")
    field = desk.window.panel.field
    assert field is not None
    assert "No names of patients" in field.said
    type_keys(desk.window.panel, "x" * 130)
    assert len(field.edit.text()) == 120
    press(desk, "⏎y")
    assert only(desk).reason == "x" * 120


def test_that_the_field_itself_gives_escape_enter_and_letters_to_the_panel(qtbot: QtBot) -> None:
    desk = ready(qtbot)
    press(desk, "mt12110")
    field = desk.window.panel.field
    assert field is not None
    type_keys(field.edit, "600")
    assert field.edit.text() == "600"
    type_keys(field.edit, "n")
    assert only(desk).cylinder_l is None
    press(desk, "mo1")
    field = desk.window.panel.field
    assert field is not None
    type_keys(field.edit, "3200")
    press_key(field.edit, Qt.Key.Key_Enter)
    assert asked(desk) == "B2: ordered by"
    press(desk, "o")
    field = desk.window.panel.field
    assert field is not None
    press_key(field.edit, Qt.Key.Key_Escape)
    assert desk.window.panel.question is None


@pytest.mark.parametrize("theme", ["day", "night"])
@pytest.mark.parametrize("size", [(1920, 1080), (1366, 768)])
def test_that_every_step_of_every_path_fits_on_the_screen(qtbot: QtBot, size: tuple[int, int], theme: str) -> None:
    for item, (fields, keys, _, _) in WALKS.items():
        view = tile("B2", **({"runs": (settable(),)} | fields))
        desk = Desk(qtbot, filled([view, tile("B3", runs=())]), theme, size)
        desk.window.board.set_focus_bed("B2")
        for key in keys:
            press(desk, key)
            panel = desk.window.panel
            if panel.question is None:
                continue
            assert desk.window.rect().contains(panel.geometry()), (item, asked(desk))
            assert panel.sizeHint().height() <= panel.height(), (item, asked(desk))
            for one in panel.findChildren(QPushButton):
                lines = one.text().replace("&&", "&").split("\n")
                wide = max(one.fontMetrics().horizontalAdvance(line) for line in lines)
                assert one.isHidden() or wide <= one.width(), (item, one.text())
        desk.window.close()


@pytest.mark.parametrize("size", [(1920, 1080), (1366, 768)])
def test_that_all_limits_of_the_shipped_rules_fit_on_the_screen(qtbot: QtBot, size: tuple[int, int]) -> None:
    shipped = Bed().tile.runs[0].settable
    assert len(shipped) >= 12
    desk = Desk(qtbot, filled([tile("B2", runs=(settable(settable=shipped),))]), size=size)
    desk.window.board.set_focus_bed("B2")
    press(desk, "ml")
    panel = desk.window.panel
    assert desk.window.rect().contains(panel.geometry())
    assert panel.sizeHint().height() <= panel.height()
    shown = [one for one in panel.findChildren(QPushButton) if not one.isHidden()]
    assert len(shown) == len(shipped) + 1
    assert all(panel.rect().contains(one.geometry()) for one in shown)
    for one in shown:
        assert max(one.fontMetrics().horizontalAdvance(line) for line in one.text().split("\n")) <= one.width()


def test_that_nobody_writes_down_anything_unsigned(qtbot: QtBot) -> None:
    desk = ready(qtbot, who=None)
    press(desk, "m")
    assert asked(desk) == "Who are you?"
    press(desk, "1")
    assert asked(desk) == "At B2: write down"
    assert desk.commands() == []


def labels(desk: Desk) -> list[QLabel]:
    return list(desk.window.panel.findChildren(QLabel))


def button(desk: Desk, wanted: Callable[[str], bool]) -> QPushButton:
    found = [
        one
        for one in desk.window.panel.findChildren(QPushButton)
        if not one.isHidden() and wanted(one.text().replace("\n", " "))
    ]
    return found[0]
