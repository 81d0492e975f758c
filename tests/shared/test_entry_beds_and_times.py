"""Which bed a set is from, what is known of a bed, and when a set was read and typed."""

import pytest

from shared.entry.another_bed import alike
from shared.entry.due import due_fields
from shared.entry.known import Known, Told
from shared.entry.looking import AnotherBed, EntryTimes
from shared.entry.times import is_late, must_be_read_again, read_at_fault
from shared.instant import HOUR, MINUTE, SECOND
from shared.quantities import Quantity as Q
from shared.support import Support, describe_run
from tests.helpers.entry_bed import BASE, TABLE, bed, judged

TIMES = EntryTimes()
NOW = 100 * HOUR
#: Another bed, 30 % away from the base bed in three numbers.
OTHER = {**BASE, Q.PUMP_SPEED: "2450", Q.PUMP_FLOW: "2.9", Q.INLET_PRESSURE: "-40"}


def resembled(texts: dict[Q, str], *others: str) -> str:
    beds = [bed(label, OTHER) for label in others]
    found = judged(bed("B1"), texts, *beds).resemblance
    return found.bed if found else ""


def test_that_three_numbers_of_another_bed_are_asked_about_and_two_are_not() -> None:
    assert resembled({**BASE, **OTHER}, "B2") == "B2"
    assert resembled({**OTHER, Q.INLET_PRESSURE: "-60"}, "B2") == ""
    assert resembled({**OTHER, Q.INLET_PRESSURE: ""}, "B2") == ""


def test_that_a_number_must_differ_by_more_than_a_fifth_and_be_within_a_twentieth_of_the_other() -> None:
    known = {Q.PUMP_SPEED: "3000", Q.PUMP_FLOW: "4", Q.PRE_OXYGENATOR_PRESSURE: "200"}
    other = {Q.PUMP_SPEED: "2000", Q.PUMP_FLOW: "3", Q.PRE_OXYGENATOR_PRESSURE: "150"}

    def asked(pressure: str) -> bool:
        texts = {Q.PUMP_SPEED: "2000", Q.PUMP_FLOW: "3", Q.PRE_OXYGENATOR_PRESSURE: pressure}
        return judged(bed("B1", known), texts, bed("B2", other)).resemblance is not None

    assert asked("150")
    assert asked("143")
    assert asked("157")
    assert not asked("142")
    assert not asked("158")
    assert not asked("200")
    near = {**other, Q.PRE_OXYGENATOR_PRESSURE: "160"}
    texts = {Q.PUMP_SPEED: "2000", Q.PUMP_FLOW: "3", Q.PRE_OXYGENATOR_PRESSURE: "160"}
    assert judged(bed("B1", known), texts, bed("B2", near)).resemblance is None  # a fifth away, no more


def test_that_zero_is_near_nothing_but_zero() -> None:
    rule = AnotherBed()
    assert alike(rule, 0.0, 0.0)
    assert not alike(rule, 0.1, 0.0)
    assert alike(rule, -60, -63)
    assert not alike(rule, 60, -60)


def test_that_of_two_beds_the_one_with_more_numbers_is_named() -> None:
    far = bed("B2", OTHER)
    near = bed("B3", {**OTHER, Q.SWEEP_GAS_FLOW: "5.0"})
    found = judged(bed("B1"), {**OTHER, Q.SWEEP_GAS_FLOW: "5.0"}, far, near).resemblance
    assert found is not None
    assert found.bed == "B3"
    assert found.fields == (Q.PUMP_SPEED, Q.PUMP_FLOW, Q.INLET_PRESSURE, Q.SWEEP_GAS_FLOW)


def test_that_a_bed_never_resembles_itself_nor_one_of_long_ago() -> None:
    assert resembled(OTHER, "B1") == ""
    old = bed("B2", OTHER, read_at=-3 * HOUR - 1)
    assert judged(bed("B1"), OTHER, old).resemblance is None
    assert judged(bed("B1", {}), OTHER, bed("B2", OTHER)).resemblance is None  # nothing is known here


def test_that_the_label_of_this_bed_answers_the_question() -> None:
    others = [bed("B2", OTHER), bed("B3", OTHER)]
    left = judged(bed("B1"), OTHER, *others, not_from=frozenset({"B2"})).resemblance
    assert left is not None
    assert left.bed == "B3"
    assert judged(bed("B1"), OTHER, *others, not_from=frozenset({"B2", "B3"})).resemblance is None


