"""Each judge of limits at its edges, by one reading and by hand-worked numbers that are exact in binary.

The rules here are made for the test; the shipped numbers are held to their sources in `tests/published`.
"""

from typing import Any

import pytest

from monitor.analysis.baseline import Baseline
from monitor.analysis.signal import Signal
from monitor.core.grades import TrialKind
from monitor.core.judging.limits import (
    default_share,
    judge_condition,
    judge_difference,
    judge_trial,
    judge_unsteady,
    limit_and_way_back,
    limit_at,
)
from monitor.core.judging.limits import judge_limit as judge_limit_at
from monitor.core.judging.verdict import Readings, Verdict
from monitor.core.ladder_table import Timings
from monitor.core.rules import ConditionRule, DifferenceRule, LimitRule, TrialRule, UnsteadyRule
from monitor.core.state import BedState, OwnLimit, RuleState, RunState, Trial
from shared.instant import MINUTE, SECOND
from shared.messages import Condition
from shared.quantities import Quantity as Q
from shared.support import Support, describe_run

FLOW, SPEED = Q.PUMP_FLOW, Q.PUMP_SPEED
NOW = 1_000 * SECOND
WITHIN, BETWEEN, BEYOND = (False, True), (False, False), (True, False)


def rule(model: type[Any], **fields: object) -> Any:
    shared = {"id": "of_this_test", "title": "{value}", "priority": "medium", "mark": "TD"}
    return model.model_validate(shared | fields, strict=False)


def limit(**fields: object) -> LimitRule:
    found: LimitRule = rule(LimitRule, **{"kind": "limit", "quantity": "pump_flow", "window_s": 0} | fields)
    return found


def run_of(
    values: dict[Q, float], support: Support = Support.VA, profile: str = "broad", slot: int = 1
) -> RunState:
    """A run of which each quantity was read once, just now."""
    run = RunState(describe_run(support, f"run-{slot}", slot, profile), 0)
    for quantity, value in values.items():
        run.signals[quantity] = Signal((10_000,))
        run.signals[quantity].add(NOW, value)
    return run


def seen(run: RunState, at: int = NOW, by_hand: bool = False, fresh: bool = True, **others: RunState) -> Readings:
    runs = {run.description.slot: run} | {one.description.slot: one for one in others.values()}
    return Readings(
        BedState("B1", runs), run, at, frozenset(run.signals) if fresh else frozenset(), by_hand, 1_500, Timings()
    )


def judge_limit(asked: LimitRule, state: RuleState, readings: Readings) -> Verdict | None:
    return judge_limit_at(limit_at(asked, readings.run), state, readings)


def judged(asked: LimitRule, value: float, **more: Any) -> tuple[bool, bool]:
    run = run_of({FLOW: value})
    run.targets = more.get("targets", {})
    verdict = judge_limit(asked, RuleState(), seen(run))
    assert verdict is not None
    assert verdict.value == value
    return verdict.beyond, verdict.back


# -- one limit -------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("side", "verdicts"),
    [
        ("below", {1.75: BEYOND, 2.0: BETWEEN, 2.25: BETWEEN, 2.5: WITHIN, 2.75: WITHIN}),
        ("at_or_below", {1.75: BEYOND, 2.0: BEYOND, 2.25: BETWEEN, 2.5: WITHIN, 2.75: WITHIN}),
        ("above", {2.25: BEYOND, 2.0: BETWEEN, 1.75: BETWEEN, 1.5: WITHIN, 1.25: WITHIN}),
    ],
)
def test_that_a_value_is_beyond_its_limit_and_back_by_the_deadband_at_the_very_edge(
    side: str, verdicts: dict[float, tuple[bool, bool]]
) -> None:
    asked = limit(**{side: 2.0, "back_by": 0.5})
    assert {value: judged(asked, value) for value in verdicts} == verdicts
    verdict = judge_limit(asked, RuleState(), seen(run_of({FLOW: 2.0})))
    assert verdict is not None
    assert verdict.limit == 2.0


@pytest.mark.parametrize("side", ["at_or_below", "below", "above"])
def test_that_without_a_deadband_a_value_is_never_beyond_and_back_at_once(side: str) -> None:
    for value in (1.0, 2.0, 3.0):
        assert judged(limit(**{side: 2.0}), value) in (WITHIN, BEYOND)


