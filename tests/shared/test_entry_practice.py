"""The fields of a round against the table of an hourly round as people at such beds write it, row by row.

All of it common practice without a source but for what is named: `Lubnow` is Lubnow 2014, PLoS One 9:e112316. Soft
and refused ranges are for typed numbers, not for treatment.
"""

import pytest

from shared.entry.computed import computed
from shared.entry.findings import Reason
from shared.entry.judging import Judgement, Situation, Standing, judge
from shared.entry.known import Known
from shared.entry.ranges import refused_range, soft_range
from shared.entry.table import EntryField, EntryTable, parse_entry_table
from shared.instant import HOUR
from shared.quantities import Quantity as Q
from shared.support import Support
from tests.helpers.courses import CONFIG
from tests.helpers.entry_bed import BASE, TABLE, bed, judged, reasons

#: field | unit | soft below, above | refused below, above | step | decimals | typical slips: typed, last
ROWS = """
pump_speed               | rpm    | 2000 | 4500 | 0    | 5500  | 10   | 0 | 350 3500; 5300 3500
pump_flow                | L/min  | 1.5  | 7    | -5   | 10    | 0.1  | 2 | 42 4.2; 0.42 4.2; 4200 4.2
inlet_pressure           | mmHg   | -120 | 0    | -400 | 100   | 5    | 0 | 80 -80; +80 -80
pre_oxygenator_pressure  | mmHg   | 50   | 350  | -50  | 700   | 5    | 0 | 22 220
post_oxygenator_pressure | mmHg   | 40   | 320  | -50  | 600   | 5    | 0 | 19 190
sweep_gas_flow           | L/min  | 0.1  | 10   | 0    | 20    | 0.1  | 1 | 3000 3.0; 80 3.0
fdo2                     | %      | 30   |      | 21   | 100   | 5    | 0 | 0.8 80
blood_temperature        | °C     | 34   | 38.5 | 15   | 43    | 0.1  | 1 | 98.6 37.0; 3.68 36.8
battery_charge           | %      | 50   |      | 0    | 100   | 5    | 0 | 300 100
mean_arterial_pressure   | mmHg   | 50   | 110  | 0    | 250   | 1    | 0 | 720 72
spo2_right_hand          | %      | 88   |      | 0    | 100   | 1    | 0 | 9.7 97
svo2                     | %      | 55   | 88   | 0    | 100   | 1    | 0 | 97 70
post_oxygenator_po2      | mmHg   | 80   |      | 0    | 760   | 1    | 0 | 53 400
pre_oxygenator_po2       | mmHg   | 20   | 80   | 0    | 760   | 1    | 0 | 5 40
post_oxygenator_pco2     | mmHg   | 20   | 60   | 0    | 200   | 1    | 0 | 5 40
pre_oxygenator_pco2      | mmHg   | 25   | 75   | 0    | 200   | 1    | 0 | 6 45
haemoglobin              | g/L    | 70   | 160  | 20   | 250   | 1    | 0 | 9.5 95; 950 95
platelets                | 10⁹/L  | 50   | 600  | 0    | 1500  | 1    | 0 | 150000 150
fibrinogen               | g/L    | 1.5  | 7    | 0    | 15    | 0.1  | 1 | 280 2.8
plasma_free_haemoglobin  | mg/L   |      | 300  | 0    | 20000 | 10   | 0 | 9 90
ldh                      | U/L    |      | 1000 | 0    | 50000 | 10   | 0 | 3500 350
lactate                  | mmol/L |      | 4    | 0    | 40    | 0.1  | 1 | 12.6 1.4
act                      | s      | 140  | 260  | 40   | 1500  | 1    | 0 | 1900 190
aptt                     | s      | 25   | 120  | 15   | 300   | 1    | 0 | 2.1 62
anti_xa                  | IU/mL  |      | 1.0  | 0    | 3     | 0.01 | 2 | 30 0.30
heparin_rate             | IU/h   |      | 3000 | 0    | 10000 | 50   | 0 | 40 1000
limb_nirs_left           | %      | 40   |      | 0    | 100   | 1    | 0 | 6 65
limb_nirs_right          | %      | 40   |      | 0    | 100   | 1    | 0 | 6 65
urine_output             | mL/h   |      | 500  | 0    | 3000  | 5    | 0 | 1920 80
"""
WRITTEN = [[cell.strip() for cell in line.split("|")] for line in ROWS.strip().splitlines()]


def field_of(name: str) -> EntryField:
    one = TABLE.field_of(bed(texts={}).run, Q(name))
    assert one is not None, f"{name} has no field"
    return one


@pytest.mark.parametrize("row", WRITTEN, ids=[row[0] for row in WRITTEN])
def test_that_a_row_of_the_hourly_round_stands_as_it_is_written(row: list[str]) -> None:
    name, unit, soft_below, soft_above, refused_below, refused_above, step, decimals, slips = row
    one, top = field_of(name), 5000.0
    assert (one.unit, f"{one.step:g}", str(one.decimals)) == (unit, step, decimals)
    written = [None if not cell else float(cell) for cell in (soft_below, soft_above)]
    assert list(soft_range(one, top)) == written
    assert refused_range(one, top) == (float(refused_below), float(refused_above))
    for slip in slips.split("; "):
        typed, last = slip.split()
        texts = {**BASE, one.quantity: last}
        alone = judged(bed(texts=texts), {one.quantity: typed}).of(one.quantity)
        assert alone.standing in (Standing.RETYPE, Standing.REFUSED), (typed, last)