def test_that_a_set_changes_only_what_was_typed_and_only_what_is_older() -> None:
    known = bed().with_set({Q.PUMP_FLOW: 4.0}, HOUR)
    assert known.last[Q.PUMP_FLOW] == Told(4.0, HOUR)
    assert known.last[Q.PUMP_SPEED] == Told(3500.0, 0)
    late = known.with_set({Q.PUMP_FLOW: 3.0, Q.LACTATE: 2.0}, HOUR - 1)
    assert late.last[Q.PUMP_FLOW] == Told(4.0, HOUR)
    assert late.last[Q.LACTATE] == Told(2.0, HOUR - 1)
    assert known.with_set({Q.PUMP_FLOW: 3.0}, HOUR).last[Q.PUMP_FLOW].value == 3.0  # a correction


def test_that_resistances_are_kept_for_a_day_of_sets_and_a_new_run_begins_blank() -> None:
    known = bed()
    assert known.resistances == pytest.approx((30 / 4.2,))
    for number in range(1, 40):
        known = known.with_set({q: float(text) for q, text in BASE.items()}, number * HOUR)
    assert len(known.resistances) == 24
    assert known.with_set({Q.PUMP_FLOW: 4.0}, 50 * HOUR).resistances == known.resistances
    new = known.begun_anew(describe_run(Support.VV, "next"))
    assert (dict(new.last), new.resistances, new.run.run_id, new.bed) == ({}, (), "next", "B5")


def due(known: Known, now: int) -> dict[Q, int | None]:
    return {one.field.quantity: one.since_ms for one in due_fields(TABLE, known, now)}


def test_that_numbers_fall_due_each_at_its_own_interval() -> None:
    known = bed("B5")
    hourly = set(BASE) - {Q.HAEMOGLOBIN}
    never = {Q.CENTRAL_VENOUS_PRESSURE, Q.SPO2_FOOT, Q.BATTERY_MINUTES, Q.LIMB_NIRS_LEFT, Q.LIMB_NIRS_RIGHT}
    assert due(known, HOUR - 1) == dict.fromkeys(never)
    assert due(known, HOUR) == dict.fromkeys(never) | dict.fromkeys(hourly, 0)
    assert due(known, HOUR + 5 * MINUTE)[Q.PUMP_FLOW] == 5 * MINUTE
    assert Q.HAEMOGLOBIN not in due(known, 12 * HOUR - 1)
    assert due(known, 12 * HOUR)[Q.HAEMOGLOBIN] == 0
    assert Q.LACTATE not in due(known, 100 * HOUR)  # never drawn
    assert due(bed("B5", {}), 0)[Q.SYSTOLIC_PRESSURE] is None  # its sensor is the pulse pressure's
    assert list(due(known, HOUR))[:2] == [Q.PUMP_SPEED, Q.PUMP_FLOW]


@pytest.mark.parametrize(
    ("read_at", "charge", "words"),
    [
        (NOW, False, ""),
        (NOW + 2 * MINUTE, False, ""),
        (NOW + 2 * MINUTE + 1, False, "3 min ahead of the clock"),
        (NOW - 12 * HOUR, False, ""),
        (
            NOW - 12 * HOUR - 1,
            False,
            "more than 12 h back. Numbers can be entered up to 12 h back, the charge",
        ),
        (NOW - 12 * HOUR - 1, True, ""),
        (NOW - 24 * HOUR, True, ""),
        (NOW - 24 * HOUR - 1, True, "more than 24 h back. Numbers can be entered up to 24 h back."),
    ],
)
def test_that_numbers_are_read_neither_ahead_of_the_clock_nor_too_long_ago(
    read_at: int, charge: bool, words: str
) -> None:
    fault = read_at_fault(TIMES, read_at, NOW, charge)
    assert words in fault
    assert bool(fault) is bool(words)


def test_that_a_set_is_late_after_15_min() -> None:
    assert not is_late(TIMES, NOW - 15 * MINUTE, NOW)
    assert is_late(TIMES, NOW - 15 * MINUTE - 1, NOW)
    assert not is_late(TIMES, NOW + MINUTE, NOW)


def test_that_a_draft_of_more_than_15_min_must_be_read_again() -> None:
    assert not must_be_read_again(TIMES, NOW - 15 * MINUTE, NOW)
    assert must_be_read_again(TIMES, NOW - 15 * MINUTE - SECOND, NOW)
