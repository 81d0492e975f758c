"""The checks of typed numbers, each at its edges: alone, against the last number, against each other."""

import pytest

from shared.entry.computed import computed
from shared.entry.crossing import Whole, check_set
from shared.entry.findings import Reason, named, spoken
from shared.entry.judging import Standing, confirm
from shared.entry.looking import CrossChecks
from shared.entry.slips import exchanged_digits
from shared.instant import HOUR
from shared.quantities import Quantity as Q
from shared.support import Support, describe_run
from tests.helpers.entry_bed import BASE, bed, judged, reason_at, reasons

EMPTY: dict[Q, str] = {}


# --- a number alone: nothing is known of the bed ------------------------------------------------------------------


@pytest.mark.parametrize(
    ("quantity", "inside", "outside"),
    [
        (Q.PUMP_FLOW, ("1.5", "7"), ("1.49", "7.01", "-0.1", "0")),
        (Q.INLET_PRESSURE, ("-120", "0"), ("-121",)),
        (Q.PRE_OXYGENATOR_PRESSURE, ("50", "350"), ("49", "351")),
        (Q.FDO2, ("30", "100"), ("29", "21")),
        (Q.PUMP_SPEED, ("2000", "4500"), ("1999", "4501", "0", "5500")),
        (Q.HAEMOGLOBIN, ("70", "160"), ("69", "161")),
        (Q.ANTI_XA, ("0", "1"), ("1.01",)),
        (Q.SPO2_RIGHT_HAND, ("88",), ("87",)),
    ],
)
def test_that_a_number_beyond_the_soft_range_and_no_other_is_asked_about(
    quantity: Q, inside: tuple[str, ...], outside: tuple[str, ...]
) -> None:
    for text in inside:
        verdict = judged(bed(texts={}), {quantity: text}).of(quantity)
        assert (verdict.standing, verdict.findings, verdict.words) == (Standing.ACCEPTED, (), "")
    for text in outside:
        verdict = judged(bed(texts={}), {quantity: text}).of(quantity)
        assert verdict.standing is Standing.RETYPE, text
        assert {finding.reason for finding in verdict.findings} == {Reason.UNUSUAL}


@pytest.mark.parametrize(
    ("quantity", "possible", "impossible"),
    [
        (Q.PUMP_FLOW, ("-5", "10"), ("-5.01", "10.01")),
        (Q.INLET_PRESSURE, ("-400", "+100"), ("-401", "+101")),
        (Q.PUMP_SPEED, ("5500",), ("5501",)),
        (Q.BLOOD_TEMPERATURE, ("15", "43"), ("14.9", "43.1", "98.6")),
        (Q.PLATELETS, ("0", "1500"), ("1501", "150000")),
        (Q.FIBRINOGEN, ("15",), ("15.1", "280")),
    ],
)
def test_that_a_number_beyond_the_hard_range_and_no_other_is_refused(
    quantity: Q, possible: tuple[str, ...], impossible: tuple[str, ...]
) -> None:
    for text in possible:
        assert judged(bed(texts={}), {quantity: text}).of(quantity).standing is not Standing.REFUSED, text
    for text in impossible:
        judgement = judged(bed(texts={}), {quantity: text})
        assert judgement.of(quantity).standing is Standing.REFUSED, text
        assert judgement.values == {}
        assert not judgement.ready


def test_that_a_speed_is_held_to_the_range_of_its_own_pump() -> None:
    fast = judged(bed(texts={}, top_speed=7000), {Q.PUMP_SPEED: "5800"})
    assert fast.of(Q.PUMP_SPEED).standing is Standing.ACCEPTED
    unknown = judged(bed(texts={}, top_speed=None), {Q.PUMP_SPEED: "11000"})
    assert unknown.of(Q.PUMP_SPEED).standing is Standing.ACCEPTED
    assert judged(bed(texts={}, top_speed=None), {Q.PUMP_SPEED: "12001"}).of(Q.PUMP_SPEED).findings[0].refused


