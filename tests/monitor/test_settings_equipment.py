"""Faults of ``equipment.toml``, each at its line; a folder without the file has no equipment."""

import shutil
from pathlib import Path

import pytest

from monitor.core.equipment.table import EquipmentTable
from monitor.settings import SettingsError, configuration_of, load_configuration, texts_in

CONFIG = Path(__file__).parents[2] / "config"
PAPER = '[[item]]\nid = "D1"\nkind = "heater"\nplace = "S"\nchecked_by = "p"\n'
ITEM = '[[item]]\nid = "C1"\nkind = "console"\n'


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    for name in ("unit.toml", "limits.toml", "ladder.toml"):
        shutil.copy(CONFIG / name, tmp_path / name)
    shutil.copytree(CONFIG / "pumps", tmp_path / "pumps")
    return tmp_path


def test_that_the_shipped_equipment_is_read_and_kept_with_the_record() -> None:
    shipped = load_configuration(CONFIG)
    assert len(shipped.equipment.items) == 5
    assert configuration_of(texts_in(CONFIG)).equipment == shipped.equipment


def test_that_a_folder_without_the_file_has_no_equipment(folder: Path) -> None:
    assert load_configuration(folder).equipment == EquipmentTable()
    assert configuration_of(texts_in(folder)).equipment == EquipmentTable()


@pytest.mark.parametrize(
    ("text", "line", "wrong"),
    [
        (ITEM + 'place = "S"\n' + ITEM + 'place = "S"', 6, "this item"),
        (ITEM + 'bed = "B11"', 4, "there is no bed B11"),
        (ITEM + 'bed = "B8"\nslot = 1', 5, "no run stands in slot 1 of B8"),
        (ITEM + 'place = "S"\nprimed_at = 2026-01-01T00:00:00Z', 5, "only a circuit is primed"),
        (PAPER + "charge = 9", 6, "this kind has no charge"),
        (ITEM, 1, "either at a bed or at a place"),
    ],
)
def test_that_a_fault_is_told_at_its_line(folder: Path, text: str, line: int, wrong: str) -> None:
    (folder / "equipment.toml").write_text(text)
    with pytest.raises(SettingsError) as told:
        load_configuration(folder)
    (fault,) = told.value.faults
    assert (fault.file, fault.line) == ("equipment.toml", line)
    assert wrong in str(fault)
