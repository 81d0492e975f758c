"""Flow through a smooth tube: Reynolds number, friction factor, pressure loss.

Sources: Hagen-Poiseuille law and the Darcy-Weisbach equation (any text on fluid mechanics); H. Blasius 1913 for
the smooth-wall friction factor. Friction factors are Darcy's (four times Fanning's).
"""

import math

from shared.physics.units import l_per_min_to_m3_per_s

#: Reynolds number from which the Blasius factor is used here. Blasius holds for 4,000 < Re < 100,000; between
#: 2,100 and 4,000 a tube may do either, and the larger loss is the careful choice.
TURBULENT_FROM = 2100.0


def mean_velocity(flow: float, diameter: float) -> float:
    """Mean velocity in m/s; ``flow`` in L/min, ``diameter`` in m (> 0)."""
    return l_per_min_to_m3_per_s(flow) / (math.pi * diameter**2 / 4.0)


def reynolds(flow: float, diameter: float, density: float, viscosity: float) -> float:
    """Reynolds number 4 rho Q / (pi D mu).

    ``flow`` in L/min, ``diameter`` in m, ``density`` in kg/m3, ``viscosity`` in Pa s. Always >= 0.
    """
    return 4.0 * density * abs(l_per_min_to_m3_per_s(flow)) / (math.pi * diameter * viscosity)


def laminar_friction(reynolds_number: float) -> float:
    """Darcy friction factor 64 / Re of laminar flow; holds below Re 2,100."""
    return 64.0 / reynolds_number


def blasius_friction(reynolds_number: float) -> float:
    """Darcy friction factor 0.3164 Re^-0.25 of a smooth wall; holds for 4,000 < Re < 100,000 (Blasius 1913)."""
    return float(0.3164 * reynolds_number**-0.25)


def friction(reynolds_number: float) -> float:
    """Darcy friction factor: laminar below `TURBULENT_FROM`, Blasius from there up."""
    if reynolds_number < TURBULENT_FROM:
        return laminar_friction(reynolds_number)
    return blasius_friction(reynolds_number)


def tube_loss(flow: float, diameter: float, length: float, density: float, viscosity: float) -> float:
    """Pressure lost along a straight smooth tube, in Pa, with the sign of the flow (Darcy-Weisbach).

    ``flow`` in L/min, ``diameter`` and ``length`` in m, ``density`` in kg/m3, ``viscosity`` in Pa s. Connectors,
    bends and entrance losses are not in it. Below Re 2,100 it equals 128 mu L Q / (pi D^4).
    """
    if flow == 0.0:
        return 0.0
    speed = mean_velocity(flow, diameter)
    factor = friction(reynolds(flow, diameter, density, viscosity))
    return factor * (length / diameter) * density * speed * abs(speed) / 2.0


def turbulent_from_flow(diameter: float, density: float, viscosity: float) -> float:
    """Flow in L/min at which the tube reaches Re 2,100; units as in `tube_loss`."""
    return TURBULENT_FROM * math.pi * diameter * viscosity / (4.0 * density) / l_per_min_to_m3_per_s(1.0)
