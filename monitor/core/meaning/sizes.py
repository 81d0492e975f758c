"""The least change of a quantity that is worth telling. Below it the quantity is said to be unchanged.

Common practice, no source: about what a person at the bed would call another number, and well above what rounding
and the pulse do. The sizes are for words only; no rule reads them.
"""

from collections.abc import Mapping
from types import MappingProxyType

from shared.quantities import CATALOGUE
from shared.quantities import Quantity as Q

#: Absolute, in the quantity's unit. Only what is read without a hand is here.
LEAST: Mapping[Q, float] = MappingProxyType(
    {
        Q.PUMP_SPEED: 30.0,
        Q.PUMP_FLOW: 0.15,
        Q.INLET_PRESSURE: 5.0,
        Q.PRE_OXYGENATOR_PRESSURE: 8.0,
        Q.POST_OXYGENATOR_PRESSURE: 8.0,
        Q.OXYGENATOR_PRESSURE_DROP: 3.0,
        Q.OXYGENATOR_RESISTANCE: 0.7,
        Q.SPEED_YIELD: 0.04,
        Q.MOTOR_CURRENT: 0.1,
        Q.CONSOLE_TEMPERATURE: 2.0,
        Q.SWEEP_GAS_FLOW: 0.3,
        Q.FDO2: 3.0,
        Q.BLOOD_TEMPERATURE: 0.3,
        Q.MEAN_ARTERIAL_PRESSURE: 4.0,
        Q.SYSTOLIC_PRESSURE: 6.0,
        Q.DIASTOLIC_PRESSURE: 5.0,
        Q.PULSE_PRESSURE: 5.0,
        Q.CENTRAL_VENOUS_PRESSURE: 2.0,
        Q.LEFT_ATRIAL_PRESSURE: 2.0,
        Q.PA_MEAN_PRESSURE: 3.0,
        Q.PA_DIASTOLIC_PRESSURE: 3.0,
        Q.HEART_RATE: 8.0,
        Q.SPO2_RIGHT_HAND: 2.0,
        Q.SPO2_FOOT: 2.0,
        Q.SVO2: 3.0,
        Q.LIMB_NIRS_LEFT: 4.0,
        Q.LIMB_NIRS_RIGHT: 4.0,
    }
)


def least_change(quantity: Q) -> float:
    """Give the least change worth telling, in the quantity's unit; three digits shown where none is named."""
    return LEAST.get(quantity, 3 * digit_of(quantity))


def steep_change(quantity: Q) -> float:
    """Give the change within a quarter of an hour from which an arrow is steep: twice what is worth telling."""
    return 2 * least_change(quantity)


def digit_of(quantity: Q) -> float:
    """Give the smallest step of the number that a screen shows, in the quantity's unit."""
    return float(10.0 ** -CATALOGUE[quantity].decimals)