def test_that_limit_and_deadband_of_a_share_of_the_target_are_both_shares_of_it() -> None:
    asked = limit(below=0.75, back_by=0.125, of="target")
    targets = {FLOW: 4.0}
    verdicts = {2.75: BEYOND, 3.0: BETWEEN, 3.25: BETWEEN, 3.5: WITHIN}
    assert {value: judged(asked, value, targets=targets) for value in verdicts} == verdicts


def test_that_nothing_is_judged_without_the_target_the_reading_or_an_open_gate() -> None:
    assert judge_limit(limit(below=0.75, of="target"), RuleState(), seen(run_of({FLOW: 1.0}))) is None
    assert judge_limit(limit(outside=(0.5, 1.5), of="target"), RuleState(), seen(run_of({FLOW: 1.0}))) is None
    assert judge_limit(limit(below=2.0), RuleState(), seen(run_of({SPEED: 3000.0}))) is None


def test_that_a_deadband_of_a_negative_usual_value_has_its_size() -> None:
    run = run_of({FLOW: -1.0})
    run.run_baselines = {FLOW: Baseline(0, 1)}
    run.run_baselines[FLOW].value = -4.0
    asked = limit(below=0.5, back_by=0.25, of="run_baseline")
    assert limit_and_way_back(asked, run, -4.0) == (-2.0, 1.0)
    assert judge_limit(asked, RuleState(), seen(run)) == Verdict(False, True, -1.0, -2.0)
    asked = limit(outside=(1.5, 0.5), back_by=0.125, of="run_baseline")
    assert judge_limit(asked, RuleState(), seen(run_of({FLOW: -2.0}))) is None
    for value, verdict in (
        (-2.0, BETWEEN),
        (-2.25, BETWEEN),
        (-2.5, WITHIN),
        (-6.0, BETWEEN),
        (-5.5, WITHIN),
        (-1.75, BEYOND),
    ):
        run.signals[FLOW] = run_of({FLOW: value}).signals[FLOW]
        found = judge_limit(asked, RuleState(), seen(run))
        assert found is not None
        assert (found.beyond, found.back) == verdict, value


@pytest.mark.parametrize(
    ("value", "verdict", "edge"),
    [
        (34.75, BEYOND, 35.0),
        (35.0, BETWEEN, 35.0),
        (35.25, BETWEEN, 35.0),
        (35.5, WITHIN, 35.0),
        (36.75, WITHIN, 35.0),
        (37.0, WITHIN, 39.0),
        (38.5, WITHIN, 39.0),
        (38.75, BETWEEN, 39.0),
        (39.0, BETWEEN, 39.0),
        (39.25, BEYOND, 39.0),
    ],
)
def test_that_a_value_is_beyond_a_range_on_either_side_and_names_the_nearer_edge(
    value: float, verdict: tuple[bool, bool], edge: float
) -> None:
    asked = limit(outside=(35.0, 39.0), back_by=0.5)
    assert judge_limit(asked, RuleState(), seen(run_of({FLOW: value}))) == Verdict(*verdict, value, edge)


def test_that_a_profiles_limit_goes_before_a_support_types_and_that_before_the_rules_own() -> None:
    asked = limit(below=1.0, by_support={"VV": 2.0}, by_profile={"small": 3.0})
    assert default_share(asked, run_of({})) == 1.0
    assert default_share(asked, run_of({}, Support.VV)) == 2.0
    assert default_share(asked, run_of({}, Support.VV, "small")) == 3.0
    assert default_share(asked, run_of({}, profile="small")) == 3.0
    assert default_share(limit(at_or_below=4.0), run_of({})) == 4.0
    assert default_share(limit(above=5.0), run_of({})) == 5.0


def own(value: float) -> OwnLimit:
    return OwnLimit(value, "charge", None, 0, NOW, "as ordered")


def test_that_a_beds_own_limit_stands_in_the_quantitys_unit_and_keeps_the_deadband() -> None:
    asked = limit(below=0.75, back_by=0.125, of="target")
    run = run_of({FLOW: 2.0})
    assert limit_and_way_back(asked, run, None) is None
    assert limit_and_way_back(asked, run, 4.0) == (3.0, 0.5)
    run.own_limits["of_this_test"] = own(1.5)
    assert limit_and_way_back(asked, run, 4.0) == (1.5, 0.5)
    assert limit_and_way_back(asked, run, None) == (1.5, 0.25), "a target of which 1.5 is three quarters is 2.0"
    run.own_limits["of_this_test"] = own(-1.5)
    assert limit_and_way_back(asked, run, None) == (-1.5, 0.25)


