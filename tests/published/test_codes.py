"""Codes in open standards: every code of the catalogue, with where it was seen and how sure that is.

Tags: S = seen in a public source (a national FHIR profile for intensive care, an HL7 or IHE table, the LOINC or
SNOMED CT browser); C = computed from a seen partition-relative code (partition 1 attribute codes: 65536 + code);
M = from memory, to be verified before it is relied upon. An MDC code is that of ISO/IEEE 11073-10101.
"""

import pytest

from shared.quantities import CATALOGUE, LOINC, MDC, SNOMED, Quantity

Q = Quantity
PROFILE = "public national FHIR ICU profile (medizininformatik-initiative)"
MDC_TABLE = "ISO/IEEE 11073-10101, MDC table of a public profile"
LOINC_TABLE = "LOINC, public table"

EXPECTED: list[tuple[Quantity, str, str, str, str]] = [
    (Q.PUMP_FLOW, SNOMED, "251288004", "S", PROFILE),
    (Q.INLET_PRESSURE, SNOMED, "252076005", "S", f"{PROFILE}: venous circuit pressure"),
    (Q.POST_OXYGENATOR_PRESSURE, SNOMED, "386534000", "S", f"{PROFILE}: arterial circuit pressure"),
    (Q.ON_MAINS, MDC, "67925", "C", "MDC_ATTR_POWER_STAT, 65536 + 2389 (2389 seen)"),
    (Q.BATTERY_CHARGE, MDC, "67996", "S", "MDC_ATTR_VAL_BATT_CHARGE, 65536 + 2460"),
    (Q.BATTERY_MINUTES, MDC, "67976", "C", "MDC_ATTR_TIME_BATT_REMAIN, 65536 + 2440 (2440 seen)"),
    (Q.SWEEP_GAS_FLOW, LOINC, "19941-4", "S", "oxygen gas flow, delivery system"),
    (Q.SWEEP_GAS_FLOW, SNOMED, "79063001", "S", PROFILE),
    (Q.BLOOD_TEMPERATURE, MDC, "188436", "S", MDC_TABLE),
    (Q.BLOOD_TEMPERATURE, LOINC, "60834-9", "S", LOINC_TABLE),
    (Q.MEAN_ARTERIAL_PRESSURE, MDC, "150039", "S", "MDC_PRESS_BLD_ART_ABP_MEAN"),
    (Q.MEAN_ARTERIAL_PRESSURE, LOINC, "76214-6", "S", "invasive mean"),
    (Q.CENTRAL_VENOUS_PRESSURE, MDC, "150087", "S", "MDC_PRESS_BLD_VEN_CENT_MEAN"),
    (Q.CENTRAL_VENOUS_PRESSURE, LOINC, "60985-9", "S", LOINC_TABLE),
    (Q.LEFT_ATRIAL_PRESSURE, MDC, "150067", "S", f"{MDC_TABLE}: LA mean"),
    (Q.LEFT_ATRIAL_PRESSURE, LOINC, "8399-8", "S", f"{LOINC_TABLE}: LA mean"),
    (Q.PA_MEAN_PRESSURE, MDC, "150047", "S", f"{MDC_TABLE}: PA mean"),
    (Q.PA_MEAN_PRESSURE, LOINC, "8414-5", "S", f"{LOINC_TABLE}: PA mean"),
    (Q.HEART_RATE, MDC, "147842", "S", MDC_TABLE),
    (Q.HEART_RATE, LOINC, "8867-4", "S", LOINC_TABLE),
    (Q.SPO2_RIGHT_HAND, MDC, "150456", "S", f"{MDC_TABLE}: SpO2, any site"),
    (Q.SPO2_RIGHT_HAND, LOINC, "59408-5", "S", f"{LOINC_TABLE}: SpO2, any site"),
    (Q.SPO2_FOOT, MDC, "150456", "S", f"{MDC_TABLE}: SpO2, any site"),
    (Q.SPO2_FOOT, LOINC, "59408-5", "S", f"{LOINC_TABLE}: SpO2, any site"),
    (Q.SVO2, LOINC, "19224-5", "S", "mixed venous; two public tables agree, a third dissents"),
    (Q.HAEMOGLOBIN, LOINC, "718-7", "M", "from memory"),
    (Q.HAEMATOCRIT, LOINC, "4544-3", "S", "automated count"),
    (Q.LACTATE, LOINC, "32693-4", "S", "blood, specimen not stated"),
    (Q.PLATELETS, LOINC, "777-3", "S", LOINC_TABLE),
]


@pytest.mark.parametrize(
    ("quantity", "system", "code", "tag", "source"), EXPECTED, ids=[f"{row[0]}-{row[2]}" for row in EXPECTED]
)
def test_that_a_code_is_the_published_one(
    quantity: Quantity, system: str, code: str, tag: str, source: str
) -> None:
    assert (system, code) in CATALOGUE[quantity].codes, f"{source} [{tag}]"
    assert tag in {"S", "C", "M"}


def test_that_the_catalogue_carries_no_code_without_a_source() -> None:
    carried = {(quantity, *pair) for quantity, entry in CATALOGUE.items() for pair in entry.codes}
    assert carried == {(quantity, system, code) for quantity, system, code, _, _ in EXPECTED}


def test_that_computed_codes_are_partition_and_relative_code() -> None:
    # context-free code = partition * 65536 + code (ISO/IEEE 11073-10101); infrastructure partition 1
    assert 1 * 65536 + 2389 == 67925
    assert 1 * 65536 + 2440 == 67976
    assert 1 * 65536 + 2460 == 67996


def test_that_pump_speed_and_pressure_drop_carry_no_invented_code() -> None:
    # no standard code is known for these
    for quantity in (Q.PUMP_SPEED, Q.MOTOR_CURRENT, Q.OXYGENATOR_PRESSURE_DROP):
        assert CATALOGUE[quantity].codes == ()


@pytest.mark.parametrize("code", sorted({row[2] for row in EXPECTED if row[1] == LOINC}))
def test_that_a_loinc_code_carries_its_check_digit(code: str) -> None:
    """LOINC's own rule: a Luhn (mod 10) check digit after the hyphen (LOINC Users' Guide)."""
    number, digit = code.split("-")
    total = 0
    for place, char in enumerate(reversed(number)):
        value = int(char) * (2 if place % 2 == 0 else 1)
        total += value - 9 if value > 9 else value
    assert (10 - total % 10) % 10 == int(digit)


@pytest.mark.parametrize("code", sorted({row[2] for row in EXPECTED if row[1] == SNOMED}))
def test_that_a_snomed_code_carries_its_check_digit(code: str) -> None:
    """SNOMED CT identifiers end in a Verhoeff check digit (SNOMED CT Technical Implementation Guide)."""
    multiply = [[(a + b) % 5 if a < 5 and b < 5 else 0 for b in range(10)] for a in range(10)]
    for a in range(10):
        for b in range(10):
            if a < 5 and b >= 5:
                multiply[a][b] = 5 + (a + b) % 5
            elif a >= 5 and b < 5:
                multiply[a][b] = 5 + (a - b) % 5
            elif a >= 5:
                multiply[a][b] = (a - b) % 5
    swap = [1, 5, 7, 6, 2, 8, 3, 0, 9, 4]
    check = 0
    for place, char in enumerate(reversed(code)):
        value = int(char)
        for _ in range(place % 8):
            value = swap[value]
        check = multiply[check][value]
    assert check == 0
