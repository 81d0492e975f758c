"""Sets that were sent, mended through the form: corrections, and strikes by two people."""

import json
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from PySide6.QtCore import Qt
from pytestqt.qtbot import QtBot

from shared.entry.versions import SetState
from shared.instant import MINUTE
from shared.quantities import Quantity as Q
from tests.helpers.entry_bed import BASE
from tests.helpers.form import Form, Turned, unit_folder


@pytest.fixture
def clock() -> Turned:
    return Turned()


@pytest.fixture
def form(qtbot: QtBot, tmp_path: Path, clock: Turned) -> Iterator[Form]:
    with Form(qtbot, unit_folder(tmp_path / "config"), clock) as made:
        made.open("B5", "nurse-5")
        made.type_all(BASE)
        made.window.save()
        clock.ms += MINUTE
        yield made


def published(form: Form) -> list[dict[str, Any]]:
    """What the journal holds: no hub has taken it."""
    return [json.loads(kept.body) for kept in form._journal.read(1, 100)]


def choose(form: Form, *rows: str) -> None:
    """Take the row that begins so, list after list, by arrows and Enter."""
    for row in rows:
        listed = form.window.choice.list
        texts = [listed.item(n).text() for n in range(listed.count())]
        place = next(n for n, text in enumerate(texts) if text.startswith(row))
        for _ in range(place):
            form.press(Qt.Key.Key_Down)
        form.press(Qt.Key.Key_Return)


def mend(form: Form, *rows: str) -> None:
    """Press F7, take the newest set, then the rows."""
    form.press(Qt.Key.Key_F7)
    form.press(Qt.Key.Key_Return)
    choose(form, *rows)


def test_that_a_correction_is_the_whole_set_again_with_its_why(form: Form, clock: Turned) -> None:
    mend(form, "Correct it", "misread")
    assert form.said.startswith("CORRECTING the set read at 08:00 (misread)")
    assert form.window.foot.save.text() == "Correct  F2"
    assert {row.text for row in form.fields.rows.values()} == {""}
    assert form.fields.rows[Q.PUMP_FLOW].beside.text() == "4.2 as sent"
    form.type(Q.PUMP_FLOW, "4.1")
    assert form.said.startswith("CORRECTING")
    form.type(Q.DIASTOLIC_PRESSURE, "62")
    form.window.save()
    assert form.said == "B5: corrected, version 2 of the whole set is sent."
    first, second = published(form)
    assert second["edition"] == {"set": first["edition"]["set"], "version": 2, "why": "misread", "struck": False}
    assert second["readings"] == first["readings"] | {
        "pump_flow": 4.1,
        "diastolic_pressure": 62.0,
        "pulse_pressure": 27.0,
    }
    assert second["read_at"] == first["read_at"]
    assert second["entered_at"] == clock()
    assert "corrected (2)" in form.sent[0]
    assert form.fields.rows[Q.PUMP_FLOW].beside.text() == "4.1 · 1 min"


def test_that_a_number_that_was_not_read_goes_by_one_key_and_its_old_version_stays(
    form: Form, clock: Turned
) -> None:
    def delete(quantity: Q) -> str:
        form.fields.focus_on(quantity)
        form.press(Qt.Key.Key_Delete)
        return form.fields.rows[quantity].change.text()

    assert delete(Q.LACTATE) == ""  # a field of a new set is only empty
    mend(form, "Correct it", "mistyped")
    assert "Delete: it was not read" in form.said
    assert delete(Q.INLET_PRESSURE) == "not read"
    assert delete(Q.INLET_PRESSURE) != "not read"  # said again, it stands
    assert delete(Q.SYSTOLIC_PRESSURE) == "not read"  # and what followed from it goes too
    assert delete(Q.PUMP_FLOW) == "not read"
    form.type(Q.PUMP_FLOW, "4.1")  # typed after all
    assert delete(Q.INLET_PRESSURE) == "not read"
    form.rounds.keep_draft()
    form.open("B5", "nurse-5")  # as after the form was closed
    assert form.fields.rows[Q.INLET_PRESSURE].change.text() == "not read"
    form.window.save()
    assert form.said == "B5: corrected, version 2 of the whole set is sent."
    first, second = published(form)
    gone = {"inlet_pressure", "systolic_pressure", "pulse_pressure"}
    assert second["readings"] == {q: v for q, v in first["readings"].items() if q not in gone} | {"pump_flow": 4.1}
    [posted] = form.rounds.posted()
    assert posted.numbered.kept.versions[0].values[Q.INLET_PRESSURE] == float(BASE[Q.INLET_PRESSURE])
    assert form.fields.rows[Q.INLET_PRESSURE].beside.text() == ""  # the last number is none of this set


