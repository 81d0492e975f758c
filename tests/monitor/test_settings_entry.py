"""Faults of the table of the entry form: each is told with file, line, key, value and what is allowed."""

from pathlib import Path

import pytest

from monitor.settings import SettingsError, load_entry, load_entry_in
from shared.entry.table import EntryTable, parse_entry_table
from shared.errors import ConfigurationError
from shared.quantities import CATALOGUE
from shared.quantities import Quantity as Q
from shared.support import Support, describe_run
from tests.helpers.courses import CONFIG

SHIPPED = (CONFIG / "entry.toml").read_text()
TABLE = parse_entry_table(SHIPPED)
HB = 'quantity = "haemoglobin"\nunit = "g/L"'
#: What stands there, what is written instead, and words that the fault must have.
SLIPS = [
    (HB, 'quantity = "haemoglobn"\nunit = "g/L"', ['quantity = "haemoglobn"', "did you mean haemoglobin?"]),
    (HB, 'quantity = "haemoglobin"\nunit = "g/dL"', ['unit = "g/dL"', "not the unit", 'allowed: "g/L"']),
    (HB, 'quantity = "speed_yield"\nunit = "L/min"', ["is computed beside what is typed"]),
    (HB, 'quantity = "haematocrit"\nunit = "%"', ['quantity = "haematocrit"', "stands twice"]),
    ('supports = ["VV"]', 'supports = ["VV", "VA"]', ['quantity = "spo2_right_hand"', "stands twice"]),
    ("soft_below = 70\n", "soft_below = 170\n", ["soft_below = 170", "not below soft_above", "below 160"]),
    ("soft_below = 70\n", "soft_below = 10\n", ["soft_below = 10", "outside what is accepted at all"]),
    ("soft_below = 70\n", "refused_below = 5\n", ["refused_below = 5", "refused there", "20 to 250"]),
    ("soft_below = 70\n", "refused_above = 251\n", ["refused_above = 251", "20 to 250"]),
    ("soft_below = 70\n", "soft_belo = 70\n", ["did you mean soft_below?"]),
    ('swapped_with = "limb_nirs_left"', 'swapped_with = "ldhh"', ["not known", "did you mean ldh?"]),
    ('swapped_with = "limb_nirs_left"', 'swapped_with = "heart_rate"', ["no [[field]] has this quantity"]),
    ('swapped_with = "limb_nirs_left"', 'swapped_with = "limb_nirs_right"', ["exchanged with itself"]),
    ("ask_share = 0.20", "of_top_speed = { soft_below = 0, soft_above = 1, refused_above = 1 }", ["only the pump"]),
    ("decimals = 2\n", "decimals = 9\n", ["decimals = 9", "0 to 3"]),
    ('sign = "minus"', 'sign = "plus"', ["sign", "not written as it must be"]),
    ('asked = "oxygenator"', 'asked = "sometimes"', ["fitted, oxygenator, always"]),
    ("factor = 7.5006", "factor = -7.5", ["factor = -7.5", "above 0"]),
    ('[times]\nmark = "CP"', '[times]\nmark = "CP"\nlate = 15', ["did you mean late_min?"]),
    ('mark = "M"\nsource = "Lubnow', 'mark = "X"\nsource = "Lubnow', ['mark = "X"', "M, CP, TD, unit"]),
]  # fmt: skip
#: Rows of the round's table: unit, soft below, soft above; common practice without a source, but for pfHb and
#: LDH (Lubnow 2014, PLoS One 9:e112316).
HOURLY = {
    Q.PUMP_FLOW: ("L/min", 1.5, 7.0),
    Q.INLET_PRESSURE: ("mmHg", -120, 0),
    Q.PRE_OXYGENATOR_PRESSURE: ("mmHg", 50, 350),
    Q.POST_OXYGENATOR_PRESSURE: ("mmHg", 40, 320),
    Q.FDO2: ("%", 30, None),
    Q.BLOOD_TEMPERATURE: ("°C", 34, 38.5),
    Q.BATTERY_CHARGE: ("%", 50, None),
    Q.MEAN_ARTERIAL_PRESSURE: ("mmHg", 50, 110),
    Q.SPO2_RIGHT_HAND: ("%", 88, None),
    Q.SVO2: ("%", 55, 88),
    Q.HAEMOGLOBIN: ("g/L", 70, 160),
    Q.FIBRINOGEN: ("g/L", 1.5, 7),
    Q.PLASMA_FREE_HAEMOGLOBIN: ("mg/L", None, 300),
    Q.LDH: ("U/L", None, 1000),
    Q.LACTATE: ("mmol/L", None, 4),
    Q.ACT: ("s", 140, 260),
    Q.ANTI_XA: ("IU/mL", None, 1.0),
}


