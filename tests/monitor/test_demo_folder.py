"""The folder of a demonstration: a unit that stands, for any number of beds."""

import shutil
import tomllib
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from monitor.cli.demo_folder import make_folder, make_secrets, toml_of, with_beds
from monitor.cli.drilling.folder import courses_in, make_drill_folder
from monitor.cli.ports import free_endpoints
from monitor.core.engine import Engine
from monitor.core.equipment.capacity import capacity
from monitor.core.equipment.standing import notices, spares
from monitor.core.equipment.table import ItemKind
from monitor.settings import SettingsError, load_configuration
from monitor.settings.people_file import load_people
from monitor.settings.secret_hash import fits
from shared.language.station import Asked, asked_in

CONFIG = Path(__file__).parents[2] / "config"
NOW = 1_767_623_571_000
DEMO = CONFIG / "scenarios" / "demo.toml"


@pytest.mark.parametrize("beds", [1, 6, 12, 24])
def test_that_a_demonstration_of_any_size_is_a_whole_configuration(beds: int, tmp_path: Path) -> None:
    endpoints = free_endpoints()
    scenario = make_folder(CONFIG, DEMO, beds, endpoints, tmp_path, NOW)
    configuration = load_configuration(tmp_path)
    assert len(configuration.unit.beds) == len(scenario.beds) == beds
    assert configuration.unit.endpoints == endpoints
    assert all(bed.runs for bed in configuration.unit.beds)
    consoles = {(one.bed, one.slot) for one in configuration.equipment.items if one.kind == "console" and one.bed}
    assert consoles == {(bed.label, run.description.slot) for bed in configuration.unit.beds for run in bed.runs}
    assert "Invented" in (tmp_path / "equipment.toml").read_text()


def test_that_its_equipment_is_that_of_a_unit_in_use_and_the_shipped_one_claims_no_check(tmp_path: Path) -> None:
    make_folder(CONFIG, DEMO, 12, free_endpoints(), tmp_path, NOW)
    engine = Engine(load_configuration(tmp_path), NOW)
    engine.start(NOW)
    items = engine.unit(NOW).equipment.items
    told = {item.id: list(notices(item, NOW)) for item in items if list(notices(item, NOW))}
    assert told == {
        "spare-console-2": ["in quarantine: fan is loud, waits for the workshop"],
        "B4-drive": ["check due for 1 h"],
        "heater-1": ["check due for 2 h"],
    }
    found = spares(engine.unit(NOW).equipment, NOW)
    assert (found.ready, found.of, found.short) == (6, 8, ((ItemKind.BACKUP_DRIVE, 1, 2),))
    assert capacity(engine.unit(NOW), {}, NOW).facts[2].holds, "a console is ready"
    late = {bed for bed in engine.unit(NOW).beds for due in _dues(engine, bed) if due <= NOW}
    assert late == {"B2"}
    assert not [item for item in load_configuration(CONFIG).equipment.items if item.checked_at]


def _dues(engine: Engine, bed: str) -> list[int]:
    return [due for run in engine.tile(bed, NOW).runs for due in run.device_due.values()]


def test_that_twelve_beds_show_several_support_types_and_ways_of_reading(tmp_path: Path) -> None:
    make_folder(CONFIG, DEMO, 12, free_endpoints(), tmp_path, NOW)
    beds = load_configuration(tmp_path).unit.beds
    assert len({run.description.support for bed in beds for run in bed.runs}) >= 5
    assert sum(bed.entered_by_hand for bed in beds) == 1
    assert sum(len(bed.runs) == 2 for bed in beds) == 1


def test_that_beds_beyond_the_scenario_are_quiet_ones_with_new_labels() -> None:
    document = tomllib.loads(DEMO.read_text())
    more = with_beds(document, 14)
    assert more["beds"][:12] == document["beds"]
    assert more["beds"][12:] == ["B13", "B14"]
    assert {fault["bed"] for fault in more["fault"]} <= set(document["beds"])


