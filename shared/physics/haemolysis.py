"""Indices of haemolysis in a test loop. At a bed only the trend of plasma free haemoglobin is shown.

Source: ASTM F1841 (from memory); the relation of the two indices in Mizuguchi 1994, Artif Organs 18:650.
The plasma share is (100 - Hct) / 100; a form with (100 - Hct) / Hct is in circulation and is wrong.
"""

import math


def normalized_index(free_rise: float, volume: float, haematocrit: float, flow: float, minutes: float) -> float:
    """NIH in g per 100 L pumped.

    ``free_rise`` in g/L of plasma, ``volume`` of the loop in L, ``haematocrit`` in %, ``flow`` in L/min.
    """
    return free_rise * volume * (100.0 - haematocrit) / 100.0 * 100.0 / (flow * minutes)


def modified_index(
    free_rise: float, volume: float, haematocrit: float, flow: float, minutes: float, haemoglobin: float
) -> float:
    """MIH, without unit: mg set free per kg of haemoglobin pumped.

    ``free_rise`` and ``haemoglobin`` in mg/L; the rest as for `normalized_index`.
    """
    return free_rise * volume * (100.0 - haematocrit) / 100.0 * 1e6 / (flow * minutes * haemoglobin)


def change_per_day(first: float, second: float, hours: float) -> float:
    """Change of free haemoglobin for each day, in mg/L; values in mg/L, ``hours`` between the draws (> 0)."""
    return (second - first) / hours * 24.0


def doubling_hours(first: float, second: float, hours: float) -> float:
    """Hours in which it doubles, if it rises by the same share each hour: t ln 2 / ln(second / first).

    Raises:
        ValueError: it did not rise, so it does not double.
    """
    if not 0.0 < first < second:
        raise ValueError(f"free haemoglobin went from {first:g} to {second:g} mg/L: it did not rise")
    return hours * math.log(2.0) / math.log(second / first)