@pytest.mark.parametrize(
    ("gate", "speed", "is_open"),
    [
        ({"at_least": 2000.0}, 2000.0, True),
        ({"at_least": 2000.0}, 1999.0, False),
        ({"at_least": 2000.0}, None, False),
        ({"at_least": 0.5, "of": "target"}, 1500.0, True),
        ({"at_least": 0.5, "of": "target"}, 1499.0, False),
        ({"at_least": 0.5, "of": "run_baseline"}, 9000.0, False),
    ],
)
def test_that_a_rule_speaks_only_with_its_gate_open(
    gate: dict[str, object], speed: float | None, is_open: bool
) -> None:
    asked = limit(below=2.0, gates=[{"quantity": "pump_speed"} | gate])
    run = run_of({FLOW: 1.0} | ({SPEED: speed} if speed is not None else {}))
    run.targets = {SPEED: 3000.0}
    verdict = judge_limit(asked, RuleState(), seen(run))
    assert verdict == (Verdict(True, False, 1.0, 2.0) if is_open else None)


def test_that_every_gate_must_be_open() -> None:
    gates = [{"quantity": "pump_speed", "at_least": 2000.0}, {"quantity": "pump_flow", "at_least": 0.5}]
    asked = limit(below=2.0, gates=gates)
    assert judge_limit(asked, RuleState(), seen(run_of({FLOW: 1.0, SPEED: 2500.0}))) is not None
    assert judge_limit(asked, RuleState(), seen(run_of({FLOW: 0.25, SPEED: 2500.0}))) is None
    assert judge_limit(asked, RuleState(), seen(run_of({FLOW: 1.0, SPEED: 1500.0}))) is None


# -- what the console says of itself ---------------------------------------------------------------------------


def test_that_a_condition_of_the_console_stands_while_it_is_said_and_no_other_does() -> None:
    asked: ConditionRule = rule(ConditionRule, kind="condition", condition="hot")
    run = run_of({})
    assert judge_condition(asked, RuleState(), seen(run)) == Verdict(False, True)
    run.conditions = frozenset({Condition.PACKS_OUT})
    assert judge_condition(asked, RuleState(), seen(run)) == Verdict(False, True)
    run.conditions = frozenset({Condition.PACKS_OUT, Condition.HOT})
    assert judge_condition(asked, RuleState(), seen(run)) == Verdict(True, False)


# -- unsteadiness ----------------------------------------------------------------------------------------------

UNSTEADY: UnsteadyRule = rule(
    UnsteadyRule, kind="unsteady", quantity="pump_flow", window_s=10, share=0.25, at_least=0.5, hits=2,
    of_windows=3, quiet_windows=2,
)  # fmt: skip
CALM, WILD = (4.0, 4.0, 4.0), (3.0, 4.0, 5.0)


def windows(*each: tuple[float, ...] | None, asked: UnsteadyRule = UNSTEADY, by_hand: bool = False) -> list[Any]:
    """Verdicts of the first reading after each window of ten seconds; ``None``: a window without readings."""
    state, told, run = RuleState(), [], run_of({})
    signal = run.signals[FLOW] = Signal((10_000,))
    for number, values in enumerate([*each, (4.0,)]):
        for place, value in enumerate(values or ()):
            at = NOW + number * 10_000 + place * SECOND
            signal.add(at, value)
            verdict = judge_unsteady(asked, state, seen(run, at, by_hand))
            assert verdict is None or verdict.value == value
            if place == 0:
                told.append(None if verdict is None else (verdict.beyond, verdict.back))
    return told


def test_that_a_flow_is_unsteady_by_so_many_of_the_last_windows_and_steady_again_after_quiet_ones() -> None:
    assert windows(WILD, WILD) == [BETWEEN, BETWEEN, BEYOND]
    assert windows(WILD, CALM, WILD) == [BETWEEN, BETWEEN, BETWEEN, BEYOND]
    assert windows(WILD, CALM, CALM, WILD) == [BETWEEN, BETWEEN, BETWEEN, WITHIN, BETWEEN], "only the last three"
    assert windows(WILD, WILD, CALM, CALM) == [BETWEEN, BETWEEN, BEYOND, BEYOND, WITHIN]


def test_that_two_quiet_windows_are_needed_and_no_fewer_before_it_is_steady() -> None:
    assert windows(CALM) == [BETWEEN, BETWEEN]
    assert windows(CALM, CALM) == [BETWEEN, BETWEEN, WITHIN]


def test_that_a_window_without_readings_begins_the_count_anew() -> None:
    assert windows(WILD, None, WILD) == [BETWEEN, BETWEEN, BETWEEN]
    assert windows(WILD, None, WILD, WILD) == [BETWEEN, BETWEEN, BETWEEN, BEYOND]


