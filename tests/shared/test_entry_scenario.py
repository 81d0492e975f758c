"""Scenario 14 without its window: good sets, the wrong bed, slips that are refused or asked, late numbers."""

from shared.entry.findings import Reason
from shared.entry.judging import Standing, confirm
from shared.entry.known import Known
from shared.entry.times import is_late, read_at_fault
from shared.instant import HOUR, MINUTE
from shared.quantities import Quantity as Q
from tests.helpers.entry_bed import BASE, TABLE, bed, judged, reasons

#: Bed 6 of the scenario; its pre-oxygenator pressure follows from flow and the base oxygenator (140 + 7.14 x 3.1).
SIX = {
    **BASE,
    Q.PUMP_SPEED: "2800",
    Q.PUMP_FLOW: "3.1",
    Q.INLET_PRESSURE: "-35",
    Q.PRE_OXYGENATOR_PRESSURE: "162",
    Q.POST_OXYGENATOR_PRESSURE: "140",
    Q.MEAN_ARTERIAL_PRESSURE: "80",
    Q.SYSTOLIC_PRESSURE: "96",
    Q.DIASTOLIC_PRESSURE: "71",
}


def five() -> Known:
    return bed("B5")


def six() -> Known:
    return bed("B6", SIX)


def test_that_the_good_sets_of_both_beds_are_accepted_without_a_question() -> None:
    for label, texts in (("B5", BASE), ("B6", SIX)):
        judgement = judged(bed(label, {}), texts, read_at=0)
        assert reasons(judgement) == set()
        assert judgement.ready
        assert judgement.values == {quantity: float(text) for quantity, text in texts.items()}
    again = judged(six(), SIX, five())
    assert again.ready
    assert again.resemblance is None


def test_that_bed_5s_numbers_on_bed_6s_form_are_not_sent_and_bed_5_is_named() -> None:
    judgement = judged(six(), BASE, five(), read_at=60 * MINUTE)
    assert judgement.resemblance is not None
    assert judgement.resemblance.bed == "B5"
    assert not judgement.ready
    words = judgement.resemblance.words
    assert words.startswith(
        "This resembles bed B5, not B6: Speed, Flow, Drain P, Pre-oxy P, Post-oxy P. Nothing is sent."
    )
    assert words.endswith("type B6.")
    assert judged(five(), BASE, six()).resemblance is None


def test_that_a_flow_of_42_is_refused_and_the_rest_can_be_sent() -> None:
    judgement = judged(six(), {**SIX, Q.PUMP_FLOW: "42"}, five(), read_at=61 * MINUTE)
    flow = judgement.of(Q.PUMP_FLOW)
    assert flow.standing is Standing.REFUSED
    assert flow.words == (
        "Flow 42 L/min cannot be: possible is −5 to 10 L/min. It cannot be sent. Read it again at the bed and type "
        "what stands there; other fields can be sent."
    )
    assert judgement.ready
    assert Q.PUMP_FLOW not in judgement.values
    assert len(judgement.values) == len(SIX) - 1


def test_that_a_flow_of_0_42_is_questioned_and_only_the_same_number_typed_again_confirms_it() -> None:
    texts = {**SIX, Q.PUMP_FLOW: "0.42"}
    judgement = judged(six(), texts, five(), read_at=61 * MINUTE)
    flow = judgement.of(Q.PUMP_FLOW)
    assert flow.standing is Standing.RETYPE
    assert "Flow 0.42 L/min is unusual: most lie within 1.5 to 7 L/min." in flow.words
    assert flow.words.endswith("the same number typed again confirms it.")
    assert not judgement.ready
    assert confirm(judgement, Q.PUMP_FLOW, "0.43") == frozenset()
    assert confirm(judgement, Q.PUMP_FLOW, "") == frozenset()
    assert confirm(judgement, Q.PUMP_FLOW, "o.42") == frozenset()
    sure = judged(six(), texts, five(), confirmed=confirm(judgement, Q.PUMP_FLOW, "0,42"))
    assert sure.of(Q.PUMP_FLOW).standing is Standing.CONFIRMED
    assert sure.ready
    assert sure.values[Q.PUMP_FLOW] == 0.42
    corrected = judged(six(), {**SIX, Q.PUMP_FLOW: "3.1"}, five())
    assert corrected.of(Q.PUMP_FLOW).standing is Standing.ACCEPTED


