"""What a trial sets aside, and which usual values an exchange begins anew: the tables against their words."""

from fnmatch import fnmatchcase
from pathlib import Path

import pytest

from monitor.core.bedside.care import MADE_BY
from monitor.core.bedside.trials import SUSPENDS
from monitor.core.commands import Device
from monitor.core.grades import TrialKind
from monitor.settings import load_limits
from shared.quantities import Quantity as Q

LIMITS = Path(__file__).parents[2] / "config" / "limits.toml"
#: Turn-down: flow may be low. Retrograde: it runs backwards, and with it the pressures. (Our default, no source.)
TURN_DOWN = {"flow_low", "flow_very_low", "flow_floor", "flow_unsteady", "yield_low"}
SET_ASIDE = {
    TrialKind.TURN_DOWN: TURN_DOWN,
    TrialKind.RETROGRADE: TURN_DOWN
    | {"flow_none", "resistance_up", "resistance_far_up", "inlet_warn", "inlet_low", "inlet_very_low"},
    TrialKind.SWEEP_OFF: {"sweep_low", "sweep_lost"},
    TrialKind.CLAMP: {"flow_low", "flow_very_low", "flow_floor", "flow_none", "flow_unsteady"},
}
PRESSURES = {Q.INLET_PRESSURE, Q.PRE_OXYGENATOR_PRESSURE, Q.POST_OXYGENATOR_PRESSURE}
DRIVE = {Q.PUMP_SPEED, Q.PUMP_FLOW, Q.SPEED_YIELD, Q.MOTOR_CURRENT}


@pytest.mark.parametrize("kind", TrialKind)
def test_that_a_trial_sets_aside_its_own_rules_and_no_other(kind: TrialKind) -> None:
    rules = [rule.id for rule in load_limits(LIMITS.read_text(), "limits.toml").rules]
    found = {rule for rule in rules if any(fnmatchcase(rule, pattern) for pattern in SUSPENDS[kind])}
    assert found == SET_ASIDE[kind]


def test_that_an_exchange_begins_anew_what_the_device_has_made() -> None:
    """A console makes none, an oxygenator its resistance, head and tubing the drive: common practice, no source."""
    expected = {
        Device.PUMP_HEAD: DRIVE | PRESSURES,
        Device.OXYGENATOR: {Q.OXYGENATOR_PRESSURE_DROP, Q.OXYGENATOR_RESISTANCE} | PRESSURES,
        Device.TUBING: DRIVE | PRESSURES,
        Device.CONSOLE: set(),
    }
    assert {device: set(made) for device, made in MADE_BY.items()} == expected
