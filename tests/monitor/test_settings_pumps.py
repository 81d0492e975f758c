"""The engine is told of the pumps that a unit has; a run on a pump that is not there is a fault with its line."""

from pathlib import Path
from shutil import copytree

import pytest

from monitor.core.unit import Configuration
from monitor.settings import load_configuration
from shared.circuit import SHIPPED_PROFILES
from shared.written.faults import SettingsError

CONFIG = Path(__file__).parents[2] / "config"


def loaded(folder: Path = CONFIG) -> Configuration:
    return load_configuration(folder)


def test_that_the_configuration_holds_the_shipped_pumps() -> None:
    assert loaded().pumps == dict(SHIPPED_PROFILES)


def test_that_every_run_of_the_unit_has_its_pump() -> None:
    configuration = loaded()
    named = {run.description.profile for bed in configuration.unit.beds for run in bed.runs}
    assert named <= configuration.pumps.keys()


def test_that_a_pump_of_the_units_own_is_read(tmp_path: Path) -> None:
    folder = tmp_path / "config"
    copytree(CONFIG, folder)
    text = (folder / "pumps" / "broad.toml").read_text()
    (folder / "pumps" / "own.toml").write_text(text.replace('"broad"', '"own"').replace("2.72e-5", "3.1e-5"))
    assert loaded(folder).pumps["own"].head_speed_factor == 3.1e-5


def test_that_a_run_on_a_pump_that_is_not_there_is_a_fault_with_file_and_line(tmp_path: Path) -> None:
    folder = tmp_path / "config"
    copytree(CONFIG, folder)
    (folder / "pumps" / "small.toml").unlink()
    lines = (folder / "unit.toml").read_text().splitlines()
    line = lines.index('  profile = "small"') + 1
    with pytest.raises(SettingsError) as found:
        loaded(folder)
    assert f'unit.toml:{line}: profile = "small": there is no such pump in pumps/' in str(found.value)
