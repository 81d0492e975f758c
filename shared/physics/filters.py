"""The one-pole low-pass filter, exact for a signal that is held between samples."""

import math


def one_pole_gain(interval: float, time_constant: float) -> float:
    """Share of the way to the new value that one step goes: 1 - exp(-dt / tau); both in seconds, tau > 0."""
    return 1.0 - math.exp(-interval / time_constant)


def one_pole(value: float, target: float, interval: float, time_constant: float) -> float:
    """Next value of the filter on its way to ``target``; any step length is stable."""
    return value + (target - value) * one_pole_gain(interval, time_constant)
