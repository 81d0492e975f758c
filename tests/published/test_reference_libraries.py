"""Our formulas against general reference libraries: pint for units, CoolProp for water, statsmodels for statistics.

Versions as locked: Pint 0.25.3, CoolProp 8.0.0 (IAPWS formulations), statsmodels 0.15.0.
"""

import CoolProp.CoolProp as coolprop
import numpy as np
import pint
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st
from statsmodels.datasets import nile
from statsmodels.robust.scale import mad

from monitor.analysis.noise import robust_score
from shared.physics import blood, resistance
from shared.physics.pump import hydraulic_power
from shared.physics.units import l_per_min_to_m3_per_s, pascal_to_mmhg
from tests.published.test_onset import NILE

UNITS: pint.UnitRegistry[float] = pint.UnitRegistry()
FLOW = st.floats(0.1, 12.0)
PRESSURE = st.floats(-300.0, 500.0)


@given(pressure=PRESSURE, flow=FLOW)
def test_that_hydraulic_power_is_pressure_times_flow_in_watts(pressure: float, flow: float) -> None:
    power = (pressure * UNITS.mmHg * flow * UNITS.liter / UNITS.minute).to("watt").magnitude
    assert hydraulic_power(pressure, flow) == pytest.approx(power, rel=1e-6, abs=1e-12)


@given(arterial=st.floats(20.0, 150.0), venous=st.floats(-5.0, 19.0), flow=FLOW)
def test_that_the_exact_resistance_factor_is_that_of_the_units(arterial: float, venous: float, flow: float) -> None:
    fall, litres = (arterial - venous) * UNITS.mmHg, flow * UNITS.liter / UNITS.minute
    exact = (fall / litres).to("dyne * second / centimeter ** 5").magnitude
    ours = resistance.vascular(arterial, venous, flow, resistance.EXACT_FACTOR)
    assert ours == pytest.approx(exact, rel=1e-6)
    rounded = resistance.vascular(arterial, venous, flow, resistance.ROUND_FACTOR)
    assert rounded == pytest.approx(exact, rel=1e-4), "80 is 0.8 in ten thousand too large"


@given(pascal=st.floats(-1e5, 1e5), flow=FLOW)
def test_that_pressures_and_flows_convert_as_everywhere(pascal: float, flow: float) -> None:
    assert pascal_to_mmhg(pascal) == pytest.approx((pascal * UNITS.pascal).to("mmHg").magnitude, rel=1e-6)
    cubic = (flow * UNITS.liter / UNITS.minute).to("meter ** 3 / second").magnitude
    assert l_per_min_to_m3_per_s(flow) == pytest.approx(cubic, rel=1e-9)


@given(celsius=st.floats(20.0, 42.0))
def test_that_the_viscosity_of_water_is_within_a_half_percent_of_the_standard(celsius: float) -> None:
    standard = coolprop.PropsSI("V", "T", celsius + 273.15, "P", 101_325, "Water") * 1000
    assert blood.water_viscosity(celsius) == pytest.approx(standard, rel=5e-3)


@given(values=st.lists(st.floats(-200, 200), min_size=5, max_size=60), value=st.floats(-400, 400))
def test_that_a_robust_score_uses_the_median_deviation_of_statsmodels(values: list[float], value: float) -> None:
    spread = float(mad(np.array(values)))
    assume(spread > 1.0)
    score = (value - float(np.median(values))) / spread
    assert robust_score(values, value, digit=0.01) == pytest.approx(score, rel=1e-4, abs=1e-4)


def test_that_our_nile_is_the_published_one() -> None:
    assert list(nile.load_pandas().data["volume"]) == NILE
