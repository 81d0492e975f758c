"""The judge of battery time: projected minutes while the console runs on its battery.

A pump that stands still hardly draws anything, and packs that were changed are not those that were measured: the
fall of a charge is of one stretch in which one console's same packs drove a running pump.
"""

from monitor.analysis.battery import minutes_by_slope, projected_minutes
from monitor.core.commands import Device
from monitor.core.judging.running import ran_since
from monitor.core.judging.verdict import WITHIN, Readings, Verdict
from monitor.core.rules import ProjectionRule
from monitor.core.state import RuleState, RunState
from shared.instant import Instant, ms
from shared.quantities import Quantity as Q

#: On battery a charge that rises by so many percent from one reading to the next is of other packs: our default,
#: well above 1 % (no source).
OTHER_PACKS = 5.0


def judge_projection(rule: ProjectionRule, state: RuleState, seen: Readings) -> Verdict | None:
    """Judge the smaller of the shown minutes and the measured fall; mains ends it."""
    on_mains = seen.raw(Q.ON_MAINS)
    if on_mains is None:
        return None
    if on_mains >= 0.5:
        return WITHIN
    minutes = battery_minutes(rule, seen)
    if minutes is None:
        return None
    return Verdict(minutes < rule.below_min, minutes >= rule.below_min + rule.back_by, minutes, rule.below_min)


def battery_minutes(rule: ProjectionRule, seen: Readings) -> float | None:
    """Give the minutes left, or ``None`` where neither figure is there."""
    charge = seen.run.signals.get(Q.BATTERY_CHARGE)
    by_slope = None
    if charge and seen.raw(Q.BATTERY_CHARGE) is not None:
        begin = driven_since(seen.run, max(seen.at - ms(rule.slope_s), _off_mains_since(seen)))
        by_slope = minutes_by_slope(charge.since(begin - 1), ms(rule.slope_at_least_s))
    return projected_minutes(seen.raw(Q.BATTERY_MINUTES), by_slope)


def driven_since(run: RunState, begin: Instant) -> Instant:
    """Give from when on the packs of now have driven a running pump, ``begin`` at the earliest; in ms."""
    begin = ran_since(run, max(begin, console_since(run)))
    charge, before = run.signals.get(Q.BATTERY_CHARGE), None
    for at, value in charge.since(begin - 1) if charge else ():
        if before is not None and value >= before + OTHER_PACKS:
            begin = at
        before = value
    return begin


def console_since(run: RunState) -> Instant:
    """Give the first moment after the exchange of the run's console; 1 ms where none is written down."""
    return run.devices.get(Device.CONSOLE.value, 0) + 1


def _off_mains_since(seen: Readings) -> Instant:
    return seen.run.signals[Q.ON_MAINS].changed_at