def test_that_units_are_named_only_where_the_number_would_be_a_usual_one_in_them() -> None:
    words = judged(bed(texts={}), {Q.PLATELETS: "150000"}).of(Q.PLATELETS).words
    assert "Was it read in /µL?" in words
    assert "Was it read" not in judged(bed(texts={}), {Q.PLATELETS: "15000000"}).of(Q.PLATELETS).words
    assert (
        "Was it read in °F?" in judged(bed(texts={}), {Q.BLOOD_TEMPERATURE: "98.6"}).of(Q.BLOOD_TEMPERATURE).words
    )


def test_that_what_can_be_computed_stands_beside_the_fields() -> None:
    texts = {**BASE, Q.HEPARIN_RATE: "1200", Q.PUMP_FLOW: "4.2"}
    run = describe_run(Support.VA, "r", weight=80.0)
    rows = {one.label: (one.value, one.unit, one.decimals) for one in computed(judged(bed(), texts), run)}
    assert rows == {
        "Oxy ΔP": (30.0, "mmHg", 0),
        "Oxygenator resistance": (pytest.approx(7.143, abs=0.001), "mmHg·min/L", 1),
        "Flow per 1 000 rpm": (pytest.approx(1.2), "L/min", 2),
        "PP": (25.0, "mmHg", 0),
        "Heparin per kg": (15.0, "IU/kg/h", 1),
    }
    unweighed = describe_run(Support.VA, "r")
    assert "Heparin per kg" not in {one.label for one in computed(judged(bed(), texts), unweighed)}
    for left_out in (Q.SYSTOLIC_PRESSURE, Q.DIASTOLIC_PRESSURE):
        fewer = {quantity: text for quantity, text in texts.items() if quantity is not left_out}
        assert "PP" not in {one.label for one in computed(judged(bed(), fewer), run)}
    assert list(computed(judged(bed(), {Q.PUMP_FLOW: "42", Q.PUMP_SPEED: "3500"}), run)) == []


@pytest.mark.parametrize(("text", "asked"), [("960", False), ("1440", False), ("1441", True), ("959", True)])
def test_that_a_fifth_of_the_heparin_more_or_less_is_asked_about(text: str, asked: bool) -> None:
    found = reason_at({**BASE, Q.HEPARIN_RATE: "1200"}, {Q.HEPARIN_RATE: text}, Q.HEPARIN_RATE)
    assert (Reason.CHANGED in found) is asked


def test_that_what_is_not_typed_is_not_found_and_not_sent() -> None:
    judgement = judged(bed(), EMPTY)
    assert {verdict.standing for verdict in judgement.fields} == {Standing.EMPTY}
    assert (judgement.values, judgement.derived, judgement.questions, judgement.ready) == ({}, {}, (), False)
    assert judgement.of(Q.PUMP_FLOW).difference is None
    with pytest.raises(KeyError):
        judgement.of(Q.SPEED_YIELD)


# --- a number against the last one --------------------------------------------------------------------------------


def test_that_the_last_number_stands_beside_the_field_and_never_in_it() -> None:
    verdict = judged(bed(), {**BASE, Q.PUMP_FLOW: "4.0"}).of(Q.PUMP_FLOW)
    assert verdict.told is not None
    assert verdict.told.value == 4.2
    assert verdict.difference == pytest.approx(-0.2)
    empty = judged(bed(), EMPTY).of(Q.PUMP_FLOW)
    assert empty.told is not None
    assert empty.number is None


@pytest.mark.parametrize(("text", "asked"), [("3.36", False), ("3.35", True), ("5.04", False), ("5.05", True)])
def test_that_a_fifth_of_the_flow_more_or_less_is_asked_about(text: str, asked: bool) -> None:
    assert (Reason.CHANGED in reason_at(None, {Q.PUMP_FLOW: text}, Q.PUMP_FLOW)) is asked


@pytest.mark.parametrize(("text", "asked"), [("3800", False), ("3801", True), ("3200", False), ("3199", True)])
def test_that_300_rpm_without_an_order_are_asked_about(text: str, asked: bool) -> None:
    assert (Reason.CHANGED in reason_at(None, {Q.PUMP_SPEED: text}, Q.PUMP_SPEED)) is asked
    ordered = judged(bed(), {**BASE, Q.PUMP_SPEED: text}, ordered=frozenset({Q.PUMP_SPEED}))
    assert Reason.CHANGED not in {finding.reason for finding in ordered.of(Q.PUMP_SPEED).findings}


