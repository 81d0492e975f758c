"""The M-number: one figure for the resistance of a cannula, and the pressure loss that follows from it.

Source: Montoya, Merz, Bartlett, ASAIO Trans 1991;37:M171 (volume and page from memory). The published constant
is that of the Blasius law with the density of water.
"""

import math

_CONSTANT = 7.161e6


def lumped_dimension(loss: float, flow: float, viscosity: float) -> float:
    """L * De^-4.75 in cm^-3.75, from a measured pressure loss.

    ``loss`` in mmHg, ``flow`` in mL/min, ``viscosity`` in poise (0.03 at haematocrit 41 %); all > 0.
    """
    return float(_CONSTANT * viscosity**-0.25 * loss * flow**-1.75)


def m_number(loss: float, flow: float, viscosity: float) -> float:
    """M = log10 of `lumped_dimension`; the same units. Usual cannulae lie between 2 and 4.5."""
    return math.log10(lumped_dimension(loss, flow, viscosity))


def m_factor(m: float, viscosity: float) -> float:
    """The factor k in loss = k * Q^1.75, with Q in L/min and the loss in mmHg; ``viscosity`` in poise."""
    return float(10.0**m * viscosity**0.25 * 1000.0**1.75 / _CONSTANT)


def m_number_loss(m: float, flow: float, viscosity: float) -> float:
    """Pressure loss in mmHg at ``flow`` mL/min, with the sign of the flow; ``viscosity`` in poise.

    Doubling the flow multiplies the loss by 2^1.75 = 3.36359.
    """
    return m_factor(m, viscosity) * power_loss(flow / 1000.0)


def power_loss(flow: float) -> float:
    """Q|Q|^0.75: the odd extension of Q^1.75 to back flow; ``flow`` in L/min."""
    return math.copysign(abs(flow) ** 1.75, flow)
