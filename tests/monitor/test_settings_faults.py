"""Faults of the configuration: each is told with file, line, key, value and what is allowed; all at once."""

from collections.abc import Callable
from pathlib import Path

import pytest

from monitor.settings import SettingsError, load_configuration, load_ladder, load_limits, load_unit
from shared.errors import ConfigurationError

CONFIG = Path(__file__).parents[2] / "config"
LOADERS: dict[str, Callable[[str, str], object]] = {
    "limits.toml": load_limits,
    "ladder.toml": load_ladder,
    "unit.toml": lambda text, name: load_unit(text, name, ["broad", "small"]),
}
#: file, what stands there, what is written instead, and words that the fault must have.
SLIPS = [
    ("limits.toml", "below = 0.85", 'below = "low"', ['below = "low"', "wrong type", "allowed: a number"]),
    ("limits.toml", "below = 0.85", "below = 85", ["below = 85", "share", "0 to 5"]),
    ("limits.toml", "delay_s = 4500", "delay_s = -1", ["delay_s = -1", "out of range", "0 to 86400"]),
    ("limits.toml", "counts_dips = true", "count_dips = true", ["not known here", "did you mean counts_dips?"]),
    ("limits.toml", 'kind = "unsteady"', 'kind = "unstedy"', ["kind", "did you mean unsteady?", "frozen"]),
    ("limits.toml", 'quantity = "svo2"', 'quantity = "svo"', ['quantity = "svo"', "did you mean svo2?"]),
    ("limits.toml", "below = -80", "below = -800", ["below = -800", "-400 to 100 mmHg"]),
    ("limits.toml", "outside = [35.0, 38.5]", "outside = [38.5, 35.0]", ["outside", "lower edge comes first"]),
    ("limits.toml", "outside = [35.0, 38.5]", "outside = [35.0]", ["outside", "too few", "list of 2"]),
    ("limits.toml", "hits = 4", "hits = 7", ["hits = 7", "more hits than windows", "at most 6"]),
    ("limits.toml", 'id = "flow_none"', 'id = "flow_floor"', ['id = "flow_floor"', "stands twice"]),
    ("limits.toml", 'title = "No flow"', 'title = "No {flow}"', ["title", "{flow}", "{limit} and {label}"]),
    ("limits.toml", 'title = "No flow"', 'title = "No } flow"', ["title", "braces"]),
    ("limits.toml", 'causes = ["return_open"]', 'causes = ["return_opn"]', ["causes, item 1", "return_open?"]),
    ("limits.toml", "by_support = { VV = 82 }", "by_support = { VW = 82 }", ["by_support.VW", "VA, VV, LA-Ao"]),
    ("limits.toml", '{ LA-Ao = "low", LV-Ao', '{ VV = "low", LV-Ao', ["priority_by_support.VV", "not for that"]),
    ("ladder.toml", "[rows.medium]", "[rows.mediun]", ["rows.mediun", "did you mean medium?"]),
    ("ladder.toml", "high_s = 180", "high_s = 0", ["holds.high_s = 0", "above 0"]),
    ("ladder.toml", "repeat_from_s = 1500", "repeat_from_s = 800", ["repeats begin before", "at least 900"]),
    ("ladder.toml", "order_baseline_to_s = 600", "order_baseline_to_s = 300", ["above 300"]),
    ("unit.toml", 'label = "B2"', 'label = "B 2"', ['label = "B 2"', "letters, digits"]),
    ("unit.toml", 'label = "B2"', 'label = "B1"', ['label = "B1"', "stands twice"]),
    ("unit.toml", 'nurse = "nurse-2"', 'nurse = "nurse-22"', ["not among the people", "did you mean nurse-2?"]),
    ("unit.toml", 'role = "surgeon"', 'role = "surgon"', ["did you mean surgeon?"]),
    ("unit.toml", 'charge = "charge-2"', 'charge = "nurse-1"', ["roster.charge", "bedside_nurse cannot stand"]),
    ("unit.toml", 'profile = "small"', 'profile = "smal"', ["no such pump", "did you mean small?", "broad, small"]),
    ("unit.toml", "slot = 2", "slot = 1", ["slot = 1", "same slot"]),
    ("unit.toml", "pump_flow = 3.9", "pump_flow = 39", ["targets.pump_flow = 39", "-5 to 10 L/min"]),
    ("unit.toml", "pump_flow = 3.9", "lactate = 2", ["targets.lactate", "not fitted"]),
    ("unit.toml", '"limb_nirs_left"', '"speed_yield"', ["fitted_also, item 1", "computed, never fitted"]),
    ("unit.toml", "tcp://127.0.0.1:17312", "127.0.0.1:17312", ["endpoints.link", "tcp://host:port"]),
    ("unit.toml", "tcp://127.0.0.1:17312", "tcp://127.0.0.1:17311", ["endpoints.link", "share this address"]),
    ("unit.toml", 'name = "Cardiac support unit"', "", ["name: is missing", "1 to 40 characters"]),
]  # fmt: skip


