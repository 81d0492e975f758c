"""The form by keyboard: keys, what is asked, times, drafts, what is said when hub or disk are away."""

from collections.abc import Iterator
from pathlib import Path

import pytest
from PySide6.QtCore import Qt
from PySide6.QtTest import QTest
from pytestqt.qtbot import QtBot

from feeds.entered.dress import LABEL_MM, USUAL_PITCH
from feeds.entered.fields_area import FieldsArea
from shared.entry.versions import SetState
from shared.instant import HOUR, MINUTE, SECOND
from shared.look.sizes import CAP_SHARE
from shared.quantities import Quantity as Q
from tests.feeds.fake_hub import FakeHub
from tests.helpers.disk import fill, small_disk
from tests.helpers.entry_bed import BASE
from tests.helpers.form import SIX, Form, Turned, unit_folder

TWELVE = {
    q: BASE[q]
    for q in (
        Q.PUMP_SPEED, Q.PUMP_FLOW, Q.INLET_PRESSURE, Q.PRE_OXYGENATOR_PRESSURE, Q.POST_OXYGENATOR_PRESSURE,
        Q.SWEEP_GAS_FLOW, Q.FDO2, Q.BLOOD_TEMPERATURE, Q.ON_MAINS, Q.BATTERY_CHARGE, Q.MEAN_ARTERIAL_PRESSURE,
        Q.SPO2_RIGHT_HAND,
    )
}  # fmt: skip


@pytest.fixture
def clock() -> Turned:
    return Turned()


@pytest.fixture
def form(qtbot: QtBot, tmp_path: Path, clock: Turned) -> Iterator[Form]:
    with Form(qtbot, unit_folder(tmp_path / "config"), clock) as made:
        made.open("B5", "nurse-5")
        yield made


def test_that_twelve_numbers_are_sent_with_at_most_forty_keys_beyond_their_digits(form: Form) -> None:
    keys = 0
    wanted = dict(TWELVE)
    while wanted:
        quantity = form.focused()
        assert quantity is not None
        edit = form.fields.rows[quantity].edit
        text = wanted.pop(quantity, "")
        QTest.keyClicks(edit, text)
        keys += sum(not character.isdigit() for character in text) + 1
        QTest.keyClick(edit, Qt.Key.Key_Return)
    form.press(Qt.Key.Key_F2)
    assert form.said.startswith("B5: 12 numbers sent.")
    assert keys + 1 <= 40


def test_that_no_field_is_ever_filled_in_and_the_last_number_stands_beside_it(form: Form, clock: Turned) -> None:
    form.type_all(BASE)
    form.window.save()
    clock.minutes(58)
    form.window.show_state()
    assert {row.text for row in form.fields.rows.values()} == {""}
    assert form.fields.rows[Q.PUMP_FLOW].beside.text() == "4.2 · 58 min"
    form.type(Q.PUMP_FLOW, "4,4")
    assert form.fields.rows[Q.PUMP_FLOW].change.text() == "+0.2"
    form.type(Q.INLET_PRESSURE, "-65")
    assert form.fields.rows[Q.INLET_PRESSURE].change.text() == "−5"


def test_that_what_follows_is_computed_as_it_is_typed(form: Form) -> None:
    form.type_all(BASE)
    for words in ("Oxy ΔP 30 mmHg", "7.1 mmHg·min/L", "Flow per 1 000 rpm 1.20", "PP 25 mmHg"):
        assert words in form.window.foot.computed.text()


def test_that_the_sign_key_turns_the_sign_of_a_pressure_and_of_nothing_else(form: Form) -> None:
    edit = form.fields.rows[Q.INLET_PRESSURE].edit
    form.fields.focus_on(Q.INLET_PRESSURE)
    shown = []
    for keys in ("60", "-", "-", "+", "-"):
        QTest.keyClicks(edit, keys)
        shown.append(edit.text())
    assert shown == ["60", "-60", "+60", "+60", "-60"]
    QTest.keyClick(edit, Qt.Key.Key_Return)
    assert form.rounds.judgement().values == {Q.INLET_PRESSURE: -60.0}
    form.type(Q.PUMP_SPEED, "-3500")
    assert "takes no sign" in form.asked


