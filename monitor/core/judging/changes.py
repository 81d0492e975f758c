"""Judges of changes: against what was usual just before, within seconds, without an order, or not at all."""

from monitor.core.alerts.alert import ConditionState
from monitor.core.judging.verdict import BEYOND, WITHIN, Readings, Verdict, fitted_of
from monitor.core.rules import AloneRule, FrozenRule, OpeningRule, Reference, RiseRule, UnorderedRule
from monitor.core.state import RuleState
from shared.instant import Instant, ms
from shared.quantities import Quantity as Q


def judge_rise(rule: RiseRule, state: RuleState, seen: Readings) -> Verdict | None:
    """Judge a rise above its own median while another value is down by a share of its own."""
    value, other = seen.judged(rule.quantity, rule.window_s), seen.judged(rule.with_fall_of, rule.window_s)
    usual = _held(state, seen, (rule.quantity, rule.with_fall_of), rule.median_s)
    if value is None or other is None or usual is None:
        return None
    limit = usual[rule.quantity] + rule.rise
    fallen = other <= usual[rule.with_fall_of] * (1 - rule.fall_share)
    beyond = value >= limit and fallen
    if beyond:
        state.reference = usual
    return Verdict(beyond, value <= limit - rule.back_by, value, limit)


def judge_alone(rule: AloneRule, state: RuleState, seen: Readings) -> Verdict | None:
    """Judge whether exactly one of several fitted signals has left its median while the rest stayed."""
    steady, others_within = rule.steady, rule.others_within
    quantities = (*fitted_of(rule.quantities, seen.run), *steady)
    usual = _held(state, seen, quantities, rule.median_s)
    if usual is None:
        return None
    moved: list[tuple[Q, float]] = []
    for quantity in quantities:
        value = seen.judged(quantity, 10)
        if value is None:
            return None
        change = value - usual[quantity]
        if quantity in steady:
            if abs(change) > rule.steady_share * abs(usual[quantity]):
                return WITHIN
        elif abs(change) >= others_within:
            moved.append((quantity, value))
    out = [pair for pair in moved if abs(pair[1] - usual[pair[0]]) >= rule.change]
    beyond = len(moved) == 1 and len(out) == 1
    if beyond:
        state.reference = usual
    near = all(abs(value - usual[q]) <= rule.change - rule.back_by for q, value in moved)
    return Verdict(beyond, near or len(moved) > 1, moved[0][1] if moved else None)


def _held(state: RuleState, seen: Readings, quantities: tuple[Q, ...], span_s: float) -> dict[Q, float] | None:
    """What was usual before the first sample beyond: held while pending or present, else taken anew."""
    if state.condition is not ConditionState.QUIET and state.reference:
        return state.reference
    usual: dict[Q, float] = {}
    for quantity in quantities:
        middle = seen.usual(quantity, span_s)
        if middle is None:
            return None
        usual[quantity] = middle
    return usual


def judge_opening(rule: OpeningRule, state: RuleState, seen: Readings) -> Verdict | None:
    """Judge whether the return line has opened: both pressures fell within seconds while flow rose."""
    post, flow = seen.raw(Q.POST_OXYGENATOR_PRESSURE), seen.raw(Q.PUMP_FLOW)
    usual = _usual_post(rule, state, seen)
    if post is None or flow is None or usual is None or seen.by_hand:
        return None
    limit = usual - rule.below_baseline
    if state.condition is ConditionState.QUIET:
        beyond = post <= limit and not _ordered_lately(seen) and _opened(rule, seen, post, flow)
        state.reference = {Q.POST_OXYGENATOR_PRESSURE: usual} if beyond else {}
    else:
        beyond = post <= limit
    return Verdict(beyond, post > limit, post, limit)


