"""From an observation to turns of conditions: signals, derived quantities, baselines, then every rule once."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass

from monitor.analysis.baseline import Baseline
from monitor.analysis.minutes import Minutes
from monitor.analysis.signal import Signal
from monitor.core.alerts.alert import CONDITION, ConditionState, Sample, Turn
from monitor.core.grades import Priority
from monitor.core.judging.draws import take_draws
from monitor.core.judging.learning import learn_minute
from monitor.core.judging.outside import COUNTED, count_minute
from monitor.core.judging.plan import Plan, Planned, plan_anew, stands_still
from monitor.core.judging.running import stood_at
from monitor.core.judging.sets import brings_numbers, kept_beyond
from monitor.core.judging.verdict import Readings, Verdict
from monitor.core.laboratory import DRAWN
from monitor.core.ladder_table import CallMe, Care, Timings
from monitor.core.outside_target import OutsideTarget
from monitor.core.rules import Limits, Rule
from monitor.core.state import BedState, RuleState, RunState
from shared.derived import derive
from shared.instant import MINUTE, Instant, ms
from shared.messages import Observation
from shared.quantities import CATALOGUE, Scope
from shared.quantities import Quantity as Q

#: What is no measurement where the console only estimates the flow.
_OF_FLOW = frozenset({Q.PUMP_FLOW, Q.OXYGENATOR_RESISTANCE, Q.SPEED_YIELD})


@dataclass(frozen=True, slots=True)
class Turned:
    """A rule whose condition started or ended on this observation."""

    rule: Rule
    turn: Turn
    verdict: Verdict
    state: RuleState


@dataclass(frozen=True, slots=True)
class Watch:
    """What observing needs to know besides the bed: rules, timings and the windows of each quantity."""

    limits: Limits
    timings: Timings
    care: Care
    call_me: CallMe
    windows: Mapping[Q, tuple[int, ...]]
    outside: OutsideTarget


def is_by_hand(bed: BedState, observation: Observation) -> bool:
    """Tell whether a set was entered by a person."""
    return observation.by is not None or bed.by_sets


def is_late(bed: BedState, run: RunState, observation: Observation) -> bool:
    """Tell whether an observation is no news of the run: newer ones stand, or it is from before the run began.

    A late one of a feed is for the trends only. Of what a person entered each value that is the newest of its
    quantity stands and is judged, as what was drawn before the last set and is known after it.
    """
    by_hand = observation.by is not None
    if by_hand and not bed.by_sets:
        return False
    before_run = observation.read_at < run.started_at and not by_hand
    return before_run or (run.last_reading_at is not None and observation.read_at <= run.last_reading_at)


def observe(
    watch: Watch,
    bed: BedState,
    run: RunState,
    observation: Observation,
    past: bool = False,
    stale: bool = False,
) -> list[Turned]:
    """Take an observation into a run's signals and judge every rule that it touches.

    Nothing is judged from a ``stale`` observation, and from a set that is ``past`` what was drawn alone. A set
    of somebody who may not enter there starts what is beyond a limit and ends nothing. Turns come in table
    order.
    """
    by_hand = is_by_hand(bed, observation)
    take_draws(run, observation, by_hand)
    late = is_late(bed, run, observation)
    if late and observation.by is None:
        return []
    at = observation.read_at
    fresh = _take_in(watch, run, at, observation, MINUTE if by_hand else bed.interval_ms, kept_beyond(bed))
    if late and not fresh:
        return []
    planned_at(watch, run)  # a restart leaves none, and a frozen minute would be learned
    learn_minute(run)
    if observation.by is None or (bed.by_sets and not late and brings_numbers(observation.readings)):
        run.last_reading_at = at
        run.conditions = observation.conditions
    step = ms(watch.timings.entered_set_s) if bed.by_sets else round(1.5 * bed.interval_ms)
    unmeasured = _unmeasured(observation)
    _grow_baselines(run, at, [one for one in fresh if one not in unmeasured], step)
    if stale:
        return []
    seen = Readings(bed, run, at, frozenset(fresh), by_hand, step, watch.timings)
    only = seen.fresh if late else None
    if past:  # a result always comes some time after its draw
        only = DRAWN
    return list(_judge_all(watch, seen, only, against=not observation.may_not))


def _take_in(
    watch: Watch, run: RunState, at: Instant, observation: Observation, interval_ms: int, beyond: int
) -> list[Q]:
    fresh: list[Q] = []
    signals, estimated, doubtful = run.signals, observation.estimated, observation.doubtful
    unmeasured = _unmeasured(observation)
    for quantity, value in {**observation.readings, **dict(derive(sure_of(observation)))}.items():
        signal = signals.get(quantity)
        if signal is None:
            signal = signals[quantity] = Signal(watch.windows[quantity])
        if at <= signal.last_at or quantity in doubtful:
            continue
        signal.add(at, value, beyond)
        signal.estimated = quantity in estimated
        fresh.append(quantity)
        if quantity not in unmeasured:
            _keep_minute(watch, run, quantity, at, value, interval_ms)
    return fresh


def sure_of(observation: Observation) -> dict[Q, float]:
    """Give what was read and is not in doubt: nothing follows from the rest."""
    if not observation.doubtful:
        return observation.readings
    return {q: value for q, value in observation.readings.items() if q not in observation.doubtful}


def _unmeasured(observation: Observation) -> frozenset[Q]:
    """Give what rests on no measurement: a flow that a console estimates says nothing of what is usual."""
    return _OF_FLOW if Q.PUMP_FLOW in observation.estimated else frozenset()


def _keep_minute(watch: Watch, run: RunState, quantity: Q, at: Instant, value: float, interval_ms: int) -> None:
    minutes = run.minutes.get(quantity)
    if minutes is None:
        minutes = run.minutes[quantity] = Minutes()
    if minutes.add(at, value, interval_ms) and quantity in COUNTED:
        count_minute(watch.outside, run, quantity, minutes)


def _grow_baselines(run: RunState, at: Instant, fresh: list[Q], step: int) -> None:
    if stood_at(run, at):
        return
    for kept in (run.run_baselines, run.order_baselines):
        for quantity in fresh if kept else ():
            baseline = kept.get(quantity)
            if baseline is not None and baseline.value is None:
                baseline.add(at, run.signals[quantity].last, step)


def begin_run_baselines(watch: Watch, run: RunState, begin: Instant, only: frozenset[Q] | None = None) -> None:
    """Begin the run's baselines anew: all of them at its start, ``only`` some after an exchange."""
    needed = ms(watch.timings.run_baseline_s)
    known = [q for q in Q if q in run.description.sensors or CATALOGUE[q].derived]
    run.run_baselines |= {q: Baseline(begin, needed) for q in known if only is None or q in only}