KEYS = st.text(st.characters(min_codepoint=33, max_codepoint=0x2FF), min_size=1, max_size=8)
VALUES = st.recursive(
    st.booleans()
    | st.integers(-(2**60), 2**60)
    | st.floats(allow_nan=False, allow_infinity=False)
    | st.text(max_size=12),
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(KEYS, inner, max_size=3),
    max_leaves=8,
)


@given(st.dictionaries(st.sampled_from(["name", "bed", "roster"]), VALUES))
def test_that_what_is_written_is_read_back_the_same(document: dict[str, object]) -> None:
    assert tomllib.loads(toml_of(document)) == document


def test_that_every_person_of_a_demonstration_gets_an_invented_secret_that_is_printed(tmp_path: Path) -> None:
    pytest.importorskip("argon2", reason="argon2-cffi of requirements.lock is not installed: ./weirkeeper setup")
    scenario = make_folder(CONFIG, DEMO, 2, free_endpoints(), tmp_path, NOW)
    lines = list(make_secrets(scenario, tmp_path))
    people = load_people(tmp_path)
    assert people is not None
    unit = load_configuration(tmp_path).unit
    assert unit.people[0].label == "Nurse 1"
    assert [line.strip().split(": ")[0] for line in lines] == [person.label for person in unit.people]
    for line, person in zip(lines, unit.people, strict=True):
        known = people.known(person.name)
        assert known is not None
        assert fits(line.split(": ")[1], known.secret)


def test_that_invented_beds_are_shown_in_the_language_and_by_the_clock_and_constants_of_the_unit(
    tmp_path: Path,
) -> None:
    unit = tmp_path / "unit"
    shutil.copytree(CONFIG, unit)
    text = (unit / "unit.toml").read_text()
    text = text.replace('time_zone = "UTC"', 'time_zone = "Etc/GMT-2"\nlanguage = "de"\nlocale = "de_CH"')
    (unit / "unit.toml").write_text(text.replace("oxygen_capacity = 1.34", "oxygen_capacity = 1.39"))
    (unit / "language" / "de.po").write_text("# a language of tests\n")
    (unit / "screen.toml").write_text("text_percent = 120\n")
    drill, folder = tmp_path / "drill", tmp_path / "demo"
    folder.mkdir()
    make_folder(unit, CONFIG / "scenarios" / "night_of_entry.toml", None, free_endpoints(), folder, NOW)
    make_drill_folder(unit, courses_in(CONFIG)[0], None, free_endpoints(), drill, NOW)
    for made in (folder, drill):
        assert asked_in((made / "unit.toml").read_text()) == Asked("de", "de_CH")
        assert (made / "language" / "de.po").read_text() == "# a language of tests\n"
        assert (made / "screen.toml").exists()
        shown = load_configuration(made).unit
        assert (str(shown.zone), shown.constants.oxygen_capacity) == ("Etc/GMT-2", 1.39)
    plain = tmp_path / "plain"
    plain.mkdir()
    make_folder(CONFIG, CONFIG / "scenarios" / "night_of_entry.toml", None, free_endpoints(), plain, NOW)
    begins = [[shift.begins for shift in load_configuration(made).unit.shifts] for made in (plain, folder)]
    assert [f"{(int(one[:2]) + 2) % 24:02}{one[2:]}" for one in begins[0]] == begins[1] != []


def test_that_a_fault_in_the_unit_is_named_at_its_line_before_anything_is_made(tmp_path: Path) -> None:
    unit = tmp_path / "unit"
    shutil.copytree(CONFIG, unit)
    text = (unit / "unit.toml").read_text()
    (unit / "unit.toml").write_text(text.replace('time_zone = "UTC"', 'time_zone = "Middle/Earth"'))
    folder = tmp_path / "demo"
    folder.mkdir()
    with pytest.raises(SettingsError, match=r"unit.toml"):
        make_folder(unit, DEMO, 12, free_endpoints(), folder, NOW)
    assert not list(folder.iterdir())