def test_that_what_is_computed_is_never_typed_and_is_held_to_its_ranges() -> None:
    fields = {one.quantity for one in TABLE.field}
    assert not fields & {Q.OXYGENATOR_PRESSURE_DROP, Q.OXYGENATOR_RESISTANCE, Q.SPEED_YIELD, Q.PULSE_PRESSURE}
    assert {Q.APTT, Q.APTT_RATIO} <= fields  # seconds and ratio are two fields
    assert "L/R" not in field_of("spo2_right_hand").label
    assert field_of("spo2_right_hand").label.endswith("R")  # the site is stated
    weighed = Known("B5", bed(texts={}).run.model_copy(update={"weight": 80.0}), 5000.0)
    judgement = judge(Situation(TABLE, weighed, HOUR), {Q.HEPARIN_RATE: "1200"})
    assert [(one.label, one.value, one.unit) for one in computed(judgement, weighed.run)] == [
        ("Heparin per kg", 15.0, "IU/kg/h")
    ]


def test_that_visual_fields_and_the_limb_are_coded() -> None:
    items = {one.id: one for one in TABLE.rounds.item}
    for item in ("clots", "lines", "leaks", "pump_sound", "cannula_sites", "limb", "console_limits", "zeroed"):
        assert items[item].findings, item
    assert {"kink", "chatter"} <= set(items["lines"].findings)
    assert {"before the oxygenator", "after the oxygenator"} <= set(items["clots"].findings)
    assert items["limb"].supports == {Support.VA}
    assert items["clotting_test"].findings[0] == "no clot"  # where the ACT has no number
    assert items["clotting_test"].optional
    words = judged(bed(texts={}), {Q.ACT: "no clot"}).of(Q.ACT).words
    assert words.startswith('ACT "no clot" is not a number. No clot within its range is told at F8, clotting test.')


# --- units that a unit locks --------------------------------------------------------------------------------------

KPA: EntryTable = parse_entry_table(
    (CONFIG / "entry.toml")
    .read_text()
    .replace('gas_pressure = "mmHg"', 'gas_pressure = "kPa"')
    .replace('haemoglobin = "g/L"', 'haemoglobin = "g/dL"')
)


def typed_in_kpa(texts: dict[Q, str], last: dict[Q, str] | None = None) -> Judgement:
    return judge(Situation(KPA, bed(texts=last or {}), HOUR), texts)


def test_that_a_unit_that_reads_kpa_types_kpa_and_sends_mmhg() -> None:
    texts = {Q.POST_OXYGENATOR_PO2: "53.3", Q.POST_OXYGENATOR_PCO2: "5,3 kPa", Q.HAEMOGLOBIN: "9.5"}
    judgement = typed_in_kpa(texts)
    assert reasons(judgement) == set()
    assert judgement.values[Q.POST_OXYGENATOR_PO2] == pytest.approx(399.8, abs=0.05)
    assert judgement.values[Q.POST_OXYGENATOR_PCO2] == pytest.approx(39.75, abs=0.01)
    assert judgement.values[Q.HAEMOGLOBIN] == 95.0
    assert judgement.of(Q.HAEMOGLOBIN).field.typed_unit == "g/dL"
    assert reasons(judged(bed(texts={}), {Q.HAEMOGLOBIN: "95"})) == set()  # as shipped: g/L


@pytest.mark.parametrize(
    ("quantity", "text", "last", "told"),
    [
        (Q.POST_OXYGENATOR_PO2, "400", "", "Post-oxy pO₂ 400 kPa cannot be: possible is 0 to 101.3 kPa"),
        (Q.POST_OXYGENATOR_PCO2, "40", "", "cannot be: possible is 0 to 26.7 kPa. Was it read in mmHg?"),
        (Q.HAEMOGLOBIN, "95", "", "Hb 95 g/dL cannot be: possible is 2 to 25 g/dL. Was it read in g/L?"),
        (Q.HAEMOGLOBIN, "6.5", "", "Hb 6.5 g/dL is unusual: most lie within 7 to 16 g/dL"),
        (Q.HAEMOGLOBIN, "5.9", "95", "may have two digits exchanged: that would fit the last, 9.5 g/dL 60 min"),
        (Q.POST_OXYGENATOR_PO2, "5.33", "", "5.33 kPa has 2 digits after the point, more than this field takes"),
        (Q.POST_OXYGENATOR_PO2, "53 mmHg", "", 'is read in kPa, not in "mmHg". Type a number with at most 1 digit'),
    ],
)
def test_that_slips_are_told_in_the_unit_that_is_typed(quantity: Q, text: str, last: str, told: str) -> None:
    verdict = typed_in_kpa({quantity: text}, {quantity: last} if last else None).of(quantity)
    assert verdict.standing in (Standing.RETYPE, Standing.REFUSED)
    assert told in verdict.words


def test_that_numbers_of_a_set_are_told_in_the_unit_that_is_typed() -> None:
    low = typed_in_kpa({Q.POST_OXYGENATOR_PO2: "20", Q.FDO2: "100"})
    assert reasons(low) == {Reason.OXYGEN_RATIO}
    words = low.of(Q.POST_OXYGENATOR_PO2).words
    told = "Post-oxy pO₂ 20 kPa, FdO₂ 100 %: 20 kPa for each whole share of oxygen in the gas, below 26.7"
    assert words.startswith(told)
