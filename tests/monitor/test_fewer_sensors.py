"""Consoles with fewer sensors: standing readings and one pressure alone are told from what is fitted.

Limits and times: the shipped files (our defaults).
"""

import pytest

from monitor.core.events import Observed
from monitor.core.judging.plan import plan_of
from monitor.core.judging.registry import needs
from monitor.core.rules import Rule
from monitor.rehearsal.rehearse import BEGIN
from monitor.rehearsal.sources import Numbered
from shared.instant import MINUTE
from shared.quantities import Quantity as Q
from shared.support import WITH_OXYGENATOR, Support
from tests.helpers.one_bed import USUAL, Bed

CURRENT = {Q.MOTOR_CURRENT: 1.2}
OF_FROZEN = (
    Q.PUMP_FLOW, Q.INLET_PRESSURE, Q.PRE_OXYGENATOR_PRESSURE, Q.POST_OXYGENATOR_PRESSURE, Q.MOTOR_CURRENT,
)  # fmt: skip


def bed_of(support: Support, sensors: set[Q] | None = None) -> Bed:
    """A bed with noise on (standing readings prove nothing without it) and what is fitted there."""
    fitted = "" if sensors is None else f"sensors = {sorted(one.value for one in sensors)}\n"
    return Bed(more=f'noise = true\n{fitted}[[start]]\nbed = "B1"\nsupport = "{support.value}"\n')


def read(bed: Bed, seconds: int, values: dict[Q, float], moving: frozenset[Q] = frozenset()) -> None:
    """Read once a second; what moves goes up and down by less than any rule asks about."""
    numbered = Numbered()
    for second in range(seconds):
        bed.wait(1)
        shown = {q: v + (0.01 * (second % 2) if q in moving else 0.0) for q, v in values.items()}
        bed._keep(bed.engine.handle(Observed(numbered.live("B1", 1, bed.now, shown)), bed.now))


def told(bed: Bed, rule: str) -> list[float]:
    return [at for at, name in bed.raised() if name == rule]


def of_shipped(bed: Bed, name: str) -> Rule:
    return next(rule for rule in bed.configuration.limits.rules if rule.id == name)


@pytest.mark.parametrize("support", list(Support))
def test_that_a_frozen_console_is_told_with_every_kind_of_support(support: Support) -> None:
    """Arterial pressure goes on moving; the console stands still for 120 s from its first reading."""
    bed = bed_of(support)
    values = USUAL | CURRENT
    if support not in WITH_OXYGENATOR:
        del values[Q.PRE_OXYGENATOR_PRESSURE]
    read(bed, 130, values, frozenset({Q.MEAN_ARTERIAL_PRESSURE}))
    assert told(bed, "frozen") == [121.0]


@pytest.mark.parametrize("left_out", OF_FROZEN)
def test_that_any_three_fitted_readings_that_stand_are_enough_and_two_are_not(left_out: Q) -> None:
    """Five may be fitted: with one left out and one moving three stand; with two moving, two."""
    values = {q: v for q, v in (USUAL | CURRENT).items() if q is not left_out}
    others = [q for q in OF_FROZEN if q is not left_out]
    for moving, said in ((1, [121.0]), (2, [])):
        bed = bed_of(Support.VA, set(values))
        read(bed, 130, values, frozenset({Q.MEAN_ARTERIAL_PRESSURE, *others[:moving]}))
        assert told(bed, "frozen") == said


def test_that_readings_of_what_is_not_fitted_do_not_count_as_standing_still() -> None:
    """Three are fitted, one of them moves; two further ones that come along and stand make no third."""
    bed = bed_of(Support.VA, {Q.PUMP_SPEED, *OF_FROZEN[:3], Q.MEAN_ARTERIAL_PRESSURE})
    read(bed, 130, USUAL | CURRENT, frozenset({Q.PUMP_FLOW}))
    assert told(bed, "frozen") == []


@pytest.mark.parametrize(("count", "planned"), [(2, False), (3, True)])
def test_that_standing_readings_are_judged_where_three_or_more_are_fitted(count: int, planned: bool) -> None:
    bed = bed_of(Support.RA_PA_OXY, {Q.PUMP_SPEED, *OF_FROZEN[-count:]})
    run = bed.engine._state.beds["B1"].runs[1]
    rules = [
        one.rule.id for one in plan_of(bed.configuration.limits.rules, run, bed.configuration.ladder.call_me).rules
    ]
    assert ("frozen" in rules) is planned
    assert needs(of_shipped(bed, "frozen")) == (Q.PUMP_SPEED,)


PRESSURES = (Q.INLET_PRESSURE, Q.PRE_OXYGENATOR_PRESSURE, Q.POST_OXYGENATOR_PRESSURE)


@pytest.mark.parametrize("left_out", PRESSURES)
def test_that_one_of_two_fitted_pressures_is_told_when_it_moves_alone(left_out: Q) -> None:
    """30 mmHg from its usual value, the other within 10, flow and speed as before; 30 s later."""
    values = {q: v for q, v in USUAL.items() if q is not left_out}
    two = [q for q in PRESSURES if q is not left_out]
    for off in two:
        bed = bed_of(Support.VA, set(values))
        moving = frozenset(values)
        read(bed, 90, values, moving)
        read(bed, 45, values | {off: values[off] + 40.0}, moving)
        assert len(told(bed, "one_pressure")) == 1, off
        assert 120.0 <= told(bed, "one_pressure")[0] <= 130.0
    bed = bed_of(Support.VA, set(values))
    read(bed, 90, values, moving)
    read(bed, 45, values | {q: values[q] + 40.0 for q in two}, moving)
    assert told(bed, "one_pressure") == []


def test_that_one_pressure_is_told_without_an_oxygenator_and_not_where_only_one_is_fitted() -> None:
    values: dict[Q, float] = {q: v for q, v in USUAL.items() if q is not Q.PRE_OXYGENATOR_PRESSURE}
    for sensors, said in ((None, 1), (set(values) - {Q.POST_OXYGENATOR_PRESSURE}, 0)):
        bed = bed_of(Support.LA_AO, sensors)
        read(bed, 90, values, frozenset(values))
        read(bed, 45, values | {Q.INLET_PRESSURE: -20.0}, frozenset(values))
        assert len(told(bed, "one_pressure")) == said


def test_that_a_minute_that_closes_right_after_a_restart_is_not_learned_while_the_console_stands_still() -> None:
    """Frozen from 2:01 on; the engine goes on from its checkpoint one second before a minute closes."""
    kept = []
    for restarts in (False, True):
        bed = bed_of(Support.VA)
        read(bed, 299, USUAL | CURRENT, frozenset({Q.MEAN_ARTERIAL_PRESSURE}))
        assert told(bed, "frozen") == [121.0]
        if restarts:
            bed.restart()
        read(bed, 2, USUAL | CURRENT)
        kept.append([row.number - BEGIN // MINUTE for row in bed.engine._state.beds["B1"].runs[1].worked.rows])
    assert kept == [[0, 1], [0, 1]]