def test_that_a_set_of_which_nothing_would_be_left_is_struck_and_not_corrected(form: Form, clock: Turned) -> None:
    form.type(Q.LACTATE, "1.4")
    form.window.save()
    clock.ms += MINUTE
    mend(form, "Correct it", "other")
    form.fields.focus_on(Q.LACTATE)
    form.press(Qt.Key.Key_Delete)
    form.window.save()
    assert form.said == "Nothing would be left of this set: ask to strike it instead (F7)."
    assert len(published(form)) == 2


def test_that_only_the_time_can_be_corrected(form: Form, clock: Turned) -> None:
    mend(form, "Correct it", "wrong time")
    form.press(Qt.Key.Key_F4)
    form.window.head.time.setText("0755")
    form.press(Qt.Key.Key_Return)
    form.window.save()
    first, second = published(form)
    assert first["read_at"] - second["read_at"] == 5 * MINUTE
    assert first["readings"] == second["readings"]


def test_that_a_correction_that_changes_nothing_or_asks_is_not_sent(form: Form) -> None:
    mend(form, "Correct it", "other")
    form.window.save()
    assert form.said == "Nothing is changed by this correction."
    form.type(Q.PUMP_FLOW, "0.42")
    form.window.save()
    assert form.said.startswith("Not sent: what asks, or cannot be")
    form.press(Qt.Key.Key_Escape)
    assert form.said == "Nothing was corrected."
    assert form.rounds.correcting is None
    assert len(published(form)) == 1


def test_that_a_draft_waits_while_a_set_is_corrected(form: Form) -> None:
    form.type(Q.LACTATE, "1.4")
    mend(form, "Correct it", "mistyped")
    assert form.fields.rows[Q.LACTATE].text == ""
    form.type(Q.PUMP_FLOW, "4.3")
    form.window.save()
    assert form.fields.rows[Q.LACTATE].text == "1.4"


def test_that_two_people_strike_a_set_and_put_it_down_at_the_right_bed(form: Form) -> None:
    form.open("B6", "nurse-5")
    form.type(Q.LACTATE, "1.4")
    form.open("B5", "nurse-5")
    mend(form, "Ask to strike it", "wrong bed", "B6")
    assert "stands until a second person agrees" in form.said
    assert "nurse-5 asks to strike it" in form.sent[0]
    mend(form, "Agree")
    assert form.said == "nurse-5 has asked to strike it; another person must agree."
    assert len(published(form)) == 1
    form.open("B5", "charge-2")
    mend(form, "Agree")
    assert form.said == "The set is struck here and put down at B6."
    first, struck, moved = published(form)
    assert struck["readings"] == {}
    assert struck["edition"]["struck"]
    assert (struck["by"], struck["edition"]["second"]) == ("nurse-5", "charge-2")
    assert (struck["edition"]["why"], struck["edition"]["moved_to"]) == ("wrong_bed", "B6")
    assert (moved["bed"], moved["by"], moved["read_at"]) == ("B6", "nurse-5", first["read_at"])
    assert moved["edition"]["moved_from"] == first["edition"]["set"]
    assert moved["readings"] == first["readings"]
    assert "struck" in form.sent[0]
    assert form.fields.rows[Q.PUMP_FLOW].beside.text() == ""
    form.open("B6", "nurse-5")
    assert form.fields.rows[Q.PUMP_FLOW].beside.text() == "4.2 · 1 min"
    assert form.fields.rows[Q.LACTATE].text == "1.4"  # what was moved here was never typed here


