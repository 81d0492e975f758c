"""Rounds through the real form to a real hub: answers of one key, who may enter, secrets, runs as they are now."""

from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from PySide6.QtCore import Qt
from pytestqt.qtbot import QtBot

from feeds.entered.gate import UNCHECKED
from monitor.core.entries import Entry, EntryKind
from monitor.core.wire import EntryDelta
from monitor.settings import load_configuration
from shared.instant import SECOND
from shared.messages import Found, Observation, Origin, RoundKind, Unchecked
from shared.quantities import Quantity as Q
from shared.support import Support, describe_run
from tests.helpers.form import UNIT, Form, Turned, unit_folder
from tests.helpers.hub import Rig
from tests.helpers.signing import SigningDesk, people

MORE = """
[[bed]]
label = "B8"
nurse = "nurse-6"

[[person]]
name = "perfusionist-1"
label = "Perfusionist 1"
role = "perfusionist"
in_unit = false
"""


class Ward:
    """Hub, desk and form, in one thread."""

    def __init__(self, rig: Rig, form: Form) -> None:
        self.rig, self.form = rig, form

    def until(self, condition: Callable[[], bool]) -> None:
        self.rig.until(condition, self.form.window.look)

    def heard(self) -> None:
        """Wait until the form has heard how the hub stands from now on."""
        line, now = self.form.line, self.rig.hub.clock.now()
        assert line is not None
        line.ask_soon()
        self.until(lambda: line.beds is not None and line.beds.hub_time > now)
        self.form.window.show_state()

    def saved(self, *keys: Qt.Key) -> Observation:
        """Press keys, F2 where none are named, and wait until the hub has stored a set."""
        before = len(self.rig.observations())
        for key in keys or (Qt.Key.Key_F2,):
            self.form.press(key)
        self.until(lambda: len(self.rig.observations()) > before and self.form.rounds.waiting() == 0)
        self.form.window.show_state()
        return self.rig.observations()[-1]


@pytest.fixture
def unit(tmp_path: Path) -> Path:
    folder = unit_folder(tmp_path / "config")
    text = UNIT.replace("[roster]", f"{MORE}\n[roster]")
    (folder / "unit.toml").write_text(f'{text}perfusionist = "perfusionist-1"\n')
    return folder


@pytest.fixture
def ward(qtbot: QtBot, tmp_path: Path, unit: Path) -> Iterator[Ward]:
    with Rig(tmp_path, load_configuration(unit), secrets=tmp_path) as rig:
        where = rig.endpoints.ingest, rig.endpoints.link
        with Form(qtbot, unit, rig.hub.clock.now, where, commands=rig.endpoints.commands) as form:
            made = Ward(rig, form)
            made.until(lambda: form.rounds.hub_is_there)
            made.heard()
            yield made


