"""Viscosity and density of blood.

Viscosity differs by about 30 % from one published data set to the next: show it, if at all, with that width.
"""

import math

_SLOPE, _OFFSET = 0.01138, 0.03699


def viscosity(haematocrit: float) -> float:
    """Viscosity at 37 C in mPa s from the haematocrit in %, within +/- 30 %.

    log10 mu = 0.01138 Hct + 0.03699, a fit to Lichtman 1982/87; for 20 to 45 %.
    """
    return float(10.0 ** (_SLOPE * haematocrit + _OFFSET))


def haematocrit_of(viscosity_37: float) -> float:
    """The inverse of `viscosity`: haematocrit in % from mPa s at 37 C."""
    return (math.log10(viscosity_37) - _OFFSET) / _SLOPE


def viscosity_at(viscosity_37: float, temperature: float) -> float:
    """Viscosity at another temperature (C): 2 % more for each degree below 37 (from memory; for 28 to 40 C)."""
    return viscosity_37 * (1.0 + 0.02 * (37.0 - temperature))


def water_viscosity(temperature: float) -> float:
    """Viscosity of water in mPa s: 2.414e-5 * 10^(247.8 / (T - 140)) Pa s, T in K.

    ``temperature`` in C, 0 to 100.
    """
    return float(2.414e-2 * 10.0 ** (247.8 / (temperature + 273.15 - 140.0)))


def density(haematocrit: float) -> float:
    """Density of blood in kg/m3 from the haematocrit as a share (0..1): 1025 (1-H) + 1095 H (from memory)."""
    return 1025.0 * (1.0 - haematocrit) + 1095.0 * haematocrit
