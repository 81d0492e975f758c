"""How long a battery carries a pump.

The load formula is a constant share for the console and a share that goes with the cube of the speed (affinity
law of power). Peukert's law (W. Peukert 1897) is here for comparison: below the rated current it lengthens the
estimate, so a display that people rely on keeps to k = 1 or to a measured discharge.
"""


def load(speed: float, constant: float, share: float, at_speed: float) -> float:
    """Electrical load in W: P0 + P1 (N / N1)^3; speeds in rpm, P0 and P1 in W."""
    return constant + share * (speed / at_speed) ** 3


def runtime_hours(energy: float, derating: float, power: float) -> float:
    """Hours that ``energy`` (Wh) lasts at ``power`` (W, > 0), of which the share ``derating`` (0..1) is usable."""
    return energy * derating / power


def peukert_hours(capacity: float, rated_hours: float, current: float, exponent: float) -> float:
    """t = H (C / (I H))^k in hours; capacity in Ah at the rated hours, current in A.

    k is about 1.05 for lithium-ion cells and 1.1 to 1.3 for lead-acid ones.
    """
    return float(rated_hours * (capacity / (current * rated_hours)) ** exponent)