def test_that_a_round_goes_with_its_set_and_nothing_counts_that_was_not_answered(ward: Ward) -> None:
    form, desk = ward.form, ward.rig.desk()
    form.open("B5", "nurse-5")
    form.type(Q.PUMP_FLOW, "4.2")
    form.press(Qt.Key.Key_F10)  # a walk is due since the run began: perfusion is next,
    form.press(Qt.Key.Key_F10)  # then hourly
    look = form.window.parts
    assert look is not None
    assert {row.answer.text() for row in look.look.rows.values()} == {""}
    assert look.round.text() == "Hourly round: 0 of 9 answered"
    form.keys("1")
    form.keys("2")
    assert look.look.which.isVisible()
    form.press(Qt.Key.Key_Return)  # going on is no answer to which
    assert look.look.which.isVisible()
    form.keys("2")  # chatter
    form.keys("3")
    form.press(Qt.Key.Key_Return)  # passed without an answer
    assert look.round.text() == "Hourly round: 3 of 9 answered"
    before = len(ward.rig.observations())
    form.press(Qt.Key.Key_F2)
    assert form.said == "6 items are not answered. Answer, or F2 again: they are sent as NOT LOOKED AT."
    assert look.look.current == "leaks"
    assert len(ward.rig.observations()) == before
    sent = ward.saved()
    assert (sent.round, sent.by, sent.readings) == (RoundKind.HOURLY, "nurse-5", {Q.PUMP_FLOW: 4.2})
    assert sent.looked is not None
    found = {item: (one.found, one.note) for item, one in sent.looked.items()}
    assert found.pop("console_limits") == (Found.IN_ORDER, None)
    assert found.pop("lines") == (Found.FINDING, "chatter")
    assert len(found) == 7
    assert set(found.values()) == {(Found.NOT_LOOKED, None)}
    assert form.said.startswith("B5: 1 number and hourly round (2 of 9 looked at) sent.")
    assert form.sent[0].endswith("1 number · hourly round, 2 of 9 looked at · stored by the hub")
    told = [e for e in _entries(desk.sub.of(EntryDelta)) if e.kind is EntryKind.ROUND_DONE]
    assert [(e.bed, e.person) for e in told] == [("B5", "nurse-5")]
    ward.heard()
    form.press(Qt.Key.Key_F8)
    assert look.look.rows["lines"].before.text() == "found before: chatter"
    assert look.look.rows["lines"].answer.text() == ""  # nothing of the last round is filled in
    # corrected: the round stays, with what was looked at wrongly
    form.press(Qt.Key.Key_F7)
    for _ in range(3):
        form.press(Qt.Key.Key_Return)
    form.press(Qt.Key.Key_F8)
    form.press(Qt.Key.Key_Down)
    assert look.look.rows["lines"].before.text().startswith("as sent: FINDING: chatter")
    form.keys("1")
    mended = ward.saved()
    assert mended.looked is not None
    assert mended.edition is not None
    assert (mended.edition.version, mended.round, mended.readings) == (2, sent.round, sent.readings)
    assert mended.looked == sent.looked | {"lines": mended.looked["console_limits"]}
    ward.heard()
    assert form.rounds.seat is not None
    assert form.rounds.seat.findings == {}


def test_that_answers_of_a_while_ago_are_looked_at_again(qtbot: QtBot, tmp_path: Path) -> None:
    folder, clock = unit_folder(tmp_path / "config"), Turned()
    with Form(qtbot, folder, clock) as form:
        form.open("B5", "nurse-5")
        form.press(Qt.Key.Key_F8)
        form.keys("111")
        clock.ms += 3 * SECOND
        form.window.look()
    clock.minutes(20)
    with Form(qtbot, folder, clock) as form:
        form.open("B5", "nurse-5")
        assert form.said == "A draft of yours is taken up again; nothing of it was sent."
        assert form.window.parts is not None
        rows = form.window.parts.look.rows
        assert [row.before.text() for row in rows.values()][:4] == ["LOOK AGAIN"] * 3 + [""]
        for _ in range(2):
            form.press(Qt.Key.Key_F2)
        assert form.said.startswith("Not sent: look again and answer again what was answered a while ago: Limits")
        assert rows["console_limits"].hasFocus()
        form.press(Qt.Key.Key_Delete)
        assert form.rounds.draft.answers.keys() == {"lines", "clots"}


def test_that_a_sweep_goes_through_the_beds_with_a_key_for_each_item_and_three_more(ward: Ward) -> None:
    form, desk = ward.form, SigningDesk(ward.rig)
    run = describe_run(Support.VA, "R-8").model_dump(mode="json")
    assert desk.give("", "charge-2", "run_start", bed="B8", run=run).accepted
    ward.heard()
    form.window.begin(None, form.folder.person("charge-2"))
    beds = []
    form.press(Qt.Key.Key_F5)
    form.press(Qt.Key.Key_Return)
    for _ in range(3):
        assert form.window.parts is not None
        beds.append(form.window.head.bed.text())
        form.press(Qt.Key.Key_F8)  # numbers are due first where a bed has no feed
        form.keys("1" * len(form.window.parts.look.rows))
        assert form.window.foot.save.hasFocus()
        sent = ward.saved(Qt.Key.Key_Return)
        assert (sent.readings, sent.round) == ({}, RoundKind.SAFETY_WALK)  # a round without any number
        assert {one.found for one in (sent.looked or {}).values()} == {Found.IN_ORDER}
        form.press(Qt.Key.Key_PageDown)
    assert beds == ["B5", "B6", "B8"]  # though numbers are left undone at each