def test_that_ctrl_and_the_arrows_step_what_was_typed_and_fill_in_nothing(form: Form) -> None:
    for quantity, typed, shown in ((Q.PUMP_FLOW, "4,2", "4.3"), (Q.INLET_PRESSURE, "-60", "-55"), (Q.FDO2, "", "")):
        edit = form.fields.rows[quantity].edit
        form.fields.focus_on(quantity)
        QTest.keyClicks(edit, typed)
        QTest.keyClick(edit, Qt.Key.Key_Up, Qt.KeyboardModifier.ControlModifier)
        assert edit.text() == shown
        QTest.keyClick(edit, Qt.Key.Key_Down, Qt.KeyboardModifier.ControlModifier)
    assert form.fields.rows[Q.FDO2].edit.hasFocus()


def test_that_a_pressure_without_its_sign_is_asked_for_it(form: Form) -> None:
    form.type(Q.INLET_PRESSURE, "60")
    assert "has no sign" in form.asked
    form.type(Q.INLET_PRESSURE, "60")
    assert form.asked
    form.type(Q.INLET_PRESSURE, "-60")
    assert form.asked == ""


def test_that_a_number_that_is_asked_about_can_be_left_out_but_not_passed(form: Form) -> None:
    form.type(Q.PUMP_FLOW, "1.2")
    assert form.asked.startswith("Read it again: Flow 1.2 L/min is unusual")
    form.window.save()
    assert form.said.startswith("Not sent: Flow must be read and typed again first.")
    assert form.focused() is Q.PUMP_FLOW
    form.press(Qt.Key.Key_Delete)
    assert form.asked == ""
    assert form.rounds.draft.typed == {}


def test_that_the_same_number_typed_again_confirms_and_goes_on(form: Form) -> None:
    form.type(Q.PUMP_FLOW, "1.2")
    form.type(Q.PUMP_FLOW, "1,20")
    assert form.asked == ""
    assert form.focused() is Q.INLET_PRESSURE
    form.window.save()
    assert form.said.startswith("B5: 1 number sent.")


def test_that_the_field_that_numbers_of_a_set_ask_about_gets_the_focus(form: Form) -> None:
    form.type(Q.PRE_OXYGENATOR_PRESSURE, "190")
    form.type(Q.POST_OXYGENATOR_PRESSURE, "220")
    form.type(Q.PUMP_FLOW, "4.2")
    assert form.asked  # the drop would be below zero
    assert form.focused() in (Q.PRE_OXYGENATOR_PRESSURE, Q.POST_OXYGENATOR_PRESSURE)


def test_that_an_order_explains_a_change_of_speed_with_one_key(form: Form, clock: Turned) -> None:
    form.type_all({Q.PUMP_SPEED: "3500"})
    form.window.save()
    clock.minutes(60)
    form.type(Q.PUMP_SPEED, "4000")
    assert form.asked
    assert "O: an order changed it." in form.fields.question._keys.text()
    QTest.keyClicks(form.fields.rows[Q.PUMP_SPEED].edit, "o")
    assert form.asked == ""


def test_that_the_time_read_can_be_typed_back_twelve_hours_and_not_ahead(form: Form, clock: Turned) -> None:
    form.press(Qt.Key.Key_F4)
    time = form.window.head.time
    assert time.hasFocus()
    for text, words in (("0803", "3 min ahead"), ("-1930", "more than 12 h back"), ("24:10", "is no time")):
        time.setText(text)
        form.press(Qt.Key.Key_Return)
        assert words in form.said, text
    time.setText("7,20")
    form.press(Qt.Key.Key_Return)
    assert form.rounds.read_at == clock() - 40 * MINUTE
    assert "will be marked late" in form.window.head.read_at.text()
    form.type(Q.PUMP_FLOW, "4.2")
    form.window.save()
    assert "1 number sent, marked late." in form.said


def test_that_the_charge_nurse_may_go_back_a_day(form: Form, clock: Turned) -> None:
    form.open("B5", "charge-2")
    form.press(Qt.Key.Key_F4)
    form.window.head.time.setText("-1400")
    form.press(Qt.Key.Key_Return)
    assert form.rounds.read_at == clock() - 18 * HOUR