def test_that_an_order_of_the_speed_explains_no_change_of_the_flow() -> None:
    texts = {**BASE, Q.PUMP_FLOW: "3.0"}
    assert Reason.CHANGED in reasons(judged(bed(), texts, ordered=frozenset({Q.PUMP_FLOW, Q.PUMP_SPEED})))


@pytest.mark.parametrize(
    ("quantity", "text", "reason"),
    [
        (Q.PUMP_SPEED, "350", Reason.TENFOLD),
        (Q.INLET_PRESSURE, "-6", Reason.TENFOLD),
        (Q.MEAN_ARTERIAL_PRESSURE, "7", Reason.TENFOLD),
        (Q.PUMP_SPEED, "5300", Reason.DIGITS),
        (Q.POST_OXYGENATOR_PRESSURE, "109", Reason.DIGITS),
        (Q.BLOOD_TEMPERATURE, "38.6", Reason.DIGITS),
        (Q.INLET_PRESSURE, "+60", Reason.SIGN),
        (Q.HAEMOGLOBIN, "59", Reason.DIGITS),
    ],
)
def test_that_a_slip_that_would_fit_the_last_number_is_named(quantity: Q, text: str, reason: Reason) -> None:
    assert reason in reason_at(None, {quantity: text}, quantity)


def test_that_the_slip_that_fits_best_is_named_and_only_that_one() -> None:
    known = {**BASE, Q.CENTRAL_VENOUS_PRESSURE: "8", Q.LACTATE: "1.4", Q.INLET_PRESSURE: "-60"}
    sign = judged(bed(texts=known), {Q.CENTRAL_VENOUS_PRESSURE: "-8"}).of(Q.CENTRAL_VENOUS_PRESSURE)
    assert sign.words.startswith(
        "CVP −8 mmHg may have the wrong sign: that would fit the last, 8 mmHg 60 min before."
    )
    much = judged(bed(texts=known), {Q.LACTATE: "14"}).of(Q.LACTATE)
    assert much.words.startswith("Lactate 14 mmol/L may be ten times too much: that would fit the last, 1.4 mmol/L")
    assert [finding.reason for finding in much.findings] == [Reason.UNUSUAL, Reason.TENFOLD]


@pytest.mark.parametrize(
    ("text", "asked"), [("-3.5", False), ("-8", True), ("-85", False), ("-4", True), ("-3", False)]
)
def test_that_what_was_meant_lies_within_half_as_much_again_of_what_is_usual(text: str, asked: bool) -> None:
    known = {**BASE, Q.INLET_PRESSURE: "-60"}  # usual differences up to 17: what was meant is less than 25.5 away
    found = reason_at(known, {Q.INLET_PRESSURE: text}, Q.INLET_PRESSURE, whole=False)
    assert (Reason.TENFOLD in found) is asked


def test_that_another_unit_that_would_fit_the_last_number_is_named() -> None:
    known = {**BASE, Q.POST_OXYGENATOR_PCO2: "40", Q.FIBRINOGEN: "2.8", Q.PLASMA_FREE_HAEMOGLOBIN: "90"}
    kpa = judged(bed(texts=known), {Q.POST_OXYGENATOR_PCO2: "5"}).of(Q.POST_OXYGENATOR_PCO2)
    assert "may have been read in kPa" in kpa.words
    tenth = judged(bed(texts=known), {Q.PLASMA_FREE_HAEMOGLOBIN: "9"}).of(Q.PLASMA_FREE_HAEMOGLOBIN)
    assert tenth.standing is Standing.RETYPE  # without a soft limit below, only the last number tells


def test_that_a_slip_within_what_two_rounds_differ_by_is_not_told() -> None:
    assert reason_at(None, {Q.PRE_OXYGENATOR_PRESSURE: "202"}, Q.PRE_OXYGENATOR_PRESSURE) == set()


def test_that_a_large_change_that_no_slip_explains_is_left_alone() -> None:
    assert reason_at(None, {Q.INLET_PRESSURE: "-98"}, Q.INLET_PRESSURE) == set()
    assert reason_at(None, {Q.HAEMOGLOBIN: "76"}, Q.HAEMOGLOBIN) == set()


