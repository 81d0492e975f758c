"""Conversions between the units of the bedside and those of physics."""

#: Pascals in one millimetre of mercury (conventional value, BIPM SI Brochure: 133.322 387 415 Pa).
PASCAL_PER_MMHG = 133.322387415

#: Cubic metres a second in one litre a minute.
M3_PER_S_PER_L_PER_MIN = 1e-3 / 60.0

#: Watts in one mmHg times one litre a minute: the product of the two above, 0.00222204 W.
WATT_PER_MMHG_L_PER_MIN = PASCAL_PER_MMHG * M3_PER_S_PER_L_PER_MIN


def pascal_to_mmhg(pressure: float) -> float:
    """Convert Pa to mmHg."""
    return pressure / PASCAL_PER_MMHG


def l_per_min_to_m3_per_s(flow: float) -> float:
    """Convert L/min to m3/s."""
    return flow * M3_PER_S_PER_L_PER_MIN