def test_that_a_bed_says_which_it_is_in_letters_of_8_mm_at_the_top_and_beside_save(form: Form) -> None:
    for label in (form.window.head.bed, form.window.foot.bed):
        assert label.text() == "B5"
        assert label.font().pixelSize() * CAP_SHARE * USUAL_PITCH >= LABEL_MM
    assert form.window.windowTitle() == "Bed B5: entering a round · Weirkeeper"


def test_that_without_a_hub_the_form_says_plainly_that_nothing_is_stored(form: Form) -> None:
    form.type(Q.PUMP_FLOW, "4.2")
    form.window.save()
    form.window.show_state()
    assert form.warned == "The hub is not there: 1 set is NOT STORED YET, kept here and sent when it is back."
    assert form.sent[0].endswith("0 min · 1 number · sent, NOT STORED YET")


def test_that_a_set_is_stored_when_the_hub_has_said_so(qtbot: QtBot, tmp_path: Path, clock: Turned) -> None:
    hub = FakeHub()
    try:
        where = hub.ingest, hub.link
        with Form(qtbot, unit_folder(tmp_path / "config"), clock, where) as form:
            form.open("B5", "nurse-5")
            form.type(Q.PUMP_FLOW, "4.2")
            form.window.save()
            for _ in range(2000):
                hub.turn()
                form.window.look()
                if form.rounds.hub_is_there and not form.rounds.waiting():
                    break
            form.window.show_state()
            assert form.sent[0].endswith("stored by the hub")
            assert form.warned == ""
    finally:
        hub.close()


def test_that_what_was_sent_can_be_taken_back_for_ten_seconds_and_stands_in_the_form_again(
    form: Form, clock: Turned
) -> None:
    form.type_all({Q.PUMP_FLOW: "4.2", Q.INLET_PRESSURE: "-60"})
    form.window.save()
    clock.ms += 9 * SECOND
    form.press(Qt.Key.Key_F3)
    assert form.said.startswith("Taken back")
    assert form.rounds.judgement().values == {Q.PUMP_FLOW: 4.2, Q.INLET_PRESSURE: -60.0}
    kept = next(form.rounds.posted()).numbered.kept
    assert kept.state is SetState.STRUCK
    assert form.publisher.link.next_seq == 3  # the set and what strikes it
    form.window.save()
    clock.ms += 11 * SECOND
    form.press(Qt.Key.Key_F3)
    assert "More than 10 s have passed" in form.said


def test_that_a_draft_is_there_again_for_its_person_and_bed_alone(
    qtbot: QtBot, tmp_path: Path, clock: Turned
) -> None:
    folder = unit_folder(tmp_path / "config")
    with Form(qtbot, folder, clock) as form:
        form.open("B5", "nurse-5")
        form.type(Q.PUMP_FLOW, "4.2")
        clock.ms += 2 * SECOND
        form.window.look()
        form.open("B6", "nurse-5")
        assert form.rounds.draft.typed == {}
        form.open("B5", "nurse-6")
        assert form.rounds.draft.typed == {}
    with Form(qtbot, folder, clock) as form:
        form.open("B5", "nurse-5")
        assert form.said == "A draft of yours is taken up again; nothing of it was sent."
        assert form.fields.rows[Q.PUMP_FLOW].text == "4.2"
        assert form.publisher.link.next_seq == 1
        clock.minutes(20)
        form.window.save()
        assert form.said.startswith("Not sent: Flow must be read and typed again first.")
        assert "was typed a while ago and never sent" in form.asked
        form.type(Q.PUMP_FLOW, "4.2")
        form.window.save()
        assert form.publisher.link.next_seq == 2
        assert form.shelf.draft(form.rounds.draft.place, "nurse-5") is None


def test_that_last_numbers_are_known_again_after_a_restart(qtbot: QtBot, tmp_path: Path, clock: Turned) -> None:
    folder = unit_folder(tmp_path / "config")
    with Form(qtbot, folder, clock) as form:
        form.open("B6", "nurse-6")
        form.type_all(SIX)
        form.window.save()
    clock.minutes(30)
    with Form(qtbot, folder, clock) as form:
        form.open("B6", "nurse-6")
        assert form.fields.rows[Q.PUMP_SPEED].beside.text() == "2800 · 30 min"