@pytest.mark.parametrize(
    ("stands", "slip", "words"), SLIPS, ids=[f"{n}-{slip[1][:24]!r}" for n, slip in enumerate(SLIPS)]
)
def test_that_a_slip_in_the_table_is_told_at_its_line(stands: str, slip: str, words: list[str]) -> None:
    assert stands in SHIPPED
    text = SHIPPED.replace(stands, slip, 1)
    with pytest.raises(SettingsError) as caught:
        load_entry(text, "entry.toml")
    told = [str(fault) for fault in caught.value.faults]
    line = text[: text.index(slip)].count("\n") + 1
    assert any(all(word in fault for word in words) for fault in told), told
    places = [int(fault.split(":")[1]) for fault in told]
    assert all(fault.startswith("entry.toml:") for fault in told)
    assert any(abs(place - line) <= 12 for place in places), (places, line)


def test_that_the_form_is_told_the_same_faults_without_the_settings_of_the_hub() -> None:
    with pytest.raises(ConfigurationError, match=r'\[\[field\]\] number 2, key "soft_below"'):
        parse_entry_table(SHIPPED.replace("soft_below = 1.5", 'soft_below = "low"', 1))
    with pytest.raises(ConfigurationError, match="not that of the catalogue: g/L"):
        parse_entry_table(SHIPPED.replace(HB, 'quantity = "haemoglobin"\nunit = "g/dL"'))
    with pytest.raises(ConfigurationError, match="spo2_right_hand stands twice"):
        parse_entry_table(SHIPPED.replace('supports = ["VV"]', 'supports = ["VV", "VA"]'))


def test_that_a_folder_without_the_table_has_no_form(tmp_path: Path) -> None:
    assert load_entry_in(tmp_path) is None
    (tmp_path / "entry.toml").write_text(SHIPPED)
    assert load_entry_in(tmp_path) == TABLE


def test_that_the_shipped_ranges_are_those_of_the_trade() -> None:
    for quantity, (unit, below, above) in HOURLY.items():
        field = TABLE.field_of(describe_run(Support.VA, "r"), quantity)
        assert field is not None, quantity
        assert (field.unit, field.soft_below, field.soft_above) == (unit, below, above), quantity


def test_that_every_number_that_is_refused_is_refused_by_the_hub_too() -> None:
    for field in TABLE.field:
        entry = CATALOGUE[field.quantity]
        assert entry.low <= field.refused[0] < field.refused[1] <= entry.high, field.quantity


def test_that_the_hourly_round_stands_in_the_order_of_the_bedside() -> None:
    va = describe_run(Support.VA, "r")
    order = [field.quantity for field in TABLE.fields_of(va)]
    assert order[:7] == [
        Q.PUMP_SPEED, Q.PUMP_FLOW, Q.INLET_PRESSURE, Q.PRE_OXYGENATOR_PRESSURE, Q.POST_OXYGENATOR_PRESSURE,
        Q.SWEEP_GAS_FLOW, Q.FDO2,
    ]  # fmt: skip
    assert order.index(Q.MEAN_ARTERIAL_PRESSURE) < order.index(Q.SPO2_RIGHT_HAND) < order.index(Q.HAEMOGLOBIN)


def quantities(support: Support, sensors: frozenset[Q] | None = None) -> set[Q]:
    return {field.quantity for field in TABLE.fields_of(describe_run(support, "r", sensors=sensors))}


def test_that_a_form_has_only_what_is_fitted_and_makes_sense_there() -> None:
    assert {Q.SYSTOLIC_PRESSURE, Q.DIASTOLIC_PRESSURE} <= quantities(Support.VA)  # the pulse pressure's parts
    assert Q.SYSTOLIC_PRESSURE not in quantities(Support.VV)
    without = {Q.PRE_OXYGENATOR_PRESSURE, Q.SWEEP_GAS_FLOW, Q.FDO2, Q.POST_OXYGENATOR_PO2, Q.POST_OXYGENATOR_PCO2}
    assert not without & quantities(Support.LA_AO)
    assert without <= quantities(Support.RA_PA_OXY)
    assert Q.INLET_PRESSURE not in quantities(Support.VA, frozenset({Q.PUMP_FLOW}))
    assert Q.HAEMOGLOBIN in quantities(Support.VA, frozenset({Q.PUMP_FLOW}))


def test_that_saturation_has_one_soft_range_on_vv_and_another_elsewhere() -> None:
    both = {
        support: field.soft_below
        for support in Support
        if (field := TABLE.field_of(describe_run(support, "r"), Q.SPO2_RIGHT_HAND)) is not None
    }
    assert both == {support: 82 if support is Support.VV else 88 for support in Support}


def test_that_a_table_without_fields_is_a_fault() -> None:
    with pytest.raises(ConfigurationError, match="field"):
        parse_entry_table("")
    assert len(EntryTable.model_fields) == 6
