"""Which hours a shift has, also in the nights in which the clock is changed, and why a report is refused."""

import json
import time
from datetime import date
from pathlib import Path
from zoneinfo import ZoneInfo

import pytest

from monitor.cli.main import main
from monitor.cli.moments import moment_of
from monitor.reports.shift.hours import shift_hours
from monitor.settings import load_configuration
from shared.cautions import ON_PAPER
from shared.errors import ConfigurationError
from shared.instant import HOUR
from tests.helpers.courses import CONFIG
from tests.helpers.written_unit import WrittenUnit

UNIT = load_configuration(CONFIG).unit.model_copy(update={"zone": ZoneInfo("Europe/Vienna")})


@pytest.mark.parametrize(("day", "long"), [("2026-03-28", 11), ("2026-10-24", 13), ("2026-06-01", 12)])
def test_that_a_night_is_as_long_as_the_clock_makes_it(day: str, long: int) -> None:
    begin, end = shift_hours(UNIT, "night", date.fromisoformat(day), 0)
    assert end - begin == long * HOUR


def test_that_the_newest_shift_that_has_begun_is_meant() -> None:
    begin, _ = shift_hours(UNIT, "Day", date(2026, 6, 1), 0)
    assert shift_hours(UNIT, "Day", None, begin)[0] == begin
    assert shift_hours(UNIT, "Day", None, begin - 1)[0] == begin - 24 * HOUR


def test_that_an_unknown_shift_is_refused_with_those_there_are() -> None:
    with pytest.raises(ConfigurationError, match="Day, Night, On call"):
        shift_hours(UNIT, "Late", None, 0)


@pytest.fixture(scope="module")
def path(tmp_path_factory: pytest.TempPathFactory) -> Path:
    unit = WrittenUnit(tmp_path_factory.mktemp("short") / "unit.record", ("B1",))
    unit.read(12)
    unit.close()
    return unit.path


def test_that_the_running_shift_is_reported_up_to_now(path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["report", str(path), "--json"]) == 0
    found = json.loads(capsys.readouterr().out)
    assert found["cautions"] == list(ON_PAPER)
    assert (found["shift"], found["goes_on"]) == ("Night", True)
    [run] = found["beds"][0]["runs"]
    assert run["quantities"][0] | {"minutes": None} == {
        "quantity": "pump_flow", "readings": 36, "low": 4.2, "median": 4.2, "high": 4.2, "first": 4.2, "last": 4.2,
        "minutes": None,
    }  # fmt: skip
    minutes = run["quantities"][0]["minutes"]
    assert (minutes["judged"], minutes["outside"], minutes["low"]) == (12, 0, pytest.approx(3.78))
    assert found["beds"][7]["runs"] == []


@pytest.mark.parametrize(
    ("words", "why"),
    [
        (["--from", "2026-01-01 00:00", "--shift", "Day"], "give one of them"),
        (["--to", "2026-01-01 00:00"], "--to needs --from"),
        (["--from", "2026-01-02", "--to", "2026-01-01"], "is not before"),
        (["--from", "2025-01-01", "--to", "2025-01-02"], "had not begun"),
        (["--date", "soon"], "write the day as"),
        (["--date", "2020-01-01"], "had not begun"),
        (["--from", "2030-01-01", "--to", "2030-01-02"], "the record ends before these hours, 2026-01-01"),
    ],
)
def test_that_what_makes_no_sense_is_refused(
    path: Path, capsys: pytest.CaptureFixture[str], words: list[str], why: str
) -> None:
    assert main(["report", str(path), *words, "--json"]) == 2
    assert why in capsys.readouterr().err


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("2026-10-25 02:30", 'came twice, .* with its offset, "2026-10-25 02:30.0200" or "2026-10-25 02:30.0100"'),
        ("2026-03-29 02:30", 'never came, .* with its offset, "2026-03-29 01:30.0100" or "2026-03-29 03:30.0200"'),
        ("0001-01-01", "write the time as"),
    ],
)
def test_that_a_time_over_which_the_clock_was_changed_is_asked_for_with_its_offset(
    monkeypatch: pytest.MonkeyPatch, text: str, said: str
) -> None:
    try:
        monkeypatch.setenv("TZ", "Europe/Vienna")
        time.tzset()
        with pytest.raises(ConfigurationError, match=said):
            moment_of("--from", text)
        assert moment_of("--from", "2026-10-25 02:30+0100") - moment_of("--from", "2026-10-25 01:30") == 2 * HOUR
    finally:
        monkeypatch.undo()
        time.tzset()