@pytest.mark.parametrize(
    ("values", "wild"),
    [
        ((3.5, 4.0, 4.5), False),  # a range of a quarter of the middle, not above it
        ((3.5, 4.0, 4.75), True),
        ((-4.75, -4.0, -3.5), True),
        ((0.5, 0.75, 0.75), False),  # a third of the middle, but less than the least
        ((0.5, 0.75, 1.0), True),
        ((1.5, 4.0, 2.0), True),
        ((4.0, 3.0, 3.75, 3.75), True),  # the upper of two middle ones is 3.75: its quarter is less than 1
        ((4.0, 3.0, 4.0, 4.0), False),
        ((3.0, 3.0, 4.0, 4.0), False),  # the upper of the two is 4: a quarter of it is the range
    ],
)
def test_that_a_window_is_wild_by_its_range_against_its_middle_and_a_least(
    values: tuple[float, ...], wild: bool
) -> None:
    once: UnsteadyRule = rule(
        UnsteadyRule, kind="unsteady", quantity="pump_flow", window_s=10, share=0.25, at_least=0.5, hits=1,
        of_windows=1, quiet_windows=1,
    )  # fmt: skip
    assert windows(values, asked=once)[1] == (BEYOND if wild else WITHIN)


def test_that_sets_entered_by_hand_and_what_is_not_read_are_never_unsteady() -> None:
    assert windows(WILD, WILD, by_hand=True) == [None, None, None]
    assert judge_unsteady(UNSTEADY, RuleState(), seen(run_of({SPEED: 3000.0}))) is None


# -- two runs at a bed -----------------------------------------------------------------------------------------

DIFFERENCE: DifferenceRule = rule(DifferenceRule, kind="difference", quantity="pump_flow", above=0.5, back_by=0.25)


@pytest.mark.parametrize(
    ("right", "verdict"), [(4.75, BEYOND), (4.5, BETWEEN), (4.375, BETWEEN), (4.25, WITHIN), (3.0, WITHIN)]
)
def test_that_the_right_pump_is_judged_against_the_left(right: float, verdict: tuple[bool, bool]) -> None:
    left, run = run_of({FLOW: 4.0}, Support.LV_AO), run_of({FLOW: right}, Support.RA_PA, slot=2)
    assert judge_difference(DIFFERENCE, RuleState(), seen(run, left=left)) == Verdict(*verdict, right - 4.0, 0.5)


def test_that_two_pumps_are_compared_once_and_only_while_both_are_read() -> None:
    left, right = run_of({FLOW: 4.0}, Support.LV_AO), run_of({FLOW: 5.0}, Support.RA_PA, slot=2)
    assert judge_difference(DIFFERENCE, RuleState(), seen(left, right=right)) is None
    assert judge_difference(DIFFERENCE, RuleState(), seen(right)) is None
    assert judge_difference(DIFFERENCE, RuleState(), seen(right, other=run_of({FLOW: 1.0}))) is None, "no left one"
    assert judge_difference(DIFFERENCE, RuleState(), seen(right, at=NOW + 30_000, left=left)) is not None
    assert judge_difference(DIFFERENCE, RuleState(), seen(right, at=NOW + 30_001, left=left)) is None
    assert judge_difference(DIFFERENCE, RuleState(), seen(run_of({}, Support.RA_PA, slot=2), left=left)) is None


def test_that_two_pumps_entered_by_hand_are_compared_by_their_readings_and_others_by_their_medians() -> None:
    left, right = run_of({FLOW: 4.0}, Support.LV_AO), run_of({FLOW: 5.0}, Support.RA_PA, slot=2)
    for run, last in ((left, 3.0), (right, 7.0)):
        run.signals[FLOW].add(NOW + SECOND, last)
    told = (
        judge_difference(DIFFERENCE, RuleState(), seen(right, NOW + SECOND, by, left=left)) for by in (True, False)
    )
    assert [verdict.value for verdict in told if verdict is not None] == [4.0, 2.5]


# -- trials ----------------------------------------------------------------------------------------------------

FLOOR: TrialRule = rule(TrialRule, kind="trial", below_floor=True, back_by=0.25)
OUTSIDE: TrialRule = rule(
    TrialRule, kind="trial", retrograde_within=(-1.25, -0.25), clamp_at_most_s=300, back_by=0.25
)


