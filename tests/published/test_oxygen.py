"""Oxygen content, delivery, consumption, extraction, and what an oxygenator adds."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.optimize import brentq

from shared.physics import body, oxygen

# Source: CaO2 = k Hb S + a pO2, textbook formula with three published pairs of constants, recomputed.
# Hb 10 g/dL, SaO2 0.99, PaO2 300, SvO2 0.70, PvO2 40 mmHg, 4.5 L/min, 170 cm and 70 kg (Mosteller).
# Columns: k, a, CaO2, CvO2, DO2, VO2, extraction, ratio, DO2 index.
CASES = [
    (1.34, 0.0031, 14.196, 9.504, 638.82, 211.14, 0.33052, 3.0256, 351.36),
    (1.36, 0.0030, 14.364, 9.640, 646.38, 212.58, 0.32888, 3.0406, 355.52),
    (1.39, 0.0031, 14.691, 9.854, 661.10, 217.67, 0.32925, 3.0372, 363.6),
]
FLOW = 4.5
SHARES, PRESSURES = st.floats(0.3, 0.95), st.floats(20, 600)


@pytest.mark.parametrize(("k", "a", "ca", "cv", "do2", "vo2", "share", "ratio", "index"), CASES)
def test_that_the_worked_example_comes_out_with_each_pair_of_constants(
    k: float, a: float, ca: float, cv: float, do2: float, vo2: float, share: float, ratio: float, index: float
) -> None:
    arterial = oxygen.content(10, 0.99, 300, capacity=k, solubility=a)
    venous = oxygen.content(10, 0.70, 40, capacity=k, solubility=a)
    carried = oxygen.delivery(arterial, FLOW)
    assert arterial == pytest.approx(ca, abs=1e-3, rel=1e-4)
    assert venous == pytest.approx(cv, abs=1e-3, rel=1e-4)
    assert carried == pytest.approx(do2, rel=1e-4)
    assert oxygen.transferred(venous, arterial, FLOW) == pytest.approx(vo2, rel=1e-4)
    assert oxygen.extraction(arterial, venous) == pytest.approx(share, rel=1e-4)
    assert oxygen.delivery_to_consumption(arterial, venous) == pytest.approx(ratio, rel=1e-4)
    assert body.indexed(carried, body.mosteller(170, 70)) == pytest.approx(index, rel=1e-4)


def test_that_published_constants_spread_the_delivery_by_three_and_a_half_per_cent() -> None:
    # Source: 638.82 and 661.10 mL/min of the same blood, recomputed.
    assert CASES[2][4] / CASES[0][4] - 1 == pytest.approx(0.035, abs=5e-4)


def test_that_an_oxygenator_adds_the_difference_of_contents() -> None:
    # Source: definition, recomputed: Hb 9, after 1.00 and 350 mmHg, before 0.65 and 35 mmHg, 4.2 L/min.
    after = oxygen.content(9, 1.00, 350, capacity=1.34, solubility=0.0031)
    before = oxygen.content(9, 0.65, 35, capacity=1.34, solubility=0.0031)
    assert after == pytest.approx(13.145, abs=1e-3)
    assert before == pytest.approx(7.9475, abs=1e-4)
    assert oxygen.transferred(before, after, 4.2) == pytest.approx(218.295, abs=1e-2)


def test_that_haemoglobin_in_mmol_is_that_of_the_monomer() -> None:
    # Source: 1 g/dL = 0.6206 mmol/L, from memory.
    assert oxygen.haemoglobin_mmol_per_l(12) == pytest.approx(7.447, abs=1e-3)


@pytest.mark.parametrize(("po2", "share"), [(26.9, 0.50), (40, 0.75), (60, 0.90), (100, 0.975)])
def test_that_the_dissociation_curve_passes_the_points_of_the_textbook(po2: float, share: float) -> None:
    # Source: P50 near 26.9 mmHg, 75 % at 40, 90 % at 60, 97.5 % at 100 mmHg; textbook values, from memory.
    assert oxygen.saturation_of(po2) == pytest.approx(share, abs=0.01)


@given(SHARES)
def test_that_the_inverse_of_the_curve_is_what_a_general_solver_finds(share: float) -> None:
    # Source: scipy.optimize.brentq, a root finder of general use.
    found = brentq(lambda po2: oxygen.saturation_of(po2) - share, 0.0, 1000.0, xtol=1e-10)
    assert oxygen.po2_of(share) == pytest.approx(found, abs=1e-6)


@given(PRESSURES, st.floats(0.1, 50))
def test_that_more_pressure_is_more_saturation_and_never_above_one(po2: float, more: float) -> None:
    assert oxygen.saturation_of(po2) < oxygen.saturation_of(po2 + more) < 1.0


@given(st.floats(5, 16), SHARES, st.floats(0.01, 0.04), PRESSURES, st.floats(0.5, 7))
def test_that_delivery_is_consumption_times_their_ratio(
    haemoglobin: float, venous: float, gap: float, po2: float, flow: float
) -> None:
    high = oxygen.content(haemoglobin, venous + gap, po2, capacity=1.34, solubility=0.0031)
    low = oxygen.content(haemoglobin, venous, po2, capacity=1.34, solubility=0.0031)
    consumed = oxygen.transferred(low, high, flow)
    ratio = oxygen.delivery_to_consumption(high, low)
    assert consumed * ratio == pytest.approx(oxygen.delivery(high, flow), rel=1e-9)
    assert ratio == pytest.approx(1 / oxygen.extraction(high, low), rel=1e-9)


def test_that_blood_which_gave_nothing_off_has_no_ratio() -> None:
    with pytest.raises(ValueError, match="not below arterial"):
        oxygen.delivery_to_consumption(12.0, 12.0)


@pytest.mark.parametrize("share", [1.0, -0.1, math.nan])
def test_that_no_pressure_belongs_to_full_saturation(share: float) -> None:
    with pytest.raises(ValueError, match="no pO2"):
        oxygen.po2_of(share)


def test_that_the_gas_ratio_at_pure_oxygen_is_the_pressure_itself() -> None:
    # Source: definition. Above 400 mmHg at pure oxygen is fine, below 200 failing: Lubnow 2014, PLoS One 9:e112316.
    assert oxygen.gas_ratio(400, 1.0) == 400
    assert oxygen.gas_ratio(160, 0.8) == pytest.approx(200)