def faults_of(file: str, text: str) -> SettingsError:
    with pytest.raises(SettingsError) as caught:
        LOADERS[file](text, file)
    return caught.value


@pytest.mark.parametrize("slip", SLIPS, ids=lambda slip: f"{slip[0].partition('.')[0]} {slip[2][:34]}")
def test_that_a_slip_is_told_at_its_line_with_what_is_allowed(slip: tuple[str, str, str, list[str]]) -> None:
    file, right, wrong, words = slip
    text = (CONFIG / file).read_text()
    line = 1 if not wrong else text[: text.index(right)].count("\n") + 1
    error = faults_of(file, text.replace(right, wrong, 1))
    told = [str(fault) for fault in error.faults if fault.line == line]
    assert any(all(word in one for word in words) for one in told), str(error)
    assert all(one.startswith(f"{file}:{line}: ") for one in told)


def test_that_text_that_is_not_toml_is_told_with_its_line() -> None:
    text = (CONFIG / "ladder.toml").read_text()
    line = text[: text.index("r2 = 60")].count("\n") + 1
    error = faults_of("ladder.toml", text.replace("r2 = 60", "r2 = = 60", 1))
    assert str(error) == f"ladder.toml:{line}: this is not TOML: Invalid value"


def test_that_a_text_that_breaks_off_is_told_at_its_last_line() -> None:
    error = faults_of("unit.toml", 'name = "Unit"\n[[bed]]\nlabel = "B1')
    assert [fault.line for fault in error.faults] == [3]


def test_that_faults_of_all_tables_are_told_in_one_go() -> None:
    text = (CONFIG / "unit.toml").read_text()
    lines = set()
    for _, right, wrong, _ in (slip for slip in SLIPS if slip[0] == "unit.toml" and slip[2]):
        if right in text:  # an earlier slip may have taken its place
            lines.add(text[: text.index(right)].count("\n") + 1)
            text = text.replace(right, wrong, 1)
    assert len(lines) == 9
    assert {fault.line for fault in faults_of("unit.toml", text).faults} == lines


def test_that_faults_of_all_files_are_told_in_one_go(tmp_path: Path) -> None:
    for file, right, wrong in (
        ("limits.toml", "below = -80", "below = -800"),
        ("ladder.toml", "high_s = 180", "high_s = 0"),
        ("unit.toml", 'label = "B2"', 'label = "B1"'),
        ("pumps/small.toml", "packs = 2", "packs = 0"),
    ):
        (tmp_path / file).parent.mkdir(exist_ok=True)
        (tmp_path / file).write_text((CONFIG / file).read_text().replace(right, wrong))
    (tmp_path / "pumps" / "broad.toml").write_text((CONFIG / "pumps" / "broad.toml").read_text())
    with pytest.raises(SettingsError) as caught:
        load_configuration(tmp_path)
    assert {fault.file for fault in caught.value.faults} == {
        "limits.toml", "ladder.toml", "unit.toml", "pumps/small.toml"
    }  # fmt: skip


def test_that_a_file_that_is_not_there_is_a_fault_and_a_folder_that_is_not_there_an_error(tmp_path: Path) -> None:
    with pytest.raises(SettingsError, match=r"unit\.toml:1: cannot be read"):
        load_configuration(tmp_path)
    with pytest.raises(ConfigurationError, match="there is no such folder"):
        load_configuration(tmp_path / "absent")


def test_that_a_file_in_another_encoding_is_told_with_its_line(tmp_path: Path) -> None:
    (tmp_path / "unit.toml").write_bytes(b'name = "Unit"\nnote = "\xe4"\n')
    with pytest.raises(SettingsError, match=r"unit\.toml:2: this is not UTF-8"):
        load_configuration(tmp_path)


def test_that_a_mark_that_an_editor_puts_first_does_no_harm(tmp_path: Path) -> None:
    for name in ("unit.toml", "limits.toml", "ladder.toml", "patterns.toml", "entry.toml", "equipment.toml"):
        (tmp_path / name).write_text((CONFIG / name).read_text(), encoding="utf-8-sig")
    (tmp_path / "pumps").mkdir()
    for pump in (CONFIG / "pumps").glob("*.toml"):
        (tmp_path / "pumps" / pump.name).write_text(pump.read_text())
    assert load_configuration(tmp_path) == load_configuration(CONFIG)