@pytest.mark.parametrize(
    ("hours", "told"), [(4.0, True), (4.01, False), (-4.0, True), (-4.01, False)], ids=["4h", "4h+", "-4h", "-4h-"]
)
def test_that_a_last_number_counts_for_four_intervals(hours: float, told: bool) -> None:
    judgement = judged(bed(), {**BASE, Q.INLET_PRESSURE: "-6"}, read_at=round(hours * HOUR))
    assert (judgement.of(Q.INLET_PRESSURE).told is not None) is told
    assert (judgement.of(Q.INLET_PRESSURE).standing is Standing.RETYPE) is told
    assert judgement.of(Q.HAEMOGLOBIN).told is not None  # drawn every 12 h


@pytest.mark.parametrize(
    ("text", "made"),
    [
        ("3500", ["5300", "3050"]),
        ("4.2", ["2.4"]),
        ("36.8", ["63.8", "38.6"]),
        ("77", []),
        ("0.42", ["4.02", "0.24"]),
        ("7", []),
    ],
)
def test_that_neighbouring_digits_are_exchanged_across_the_point(text: str, made: list[str]) -> None:
    assert list(exchanged_digits(text)) == made


def test_that_two_exchanged_fields_are_asked_about_where_no_range_tells() -> None:
    known = {**BASE, Q.LIMB_NIRS_LEFT: "72", Q.LIMB_NIRS_RIGHT: "60"}
    swapped = judged(bed(texts=known), {**known, Q.LIMB_NIRS_LEFT: "60", Q.LIMB_NIRS_RIGHT: "72"})
    assert {finding.reason for finding in swapped.of(Q.LIMB_NIRS_LEFT).findings} == {Reason.EXCHANGED}
    assert "near the last Limb NIRS R. Are the two exchanged?" in swapped.of(Q.LIMB_NIRS_LEFT).words
    genuine = judged(bed(texts=known), {**known, Q.LIMB_NIRS_LEFT: "66"})
    assert reasons(genuine) == set()


# --- numbers of one set against each other ------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("post", "flow", "standing"),
    [
        ("190", "4.2", Standing.ACCEPTED),
        ("160", "4.2", Standing.ACCEPTED),  # falls by 60
        ("159", "4.2", Standing.RETYPE),
        ("220", "4.2", Standing.ACCEPTED),
        ("221", "4.2", Standing.RETYPE),
        ("225", "4.2", Standing.RETYPE),
        ("226", "4.2", Standing.REFUSED),
        ("226", "0.3", Standing.REFUSED),
        ("226", "0.29", Standing.ACCEPTED),  # blood stands: the pressures say nothing of the oxygenator
        ("226", "", Standing.RETYPE),
    ],
)
def test_that_pressure_falls_through_an_oxygenator_that_blood_flows_through(
    post: str, flow: str, standing: Standing
) -> None:
    texts = {Q.PRE_OXYGENATOR_PRESSURE: "220", Q.POST_OXYGENATOR_PRESSURE: post, Q.PUMP_FLOW: flow}
    judgement = judged(bed(texts={}), texts)
    assert judgement.of(Q.POST_OXYGENATOR_PRESSURE).standing is standing
    refused = standing is Standing.REFUSED
    assert (judgement.of(Q.PRE_OXYGENATOR_PRESSURE).standing is Standing.REFUSED) is refused
    assert judgement.derived[Q.OXYGENATOR_PRESSURE_DROP] == 220 - float(post)


def test_that_equal_pressures_neither_rise_nor_fall() -> None:
    texts = {Q.PRE_OXYGENATOR_PRESSURE: "190", Q.POST_OXYGENATOR_PRESSURE: "190", Q.PUMP_FLOW: "4.2"}
    assert judged(bed(texts={}), texts).ready


def test_that_exchanged_pressures_say_so() -> None:
    texts = {**BASE, Q.PRE_OXYGENATOR_PRESSURE: "190", Q.POST_OXYGENATOR_PRESSURE: "220"}
    judgement = judged(bed(), texts)
    assert judgement.of(Q.POST_OXYGENATOR_PRESSURE).words.startswith(
        "Post-oxy P 220 mmHg, Pre-oxy P 190 mmHg, Flow 4.2 L/min: the pressure rises by 30 mmHg; it falls wherever "
        "blood flows through. Are the two exchanged? It cannot be sent."
    )
    assert {Q.PRE_OXYGENATOR_PRESSURE, Q.POST_OXYGENATOR_PRESSURE}.isdisjoint(judgement.values)


