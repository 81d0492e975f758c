"""A call that is passed on, and a repeat for which no charge nurse stands. Times: our defaults (no source)."""

from pathlib import Path

import pytest

from monitor.core.alerts import ladder as climb
from monitor.core.commands import PassOn, Reason, Take
from monitor.core.grades import LadderClass, Rung
from monitor.core.ladder_table import LadderTable
from monitor.core.state import LadderState
from monitor.settings import load_ladder
from shared.instant import ms
from shared.quantities import Quantity as Q
from tests.helpers.one_bed import Bed
from tests.monitor.test_ladder import EVERYBODY, called, run, started

C = LadderClass
PATH = Path(__file__).parents[2] / "config" / "ladder.toml"
Calls = list[tuple[float, int]]


@pytest.fixture(scope="module")
def table() -> LadderTable:
    return load_ladder(PATH.read_text(), "ladder.toml")


def after_a_hold(table: LadderTable, ladder: LadderClass, taken_at: int, passed_on_at: int, until: int) -> Calls:
    """Calls after the holder passed on, in seconds from the raise."""
    state = started(ladder)
    run(state, table, EVERYBODY, taken_at)
    climb.hold(state, ms(taken_at + 3600), ())
    run(state, table, EVERYBODY, passed_on_at)
    climb.release(state)
    climb.pass_on(state, table, ms(passed_on_at))
    return [(at, rung or 0) for at, kind, rung, _ in run(state, table, EVERYBODY, until) if kind == "called"]


def test_that_a_late_pass_on_calls_the_next_rung_alone_and_the_others_at_their_distance(table: LadderTable) -> None:
    """The nurse took a high at 0:20 and passes it on at 2:50, when three rungs are over their time."""
    assert after_a_hold(table, C.HIGH_OTHER, 20, 170, 420) == [(170, 2), (230, 3), (290, 4), (410, 5)]


def test_that_a_late_pass_on_of_a_medium_leaves_the_perfusionist_the_charge_nurses_minutes(
    table: LadderTable,
) -> None:
    assert after_a_hold(table, C.MEDIUM, 60, 900, 2250) == [(900, 2), (1200, 3), (1620, 4), (2220, 2)]


def test_that_an_early_pass_on_calls_the_next_rung_now_and_the_others_at_their_own_time(table: LadderTable) -> None:
    assert after_a_hold(table, C.HIGH_OTHER, 10, 30, 310) == [(30, 2), (120, 3), (180, 4), (300, 5)]


def test_that_rungs_of_one_moment_are_passed_on_to_together(table: LadderTable) -> None:
    """Perfusionist and intensivist stand at the same second of the row: none waits for the other."""
    state = started(C.PATIENT_SIDE)
    run(state, table, EVERYBODY, 70)
    climb.hold(state, ms(250), ())
    climb.release(state)
    climb.pass_on(state, table, ms(200))
    told = run(state, table, EVERYBODY, 400)
    assert [(at, rung) for at, _, rung, _ in told] == [(200, 3), (200, 4), (380, 5)]


def test_that_a_holder_who_passes_on_late_brings_no_flood() -> None:
    bed = Bed()
    bed.run(90, {})
    bed.run(40, {Q.PUMP_FLOW: 3.3})
    assert bed.give(Take, "nurse-B1", reason=Reason.AT_BEDSIDE) == ""
    bed.run(880, {Q.PUMP_FLOW: 3.3})
    assert bed.give(PassOn, "nurse-B1", reason=Reason.OTHER) == ""
    assert bed.calls() == [(1, "nurse-B1"), (2, "charge")]
    bed.run(299, {Q.PUMP_FLOW: 3.3})
    assert bed.calls() == [(1, "nurse-B1"), (2, "charge")]
    bed.run(2, {Q.PUMP_FLOW: 3.3})
    assert bed.calls()[2:] == [(3, "perfusionist")]


def repeats_without(table: LadderTable, ladder: LadderClass, *rungs: Rung) -> list[tuple[float, str, int | None]]:
    """What is done from the first repeat on where somebody stood on all rungs before, and nobody on some now."""
    state = started(ladder)
    first = climb_to_the_last(state, table)
    people = {rung: name for rung, name in EVERYBODY.items() if rung not in rungs}
    return [(at, kind, rung) for at, kind, rung, _ in run(state, table, people, first)]


def climb_to_the_last(state: LadderState, table: LadderTable) -> float:
    row = table.rows[state.ladder]
    first = row.repeat_from_s or 0
    run(state, table, EVERYBODY, first - 1)
    return first


def test_that_a_repeat_without_a_charge_nurse_goes_to_the_next_filled_rung(table: LadderTable) -> None:
    assert repeats_without(table, C.MEDIUM, Rung.CHARGE) == [(1500, "skipped", 2), (1500, "called", 3)]
    both = (Rung.CHARGE, Rung.PERFUSIONIST)
    assert repeats_without(table, C.MEDIUM, *both) == [(1500, "skipped", 2), (1500, "called", 4)]
    assert repeats_without(table, C.CONSOLE, Rung.CHARGE) == [(780, "skipped", 2), (780, "called", 3)]


def test_that_a_repeat_goes_to_the_rung_below_where_the_class_ends_with_the_charge_nurse(
    table: LadderTable,
) -> None:
    assert repeats_without(table, C.FEED, Rung.CHARGE) == [(780, "skipped", 2), (780, "called", 1)]
    all_above = (Rung.CHARGE, Rung.PERFUSIONIST, Rung.INTENSIVIST)
    assert repeats_without(table, C.MEDIUM, *all_above) == [(1500, "skipped", 2), (1500, "called", 1)]


def test_that_repeats_come_back_to_a_charge_nurse_who_stands_again(table: LadderTable) -> None:
    state = started(C.MEDIUM)
    climb_to_the_last(state, table)
    run(state, table, {rung: name for rung, name in EVERYBODY.items() if rung != Rung.CHARGE}, 1501)
    assert called(run(state, table, EVERYBODY, 2101), Rung.CHARGE) == [2100]