def test_that_a_request_can_be_withdrawn_and_lapses_by_itself(form: Form, clock: Turned) -> None:
    mend(form, "Ask to strike it", "other")
    mend(form, "Withdraw")
    assert next(form.rounds.posted()).numbered.kept.state is SetState.STANDS
    mend(form, "Ask to strike it", "other")
    clock.ms += 16 * MINUTE
    form.open("B5", "charge-2")
    mend(form)
    rows = [form.window.choice.list.item(n).text() for n in range(2)]
    assert rows[0].startswith("Correct it")
    assert len(published(form)) == 1


def test_that_a_request_is_there_again_after_a_restart(
    qtbot: QtBot, tmp_path: Path, form: Form, clock: Turned
) -> None:
    mend(form, "Ask to strike it", "other")
    kept = next(form.rounds.posted()).numbered.kept
    again = list(type(form.shelf)(tmp_path / "form.shelf").sets(clock(), *form.rounds._post.next))
    assert [one.kept for one in again] == [kept]


def test_that_without_a_set_there_is_nothing_to_mend(form: Form) -> None:
    form.open("B6", "nurse-6")
    form.press(Qt.Key.Key_F7)
    assert form.said == "No set was sent from this form that could be mended."


def test_that_a_correction_in_the_making_survives_a_kill_and_is_never_sent_by_itself(
    qtbot: QtBot, tmp_path: Path, clock: Turned
) -> None:
    folder = unit_folder(tmp_path / "config")
    with Form(qtbot, folder, clock) as form:
        form.open("B5", "nurse-5")
        form.type_all(BASE)
        form.window.save()
        clock.ms += 1000
        form.type(Q.LACTATE, "1.4")
        mend(form, "Correct it", "misread")
        form.type(Q.PUMP_FLOW, "4.1")
        clock.ms += 2000
        form.window.look()
        left = {path.name: path.read_text() for path in tmp_path.glob("form.shelf/drafts/*")}
        assert len(left) == 2  # that of a new set waits beside it
    clock.minutes(20)
    with Form(qtbot, folder, clock) as form:
        form.open("B6", "nurse-5")
        assert form.rounds.correcting is None
        form.open("B5", "nurse-5")
        assert form.said.startswith("CORRECTING the set read at 08:00 (misread)")
        assert form.window.foot.save.text() == "Correct  F2"
        assert form.fields.rows[Q.PUMP_FLOW].text in ("4.1", "")
        assert len(published(form)) == 1
        form.window.save()
        assert "was typed a while ago and never sent" in form.asked
        form.type(Q.PUMP_FLOW, "4.1")
        form.window.save()
        assert published(form)[1]["readings"]["pump_flow"] == 4.1
        assert form.fields.rows[Q.LACTATE].text == "1.4"
    for name, text in left.items():  # as if a kill had come before it was forgotten
        (tmp_path / "form.shelf/drafts" / name).write_text(text)
    with Form(qtbot, folder, clock) as form:
        form.open("B5", "nurse-5")
        assert form.rounds.correcting is None
        mend(form, "Correct it", "other")
        form.type(Q.PRE_OXYGENATOR_PRESSURE, "180")  # against the pressure that stays
        assert "the pressure rises by 10 mmHg" in form.asked
        form.press(Qt.Key.Key_Escape)
        assert form.said == "Nothing was corrected."
        form.open("B6", "nurse-5")
        form.open("B5", "nurse-5")
        assert form.rounds.correcting is None