def usual_resistance(drop: int, sets: int) -> set[Reason]:
    """Judge a drop after so many sets of the base bed (7.14 mmHg for each L/min)."""
    known = bed()
    for number in range(1, sets):
        known = known.with_set({quantity: float(text) for quantity, text in BASE.items()}, number * HOUR)
    texts = {**BASE, Q.PRE_OXYGENATOR_PRESSURE: str(190 + drop)}
    judgement = judged(known, texts, read_at=sets * HOUR)
    return {finding.reason for finding in judgement.of(Q.POST_OXYGENATOR_PRESSURE).findings}


def test_that_a_drop_far_above_what_this_flow_usually_makes_is_asked_about() -> None:
    assert usual_resistance(46, 3) == {Reason.RESISTANCE}
    assert usual_resistance(45, 3) == set()  # within 15 mmHg: noise of two pressures
    assert usual_resistance(46, 2) == set()  # two sets say nothing of what is usual
    exchanged = bed().oxygenator_exchanged()
    assert exchanged.resistances == ()


@pytest.mark.parametrize(
    ("least", "pre", "asked"),
    [(0.0, 242.0, False), (0.0, 242.1, True), (15.0, 245.0, False), (15.0, 245.1, True), (12.0, 242.0, False)],
)
def test_that_a_drop_is_asked_about_beyond_both_its_share_and_its_mmhg(
    least: float, pre: float, asked: bool
) -> None:
    values = {Q.PUMP_FLOW: 4.0, Q.PRE_OXYGENATOR_PRESSURE: pre, Q.POST_OXYGENATOR_PRESSURE: 190.0}
    checks = CrossChecks(resistance_share=0.3, resistance_least=least)
    seldom = (2.0, 2.0, 2.0, 10.0, 10.0, 10.0, 9.0, 11.0)  # the last five count: 40 mmHg at this flow
    found = list(check_set(Whole(checks, Support.VA, values, {}, seldom)))
    assert [finding.reason for finding in found] == ([Reason.RESISTANCE] if asked else [])


@pytest.mark.parametrize(
    ("speed", "flow", "asked"),
    [
        ("3500", "3.15", False),
        ("3500", "3.14", True),
        ("3500", "5.25", False),
        ("3500", "5.26", True),
        ("0", "4.2", True),
        ("0", "0", False),
        ("0", "-1.8", False),
        ("0", "0.3", False),
        ("0", "0.31", True),
    ],
)
def test_that_flow_is_held_against_what_the_last_set_would_give_at_this_speed(
    speed: str, flow: str, asked: bool
) -> None:
    found = reason_at(None, {Q.PUMP_SPEED: speed, Q.PUMP_FLOW: flow}, Q.PUMP_FLOW)
    assert (Reason.FLOW_FOR_SPEED in found) is asked
    assert Reason.FLOW_FOR_SPEED not in reason_at({}, {Q.PUMP_SPEED: speed, Q.PUMP_FLOW: flow}, Q.PUMP_FLOW)


@pytest.mark.parametrize(
    ("sweep", "asked"),
    [("0.8", True), ("0.9", False), ("10.0", False), ("12.6", False), ("12.7", True)],
)
def test_that_sweep_gas_goes_with_the_flow(sweep: str, asked: bool) -> None:
    found = reason_at({}, {Q.SWEEP_GAS_FLOW: sweep}, Q.SWEEP_GAS_FLOW)
    assert (Reason.SWEEP_FOR_FLOW in found) is asked
    assert Reason.SWEEP_FOR_FLOW not in reason_at({}, {Q.SWEEP_GAS_FLOW: "0"}, Q.SWEEP_GAS_FLOW)