def test_that_the_form_keeps_to_the_roles_as_the_hub_has_them_now(ward: Ward) -> None:
    form = ward.form
    form.open("B5", "nurse-5")
    assert form.window.head.who.text() == "Entered by Nurse 5"
    form.open("B6", "nurse-5")
    assert form.said.startswith(
        "B6 is Nurse 6's bed, not Nurse 5's: Nurse 6, charge nurse or perfusionist can enter"
    )
    assert form.window.head.bed.text() == "B5"
    for who in ("charge-2", "perfusionist-1", "nurse-6"):
        form.open("B6", who)
        assert form.window.head.bed.text() == "B6"
    form.open("B5", "nurse-5")
    desk = SigningDesk(ward.rig)
    said = desk.give("", "charge-2", "roster", rung=1, bed="B5", stands="nurse-6")
    assert said.accepted, said.reason
    ward.heard()
    form.type(Q.PUMP_FLOW, "4.2")
    form.press(Qt.Key.Key_F2)
    assert form.said.startswith("B5 is Nurse 6's bed, not Nurse 5's")
    form.press(Qt.Key.Key_F6)
    form.keys("n5")
    assert form.window.choice.list.currentItem().text() == "Nurse 5   not at B5"
    form.press(Qt.Key.Key_Backspace)
    form.keys("q6")  # no name has a q: the letter is not taken
    assert form.window.choice.list.currentItem().text() == "Nurse 6"
    form.press(Qt.Key.Key_Return)
    assert form.window.head.who.text() == "Entered by Nurse 6"
    # the hub goes: nothing is checked, all is kept, and both are said
    ward.rig.down()
    assert form.line is not None
    form.line._told = None
    form.open("B5", "nurse-5")
    form.press(Qt.Key.Key_F2)
    form.window.show_state()
    assert UNCHECKED in form.warned
    assert form.said.startswith("B5: 1 number sent.")
    last = form.publisher.link.next_seq - 1
    [kept] = form._journal.read(last, last)
    assert Observation.model_validate_json(kept.body).unchecked is Unchecked.NOT_ASKED
    ward.rig.up()
    ward.until(lambda: any(one.seq == last for one in ward.rig.observations()))
    assert ward.rig.observations()[-1].unchecked is Unchecked.OTHER_BED  # the hub looks, and keeps it


def test_that_secrets_are_asked_for_where_the_unit_set_them(ward: Ward, tmp_path: Path) -> None:
    form = ward.form
    people(tmp_path, {"nurse-5": "1470", "charge-2": "2580"})
    ward.rig.hub.sign_ins.look()
    ward.heard()
    sheet = form.window.secret
    form.open("B5", "nurse-5")
    assert sheet.title.text() == "Nurse 5: your secret"
    for secret, note in (("9999", "Not signed in: this is not the secret of Nurse 5"), ("1470", "")):
        form.keys(secret + "x")  # letters are no digits
        form.press(Qt.Key.Key_Return)
        ward.until(lambda: sheet.is_open or form.window.parts is not None)
        assert sheet.note.text().startswith(note)
    assert form.window.head.who.text() == "Entered by Nurse 5"
    form.type(Q.PUMP_FLOW, "4.2")
    form.window.gate._used -= 3600 * SECOND  # nobody pressed a key for an hour
    form.window.look()
    form.window.save()
    assert sheet.is_open
    assert form.rounds.draft.typed  # what was typed stays
    form.press(Qt.Key.Key_Escape)
    assert ward.rig.observations() == []
    form.open("B6", "nurse-6")  # has no secret yet
    form.keys("1470")
    form.press(Qt.Key.Key_Return)
    ward.until(lambda: sheet.is_open)
    assert sheet.note.text().startswith("Not signed in: Nurse 6 has no secret: an administrator sets one")
    form.press(Qt.Key.Key_Escape)
    assert form.window.head.bed.text() == "B5"


