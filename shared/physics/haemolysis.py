"""Indices of haemolysis in a test loop. At a bed only the trend of plasma free haemoglobin is shown.

Source: ASTM F1841 (from memory); the relation of the two indices in Mizuguchi 1994, Artif Organs 18:650.
The plasma share is (100 - Hct) / 100; a form with (100 - Hct) / Hct is in circulation and is wrong.
"""


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
