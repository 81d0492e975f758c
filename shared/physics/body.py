"""Body surface area, and a flow for each square metre of it.

Two published formulas are in use. For 18 to 30 kg/m2 they differ by less than 3.5 %, for heavier adults by more: Du
Bois is the smaller there. Which one is used must stand beside the number. Both sources from memory.
"""

import math


def mosteller(height: float, weight: float) -> float:
    """Body surface in m2: sqrt(height weight / 3600); ``height`` in cm, ``weight`` in kg, both > 0.

    Source: Mosteller, N Engl J Med 1987;317:1098 (from memory). Made for adults and children alike.
    """
    return math.sqrt(height * weight / 3600.0)


def du_bois(height: float, weight: float) -> float:
    """Body surface in m2: 0.007184 weight^0.425 height^0.725; ``height`` in cm, ``weight`` in kg, both > 0.

    Source: Du Bois and Du Bois 1916, Arch Intern Med 17:863 (from memory). Fitted to nine people; small children
    and very heavy adults lie outside.
    """
    return float(0.007184 * weight**0.425 * height**0.725)


def indexed(flow: float, area: float) -> float:
    """A flow for each m2 of body surface: L/min/m2 from L/min and m2 (> 0); also mL/min/m2 from mL/min."""
    return flow / area