def test_that_runs_begun_moved_and_ended_at_a_desk_are_the_forms_too(ward: Ward) -> None:
    form, desk = ward.form, SigningDesk(ward.rig)
    form.open("B5", "nurse-5")
    form.type(Q.PUMP_FLOW, "4.2")
    ward.saved()
    run = describe_run(Support.VV, "R-8", weight=70.0)
    assert desk.give("", "charge-2", "run_start", bed="B8", run=run.model_dump(mode="json")).accepted
    ward.heard()
    form.open("B8", "nurse-6")
    assert form.window.head.support.text() == "VV"
    assert Q.SPO2_RIGHT_HAND in form.fields.rows
    assert Q.DIASTOLIC_PRESSURE not in form.fields.rows
    form.type(Q.HEPARIN_RATE, "1400")
    assert "Heparin per kg 20.0 IU/kg/h" in form.window.foot.computed.text()
    sent = ward.saved()
    assert (sent.bed, sent.readings) == ("B8", {Q.HEPARIN_RATE: 1400.0})
    form.type(Q.PUMP_FLOW, "4.5")
    assert desk.give("", "charge-2", "run_end", bed="B8", slot=1, reason="off").accepted
    ward.heard()
    assert form.warned.startswith("THE RUN IS OVER that this form is for")
    form.press(Qt.Key.Key_F2)
    assert form.said.startswith("Not sent: the run that this was typed for is over")
    form.open("B5", "nurse-5")
    assert desk.give("", "charge-2", "run_move", bed="B5", to="B8").accepted
    ward.heard()
    assert form.warned.startswith("THE RUN IS OVER")
    form.open("B8", "charge-2")
    form.type(Q.PUMP_FLOW, "4.4")
    assert ward.saved().bed == "B8"


def test_that_last_numbers_come_from_the_hub_too_with_their_age(ward: Ward) -> None:
    form, rig = ward.form, ward.rig
    declared = form.folder.declarations()[0].model_copy(update={"origin": Origin.SIMULATED})
    feed = rig.feed("console", declared)
    feed.read("B5", rig.hub.clock.now(), readings={Q.PUMP_FLOW: 3.9})
    rig.until(lambda: bool(rig.observations()))
    ward.rig.turn(120)
    ward.heard()
    form.open("B5", "nurse-5")
    assert form.fields.rows[Q.PUMP_FLOW].beside.text() == "3.9 · 2 min"
    assert form.fields.rows[Q.PUMP_FLOW].text == ""
    form.type(Q.PUMP_FLOW, "39")
    assert form.asked.startswith("Cannot be sent: Flow 39 L/min")
    form.type(Q.PUMP_FLOW, "3.8")
    ward.saved()
    ward.heard()
    beside = form.fields.rows[Q.PUMP_FLOW].beside
    assert beside.text() == "3.8 · 0 min"
    form.press(Qt.Key.Key_F3)  # what is taken back leaves nothing behind, whatever the hub still says
    assert beside.text() == ""
    ward.until(lambda: form.rounds.waiting() == 0)
    ward.heard()
    assert form.fields.rows[Q.PUMP_FLOW].beside.text() == "3.9 · 2 min"


def _entries(deltas: list[EntryDelta]) -> list[Entry]:
    return [delta.entry for delta in deltas]