@pytest.mark.parametrize(
    ("sweep", "flow", "asked"), [("0.3", "0.1", False), ("0.4", "0.1", True), ("5.0", "0.09", False)]
)
def test_that_sweep_gas_is_not_held_against_blood_that_stands(sweep: str, flow: str, asked: bool) -> None:
    found = reason_at({}, {Q.SWEEP_GAS_FLOW: sweep, Q.PUMP_FLOW: flow}, Q.SWEEP_GAS_FLOW)
    assert (Reason.SWEEP_FOR_FLOW in found) is asked
    exact = reason_at({}, {Q.SWEEP_GAS_FLOW: "0.9", Q.PUMP_FLOW: "4.5"}, Q.SWEEP_GAS_FLOW)
    assert Reason.SWEEP_FOR_FLOW not in exact


def test_that_after_back_flow_no_flow_is_expected() -> None:
    known = bed(texts={**BASE, Q.PUMP_FLOW: "-0.5"})
    asked = judged(known, {**BASE, Q.PUMP_FLOW: "0.31"}).of(Q.PUMP_FLOW)
    assert Reason.FLOW_FOR_SPEED in {finding.reason for finding in asked.findings}
    none = judged(known, {**BASE, Q.PUMP_FLOW: "0.3"}).of(Q.PUMP_FLOW)
    assert Reason.FLOW_FOR_SPEED not in {finding.reason for finding in none.findings}


def test_that_a_confirmed_flow_answers_what_it_made_strange_of_the_gas() -> None:
    texts = {**BASE, Q.PUMP_FLOW: "0.9"}
    judgement = judged(bed(texts={}), texts)
    assert {finding.reason for finding in judgement.questions} == {Reason.UNUSUAL, Reason.SWEEP_FOR_FLOW}
    assert judged(bed(texts={}), texts, confirmed=confirm(judgement, Q.PUMP_FLOW, "0.9")).ready
    by_gas = confirm(judgement, Q.SWEEP_GAS_FLOW, "3")
    left = judged(bed(texts={}), texts, confirmed=by_gas)
    assert {finding.reason for finding in left.questions} == {Reason.UNUSUAL}


@pytest.mark.parametrize(
    ("systolic", "diastolic", "mean", "reason", "refused"),
    [
        ("89", "64", "72", False, False),
        ("64", "89", "72", True, True),
        ("74", "64", "70", False, False),
        ("73", "64", "70", True, False),  # a pulse pressure below 10 on VA
        ("89", "64", "89", True, False),  # the systolic typed for the mean
        ("74", "64", "74", True, False),
        ("89", "64", "94", False, False),
        ("89", "64", "95", True, False),
        ("89", "64", "59", False, False),
        ("89", "64", "58", True, False),
    ],
)
def test_that_pressures_of_a_beat_go_together(
    systolic: str, diastolic: str, mean: str, reason: bool, refused: bool
) -> None:
    texts = {Q.SYSTOLIC_PRESSURE: systolic, Q.DIASTOLIC_PRESSURE: diastolic, Q.MEAN_ARTERIAL_PRESSURE: mean}
    judgement = judged(bed(texts={}), texts)
    assert (Reason.PULSE in reasons(judgement)) is reason
    assert any(finding.refused for verdict in judgement.fields for finding in verdict.findings) is refused


def test_that_a_flat_pulse_is_asked_about_on_va_alone() -> None:
    texts = {Q.SYSTOLIC_PRESSURE: "70", Q.DIASTOLIC_PRESSURE: "70", Q.MEAN_ARTERIAL_PRESSURE: "70"}
    assert Reason.PULSE in reasons(judged(bed(texts={}), texts))
    assert reasons(judged(bed(texts={}, support=Support.LA_AO), texts)) == set()


def test_that_a_mean_in_the_lungs_arteries_is_not_below_their_diastolic() -> None:
    here = bed(texts={}, support=Support.RA_PA)
    assert reasons(judged(here, {Q.PA_MEAN_PRESSURE: "14", Q.PA_DIASTOLIC_PRESSURE: "14"})) == set()
    assert reasons(judged(here, {Q.PA_MEAN_PRESSURE: "14", Q.PA_DIASTOLIC_PRESSURE: "15"})) == {Reason.PULSE}