def on_trial(kind: TrialKind, flow: float | None, floor: float | None = None) -> RunState:
    run = run_of({FLOW: flow} if flow is not None else {SPEED: 3000.0})
    run.trial = Trial(kind, "nurse-B1", NOW, NOW + 60 * MINUTE, floor, [], "charge")
    return run


@pytest.mark.parametrize(
    ("flow", "verdict"), [(1.25, BEYOND), (1.5, BETWEEN), (1.625, BETWEEN), (1.75, WITHIN), (2.0, WITHIN)]
)
def test_that_a_turn_down_is_judged_by_its_floor(flow: float, verdict: tuple[bool, bool]) -> None:
    run = on_trial(TrialKind.TURN_DOWN, flow, 1.5)
    assert judge_trial(FLOOR, RuleState(), seen(run)) == Verdict(*verdict, flow, 1.5)


def test_that_a_turn_down_without_a_floor_another_kind_or_no_trial_is_within() -> None:
    within = Verdict(False, True)
    assert judge_trial(FLOOR, RuleState(), seen(on_trial(TrialKind.TURN_DOWN, 1.0))) == within
    assert judge_trial(FLOOR, RuleState(), seen(on_trial(TrialKind.CLAMP, 1.0, 1.5))) == within
    assert judge_trial(FLOOR, RuleState(), seen(on_trial(TrialKind.RETROGRADE, 1.0, 1.5))) == within
    assert judge_trial(FLOOR, RuleState(), seen(run_of({FLOW: 1.0}))) == within
    assert judge_trial(OUTSIDE, RuleState(), seen(on_trial(TrialKind.TURN_DOWN, 1.0, 1.5))) == within


def test_that_a_trial_of_flow_is_not_judged_unless_flow_is_in_this_observation() -> None:
    assert judge_trial(FLOOR, RuleState(), seen(on_trial(TrialKind.TURN_DOWN, None, 1.5))) is None
    assert judge_trial(FLOOR, RuleState(), seen(on_trial(TrialKind.TURN_DOWN, 1.0, 1.5), fresh=False)) is None


@pytest.mark.parametrize(
    ("flow", "verdict", "edge"),
    [
        (-1.5, BEYOND, -1.25),
        (-1.25, BETWEEN, -0.25),
        (-1.125, BETWEEN, -0.25),
        (-1.0, WITHIN, -0.25),
        (-0.5, WITHIN, -0.25),
        (-0.375, BETWEEN, -0.25),
        (-0.25, BETWEEN, -0.25),
        (0.0, BEYOND, -0.25),
    ],
)
def test_that_a_retrograde_flow_is_judged_by_both_ends_of_its_range(
    flow: float, verdict: tuple[bool, bool], edge: float
) -> None:
    found = judge_trial(OUTSIDE, RuleState(), seen(on_trial(TrialKind.RETROGRADE, flow)))
    assert found == Verdict(*verdict, flow, edge)


@pytest.mark.parametrize("last", [0.5, -1.5])
def test_that_a_retrograde_flow_is_back_only_when_its_last_reading_is_too(last: float) -> None:
    run = on_trial(TrialKind.RETROGRADE, -0.5)
    signal = run.signals[FLOW]
    signal.add(NOW + SECOND, -0.5)
    signal.add(NOW + 2 * SECOND, last)
    found = judge_trial(OUTSIDE, RuleState(), seen(run, NOW + 2 * SECOND))
    assert found == Verdict(False, False, -0.5, -0.25)


@pytest.mark.parametrize(("seconds", "verdict"), [(299, WITHIN), (300, WITHIN), (300.001, BEYOND)])
def test_that_a_clamp_is_judged_by_its_length_and_needs_no_flow(seconds: float, verdict: tuple[bool, bool]) -> None:
    run = on_trial(TrialKind.CLAMP, None)
    at = NOW + round(seconds * SECOND)
    assert judge_trial(OUTSIDE, RuleState(), seen(run, at, fresh=False)) == Verdict(*verdict)


@pytest.mark.parametrize(
    ("fresh", "value", "ends"), [(True, 0.5, True), (False, 0.5, False), (True, None, True), (False, None, True)]
)
def test_that_after_a_trial_what_a_flow_has_raised_is_ended_by_a_flow_and_what_time_raised_by_any_reading(
    fresh: bool, value: float | None, ends: bool
) -> None:
    found = judge_trial(FLOOR, RuleState(value=value), seen(run_of({FLOW: 4.0}), fresh=fresh))
    assert (found is not None) is ends
    assert found is None or (found.beyond, found.back) == WITHIN
