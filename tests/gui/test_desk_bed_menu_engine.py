"""The whole way: keys at a real window, the command that they give, and the engine that takes it and shows it."""

import pytest
from PySide6.QtCore import Qt
from pytestqt.qtbot import QtBot

from monitor.core.grades import TrialKind
from monitor.core.view import TileView
from monitor.core.wire import LatestReadings, Snapshot
from monitor.desk.hearing import Heard
from monitor.desk.menu.table import Item
from monitor.desk.store import Changes, Store
from shared.instant import SECOND
from shared.quantities import Quantity as Q
from tests.helpers.desk import Desk, press_key, type_keys
from tests.helpers.one_bed import USUAL, Bed

SWEEP = {Q.SWEEP_GAS_FLOW: 3.0}


class Ward:
    """A bed of the engine that was read for a minute, another that is empty, and a desk over both."""

    def __init__(self, qtbot: QtBot) -> None:
        self.bed = Bed(("B1", "B2"))
        self.bed.run(60, SWEEP)
        self.desk = Desk(qtbot, self._store(), who="charge")
        self.desk.window.board.set_focus_bed("B1")

    def press(self, keys: str) -> list[str]:
        """Press keys; hand what the desk gave to the engine, and give what it refused."""
        before = len(self.desk.commands())
        for key in keys:
            panel = self.desk.window.panel
            target = panel if panel.question is not None else self.desk.window
            if key == "⏎":
                press_key(target, Qt.Key.Key_Return)
            else:
                type_keys(target, key)
        given = self.desk.commands()[before:]
        assert given, f"nothing was given by {keys}"
        self.bed.now += SECOND
        refused = [reason for reason in map(self.bed.command, given) if reason]
        self._tell()
        return refused

    @property
    def tile(self) -> TileView:
        """The bed as the engine has it now."""
        return self.bed.tile

    def _store(self) -> Store:
        store = Store(0.0)
        store.apply(Heard(0.0, self._snapshot()), Changes())
        return store

    def _tell(self) -> None:
        changes = Changes()
        self.desk.store.apply(Heard(self.desk.seconds, self._snapshot()), changes)
        self.desk.window.take(changes)

    def _snapshot(self) -> Snapshot:
        engine, now = self.bed.engine, self.bed.now
        values = {quantity: (now, value) for quantity, value in (USUAL | SWEEP).items()}
        return Snapshot(
            request="r",
            seq=1,
            boot="boot-1",
            hub_time=now,
            unit=engine.unit(now),
            tiles=(engine.tile("B1", now), engine.tile("B2", now)),
            readings=(LatestReadings(bed="B1", slot=1, values=values, estimated=frozenset()),),
        )


def first(ward: Ward, rule: str) -> str:
    """The key of a rule in the list of limits."""
    ward.desk.window.answering.write_down("B1", Item.LIMIT)
    question = ward.desk.window.panel.question
    assert question is not None
    key = next(one.key for page in question.pages() for one in page if one.value == rule)
    press_key(ward.desk.window.panel, Qt.Key.Key_Escape)
    return key


def test_that_an_order_and_a_target_reach_the_engine(qtbot: QtBot) -> None:
    ward = Ward(qtbot)
    assert ward.press("mo13300⏎1") == []
    assert ward.tile.orders == (ward.bed.now,)
    assert ward.press("mg14.4⏎") == []
    assert ward.tile.runs[0].targets[Q.PUMP_FLOW] == 4.4


def test_that_an_own_limit_is_set_with_its_people_and_taken_back(qtbot: QtBot) -> None:
    ward = Ward(qtbot)
    key = first(ward, "inlet_very_low")
    assert ward.press(f"ml{key}-140⏎111") == []
    own = next(one.own for one in ward.tile.runs[0].settable if one.rule == "inlet_very_low")
    assert own is not None
    assert (own.value, own.by, own.reason) == (-140.0, "charge", "Ordered")
    assert own.second not in (None, "charge")
    assert ward.press(f"ml{key}2") == []
    assert all(one.own is None for one in ward.tile.runs[0].settable)


def test_that_a_call_me_if_is_asked_for_and_taken_back(qtbot: QtBot) -> None:
    ward = Ward(qtbot)
    assert ward.press("mi1b3,5⏎21") == []
    (wish,) = ward.tile.runs[0].call_me
    assert (wish.quantity, wish.below, wish.by) == (Q.PUMP_FLOW, 3.5, "charge")
    ward.desk.window.answering.write_down("B1", Item.CALL_ME)
    question = ward.desk.window.panel.question
    assert question is not None
    key = next(one.key for one in question.pages()[0] if one.label.startswith("Take back"))
    assert ward.press(key) == []
    assert ward.tile.runs[0].call_me == ()


def test_that_a_transport_goes_through_with_its_gas(qtbot: QtBot) -> None:
    ward = Ward(qtbot)
    assert ward.press("mt121140600⏎") == []
    transport = ward.tile.transport
    assert transport is not None
    assert transport.gas_empty_at is not None
    # 600 L at 3 L/min: 200 min
    assert transport.gas_empty_at - ward.bed.now == pytest.approx(200 * 60 * SECOND, abs=2 * SECOND)
    assert {item.value for item in transport.missing} == {"hand_drive", "cylinder"}
    assert ward.press("mk1200⏎") == []
    assert ward.press("mb") == []
    assert ward.press("mr") == []
    assert ward.tile.transport is None


def test_that_exchange_trial_and_care_reach_the_engine(qtbot: QtBot) -> None:
    ward = Ward(qtbot)
    assert ward.press("mx22") == []
    assert ward.press("ma1y141.0⏎") == []
    trial = ward.tile.runs[0].trial
    assert trial is not None
    assert trial.kind is TrialKind.TURN_DOWN
    assert ward.press("me") == []
    assert ward.press("mc5") == []
    assert ward.tile.care_until is not None


def test_that_help_and_the_reason_of_its_take_reach_the_engine(qtbot: QtBot) -> None:
    ward = Ward(qtbot)
    assert ward.press("mha") == []
    assert ward.press("tb0") == []
    holder = ward.tile.episodes[0].holder
    assert holder is not None
    assert holder.reason is None
    assert ward.press("w2") == []
    holder = ward.tile.episodes[0].holder
    assert holder is not None
    assert holder.reason == "circulation_checked"


def test_that_a_run_ends_moves_and_starts_blank(qtbot: QtBot) -> None:
    ward = Ward(qtbot)
    ward.desk.window.board.set_focus_bed("B2")
    assert ward.press("mn1y") == []
    ward.desk.window.board.set_focus_bed("B1")
    assert ward.press("mv1y") == []
    assert not any(ward.tile.runs)
    assert ward.press("ms11y10nn4.2⏎70⏎") == []
    (run,) = ward.tile.runs
    assert run.targets == {Q.PUMP_FLOW: 4.2, Q.MEAN_ARTERIAL_PRESSURE: 70.0}
    assert run.call_me == ()
    assert all(one.own is None for one in run.settable)


def test_that_a_run_without_a_target_stands_as_limits_not_set_until_it_has_one(qtbot: QtBot) -> None:
    ward = Ward(qtbot)
    assert ward.press("mn1y") == []
    assert ward.press("ms11y10nnnn") == []
    (unset,) = ward.tile.episodes
    assert unset.title.startswith("Limits not set")
    assert unset.ladder is None
    assert ward.press("mg14.2⏎") == []
    assert all(episode.over for episode in ward.tile.episodes)
