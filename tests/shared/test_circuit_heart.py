"""The patient's side: the closed form against a root finder, and the balance of what flows."""

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.optimize import brentq

from shared.circuit.faults import Levels
from shared.circuit.heart import HeartCurve, atrial_pressure, filling_of, left_heart, reflex_tone, right_heart
from shared.circuit.parameters import DRAINS_LEFT, PatientParameters
from shared.support import Support

PATIENT = PatientParameters()
FAULTS: list[Levels] = [{}, {"hypovolaemia": 0.3}, {"tamponade": 0.5}, {"recovery": 1.0}]


@given(
    filling=st.floats(0, 30), resistance=st.floats(0.5, 4), taken=st.floats(-2, 8), slope=st.floats(0.1, 3),
    zero=st.floats(-5, 10), plateau=st.floats(1, 10),
)  # fmt: skip
def test_that_the_atrial_pressure_is_where_venous_return_meets_heart_and_pump(
    filling: float, resistance: float, taken: float, slope: float, zero: float, plateau: float
) -> None:
    heart = HeartCurve(slope, zero, plateau)
    found = atrial_pressure(filling, resistance, taken, heart)
    oracle = brentq(lambda p: (filling - p) / resistance - taken - heart.output(p), -200, 200, xtol=1e-10)
    assert found == pytest.approx(oracle, abs=1e-6)


@pytest.mark.parametrize("support", [Support.VA, Support.RA_PA, Support.RA_PA_OXY])
@pytest.mark.parametrize("levels", FAULTS)
def test_that_the_vein_closes_at_the_flow_that_it_can_give(support: Support, levels: Levels) -> None:
    filling = filling_of(support, PATIENT, levels, 0.0, 72.0)
    assert filling.atrial(filling.drainable()) == pytest.approx(filling.collapse)


@pytest.mark.parametrize("support", sorted(DRAINS_LEFT))
def test_that_the_left_atrium_closes_at_the_flow_that_it_can_give(support: Support) -> None:
    filling = filling_of(support, PATIENT, {}, 0.0, 72.0)
    there = filling.circulation(filling.drainable(), limited=False)
    # A weak heart gives nothing below its zero of 4 mmHg, so the atrium empties to there and no further.
    assert there.ejected == pytest.approx(0.0)
    assert there.left_atrial == pytest.approx(4.0)


@pytest.mark.parametrize("support", list(Support))
@pytest.mark.parametrize("levels", FAULTS)
def test_that_what_the_veins_return_leaves_by_heart_or_pump(support: Support, levels: Levels) -> None:
    filling = filling_of(support, PATIENT, levels, 0.0, 72.0)
    flow = min(4.2, filling.drainable())
    there = filling.circulation(flow, limited=False)
    through_heart = filling.right.output(there.atrial)
    taken = 0.0 if support is Support.VV or support in DRAINS_LEFT else flow
    assert through_heart + taken == pytest.approx(there.systemic, abs=1e-6)


@pytest.mark.parametrize("support", list(Support))
def test_that_the_hearts_of_the_base_bed_give_what_the_pump_does_not(support: Support) -> None:
    weak = support in (Support.VA, Support.RA_PA, Support.RA_PA_OXY)
    assert right_heart(support, PATIENT).output(8.0) == pytest.approx(2.4 if weak else 6.6)
    filled = 8.0 if support in DRAINS_LEFT else 10.0
    assert left_heart(support, PATIENT).output(filled) == pytest.approx(2.4 if support in DRAINS_LEFT else 6.6)


@pytest.mark.parametrize(("arterial", "expected"), [(72, 1.0), (36, 1.6), (0, 2.0), (200, 0.8)])
def test_that_reflexes_answer_within_their_bounds(arterial: float, expected: float) -> None:
    assert reflex_tone(arterial, PATIENT, {}) == pytest.approx(expected)
    assert abs(reflex_tone(arterial, PATIENT, {"vasoplegia": 1.0}) - 1) <= abs(expected - 1)
