"""Constants, laboratory values, size and targets' width in ``unit.toml``: what is wrong is told at its line."""

from pathlib import Path

import pytest

from monitor.core.constants import BodySurface, Constants, ResistanceFactor
from monitor.core.laboratory import LABORATORY, Laboratory
from monitor.settings import SettingsError, load_configuration, load_unit
from shared.quantities import CATALOGUE
from shared.quantities import Quantity as Q

UNIT = """\
name = "Ward"
[[bed]]
label = "B1"
[[bed.run]]
support = "VA"
weight = 82
height = 178
[constants]
oxygen_capacity = 1.39
oxygen_solubility = 0.003
body_surface = "du_bois"
resistance_factor = "exact"
[laboratory]
every_h = { act = 4, aptt = 8 }
notice_above = { lactate = 4 }
[outside_target]
flow_share = 0.05
"""
SHIPPED = Path(__file__).parents[2] / "config"


def faults(text: str) -> list[str]:
    with pytest.raises(SettingsError) as told:
        load_unit(text, "unit.toml")
    return [str(fault) for fault in told.value.faults]


def test_that_what_the_unit_writes_is_what_the_engine_gets() -> None:
    unit = load_unit(UNIT, "unit.toml")
    assert unit.constants.oxygen_capacity == 1.39
    assert unit.constants.body_surface is BodySurface.DU_BOIS
    assert unit.constants.resistance_factor is ResistanceFactor.EXACT
    assert unit.laboratory.every_h == {Q.ACT: 4, Q.APTT: 8}
    assert unit.outside_target.flow_share == 0.05
    (run,) = unit.beds[0].runs
    assert (run.description.weight, run.description.height) == (82, 178)


def test_that_the_shipped_file_says_what_stands_without_it() -> None:
    unit = load_configuration(SHIPPED).unit
    assert (unit.constants, unit.laboratory) == (Constants(), Laboratory())


def test_that_only_drawn_quantities_are_laboratory_values() -> None:
    assert not any(CATALOGUE[quantity].derived or CATALOGUE[quantity].signed for quantity in LABORATORY)
    laboratory = Laboratory()
    named = [laboratory.every_h, laboratory.usable_h, laboratory.notice_above, laboratory.notice_below]
    assert {quantity for table in named for quantity in table} <= set(LABORATORY)


@pytest.mark.parametrize(
    ("old", "new", "said"),
    [
        (
            "1.39",
            "13.9",
            "unit.toml:9: constants.oxygen_capacity = 13.9: is out of range; allowed: a number 1.3 to 1.4",
        ),
        ("0.003", "0.3", "unit.toml:10: constants.oxygen_solubility = 0.3: is out of range"),
        ("du_bois", "dubois", 'body_surface = "dubois": is not known here, did you mean du_bois?'),
        ('"exact"', "80", "unit.toml:12: constants.resistance_factor = 80: is not known here; allowed: one of"),
        ("act = 4", "pump_flow = 4", "unit.toml:14: laboratory.every_h.pump_flow = 4: Flow is no laboratory value"),
        ("act = 4", "act = 0", "unit.toml:14: laboratory.every_h.act = 0: is out of range"),
        (
            "lactate = 4",
            "lactate = 400",
            "unit.toml:15: laboratory.notice_above.lactate = 400: Lactate can never be there",
        ),
        ("flow_share = 0.05", "flow_share = 5", "unit.toml:17: outside_target.flow_share = 5: is out of range"),
        ("weight = 82", "weight = 0.5", "unit.toml:6: weight = 0.5: is out of range; allowed: a number 1 to 400"),
        ("weight = 82\nheight = 178", "weight = 178\nheight = 82", "unit.toml:6: weight = 178: 178 kg and 82 cm"),
    ],
)
def test_that_a_fault_is_told_at_its_line(old: str, new: str, said: str) -> None:
    told = faults(UNIT.replace(old, new))
    assert any(said in fault for fault in told)
    assert not [fault for fault in told if said not in fault and "has too few items" not in fault]