@pytest.mark.parametrize(
    ("mains", "charge", "asked"),
    [
        ("1", "85", False),
        ("1", "84", True),
        ("0", "90", False),
        ("0", "91", True),
        ("0", "60", False),
        ("1", "100", False),
    ],
)
def test_that_a_charge_goes_with_mains_or_battery(mains: str, charge: str, asked: bool) -> None:
    found = reason_at(
        {**BASE, Q.BATTERY_CHARGE: "90"}, {Q.ON_MAINS: mains, Q.BATTERY_CHARGE: charge}, Q.BATTERY_CHARGE
    )
    assert (Reason.POWER in found) is asked


@pytest.mark.parametrize(("oxygen", "asked"), [("160", False), ("159", True)])
def test_that_oxygen_after_the_oxygenator_goes_with_the_gas(oxygen: str, asked: bool) -> None:
    found = reason_at({}, {Q.POST_OXYGENATOR_PO2: oxygen}, Q.POST_OXYGENATOR_PO2)  # with 80 % oxygen
    assert (Reason.OXYGEN_RATIO in found) is asked


@pytest.mark.parametrize(("right", "asked"), [("50", False), ("49", True)])
def test_that_limbs_that_differ_are_asked_about(right: str, asked: bool) -> None:
    assert (reason_at({}, {Q.LIMB_NIRS_LEFT: "65", Q.LIMB_NIRS_RIGHT: right}, Q.LIMB_NIRS_RIGHT) != set()) is asked


def test_that_a_number_that_cannot_be_says_nothing_of_the_others() -> None:
    judgement = judged(bed(), {**BASE, Q.PUMP_FLOW: "42"})
    assert {finding.reason for verdict in judgement.fields for finding in verdict.findings} == {Reason.IMPOSSIBLE}
    assert set(judgement.derived) == {Q.OXYGENATOR_PRESSURE_DROP}


def test_that_a_confirmation_ends_when_a_number_that_it_was_given_for_changes() -> None:
    texts = {**BASE, Q.POST_OXYGENATOR_PRESSURE: "150"}
    asked = judged(bed(), texts)
    sure = confirm(asked, Q.POST_OXYGENATOR_PRESSURE, "150")
    assert judged(bed(), texts, confirmed=sure).ready
    changed = judged(bed(), {**texts, Q.PRE_OXYGENATOR_PRESSURE: "225"}, confirmed=sure)
    assert Reason.DROP in {finding.reason for finding in changed.questions}


def test_that_nothing_is_confirmed_where_nothing_is_asked() -> None:
    judgement = judged(bed(), {**BASE, Q.PUMP_FLOW: "42", Q.MEAN_ARTERIAL_PRESSURE: "7x"})
    assert confirm(judgement, Q.PUMP_FLOW, "42") == frozenset()
    assert confirm(judgement, Q.MEAN_ARTERIAL_PRESSURE, "7x") == frozenset()
    assert confirm(judgement, Q.HAEMOGLOBIN, "95") == frozenset()
    assert confirm(judgement, Q.URINE_OUTPUT, "80") == frozenset()


def test_that_numbers_are_spoken_with_their_unit_and_a_real_minus() -> None:
    assert spoken(Q.INLET_PRESSURE, -60.0) == "−60 mmHg"
    assert spoken(Q.APTT_RATIO, 1.9) == "1.9"
    assert named("Flow", Q.PUMP_FLOW, 4.20) == "Flow 4.2 L/min"
    assert spoken(Q.PUMP_SPEED, 3500.0) == "3500 rpm"


def test_that_what_can_only_be_in_another_unit_is_asked_about_for_the_number_that_was_typed() -> None:
    judgement = judged(bed(texts={}), {Q.FDO2: "0.8"})
    assert [finding.about for finding in judgement.of(Q.FDO2).findings] == [((Q.FDO2, 0.8),)]
    sure = confirm(judgement, Q.FDO2, "0.8")
    other = judged(bed(texts={}), {Q.FDO2: "0.6"}, confirmed=sure).of(Q.FDO2)
    assert other.standing is Standing.RETYPE  # another number: asked anew


def test_that_a_drain_pressure_of_one_is_above_zero() -> None:
    assert reason_at({}, {Q.INLET_PRESSURE: "+1"}, Q.INLET_PRESSURE) == {Reason.SIGN}