def begin_order_baselines(watch: Watch, run: RunState, order_at: Instant) -> None:
    """Begin the baselines since an order; until they stand there is none."""
    begin = order_at + ms(watch.timings.order_baseline_from_s)
    needed = ms(watch.timings.order_baseline_to_s - watch.timings.order_baseline_from_s)
    quantities = [q for q in Q if CATALOGUE[q].scope is Scope.RUN or q in run.description.sensors]
    run.order_baselines = {q: Baseline(begin, needed) for q in quantities}


def planned_at(watch: Watch, run: RunState) -> Plan:
    """Give what is judged at a run; a restart leaves no plan, and it is made anew."""
    if run.plan is None:
        plan_anew(watch.limits.rules, run, watch.call_me)
    plan: Plan = run.plan
    return plan


def _judge_all(watch: Watch, seen: Readings, only: frozenset[Q] | None, against: bool) -> Iterator[Turned]:
    """Judge every rule, or those of ``only``. ``against``: what is within a limit counts too."""
    run = seen.run
    plan = planned_at(watch, run)
    still = stands_still(run)
    away = seen.bed.transport is not None and seen.bed.transport.ended_at is None
    suspended = run.trial.suspended if run.trial is not None else ()
    states, fresh, at, by_hand = run.rules, seen.fresh, seen.at, seen.by_hand
    for planned in plan.rules:
        own = planned.own
        if own is not None and own not in fresh:
            continue
        if by_hand and planned.live_only:
            continue
        if only is not None and own not in only:
            continue
        state = states[planned.key]
        if still and planned.silenced:
            state.judged_at = None
            continue
        is_quiet = state.condition is ConditionState.QUIET
        set_aside = planned.id in suspended or (away and planned.not_in_transport)
        if set_aside and state.condition is not ConditionState.PRESENT:
            state.condition, state.judged_at = ConditionState.QUIET, None
            continue
        verdict = planned.judge(planned.asked, state, seen)
        if verdict is None:
            continue
        beyond, _, value, limit = verdict
        if not (beyond or against):
            continue
        state.judged_at, state.value, state.limit = at, value, limit
        if is_quiet and not beyond:
            state.last_at = at  # by the table nothing begins and nothing ends: most rules, most of the time
            continue
        turn = _advance(planned, state, verdict, seen, watch)
        if turn in (Turn.STARTED, Turn.ENDED):
            yield Turned(planned.rule, turn, verdict, state)


def is_cared_for(bed: BedState, at: Instant) -> bool:
    """Tell whether a care marker runs; a shorter one begun meanwhile does not end a longer one."""
    return any(begin <= at < until for begin, until in bed.care)


def note_half_run(watch: Watch, run: RunState) -> None:
    """A care marker begins: delays that have run half by now are not made longer by it."""
    for planned in planned_at(watch, run).rules:
        state = run.rules[planned.key]
        if state.condition is ConditionState.PENDING:
            state.past_half = state.elapsed_ms > 0 and 2 * state.elapsed_ms >= planned.delay_ms


def _advance(planned: Planned, state: RuleState, verdict: Verdict, seen: Readings, watch: Watch) -> Turn:
    if verdict.beyond:
        if state.condition is ConditionState.QUIET:
            state.elapsed_ms, state.began, state.past_half = planned.lag_ms, seen.at, False
        else:
            state.elapsed_ms += min(seen.at - state.last_at, seen.step_ms)
        delay = 0 if seen.by_hand else _delay_now(planned, state, seen, watch.care)
        sample = Sample.BEYOND_LONG if state.elapsed_ms >= delay else Sample.BEYOND
    else:
        sample = Sample.WITHIN if verdict.back else Sample.BETWEEN
    state.last_at = seen.at
    state.condition, turn = CONDITION[(state.condition, sample)]
    if turn is Turn.DIPPED:
        begin = seen.at - ms(watch.timings.dips_within_s)
        state.dips = [*(moment for moment in state.dips if moment > begin), seen.at]
    if turn in (Turn.ENDED, Turn.DIPPED):
        state.reference = {}
    return turn


def _delay_now(planned: Planned, state: RuleState, seen: Readings, care: Care) -> int:
    """Give a rule's delay: longer during a care marker, unless it is a high or half of it had run by then."""
    delay = planned.delay_ms
    if planned.rule.priority is Priority.HIGH or not seen.bed.care:
        return delay
    if state.past_half or not is_cared_for(seen.bed, seen.at):
        return delay
    return delay + min(delay, ms(care.longer_at_most_s))
