"""Flow learned from a bed's own minutes: what is told, what is refused, and what forgets it."""

from itertools import pairwise
from random import Random

import pytest

from monitor.analysis.conformal import few, folds_of, quantile_of
from monitor.analysis.flow_model import Contradiction, Estimate, FlowModel, Witness
from monitor.analysis.held_back import before_now, long_before
from monitor.analysis.seen import Beyond
from monitor.analysis.worked import KEPT, Worked, WorkedPast, speeds_of
from monitor.core.commands import Device, EndRun, Exchange, StartRun
from shared.instant import MINUTE
from shared.quantities import Quantity as Q
from shared.support import Support, describe_run
from tests.helpers.learned_bed import LearnedBed, Pump, learned

PUMP = Pump()
#: Of a minute's flow.
NOISE = 0.008
BOTH = frozenset({Witness.HEAD, Witness.CURRENT})
CONSOLE_ONLY = '"pump_speed", "pump_flow", "mean_arterial_pressure"'


def minute(number: int, speed: float, flow: float, rng: Random | None = None) -> Worked:
    """A minute of the test's own pump, with the noise that a minute's median has."""
    off = rng or Random(number)
    return Worked(
        number,
        speed,
        flow + off.gauss(0, 0.008),
        PUMP.head(speed, flow) + off.gauss(0, 0.7),
        7.0 * flow + off.gauss(0, 0.7),
        PUMP.current(speed, flow) + off.gauss(0, 0.003),
    )


def minutes() -> list[Worked]:
    return [
        minute(100 + n, *at) for n, at in enumerate([(3500, 4.2)] * 12 + [(3200, 3.6)] * 12 + [(3700, 4.6)] * 12)
    ]


def model(witnesses: frozenset[Witness] = BOTH) -> FlowModel:
    found = FlowModel.learned(minutes(), witnesses, NOISE)
    assert found is not None
    return found


def now(speed: float, flow: float) -> Worked:
    """A minute without noise, and without its flow."""
    return Worked(900, speed, float("nan"), PUMP.head(speed, flow), 7.0 * flow, PUMP.current(speed, flow))


@pytest.mark.parametrize(
    "witnesses", [BOTH, frozenset({Witness.HEAD}), frozenset({Witness.CURRENT}), frozenset({Witness.DROP})]
)
@pytest.mark.parametrize(("speed", "flow"), [(3500, 4.2), (3300, 3.8), (3600, 4.1), (3400, 4.4)])
def test_that_the_flow_is_told_at_speeds_and_flows_between_those_seen(
    witnesses: frozenset[Witness], speed: float, flow: float
) -> None:
    found = model(witnesses).estimate(now(speed, flow))
    assert isinstance(found, Estimate)
    assert found.flow == pytest.approx(flow, rel=0.05)
    assert found.low < found.flow < found.high
    assert found.low - 0.1 < flow < found.high + 0.1


@pytest.mark.parametrize(
    ("speed", "flow", "name"),
    [(3000, 3.9, "speed"), (4000, 4.2, "speed"), (3500, 2.0, "head"), (3500, 5.6, "flow"), (3500, 0.0, "head")],
)
def test_that_nothing_is_told_where_it_was_never_seen(speed: float, flow: float, name: str) -> None:
    found = model().estimate(now(speed, flow))
    assert isinstance(found, Beyond)
    assert found.seen.name == name


def test_that_a_lost_reading_of_a_witness_is_never_seen() -> None:
    assert isinstance(model().estimate(now(3500, 4.2)._replace(head=None)), Beyond)


def test_that_witnesses_which_contradict_each_other_tell_no_flow() -> None:
    rubbing = now(3500, 4.2)._replace(current=PUMP.current(3500, 4.2) + 0.12)
    found = model().estimate(rubbing)
    assert isinstance(found, Contradiction)
    assert found.parts[Witness.CURRENT] > found.parts[Witness.HEAD] + 0.5


def test_that_a_fifth_of_odd_minutes_moves_the_flow_by_less_than_three_per_cent() -> None:
    odd = [row._replace(flow=row.flow * 0.7) if place % 5 == 2 else row for place, row in enumerate(minutes())]
    found = FlowModel.learned(odd, BOTH, NOISE)
    assert found is not None
    told = found.estimate(now(3500, 4.2))
    assert isinstance(told, Estimate)
    assert told.flow == pytest.approx(4.2, rel=0.03)


