"""What the form reads of a unit's folder, and how it tells what is wrong there."""

from pathlib import Path

import pytest

from feeds.entered.folder import load_folder
from feeds.journal import Journal
from shared.errors import ConfigurationError
from shared.messages import Origin
from shared.support import Support
from tests.helpers.form import unit_folder
from tests.helpers.hub import CONFIG


def test_that_the_shipped_unit_can_be_entered() -> None:
    folder = load_folder(CONFIG)
    assert [f"{s.bed}/{s.run.slot}" for s in folder.seats][4:7] == ["B5/1", "B6/1", "B6/2"]
    assert {person.role for person in folder.people} == {"bedside_nurse", "charge_nurse", "perfusionist"}
    four = folder.seat_at("B4")
    assert four is not None
    assert (four.run.support, four.top_speed) == (Support.LA_AO, 7000)
    declared = {said.bed: said for said in folder.declarations()}
    assert len(declared["B6"].runs) == 2
    assert {said.origin for said in declared.values()} == {Origin.ENTERED}
    assert declared["B8"].runs == ()  # a run may begin there while the form is open


@pytest.mark.parametrize(
    ("file", "old", "new", "told"),
    [
        ("unit.toml", 'support = "VA"', 'support = "VX"', "unit.toml:8: support"),
        ("unit.toml", 'label = "B6"', 'label = "B5"', 'unit.toml:12: label = "B5": this label stands twice'),
        ("unit.toml", "entered_by_hand", "entered_by_hnd", "unit.toml:6: entered_by_hnd"),
        ("unit.toml", 'support = "VA"', 'support = "VA"\n  profile = "brod"', "did you mean broad?"),
        ("unit.toml", 'support = "VA"', 'support = "LA-Ao"\n  fitted_also = ["fdo2"]', "no oxygenator"),
        ("unit.toml", 'name = "Two', 'time_zone = "Nowhere/At_All"\nname = "Two', "no such time zone"),
        ("entry.toml", 'unit = "rpm"', 'unit = "rps"', "entry.toml:30: unit"),
    ],
)
def test_that_a_fault_is_told_at_its_line(tmp_path: Path, file: str, old: str, new: str, told: str) -> None:
    folder = unit_folder(tmp_path / "config")
    text = (folder / file).read_text()
    (folder / file).write_text(text.replace(old, new, 1))
    with pytest.raises(ConfigurationError, match=r"\w") as caught:
        load_folder(folder)
    assert told in str(caught.value)


def test_that_a_missing_folder_or_file_is_named(tmp_path: Path) -> None:
    with pytest.raises(ConfigurationError, match="there is no such folder"):
        load_folder(tmp_path / "nowhere")
    folder = unit_folder(tmp_path / "config")
    (folder / "entry.toml").unlink()
    with pytest.raises(ConfigurationError, match=r"entry\.toml:1: cannot be read"):
        load_folder(folder)


def test_that_a_unit_without_anybody_who_enters_is_refused(tmp_path: Path) -> None:
    folder = unit_folder(tmp_path / "config")
    text = (folder / "unit.toml").read_text()
    (folder / "unit.toml").write_text(text.replace("_nurse", "_surgeon").replace("bedside_surgeon", "viewer"))
    with pytest.raises(ConfigurationError, match="there is no person who enters readings"):
        load_folder(folder)


def test_that_somebody_with_a_further_role_enters_and_others_are_told_who_can(tmp_path: Path) -> None:
    folder = unit_folder(tmp_path / "config")
    assert load_folder(folder).why_not("surgeon-3") == (
        "Surgeon 3 (surgeon) does not enter readings: the bed's own nurse, charge nurse or perfusionist can"
    )
    text = (folder / "unit.toml").read_text()
    (folder / "unit.toml").write_text(text.replace('role = "surgeon"', 'role = "surgeon"\nalso = ["charge_nurse"]'))
    person = load_folder(folder).person("surgeon-3")
    assert person is not None
    assert person.is_charge


def test_that_a_second_form_on_one_journal_is_refused(tmp_path: Path) -> None:
    first = Journal(tmp_path / "entered.journal", "entered")
    with pytest.raises(ConfigurationError, match="already runs here"):
        Journal(tmp_path / "entered.journal", "entered")
    first.close()