def test_that_the_next_bed_is_the_one_that_waits_longest(form: Form, clock: Turned) -> None:
    form.type_all(BASE)
    form.window.save()
    form.press(Qt.Key.Key_PageDown)
    assert form.window.head.bed.text() == "B6"  # nothing was ever entered there
    form.type_all(SIX)
    form.window.save()
    clock.minutes(70)
    form.press(Qt.Key.Key_PageDown)
    assert form.window.head.bed.text() == "B5"
    form.press(Qt.Key.Key_F5)
    rows = [form.window.choice.list.item(n).text() for n in range(form.window.choice.list.count())]
    assert rows[0].startswith("B5")
    assert rows[0].endswith("overdue by 10 min")
    form.press(Qt.Key.Key_Down)
    form.press(Qt.Key.Key_Return)
    assert form.window.head.bed.text() == "B6"


def test_that_a_set_like_another_beds_is_sent_only_when_this_beds_label_is_typed(form: Form, clock: Turned) -> None:
    form.type_all(BASE)
    form.window.save()
    form.open("B6", "nurse-6")
    form.type_all(SIX)
    form.window.save()
    sent = form.publisher.link.next_seq
    clock.minutes(60)
    for quantity, text in BASE.items():
        form.type(quantity, text)
        while form.asked:
            form.type(quantity, text)
    assert form.window.foot.answer.isVisible()
    for label, still in (("B5", True), ("", True), ("b6", False)):
        form.window.foot.answer.setFocus()
        QTest.keyClicks(form.window.foot.answer, label)
        form.press(Qt.Key.Key_Return)
        assert form.window.foot.answer.isVisible() is still
    assert form.publisher.link.next_seq == sent
    form.press(Qt.Key.Key_Return)  # Save has the focus
    assert form.publisher.link.next_seq == sent + 1


def test_that_only_those_who_enter_readings_are_offered_and_asked_first(
    qtbot: QtBot, tmp_path: Path, clock: Turned
) -> None:
    with Form(qtbot, unit_folder(tmp_path / "config"), clock) as form:
        form.window.begin(form.folder.seat_at("b6"), None)
        listed = form.window.choice.list
        assert [listed.item(n).text() for n in range(listed.count())] == [
            "Nurse 5",
            "Nurse 6",
            "Charge 2   (charge)",
        ]
        form.press(Qt.Key.Key_Down)
        form.press(Qt.Key.Key_Return)
        assert form.window.head.bed.text() == "B6"
        assert form.window.head.who.text() == "Entered by Nurse 6"


def test_that_a_full_disk_is_said_and_the_set_goes_out_all_the_same(
    qtbot: QtBot, tmp_path: Path, clock: Turned, caplog: pytest.LogCaptureFixture
) -> None:
    folder = unit_folder(tmp_path / "config")
    with (
        small_disk(tmp_path / "disk") as disk,
        Form(qtbot, folder, clock, journal=disk / "journal", shelf=disk / "shelf") as form,
    ):
        form.open("B5", "nurse-5")
        form.type(Q.PUMP_FLOW, "4.2")
        fill(disk)
        clock.ms += 3 * SECOND
        form.window.look()
        form.window.show_state()
        assert form.warned.startswith("THE DISK REFUSES drafts: write on paper what you type.")
        form.window.save()
        form.window.show_state()
        assert form.warned.startswith("THE DISK REFUSES: what is sent is kept in memory only.")
        assert "NOT STORED YET" in form.warned
        assert form.publisher.link.next_seq == 2
        (disk / "ballast").unlink()
    assert "kept in memory only" in caplog.text
    caplog.clear()


def test_that_a_draft_that_cannot_be_read_is_put_aside_and_told(
    form: Form, caplog: pytest.LogCaptureFixture
) -> None:
    place = form.rounds.draft.place
    form.type(Q.PUMP_FLOW, "4.2")
    form.rounds.keep_draft()
    path = form.shelf._draft_path(place, "nurse-5")
    path.write_text("{")
    form.rounds.throw_away()
    path.write_text("{")
    form.open("B5", "nurse-5")
    form.window.show_state()
    assert "could not be read and is put aside" in form.warned
    assert path.with_name(f"{path.name}.unreadable").read_text() == "{"
    caplog.clear()


def test_that_both_themes_are_there_with_one_key(form: Form) -> None:
    day = form.window.styleSheet()
    form.press(Qt.Key.Key_F9)
    assert form.window.styleSheet() != day
    assert isinstance(form.fields, FieldsArea)
