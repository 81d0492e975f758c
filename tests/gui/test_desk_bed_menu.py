"""What is written down at a bed by key: transports, exchanges, trials; each is one command and nothing else."""

from typing import Any

import pytest
from pytestqt.qtbot import QtBot

from monitor.core.commands import Device, EndTransport, EndTrial, Exchange, ReturnCheck, StartTransport, StartTrial
from monitor.core.grades import TrialKind
from monitor.core.view import TransportView
from shared.instant import MINUTE
from shared.support import Support
from tests.helpers.desk import Desk, type_keys
from tests.helpers.views import NOW, filled, run, tile


def ready(qtbot: QtBot, who: str | None = "charge", **fields: Any) -> Desk:
    desk = Desk(qtbot, filled([tile("B2", **fields)]), who=who)
    desk.window.board.set_focus_bed("B2")
    return desk


def press(desk: Desk, keys: str) -> None:
    for key in keys:
        panel = desk.window.panel
        type_keys(panel if panel.question is not None else desk.window, key)


def only(desk: Desk) -> Any:
    (command,) = desk.commands()
    return command


AWAY = TransportView(leader="charge", began=NOW - 5 * MINUTE, back=NOW + 40 * MINUTE)


def test_that_a_transport_asks_who_leads_and_when_it_is_back(qtbot: QtBot) -> None:
    desk = ready(qtbot)
    press(desk, "mt12")
    command = only(desk)
    assert isinstance(command, StartTransport)
    assert command.leader == desk.window.people.choices()[0].value
    assert command.back - NOW == pytest.approx(30 * MINUTE, abs=2_000)


def test_that_a_bed_in_transport_can_only_come_back(qtbot: QtBot) -> None:
    desk = ready(qtbot, transport=AWAY)
    press(desk, "mt")
    assert desk.commands() == []
    press(desk, "b")
    assert isinstance(only(desk), EndTransport)


def test_that_the_return_check_is_offered_once_the_bed_is_back(qtbot: QtBot) -> None:
    desk = ready(qtbot, transport=AWAY.model_copy(update={"ended_at": NOW - MINUTE}))
    press(desk, "mr")
    assert isinstance(only(desk), ReturnCheck)
    assert ready(qtbot).commands() == []


def test_that_an_exchange_names_its_device(qtbot: QtBot) -> None:
    desk = ready(qtbot)
    press(desk, "mx2")
    command = only(desk)
    assert isinstance(command, Exchange)
    assert command.device is Device.OXYGENATOR


def test_that_a_bed_with_two_pumps_asks_which(qtbot: QtBot) -> None:
    desk = ready(qtbot, runs=(run(Support.LA_AO), run(Support.RA_PA, slot=2)))
    press(desk, "mx21")
    command = only(desk)
    assert isinstance(command, Exchange)
    assert command.slot == 2


def test_that_a_turn_down_asks_for_the_second_person_the_end_and_the_floor(qtbot: QtBot) -> None:
    desk = ready(qtbot)
    press(desk, "mw1142")
    command = only(desk)
    assert isinstance(command, StartTrial)
    assert command.trial is TrialKind.TURN_DOWN
    assert command.second != command.person
    assert command.until - NOW == pytest.approx(60 * MINUTE, abs=2_000)
    assert command.floor_flow == 1.0


def test_that_a_trial_is_ended_in_two_keys(qtbot: QtBot) -> None:
    desk = ready(qtbot)
    press(desk, "me")
    assert isinstance(only(desk), EndTrial)


def test_that_nobody_writes_down_anything_unsigned(qtbot: QtBot) -> None:
    desk = ready(qtbot, who=None)
    press(desk, "m")
    assert desk.window.panel.question is not None
    assert desk.window.panel.question.title == "Who are you?"
    assert desk.commands() == []
