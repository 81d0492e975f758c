"""Oxygen in blood: content, delivery, consumption, extraction, and what an oxygenator adds.

Content = capacity Hb S + solubility pO2, from any text on physiology. Published capacities lie between 1.34 and
1.39 mL/g and solubilities between 0.0030 and 0.0031 mL/dL/mmHg, so both are arguments here; they spread a result by
3.5 %. The constants and the unit factor of haemoglobin are from memory.

Units: haemoglobin g/dL, saturation as a share (0..1), pO2 mmHg, content mL/dL, flow L/min, oxygen mL/min.
"""

import math

#: Decilitres in a litre: from L/min and mL/dL to mL/min.
_DL_PER_L = 10.0
#: mmol/L of haemoglobin (monomer) in one g/dL, from memory.
_MMOL_PER_G_DL = 0.6206
#: The dissociation curve: S = 1 / (_CURVE / (p^3 + _LINEAR p) + 1).
_CURVE, _LINEAR = 23_400.0, 150.0


def content(haemoglobin: float, saturation: float, po2: float, *, capacity: float, solubility: float) -> float:
    """Oxygen content in mL/dL; ``capacity`` in mL/g, ``solubility`` in mL/dL/mmHg; ``po2`` 0 leaves it out."""
    return capacity * haemoglobin * saturation + solubility * po2


def delivery(arterial: float, flow: float) -> float:
    """Oxygen carried by a flow, mL/min: content (mL/dL) times flow (L/min) times 10."""
    return arterial * flow * _DL_PER_L


def transferred(before: float, after: float, flow: float) -> float:
    """Oxygen that blood takes up on its way, mL/min: the difference of contents (mL/dL) times flow times 10.

    ``flow`` in L/min. Across an oxygenator: what it adds. From venous to arterial blood: what the body consumes
    (Fick's principle).
    """
    return (after - before) * flow * _DL_PER_L


def extraction(arterial: float, venous: float) -> float:
    """Share of the delivered oxygen that is consumed, (Ca - Cv) / Ca; contents in mL/dL, ``arterial`` > 0."""
    return (arterial - venous) / arterial


def delivery_to_consumption(arterial: float, venous: float) -> float:
    """Delivery for each unit of consumption, Ca / (Ca - Cv): the inverse of `extraction`.

    Raises:
        ValueError: the venous content is not below the arterial one, so nothing is consumed between them.
    """
    if venous >= arterial:
        raise ValueError(f"venous content {venous:g} is not below arterial {arterial:g} mL/dL: no ratio")
    return arterial / (arterial - venous)


def gas_ratio(po2: float, fdo2: float) -> float:
    """pO2 after an oxygenator for its gas: mmHg, from mmHg and the share of oxygen in the gas (0.21..1)."""
    return po2 / fdo2


def saturation_of(po2: float) -> float:
    """Saturation as a share at a pO2 in mmHg (>= 0): 1 / (23400 / (p^3 + 150 p) + 1).

    Source: Severinghaus 1979, J Appl Physiol 46:599 (from memory), for pH 7.4 and 37 C. Fever, acidosis and stored
    blood shift the curve: good for what is dissolved, not for a saturation that could be measured.
    """
    shaped = po2**3 + _LINEAR * po2
    return shaped / (_CURVE + shaped)


def po2_of(saturation: float) -> float:
    """The inverse of `saturation_of`: pO2 in mmHg, for 0 <= saturation < 1; flat and so uncertain above 0.95.

    p^3 + 150 p = 23400 S / (1 - S) has one real root (Cardano).

    Raises:
        ValueError: the saturation is not within 0 <= S < 1.
    """
    if not 0.0 <= saturation < 1.0:
        raise ValueError(f"no pO2 belongs to a saturation of {saturation:g}")
    half = _CURVE * saturation / (1.0 - saturation) / 2.0
    root = math.sqrt(half**2 + (_LINEAR / 3.0) ** 3)
    return math.cbrt(half + root) - math.cbrt(root - half)


def haemoglobin_mmol_per_l(haemoglobin: float) -> float:
    """Haemoglobin in mmol/L of monomer from g/dL: times 0.6206 (from memory)."""
    return haemoglobin * _MMOL_PER_G_DL
