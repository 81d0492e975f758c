"""Scenario 14 through the real form, over real sockets, to a real hub: slips, the wrong bed, a late set."""

from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from PySide6.QtCore import Qt
from pytestqt.qtbot import QtBot

from monitor.core.entries import Entry, EntryKind
from monitor.core.grades import Priority, Rung
from monitor.core.wire import EntryDelta, ReadingsDelta
from monitor.settings import load_configuration
from shared.instant import MINUTE
from shared.messages import Observation
from shared.quantities import Quantity as Q
from tests.helpers.entry_bed import BASE
from tests.helpers.form import SIX, Form, unit_folder
from tests.helpers.hub import Rig


class Ward:
    """The hub, a desk that hears it, and the form, in one thread."""

    def __init__(self, rig: Rig, form: Form) -> None:
        self.rig, self.form, self.desk = rig, form, rig.desk()
        self.began = rig.hub.clock.now()

    def at(self, minutes: float) -> None:
        """Let the hub's time come to so many minutes after the beginning; what is due happens on the way."""
        while (left := self.began + minutes * MINUTE - self.rig.hub.clock.now()) > 1000:
            self.rig.turn(min(30.0, left / 1000))
        self.turn()

    def turn(self) -> None:
        self.form.window.look()
        self.rig.turn()

    def until(self, condition: Callable[[], bool]) -> None:
        self.rig.until(condition, self.form.window.look)

    def save(self) -> Observation:
        """Press F2 and wait until the hub has stored the set."""
        before = len(self.rig.observations())
        self.form.window.save()
        self.until(lambda: len(self.rig.observations()) > before)
        self.until(lambda: self.form.rounds.waiting() == 0)
        self.form.window.show_state()
        return self.rig.observations()[-1]

    def entries(self, bed: str) -> list[Entry]:
        return [delta.entry for delta in self.desk.sub.of(EntryDelta) if delta.entry.bed == bed]

    def raised(self, bed: str) -> list[Entry]:
        return [e for e in self.entries(bed) if e.kind in (EntryKind.RAISED, EntryKind.PROMOTED)]


@pytest.fixture
def ward(qtbot: QtBot, tmp_path: Path) -> Iterator[Ward]:
    folder = unit_folder(tmp_path / "config")
    with Rig(tmp_path, load_configuration(folder)) as rig:
        where = rig.endpoints.ingest, rig.endpoints.link
        with Form(qtbot, folder, rig.hub.clock.now, where) as form:
            made = Ward(rig, form)
            form.open("B5", "nurse-5")
            rig.until(lambda: form.rounds.hub_is_there, form.window.look)
            yield made


