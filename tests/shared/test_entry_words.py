"""What a person reads of each question: the numbers, the unit, what was expected, what to do. All of it."""

import pytest

from shared.entry.findings import AGAIN, REFUSED
from shared.entry.known import Known
from shared.instant import HOUR, MINUTE
from shared.quantities import Quantity as Q
from tests.helpers.entry_bed import BASE, bed, judged

P, V = Q.PRE_OXYGENATOR_PRESSURE, Q.POST_OXYGENATOR_PRESSURE
S, D, M = Q.SYSTOLIC_PRESSURE, Q.DIASTOLIC_PRESSURE, Q.MEAN_ARTERIAL_PRESSURE


def with_rounds(sets: int) -> Known:
    """Give the base bed after so many sets, the last an hour ago."""
    known = bed(read_at=-sets * HOUR)
    for number in range(sets):
        known = known.with_set({q: float(text) for q, text in BASE.items()}, -number * HOUR)
    return known


WORDS = [
    (
        {P: "270", V: "209"},
        V,
        "Post-oxy P 209 mmHg, Pre-oxy P 270 mmHg, Flow 4.2 L/min: the pressure falls by 61 mmHg, above 60 mmHg.",
    ),
    (
        {P: "237"},
        V,
        "Post-oxy P 190 mmHg, Pre-oxy P 237 mmHg, Flow 4.2 L/min: the pressure falls by 11.2 mmHg for each L/min, "
        "usual here is 7.1; 30 % more is asked about.",
    ),
    (
        {Q.PUMP_SPEED: "2200", Q.PUMP_FLOW: "3.5"},
        Q.PUMP_FLOW,
        "Flow 3.5 L/min, Speed 2200 rpm: at this speed the last set would give 2.6 L/min; "
        "more than 25 % apart is asked about.",
    ),
    (
        {Q.PUMP_FLOW: "0.9"},
        Q.SWEEP_GAS_FLOW,
        "Sweep 3 L/min, Flow 0.9 L/min: 3.3 L of gas for each L of blood, usual is 0.2 to 3.",
    ),
    (
        {S: "72", D: "66", M: "69"},
        D,
        "Diastolic 66 mmHg, Systolic 72 mmHg: a pulse pressure of 6 mmHg, below 10.",
    ),
    (
        {M: "89"},
        M,
        "MAP 89 mmHg, Systolic 89 mmHg, Diastolic 64 mmHg: the mean is not between diastolic and systolic. "
        "Was another one typed?",
    ),
    (
        {Q.BATTERY_CHARGE: "94"},
        Q.BATTERY_CHARGE,
        "Battery 94 %, Mains on: the charge was 100 %; it does not fall on mains. Is it on mains?",
    ),
    (
        {Q.POST_OXYGENATOR_PO2: "120"},
        Q.POST_OXYGENATOR_PO2,
        "Post-oxy pO₂ 120 mmHg, FdO₂ 80 %: 150 mmHg for each whole share of oxygen in the gas, below 200. "
        "Is the unit right?",
    ),
    (
        {Q.LIMB_NIRS_LEFT: "70", Q.LIMB_NIRS_RIGHT: "54"},
        Q.LIMB_NIRS_RIGHT,
        "Limb NIRS R 54 %, Limb NIRS L 70 %: left and right differ by 16 %.",
    ),
    (
        {Q.PUMP_FLOW: "3.3"},
        Q.PUMP_FLOW,
        "Flow 3.3 L/min is 0.9 L/min less than the last, 4.2 L/min 60 min before; "
        "more than 0.84 L/min is asked about.",
    ),
    (
        {Q.PUMP_SPEED: "4110"},
        Q.PUMP_SPEED,
        "Speed 4110 rpm is 610 rpm more than the last, 3500 rpm 60 min before without an order; "
        "more than 300 rpm is asked about.",
    ),
    (
        {Q.INLET_PRESSURE: "-6"},
        Q.INLET_PRESSURE,
        "Drain P −6 mmHg may be ten times too little: that would fit the last, −60 mmHg 60 min before.",
    ),
    (
        {Q.BLOOD_TEMPERATURE: "38.6"},
        Q.BLOOD_TEMPERATURE,
        "Blood temp 38.6 °C may have two digits exchanged: that would fit the last, 36.8 °C 60 min before. "
        "Blood temp 38.6 °C is unusual: most lie within 34 to 38.5 °C.",
    ),
    (
        {Q.FDO2: "25"},
        Q.FDO2,
        "FdO₂ 25 % is unusual: most are at least 30 %.",
    ),
    (
        {Q.LACTATE: "5.0"},
        Q.LACTATE,
        "Lactate 5 mmol/L is unusual: most are at most 4 mmol/L.",
    ),
]  # fmt: skip


@pytest.mark.parametrize(("changed", "at", "words"), WORDS, ids=[f"{at}-{n}" for n, (_, at, _) in enumerate(WORDS)])
def test_that_a_question_says_the_numbers_what_was_expected_and_what_to_do(
    changed: dict[Q, str], at: Q, words: str
) -> None:
    verdict = judged(with_rounds(3), {**BASE, **changed}).of(at)
    assert verdict.words == f"{words} {AGAIN}"


def test_that_a_charge_that_rises_on_battery_is_told_as_that() -> None:
    texts = {**BASE, Q.ON_MAINS: "0", Q.BATTERY_CHARGE: "91"}
    verdict = judged(bed(texts={**BASE, Q.BATTERY_CHARGE: "90"}), texts).of(Q.BATTERY_CHARGE)
    assert verdict.words == f"Battery 91 %, Mains off: the charge was 90 %; it does not rise on battery. {AGAIN}"


@pytest.mark.parametrize(
    ("minutes", "words"),
    [(60, "60 min before"), (119, "119 min before"), (120, "2 h before"), (160, "2 h 40 min before")],
)
def test_that_the_age_of_the_last_number_is_told_as_people_say_it(minutes: int, words: str) -> None:
    verdict = judged(bed(), {**BASE, Q.PUMP_FLOW: "3.3"}, read_at=minutes * MINUTE).of(Q.PUMP_FLOW)
    assert f"than the last, 4.2 L/min {words}; more" in verdict.words
    late = judged(bed(), {**BASE, Q.PUMP_FLOW: "3.3"}, read_at=-minutes * MINUTE).of(Q.PUMP_FLOW)
    assert words.replace("before", "after") in late.words


def test_that_a_refusal_is_told_alone_and_says_that_the_rest_can_be_sent() -> None:
    verdict = judged(bed(), {**BASE, V: "410"}).of(V)
    assert len(verdict.findings) > 1
    assert verdict.words == (
        "Post-oxy P 410 mmHg, Pre-oxy P 220 mmHg, Flow 4.2 L/min: the pressure rises by 190 mmHg; "
        f"it falls wherever blood flows through. Are the two exchanged? {REFUSED}"
    )


def test_that_two_questions_are_told_the_one_that_names_the_slip_first_and_no_third() -> None:
    verdict = judged(bed(), {**BASE, Q.PUMP_SPEED: "5300"}).of(Q.PUMP_SPEED)
    assert len(verdict.findings) == 3
    assert verdict.words.startswith("Speed 5300 rpm may have two digits exchanged")
    assert "is unusual" in verdict.words
    assert "without an order" not in verdict.words