def _opened(rule: OpeningRule, seen: Readings, post: float, flow: float) -> bool:
    signals, span = seen.run.signals, ms(rule.within_s)
    if signals[Q.POST_OXYGENATOR_PRESSURE].highest(span) - post < rule.post_fall:
        return False
    pre, speed = seen.raw(Q.PRE_OXYGENATOR_PRESSURE), seen.raw(Q.PUMP_SPEED)
    share = rule.flow_rise_share if pre is not None else rule.flow_rise_share_no_pre
    for moment, earlier_post in signals[Q.POST_OXYGENATOR_PRESSURE].since(seen.at - span):
        earlier_flow = signals[Q.PUMP_FLOW].at(moment)
        if earlier_post - post < rule.post_fall or earlier_flow is None or flow < earlier_flow * (1 + share):
            continue
        earlier_speed = signals[Q.PUMP_SPEED].at(moment) if Q.PUMP_SPEED in signals else None
        if speed is not None and earlier_speed is not None and abs(speed - earlier_speed) > rule.speed_within:
            continue
        if pre is not None:
            earlier_pre = signals[Q.PRE_OXYGENATOR_PRESSURE].at(moment)
            if earlier_pre is None or earlier_pre - pre < rule.pre_fall:
                continue
        return True
    return False


def _usual_post(rule: OpeningRule, state: RuleState, seen: Readings) -> float | None:
    if state.reference:
        return state.reference[Q.POST_OXYGENATOR_PRESSURE]
    for of in (Reference.ORDER_BASELINE, Reference.RUN_BASELINE):
        value = seen.reference(Q.POST_OXYGENATOR_PRESSURE, of)
        if value is not None:
            return value
    return seen.usual(Q.POST_OXYGENATOR_PRESSURE, 600)


def _ordered_lately(seen: Readings) -> bool:
    return any(seen.at - 60_000 <= order <= seen.at for order in seen.run.orders)


def judge_unordered(rule: UnorderedRule, state: RuleState, seen: Readings) -> Verdict | None:
    """Judge a move of the speed that no order explains. It speaks after the time for logging one has run out.

    A pump that stops or starts passes through every speed: that is no move of this kind.
    """
    value = seen.raw(rule.quantity)
    if value is None or seen.by_hand:
        return None
    if seen.run.trial is not None:  # the order of a trial covers its steps
        state.moved_at = None
        return Verdict(False, True, value)
    signal = seen.run.signals[rule.quantity]
    if value < rule.at_least and state.condition is ConditionState.QUIET:
        state.moved_at, state.reference = None, {}
    elif state.moved_at is None and state.condition is ConditionState.QUIET:
        first = next(iter(signal.since(seen.at - ms(rule.within_s) - 1)), None)
        if first is not None and _moved(rule, first[1], value) and not _stood(rule, seen):
            state.moved_at = seen.at
            state.reference = {rule.quantity: first[1]}
    if state.moved_at is None:
        return Verdict(False, True, value)
    if _explained(rule, state.moved_at, seen):
        state.moved_at, state.reference = None, {}
        return Verdict(False, True, value)
    due = seen.at - state.moved_at >= ms(rule.order_within_s)
    return Verdict(due, False, value, state.reference.get(rule.quantity))


def _stood(rule: UnorderedRule, seen: Readings) -> bool:
    """Tell whether the pump stood just before: what follows is its start."""
    before = seen.run.signals[rule.quantity].since(seen.at - ms(2 * rule.within_s) - 1)
    return any(value < rule.at_least for _, value in before)


def _moved(rule: UnorderedRule, before: float, after: float) -> bool:
    change = abs(after - before)
    turning = before >= rule.at_least and after >= rule.at_least
    return turning and (change >= rule.change or change >= rule.change_share * before)


def _explained(rule: UnorderedRule, moved_at: Instant, seen: Readings) -> bool:
    return any(abs(order - moved_at) <= ms(rule.order_within_s) for order in seen.run.orders)


def judge_frozen(rule: FrozenRule, state: RuleState, seen: Readings) -> Verdict | None:
    """Judge whether several readings of what is fitted have stood identical although the pump turns."""
    speed = seen.raw(Q.PUMP_SPEED)
    if speed is None or seen.by_hand or speed <= 0:
        return None
    since = seen.at - ms(rule.for_s)
    live = [seen.run.signals[q] for q in fitted_of(rule.quantities, seen.run) if seen.raw(q) is not None]
    still = [signal for signal in live if signal.changed_at <= since and signal.times[0] <= since]
    stands = len(still) >= rule.at_least
    return BEYOND if stands else WITHIN