def test_that_scenario_14_goes_as_it_is_written(ward: Ward) -> None:
    form = ward.form
    # 0:00 good sets for beds 5 and 6
    form.type_all(BASE)
    five = ward.save()
    assert (five.bed, five.by, five.readings[Q.PUMP_FLOW]) == ("B5", "nurse-5", 4.2)
    assert five.readings[Q.PULSE_PRESSURE] == 25
    assert five.edition is not None
    assert form.sent[0].endswith("0 min · 17 numbers · stored by the hub")
    form.open("B6", "nurse-6")
    form.type_all(SIX)
    assert ward.save().readings[Q.PUMP_SPEED] == 2800
    # 60:00 bed 6's form gets bed 5's numbers
    ward.at(60)
    count = len(ward.rig.observations())
    for quantity, text in BASE.items():
        form.type(quantity, text)
        while form.asked:  # a change is asked about: she reads the sheet of bed 5 again and is sure
            form.type(quantity, text)
    assert form.said.startswith("This resembles bed B5, not B6:")
    form.window.save()
    assert form.said.startswith("This resembles bed B5, not B6:")
    ward.turn()
    assert len(ward.rig.observations()) == count
    assert form.window.focusWidget() is form.window.foot.answer
    form.window.rounds.throw_away()
    form.open("B6", "nurse-6")
    # 61:00 flow 42 refused, 0.42 questioned and typed again, then corrected
    ward.at(61)
    form.type(Q.PUMP_FLOW, "42")
    assert form.asked.startswith("Cannot be sent: Flow 42 L/min cannot be")
    assert form.focused() is Q.PUMP_FLOW
    form.type(Q.PUMP_FLOW, "0.42")
    assert form.asked.startswith("Read it again: Flow 0.42 L/min")
    assert form.focused() is Q.PUMP_FLOW
    form.press(Qt.Key.Key_Return)  # only a key is no answer
    assert form.focused() is Q.PUMP_FLOW
    form.type(Q.PUMP_FLOW, "3.1")
    assert form.asked == ""
    # 62:00 Hb 9.5 in g/L refused; FdO2 0.8 asked
    ward.at(62)
    form.type(Q.HAEMOGLOBIN, "9.5")
    assert form.asked.startswith("Cannot be sent: Hb 9.5 g/L has 1 digit after the point")
    form.type(Q.FDO2, "0.8")
    assert form.asked.startswith("Read it again: FdO₂ 0.8 % looks like a share of 1")
    form.type(Q.FDO2, "80")
    sent = ward.save()
    assert sent.readings == {Q.PUMP_FLOW: 3.1, Q.FDO2: 80.0}
    assert "NOT sent: Hb" in form.said
    # 70:00 drain pressure +40 asked for its sign
    ward.at(70)
    form.type(Q.INLET_PRESSURE, "+40")
    assert "above zero; this pressure is usually below zero. Is the sign right?" in form.asked
    form.type(Q.INLET_PRESSURE, "-36")
    assert form.asked == ""
    form.type(Q.HAEMOGLOBIN, "95")
    ward.save()
    # 85:00 a set read at 45:00: late, one notice, no ladder
    ward.at(85)
    late = _late_set(ward)
    assert abs(late.read_at - ward.began - 45 * MINUTE) <= MINUTE
    told = [delta for delta in ward.desk.sub.of(ReadingsDelta) if delta.bed == "B6"][-1]
    assert told.by_hand
    assert told.late  # a hollow dot on the trends; what was read since stands
    assert "· late ·" in form.sent[0]
    # bed 5's next reading is missing: low 75:00, medium 120:00
    ward.at(121)
    raised = [(e.rule, round((e.at - five.read_at) / 1000)) for e in ward.raised("B5")]
    assert [rule for rule, _ in raised] == ["reading_overdue", "reading_long_overdue"]
    assert [abs(at - due) <= 5 for (_, at), due in zip(raised, (75 * 60, 120 * 60), strict=True)] == [True, True]
    (notice,) = ward.raised("B6")  # one, of the past
    assert (notice.rule, notice.priority) == ("late_reading", Priority.MEDIUM)
    assert "Flow 2.4" in (notice.text or "")
    assert {entry.rung for entry in ward.entries("B6") if entry.kind is EntryKind.CALLED} <= {Rung.BEDSIDE}


def test_that_the_hub_hears_of_a_correction_and_of_what_was_taken_back(ward: Ward) -> None:
    form = ward.form
    form.type_all(BASE)
    first = ward.save()
    form.press(Qt.Key.Key_F7)
    for _ in range(3):  # the newest set: correct it, mistyped
        form.press(Qt.Key.Key_Return)
    form.type(Q.PUMP_FLOW, "4.4")
    second = ward.save()
    assert first.edition is not None
    assert second.edition is not None
    assert (second.edition.set, second.edition.version) == (first.edition.set, 2)
    form.type(Q.LACTATE, "1.4")
    ward.save()
    form.press(Qt.Key.Key_F3)
    ward.until(lambda: len(ward.rig.observations()) == 4)
    ward.until(lambda: form.rounds.waiting() == 0)
    kinds = [e.kind for e in ward.entries("B5") if e.kind in (EntryKind.SET_CORRECTED, EntryKind.SET_STRUCK)]
    assert kinds == [EntryKind.SET_CORRECTED, EntryKind.SET_STRUCK]
    assert form.rounds.judgement().values == {Q.LACTATE: 1.4}


def _late_set(ward: Ward) -> Observation:
    form = ward.form
    form.press(Qt.Key.Key_F4)
    read_at = ward.rig.hub.clock.now() - 40 * MINUTE
    form.window.head.time.setText(form_clock(read_at))
    form.press(Qt.Key.Key_Return)
    form.type(Q.PUMP_FLOW, "2.4")
    while form.asked:
        form.type(Q.PUMP_FLOW, "2.4")
    return ward.save()


def form_clock(at: int) -> str:
    minutes = at // MINUTE % (24 * 60)
    return f"{minutes // 60:02d}:{minutes % 60:02d}"
