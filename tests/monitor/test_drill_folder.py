"""The folder of a drill: a whole configuration, beds that say what they are, the unit's own people, no way out."""

import re
import shutil
import socket
from pathlib import Path

import pytest

import monitor.cli.drill  # noqa: F401  what plays sounds is loaded before a test begins, with what it says
from monitor.cli.drilling.folder import Practised, as_test, course_of, courses_in, make_drill_folder
from monitor.cli.main import main
from monitor.core.drill import TEST, Drill
from monitor.core.endpoints import Endpoints
from monitor.core.unit import Unit
from monitor.hub.starting import start
from monitor.record import Record
from monitor.rehearsal.rehearse import rehearse
from monitor.settings import SettingsError, load_configuration, texts_in
from monitor.settings.drill_mark import drill_in
from shared.errors import ConfigurationError
from shared.scenario import Scenario, parse_scenario
from tests.helpers.courses import alert_entries, shipped
from tests.helpers.drill_record import CONFIG, play_drill
from tests.helpers.hub import free_endpoints
from tests.helpers.written_unit import WrittenUnit

NOW = 1_767_623_571_000
NAMES = [one.name for one in courses_in(CONFIG)]
#: What the comment of each file says: bed and rule of every alert that calls somebody, or low, within ten minutes.
RAISED = {
    "drainage_and_plug": {
        ("B1", "on_battery"), ("B1", "on_battery_long"), ("B3", "inlet_low"), ("B3", "flow_low"),
        ("B3", "spo2_low"), ("B3", "inlet_very_low"),
    },
    "flow_sensor_lost": {("B1", rule) for rule in ("flow_none", "flow_very_low", "flow_floor", "flow_low")},
    "pump_head_clot": {("B4", "flow_low"), ("B4", "spo2_low")},
    "return_line_kink": {
        ("B2", rule)
        for rule in ("flow_very_low", "flow_floor", "return_rise", "flow_low", "return_high", "spo2_low")
    },
}  # fmt: skip


def made(folder: Path, name: str = "return_line_kink", unit: Unit | None = None) -> tuple[Drill, Endpoints]:
    endpoints = free_endpoints()
    course = course_of(CONFIG / "drills" / f"{name}.toml")
    return make_drill_folder(CONFIG, course, unit, endpoints, folder, NOW, ("charge-2",)), endpoints


@pytest.mark.parametrize("with_people", [True, False])
@pytest.mark.parametrize("name", NAMES)
def test_that_every_drill_is_a_whole_configuration_of_beds_that_say_test(
    name: str, with_people: bool, tmp_path: Path
) -> None:
    unit = load_configuration(CONFIG).unit if with_people else None
    drill, endpoints = made(tmp_path / "drill", name, unit)
    configuration = load_configuration(tmp_path / "drill")
    found = configuration.unit
    assert found.drill == drill
    assert drill_in(texts_in(tmp_path / "drill")) == drill
    assert (found.endpoints, found.phone, found.pages) == (endpoints, "", None)
    assert all(bed.label.startswith(TEST) for bed in found.beds)
    assert all(run.description.run_id.startswith(TEST) for bed in found.beds for run in bed.runs)
    assert TEST in found.name
    assert not any(person.phone or person.page_to for person in found.people)
    assert configuration.limits == load_configuration(CONFIG).limits
    assert configuration.ladder == load_configuration(CONFIG).ladder
    assert configuration.equipment.items == ()
    assert drill.begun_by == (("Charge 2",) if with_people else ("charge-2",))


def test_that_people_practise_under_their_own_names_on_their_own_posts(tmp_path: Path) -> None:
    unit = load_configuration(CONFIG).unit
    drill, _ = made(tmp_path / "drill", unit=unit)
    found = load_configuration(tmp_path / "drill").unit
    assert {(one.name, one.label, one.role, one.in_unit) for one in found.people} == {
        (one.name, one.label, one.role, one.in_unit) for one in unit.people
    }
    assert drill.beside == unit.name
    nurses = {bed.nurse for bed in unit.beds}
    assert all(bed.nurse in nurses for bed in found.beds)
    assert found.roster.charge is not None
    assert str(found.zone) == str(unit.zone)


def test_that_a_unit_whose_beds_are_named_like_those_of_a_drill_has_none(tmp_path: Path) -> None:
    unit = load_configuration(CONFIG).unit
    beds = (unit.beds[0].model_copy(update={"label": "TEST2"}), *unit.beds[1:])
    with pytest.raises(ConfigurationError, match="labelled like those of a drill: TEST2"):
        made(tmp_path / "drill", unit=unit.model_copy(update={"beds": beds}))


