"""Shifts and time zone in ``unit.toml``: what is wrong is told at its line, what is right becomes a plan."""

from pathlib import Path
from zoneinfo import ZoneInfo

import pytest

from monitor.core.roster.planning import planned
from monitor.settings import SettingsError, load_unit
from shared.instant import HOUR
from tests.helpers.ward import BEGIN

UNIT = """\
name = "Ward"
time_zone = "Europe/Vienna"
[[bed]]
label = "B1"
[[person]]
name = "nurse-1"
label = "Nurse 1"
role = "bedside_nurse"
[[person]]
name = "charge-1"
label = "Charge 1"
role = "charge_nurse"
[[shift]]
name = "Day"
begins = "07:00"
ends = "19:00"
charge = "charge-1"
nurses = { B1 = "nurse-1" }
"""


def faults(text: str) -> list[str]:
    with pytest.raises(SettingsError) as told:
        load_unit(text, "unit.toml")
    return [str(fault) for fault in told.value.faults]


def test_that_shifts_and_zone_become_a_plan() -> None:
    unit = load_unit(UNIT, "unit.toml")
    assert unit.zone == ZoneInfo("Europe/Vienna")
    assert planned(unit, (), BEGIN + 6 * HOUR) == {"2": "charge-1", "1:B1": "nurse-1"}  # 07:00 there in winter
    assert planned(unit, (), BEGIN + 6 * HOUR - 1) == {"2": None, "1:B1": None}


@pytest.mark.parametrize(
    ("old", "new", "said"),
    [
        (
            "Europe/Vienna",
            "Europe/Nowhere",
            'unit.toml:2: time_zone = "Europe/Nowhere": there is no such time zone',
        ),
        ('"Europe/Vienna"', "3", "unit.toml:2: time_zone = 3"),
        ("07:00", "7:00", 'unit.toml:15: begins = "7:00"'),
        ("19:00", "24:00", 'unit.toml:16: ends = "24:00"'),
        ('charge = "charge-1"', 'charge = "charge-2"', "is not among the people, did you mean charge-1?"),
        ('charge = "charge-1"', 'charge = "nurse-1"', "a bedside_nurse cannot stand here"),
        ("{ B1 =", "{ B2 =", 'nurses.B2 = "nurse-1": there is no bed B2'),
    ],
)
def test_that_a_fault_is_told_at_its_line(old: str, new: str, said: str) -> None:
    assert any(said in fault for fault in faults(UNIT.replace(old, new, 1)))


def test_that_two_shifts_do_not_plan_one_post_at_one_time() -> None:
    late = '[[shift]]\nname = "Late"\nbegins = "18:00"\nends = "08:00"\nnurses = { B1 = "nurse-1" }\n'
    (fault,) = faults(UNIT + late)
    assert "Day plans this post at the same time" in fault
    after = late.replace("18:00", "19:00").replace("08:00", "07:00")
    assert len(load_unit(UNIT + after, "unit.toml").shifts) == 2


def test_that_a_shift_stands_once() -> None:
    again = '[[shift]]\nname = "Day"\nbegins = "19:00"\nends = "07:00"\n'
    assert any("this shift stands twice" in fault for fault in faults(UNIT + again))


def test_that_the_shipped_unit_is_planned_round_the_clock() -> None:
    text = (Path(__file__).parents[2] / "config" / "unit.toml").read_text(encoding="utf-8")
    unit = load_unit(text, "unit.toml")
    for hour in range(24):
        assert None not in planned(unit, (), BEGIN + hour * HOUR).values()