def test_that_haemoglobin_in_another_unit_is_refused_with_the_unit_that_it_may_be() -> None:
    verdict = judged(six(), {**SIX, Q.HAEMOGLOBIN: "9.5"}, read_at=62 * MINUTE).of(Q.HAEMOGLOBIN)
    assert verdict.standing is Standing.REFUSED
    assert verdict.words.startswith(
        "Hb 9.5 g/L has 1 digit after the point, more than this field takes: is it read in g/dL"
    )
    whole = judged(six(), {**SIX, Q.HAEMOGLOBIN: "9"}).of(Q.HAEMOGLOBIN)
    assert whole.standing is Standing.REFUSED
    assert "possible is 20 to 250 g/L. Was it read in g/dL or mmol/L?" in whole.words


def test_that_a_share_of_oxygen_is_asked_about_never_converted_and_refused_when_it_is_typed_again() -> None:
    texts = {**SIX, Q.FDO2: "0.8"}
    judgement = judged(six(), texts, read_at=62 * MINUTE)
    asked = judgement.of(Q.FDO2)
    assert asked.standing is Standing.RETYPE
    assert asked.words == (
        "FdO₂ 0.8 % looks like a share of 1: possible is 21 to 100 %. Nothing is converted. "
        "Read it again at the bed and type it in the unit of this field."
    )
    assert not judgement.ready
    again = judged(six(), texts, confirmed=confirm(judgement, Q.FDO2, "0.8"))
    assert again.of(Q.FDO2).standing is Standing.REFUSED
    assert Q.FDO2 not in again.values


def test_that_a_drain_pressure_above_zero_is_asked_for_its_sign() -> None:
    texts = {**SIX, Q.INLET_PRESSURE: "+40"}
    judgement = judged(six(), texts, read_at=70 * MINUTE)
    verdict = judgement.of(Q.INLET_PRESSURE)
    assert verdict.standing is Standing.RETYPE
    assert "above zero; this pressure is usually below zero. Is the sign right?" in verdict.words
    assert judged(six(), texts, confirmed=confirm(judgement, Q.INLET_PRESSURE, "+40")).ready


def test_that_a_number_without_its_sign_is_confirmed_only_by_one_with_a_sign() -> None:
    judgement = judged(six(), {**SIX, Q.INLET_PRESSURE: "40"})
    assert "has no sign" in judgement.of(Q.INLET_PRESSURE).words
    assert confirm(judgement, Q.INLET_PRESSURE, "40") == frozenset()
    assert {key[1] for key in confirm(judgement, Q.INLET_PRESSURE, "+40")} == {Reason.SIGN}
    minus = judged(six(), {**SIX, Q.INLET_PRESSURE: "-40"})
    assert minus.of(Q.INLET_PRESSURE).standing is Standing.ACCEPTED


def test_that_a_set_read_at_45_min_and_entered_at_85_is_late_and_allowed() -> None:
    read_at, entered_at = 45 * MINUTE, 85 * MINUTE
    assert is_late(TABLE.times, read_at, entered_at)
    assert read_at_fault(TABLE.times, read_at, entered_at) == ""
    known = bed("B5", read_at=70 * MINUTE)
    judgement = judged(known, {**BASE, Q.PUMP_FLOW: "2.4"}, read_at=read_at)
    assert judgement.of(Q.PUMP_FLOW).standing is Standing.RETYPE  # 43 % less than the last one
    assert "25 min after" in judgement.of(Q.PUMP_FLOW).words
    sure = judged(
        known, {**BASE, Q.PUMP_FLOW: "2.4"}, read_at=read_at, confirmed=confirm(judgement, Q.PUMP_FLOW, "2.4")
    )
    assert sure.ready
    assert known.with_set(sure.values, read_at).last[Q.PUMP_FLOW].value == 4.2  # what was read later stands
    assert known.with_set(sure.values, 71 * MINUTE).last[Q.PUMP_FLOW].value == 2.4
    assert known.with_set(sure.values, HOUR * 2).last[Q.PUMP_FLOW].read_at == 2 * HOUR
