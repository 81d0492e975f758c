"""``monitor check``: one line for each fault, a count, and a status that a script can ask."""

import argparse
import re
import shutil
from pathlib import Path

import pytest

from monitor.cli import check

CONFIG = Path(__file__).parents[2] / "config"
LINE = re.compile(r"^[\w./-]+\.toml:\d+: .+")


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """A copy of the shipped configuration that a test may spoil."""
    return Path(shutil.copytree(CONFIG, tmp_path / "config"))


def run(*words: str) -> int:
    parser = argparse.ArgumentParser()
    check.add_arguments(parser)
    return check.run(parser.parse_args(words))


def spoil(path: Path, right: str, wrong: str) -> None:
    text = path.read_text()
    assert right in text
    path.write_text(text.replace(right, wrong, 1))


def test_that_the_shipped_configuration_has_no_faults(capsys: pytest.CaptureFixture[str]) -> None:
    assert run("--config", str(CONFIG)) == 0
    told = capsys.readouterr().out
    assert told.startswith("No faults in ")
    assert (
        "Beds    8: B1 VA, B2 VA, B3 VV, B4 LA–Ao, B5 VA (by hand), B6 LV–Ao + RA–PA, B7 RA–PA oxy, B8 empty"
        in told
    )
    assert "Cover   no holes" in told
    assert "settings, not advice" in told


def test_that_every_fault_of_every_file_is_one_line_and_the_last_line_counts_them(
    folder: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    spoil(folder / "unit.toml", 'label = "B2"', 'label = "B1"')
    spoil(folder / "limits.toml", "below = -80", "below = -800")
    spoil(folder / "ladder.toml", "high_s = 180", "high_s = 0")
    spoil(folder / "pumps" / "small.toml", "packs = 2", "packs = 0")
    spoil(folder / "scenarios" / "22_vv_at_84.toml", 'support = "VV"', 'support = "VW"')
    spoil(folder / "maps" / "icu_numerics.toml", "[time]", "[tine]")
    assert run("--config", str(folder)) == 1
    *faults, count = capsys.readouterr().out.splitlines()
    assert all(LINE.match(line) for line in faults), faults
    files = [line.partition(":")[0] for line in faults]
    assert files == sorted(files)
    assert {
        "unit.toml", "limits.toml", "ladder.toml", "pumps/small.toml", "scenarios/22_vv_at_84.toml",
        "maps/icu_numerics.toml",
    } == set(files)  # fmt: skip
    assert count.startswith(f"{len(faults)} faults in ")


def test_that_one_fault_is_told_as_the_readme_says(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    spoil(folder / "limits.toml", "below = -80", "below = -800")
    line = (folder / "limits.toml").read_text().splitlines().index("below = -800") + 1
    assert run("--config", str(folder)) == 1
    first, count = capsys.readouterr().out.splitlines()
    expected = f"limits.toml:{line}: below = -800: Drain P can never be there; allowed: -400 to 100 mmHg"
    assert first == expected
    assert count.startswith("1 fault in ")


def test_that_a_fault_inside_a_scenario_is_told_at_its_own_table(
    folder: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    path = folder / "scenarios" / "01_slow_bleed.toml"
    rows = path.read_text().splitlines()
    bed = [number for number, row in enumerate(rows) if 'bed = "B1"' in row][2]
    rows[bed] = rows[bed].replace('"B1"', '"B9"')
    path.write_text("\n".join(rows))
    assert run("--config", str(folder)) == 1
    told = capsys.readouterr().out
    assert f"scenarios/01_slow_bleed.toml:{bed + 1}: " in told
    assert "no such bed; allowed: B1" in told


def test_that_a_fault_in_a_course_to_practise_is_told(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    spoil(folder / "drills" / "pump_head_clot.toml", "pump_thrombosis", "pump_clot")
    assert run("--config", str(folder)) == 1
    assert "drills/pump_head_clot.toml:" in capsys.readouterr().out


def test_that_a_pump_that_a_scenario_names_must_be_there(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    path = folder / "scenarios" / "22_vv_at_84.toml"
    path.write_text('profile = "smal"\n' + path.read_text())
    assert run("--config", str(folder)) == 1
    assert '22_vv_at_84.toml:1: profile = "smal": there is no such pump in pumps/, did you mean small?' in (
        capsys.readouterr().out
    )


def test_that_a_pump_file_with_a_fault_is_told_once_and_not_at_every_bed(
    folder: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    spoil(folder / "pumps" / "broad.toml", "packs = 4", "packs = 0")
    assert run("--config", str(folder)) == 1
    assert capsys.readouterr().out.count("toml:") == 1


def test_that_holes_in_cover_are_told_and_are_no_fault(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    spoil(folder / "unit.toml", 'perfusionist = "perfusionist-1"\n', "")
    spoil(folder / "unit.toml", 'nurse = "nurse-2"\n', "")
    assert run("--config", str(folder)) == 0
    told = capsys.readouterr().out
    assert "Cover   2 holes" in told
    assert "Perfusionist: nobody" in told
    assert "Bed B2: no bedside nurse" in told


def test_that_the_language_of_the_screens_is_told_and_what_is_wrong_with_it_stops_nothing(
    folder: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    spoil(folder / "unit.toml", "time_zone", 'language = "de"\nlocale = "de_CH"\ntime_zone')
    assert run("--config", str(folder)) == 0
    assert "Screens language/de.po: there is no such file: screens speak en" in capsys.readouterr().out
    (folder / "language" / "de.po").write_text('msgid ""\nmsgstr ""\n\nmsgid "{who} called"\nmsgstr "gerufen"\n')
    assert run("--config", str(folder)) == 0
    assert 'Screens language/de.po: "{who} called": {who} is missing' in capsys.readouterr().out
    (folder / "language" / "de.po").write_text('msgid ""\nmsgstr ""\n')
    assert run("--config", str(folder)) == 0
    assert "Screens de, numbers and days as de_CH" in capsys.readouterr().out
    spoil(folder / "unit.toml", '"de_CH"', '"Swiss"')
    assert run("--config", str(folder)) == 1
    assert 'locale = "Swiss"' in capsys.readouterr().out


def test_that_an_empty_bed_needs_no_nurse(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    spoil(folder / "unit.toml", 'nurse = "nurse-8"\n', "")
    assert run("--config", str(folder)) == 0
    assert "Cover   no holes" in capsys.readouterr().out


def test_that_a_folder_that_is_not_there_has_its_own_status(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert run("--config", str(tmp_path / "absent")) == 2
    told = capsys.readouterr()
    assert not told.out
    assert "there is no such folder" in told.err


def test_that_an_empty_folder_misses_all_three_files(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert run("--config", str(tmp_path)) == 1
    told = capsys.readouterr().out
    for name in ("unit.toml", "limits.toml", "ladder.toml"):
        assert f"{name}:1: cannot be read" in told