def test_that_a_drill_that_could_page_is_refused_at_its_line(tmp_path: Path) -> None:
    made(tmp_path / "drill")
    unit = tmp_path / "drill" / "unit.toml"
    unit.write_text(unit.read_text() + '\n[pages]\nhost = "mail.unit.invalid"\nsender = "board@unit.invalid"\n')
    with pytest.raises(SettingsError, match="a drill pages nobody"):
        load_configuration(tmp_path / "drill")
    whole = load_configuration(CONFIG).unit
    people = tuple(one.model_copy(update={"page_to": "a@unit.invalid"}) for one in whole.people)
    with pytest.raises(ValueError, match="a drill pages nobody"):
        Unit(name="TEST", beds=whole.beds, people=people, drill=Drill(title="a"))


@pytest.mark.parametrize("file", sorted((CONFIG / "scenarios").glob("*.toml")), ids=lambda path: path.stem)
def test_that_any_scenario_can_be_practised_with_nobody_playing_in_it(file: Path, tmp_path: Path) -> None:
    made_of = Practised(file.stem, "x", file)
    if parse_scenario(file.read_text()).round:  # of beds without cables nothing is left without those who type
        with pytest.raises(ConfigurationError):
            make_drill_folder(CONFIG, made_of, None, free_endpoints(), tmp_path / "drill", NOW)
        return
    make_drill_folder(CONFIG, made_of, None, free_endpoints(), tmp_path / "drill", NOW)
    played = parse_scenario((tmp_path / "drill" / "scenario.toml").read_text())
    before = parse_scenario(file.read_text())
    assert len(played.beds) == len(before.beds)
    assert (played.act, played.shift, played.round) == ((), (), ())
    assert [fault.kind for fault in played.fault] == [fault.kind for fault in before.fault]
    assert load_configuration(tmp_path / "drill").unit.drill is not None


def test_that_a_cut_line_is_cut_at_the_renamed_beds() -> None:
    cut = {"title": "a", "beds": ["B7", "B2"], "link": [{"beds": ["B2"], "down": "1:00"}, {"beds": "all"}]}
    assert as_test(cut)["link"] == [{"beds": ["TEST2"], "down": "1:00"}, {"beds": "all"}]


@pytest.mark.parametrize("name", NAMES)
def test_that_each_course_raises_what_its_file_says_and_nothing_else(name: str) -> None:
    scenario: Scenario = parse_scenario((CONFIG / "drills" / f"{name}.toml").read_text())
    short = scenario.model_copy(update={"minutes": 10})
    raised = alert_entries(tuple(rehearse(short, shipped().limits, shipped().ladder)))
    assert {(one.bed, one.rule) for one in raised} == RAISED[name]


def test_that_a_unit_and_a_drill_never_go_on_with_each_others_record(tmp_path: Path) -> None:
    """A hub is refused, in both directions, and the record stays as it is."""
    drill = play_drill(tmp_path / "drill", minutes=1)
    written = WrittenUnit(tmp_path / "unit.record")
    written.read(1)
    written.close()
    for folder, path in ((drill.folder, written.path), (CONFIG, drill.record)):
        record = Record.open(path)
        try:
            head = record.head
            with pytest.raises(ConfigurationError, match="bed"):
                start(load_configuration(folder), record, record.last_at() + 1000, texts_in(folder))
            assert record.head == head
        finally:
            record.close()


def test_that_a_machine_whose_hub_answers_has_no_drill_of_the_whole_window(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    own = Path(shutil.copytree(CONFIG, tmp_path / "unit"))
    with socket.create_server(("127.0.0.1", 0)) as hub:
        port = hub.getsockname()[1]
        text = (own / "unit.toml").read_text()
        (own / "unit.toml").write_text(re.sub(r'(commands = "tcp://127.0.0.1:)\d+', rf"\g<1>{port}", text))
        assert main(["drill", "return_line_kink", "--alone", "--config", str(own), "--into", str(tmp_path)]) == 2
    assert "live beds are watched here" in capsys.readouterr().err
    assert not list(tmp_path.glob("*return_line_kink*"))


def test_that_the_command_says_what_can_be_practised_and_what_is_missing(
    capsys: pytest.CaptureFixture[str],
) -> None:
    assert main(["drill", "--list", "--config", str(CONFIG)]) == 0
    assert [line.split()[0] for line in capsys.readouterr().out.splitlines()] == NAMES
    for words, told in (
        (("nothing",), "there is none; drainage_and_plug"),
        (("--alone",), "which drill? One of drainage_and_plug"),
        (("pump_head_clot",), "say that nobody is: --alone"),
        (("--after", "nowhere"), "no folder of a drill"),
    ):
        assert main(["drill", *words, "--config", str(CONFIG)]) == 2
        assert told in capsys.readouterr().err