def test_that_at_one_speed_a_flow_that_never_moved_is_told_with_a_wide_interval_once_it_moves() -> None:
    still = FlowModel.learned([minute(100 + n, 3500, 4.2) for n in range(70)], frozenset({Witness.HEAD}), NOISE)
    assert still is not None
    same, moved = still.estimate(now(3500, 4.2)), still.estimate(now(3500, 4.3))
    assert isinstance(same, Estimate)
    assert isinstance(moved, Estimate)
    assert moved.low <= 4.3 <= moved.high
    assert moved.high - moved.low > 1.3 * (same.high - same.low)


def test_that_each_minute_is_left_out_once_and_never_with_others_of_its_block() -> None:
    blocks = [n // 4 for n in range(50)]
    left_out: list[int] = []
    for kept, left in folds_of(blocks):
        assert {blocks[n] for n in kept}.isdisjoint(blocks[n] for n in left)
        left_out += left
    assert sorted(left_out) == list(range(50))


def test_that_the_width_is_that_of_split_conformal_prediction() -> None:
    # k = ceil((n + 1) (1 - alpha)): Vovk, Gammerman & Shafer 2005; from nine scores on 90 % can be told
    assert quantile_of([float(n) for n in range(9)]) == 8.0
    assert quantile_of([float(n) for n in range(8)]) is None
    assert quantile_of([float(n) for n in range(1, 100)]) == 90.0


@pytest.mark.parametrize(("n", "ratio"), [(3, 2.353), (5, 2.015), (10, 1.812), (30, 1.697)])
def test_that_few_minutes_widen_as_student_has_it(n: int, ratio: float) -> None:
    # 95 % points of Student's t: Abramowitz & Stegun 1964, table 26.10; 1.645 of the normal distribution
    assert few(n) == pytest.approx(ratio / 1.645, rel=0.004)


def test_that_what_is_remembered_is_bounded_and_keeps_speeds_of_long_ago_and_spreads_over_time() -> None:
    past = WorkedPast()
    rows = [minute(n, 3200, 3.6) for n in range(10)] + [minute(n, 3700, 4.6) for n in range(10, 20)]
    for row in [*rows, *(minute(n, 3500, 4.2) for n in range(20, 4000))]:
        past.take(row)
    assert len(past.rows) == KEPT
    assert past.seen == 3999
    assert past.rows[-1].number == 3999
    assert [round(speed) for speed in past.speeds()] == [3200, 3500, 3700]
    numbers = [row.number for row in past.rows if row.speed == 3500]
    assert max(later - earlier for earlier, later in pairwise(numbers)) < 250


def test_that_a_minute_without_forward_flow_or_of_the_past_is_not_taken() -> None:
    past = WorkedPast()
    for row in (minute(5, 3500, 4.2), minute(5, 3500, 4.2), minute(4, 3500, 4.2), minute(6, 3500, 0.0)):
        past.take(row)
    past.take(minute(7, 900, -0.8))
    assert [row.number for row in past.rows] == [5]


def test_that_a_speed_counts_from_three_minutes_on_and_within_two_per_cent_is_one() -> None:
    rows = [minute(n, speed, 4.0) for n, speed in enumerate([3500] * 3 + [3550] * 3 + [3900] * 3 + [4300] * 2)]
    assert len(speeds_of(rows)) == 2


def test_that_the_learned_flow_stands_beside_the_measured_one() -> None:
    bed = learned()
    bed.play(3, 3500, 4.2)
    view = bed.flow()
    assert view.value == pytest.approx(4.2, rel=0.05)
    assert view.low is not None
    assert view.high is not None
    assert view.low < 4.2 < view.high
    assert view.measured == pytest.approx(4.2, abs=0.1)
    assert (view.console, view.hollow, view.differs, view.refused, view.caution) == (None, False, "", "", "")
    assert view.source == "Head and motor current of the last minute"
    assert [round(speed) for speed in view.speeds] == [3200, 3500, 3700]
    assert view.minutes >= 30
    assert view.last_at is not None
    assert 12 * MINUTE < bed.now - view.last_at < 15 * MINUTE  # the last third of 39 min is not learned from yet


def test_that_a_console_which_estimates_is_told_apart_from_what_was_learned_and_teaches_nothing() -> None:
    bed = learned()
    before = bed.flow().minutes
    bed.play(12, 3500, 4.2, shown=5.4, estimated=True)
    view = bed.flow()
    assert (view.measured, view.console, view.hollow) == (None, 5.4, True)
    assert view.value == pytest.approx(4.2, rel=0.05)
    assert view.minutes <= before + 1
    assert view.differs == "The console's estimate 5.4 L/min is not what head and motor current say"


def test_that_a_sensor_which_shows_nothing_for_lost_teaches_nothing_and_is_told_to_differ() -> None:
    bed = learned()
    bed.play(12, 3500, 4.2, shown=0.0)
    view = bed.flow()
    assert view.value == pytest.approx(4.2, rel=0.05)
    assert view.measured == 0.0
    assert view.differs == "Measured 0.0 L/min is not what head and motor current say"


def test_that_a_flow_sensor_which_is_wrong_stays_told_and_the_estimate_keeps_to_what_was_right() -> None:
    bed = learned()
    for _ in range(15):
        bed.play(1.5, 3500, 4.2, shown=2.0)
        view = bed.flow()
        assert view.differs.startswith("Measured 2.0 L/min is not what head ")
        assert view.value == pytest.approx(4.2, rel=0.05)


@pytest.mark.parametrize(("measured", "left"), [(9, 6), (36, 24), (90, 60), (91, 61), (300, 270)])
def test_that_the_newest_minutes_are_not_learned_from(measured: int, left: int) -> None:
    rows = [minute(n, 3500, 4.2) for n in range(1000, 1000 + measured)]
    assert [row.number for row in before_now(rows, 1000 + measured)] == list(range(1000, 1000 + left))


@pytest.mark.parametrize(("measured", "left"), [(30, 0), (31, 1), (90, 60), (120, 80)])
def test_that_a_current_is_expected_from_minutes_of_long_before(measured: int, left: int) -> None:
    rows = [minute(n, 3500, 4.2) for n in range(1000, 1000 + measured)]
    unread = [minute(n, 3500, 4.2)._replace(current=None) for n in range(900, 1000)]
    assert [row.number for row in long_before(unread + rows, 1000 + measured)] == list(range(1000, 1000 + left))
    assert long_before(unread, 2000) == []


def test_that_too_little_is_learned_from_is_said_with_how_much_is_missing() -> None:
    bed = LearnedBed()
    bed.play(20, 3500, 4.2)
    assert bed.flow().refused.startswith("Too little is measured yet: 20 of 60 min, or 1 of 3 speeds")
    bed.play(43, 3500, 4.2)
    assert bed.flow().refused == ""


def test_that_a_speed_never_seen_is_refused_with_the_range_that_was() -> None:
    bed = learned()
    bed.play(3, 4200, 5.0, without=frozenset({Q.PUMP_FLOW}))
    view = bed.flow()
    assert view.value is None
    assert view.refused == "Speed 4200 rpm was never seen here: 3130 to 3770"


def test_that_a_change_of_speed_is_refused_for_a_minute() -> None:
    bed = learned()
    bed.play(2, 3500, 4.2)
    bed.play(0.5, 3300, 3.8)
    assert bed.flow().refused == "The speed changed within the last minute"
    bed.play(1, 3300, 3.8)
    assert bed.flow().refused == ""


def test_that_readings_which_have_just_changed_are_refused() -> None:
    bed = learned()
    bed.play(3, 3500, 4.2)
    bed.play(0.25, 3500, 3.6)
    assert bed.flow().refused == "The readings are changing: no minute of them yet"


def test_that_stale_readings_tell_no_flow() -> None:
    bed = learned()
    bed.play(3, 3500, 4.2)
    bed.wait(600)
    view = bed.flow()
    assert (view.value, view.measured, view.console, view.hollow) == (None, None, None, True)
    assert view.refused == "Speed is not read now"


def test_that_back_flow_tells_no_flow() -> None:
    bed = learned()
    bed.play(3, 3500, 4.2, shown=-0.6)
    assert bed.flow().refused == "Blood runs back: not estimated"


def test_that_a_frozen_console_tells_no_flow_and_teaches_nothing() -> None:
    bed = learned()
    bed.play(3, 3500, 4.2)
    before = bed.flow().minutes
    bed.play(20, 3500, 4.2, still=True)
    view = bed.flow()
    assert view.refused == "The console's readings stand still"
    assert view.minutes <= before + 4  # until two minutes are alike nobody can know


def test_that_without_head_or_current_fitted_nothing_is_told_and_why() -> None:
    bed = learned(sensors=CONSOLE_ONLY)
    bed.play(3, 3500, 4.2)
    assert bed.flow().refused == "Neither head nor motor current is fitted"


def test_that_one_witness_alone_is_said_to_be_alone() -> None:
    bed = learned(sensors=CONSOLE_ONLY + ', "motor_current"')
    bed.play(3, 3500, 4.2, without=frozenset({Q.PUMP_FLOW}))
    view = bed.flow()
    assert view.value == pytest.approx(4.2, rel=0.05)
    assert view.caution == "From motor current alone: trouble in the pump head would not show"


def test_that_a_head_which_is_lost_now_leaves_the_current_to_tell_it() -> None:
    bed = learned()
    bed.play(3, 3500, 4.2)
    bed.play(3, 3500, 4.2, without=frozenset({Q.INLET_PRESSURE, Q.PUMP_FLOW}))
    assert bed.flow().source in (
        "Oxygenator's pressure drop and motor current of the last minute",
        "Head and motor current of the last minute",
    )
    bed.play(8, 3500, 4.2, without=frozenset({Q.INLET_PRESSURE, Q.PUMP_FLOW}))
    assert bed.flow().source == "Oxygenator's pressure drop and motor current of the last minute"
    assert bed.flow().value == pytest.approx(4.2, rel=0.05)


@pytest.mark.parametrize("support", list(Support))
def test_that_every_support_type_learns_from_what_it_has(support: Support) -> None:
    bed = learned(support)
    bed.play(3, 3300, 3.8, without=frozenset({Q.PUMP_FLOW}))
    assert bed.flow().value == pytest.approx(3.8, rel=0.05)


@pytest.mark.parametrize("device", [Device.PUMP_HEAD, Device.TUBING])
def test_that_another_pump_head_is_learned_anew(device: Device) -> None:
    bed = learned()
    assert bed.say(Exchange, "charge", bed="B1", slot=1, device=device) == ""
    bed.play(3, 3500, 4.2)
    assert bed.flow().refused.startswith("Too little is measured yet: ")
    assert bed.flow().minutes <= 3


def test_that_another_oxygenator_forgets_its_pressure_drop_alone_and_another_console_its_current_alone() -> None:
    bed = learned()
    rows = bed.engine._state.beds["B1"].runs[1].worked
    bed.say(Exchange, "charge", bed="B1", slot=1, device=Device.OXYGENATOR)
    assert {row.drop for row in rows.rows} == {None}
    assert None not in {row.head for row in rows.rows}
    bed.say(Exchange, "charge", bed="B1", slot=1, device=Device.CONSOLE)
    assert {row.current for row in rows.rows} == {None}
    bed.play(3, 3500, 4.2)
    assert bed.flow().source == "Head of the last minute"


def test_that_a_new_run_begins_without_anything_learned() -> None:
    bed = learned()
    assert bed.say(EndRun, "charge", bed="B1", slot=1) == ""
    assert bed.say(StartRun, "charge", bed="B1", run=describe_run(Support.VA, "B1-2"), targets={}) == ""
    bed.play(3, 3500, 4.2)
    assert bed.flow().minutes <= 3


def test_that_what_was_learned_outlives_a_restart_and_the_four_hours_of_minutes() -> None:
    bed = learned()
    run = bed.engine._state.beds["B1"].runs[1]
    run.minutes.clear()
    bed.restart()
    bed.play(3, 3300, 3.8, without=frozenset({Q.PUMP_FLOW}))
    assert bed.flow().value == pytest.approx(3.8, rel=0.05)
