"""What goes in comes out: energy and blood in the circuit, and the arteries' answer to a step in closed form.

That the equations of the circuit balance is a check of how they were put together and of the roots found. The step
response is that of the two-element windkessel (O. Frank 1899).
"""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from shared.circuit import BROAD, SMALL, Circuit, CircuitParameters, PumpProfile, start, step
from shared.circuit.faults import Levels
from shared.circuit.flow import Operating, Plumbing, free_flow, operate, plumbing_of
from shared.circuit.parameters import PatientParameters
from shared.circuit.state import Controls
from shared.physics.m_number import power_loss
from shared.physics.pump import hydraulic_power, no_backflow_speed
from shared.quantities import Quantity as Q
from shared.scenario_parts import FaultKind
from shared.support import Support

#: Balances hold to this, in W and in L/min.
EXACT = 1e-6
PROFILES = st.sampled_from([BROAD, SMALL])
KINDS: tuple[FaultKind, ...] = ("inlet_kink", "outlet_kink", "oxygenator_clot", "pump_thrombosis")


@st.composite
def circuits(draw: st.DrawFn) -> tuple[Plumbing, float, float]:
    """A closed circuit with any mix of faults, and the pressures where it drains and returns."""
    profile: PumpProfile = draw(PROFILES)
    params = CircuitParameters.for_support(draw(st.sampled_from(list(Support))), profile)
    levels: Levels = {kind: draw(st.floats(0, 1)) for kind in KINDS}
    speed = draw(st.floats(0, 1)) * profile.speed_max
    return plumbing_of(params, levels, speed, 0.0), draw(st.floats(-5, 25)), draw(st.floats(0, 130))


def spent(pipes: Plumbing, at: Operating, drained: float, returned: float) -> float:
    """Power in W that limbs, oxygenator and the way up from the veins to the arteries take."""
    limbs = (pipes.drainage + pipes.back) * power_loss(at.flow)
    return hydraulic_power(limbs + pipes.oxygenator * at.flow + returned - drained, at.flow)


@given(circuits())
def test_that_the_pump_gives_the_power_that_the_circuit_takes(made: tuple[Plumbing, float, float]) -> None:
    pipes, drained, returned = made
    at = operate(pipes, free_flow(pipes, drained, returned), drained, returned, limited=False)
    given_power = hydraulic_power(pipes.head(at.flow), at.flow)
    assert given_power == pytest.approx(spent(pipes, at, drained, returned), abs=EXACT)
    assert hydraulic_power(at.pre - at.inlet, at.flow) == pytest.approx(given_power, abs=EXACT)


@given(circuits(), st.floats(0.1, 0.95))
def test_that_in_suction_the_inlet_takes_up_what_the_head_leaves(
    made: tuple[Plumbing, float, float], share: float
) -> None:
    pipes, drained, returned = made
    flow = share * max(0.0, free_flow(pipes, drained, returned))
    at = operate(pipes, flow, drained, returned, limited=True)
    assert at.pre - at.inlet == pytest.approx(pipes.head(flow), abs=EXACT)
    if flow > 0.0:
        assert at.inlet <= drained - pipes.drainage * power_loss(flow) + EXACT


@given(st.floats(0.05, 1), st.floats(1500, 5000))
def test_that_what_leaves_the_pump_reaches_the_patient_or_is_lost(severity: float, speed: float) -> None:
    params = CircuitParameters.for_support(Support.VA)
    pipes = plumbing_of(params, {"return_open": severity}, speed, 0.0)
    at = operate(pipes, free_flow(pipes, 8.0, 72.0), 8.0, 72.0, limited=False)
    across = at.post - 72.0
    reaches = math.copysign((abs(across) / pipes.back) ** (1 / 1.75), across)
    assert reaches + at.lost == pytest.approx(at.flow, abs=1e-4)  # the root of the pressure is found to 1e-5 mmHg
    assert at.lost >= 0.0


@given(st.sampled_from([BROAD, SMALL]), st.floats(40, 120), st.floats(0, 20))
def test_that_blood_runs_back_just_below_the_speed_of_the_closed_form(
    profile: PumpProfile, returned: float, drained: float
) -> None:
    # sqrt((MAP - Pra) / a)
    params = CircuitParameters.for_support(Support.VA, profile)
    least = no_backflow_speed(returned, drained, profile.head_speed_factor)
    slower, faster = (plumbing_of(params, {}, speed, 0.0) for speed in (least - 1.0, least + 1.0))
    assert free_flow(slower, drained, returned) < 0.0 < free_flow(faster, drained, returned)


def test_that_blood_that_is_lost_is_counted_to_the_drop() -> None:
    params = CircuitParameters.for_support(Support.VA)
    circuit = Circuit(params)
    circuit.apply("return_open", 0.5)
    total = 0.0
    for second in range(1, 31):
        before = circuit.state
        circuit.advance(second)
        pipes = plumbing_of(params, {"return_open": 0.5}, circuit.state.speed, 0.0)
        flow = circuit.observe().values[Q.PUMP_FLOW]
        total += pipes.leaked(pipes.return_side(flow, before.returned)) * 1000.0 / 60.0
    assert circuit.state.lost == pytest.approx(total, abs=1e-3)
    assert circuit.state.lost > 500.0


@pytest.mark.parametrize("severity", [0.2, 0.6, 1.0])
@pytest.mark.parametrize("dt", [0.25, 1.0, 2.0])
def test_that_the_arteries_answer_a_step_of_their_resistance_as_the_closed_form_says(
    severity: float, dt: float
) -> None:
    # On a VV circuit the heart alone feeds the arteries, and without reflexes its flow and the resistance stand.
    # P(t) = Pv + Q R + (P0 - Pv - Q R) exp(-t / (R C)).
    patient = PatientParameters(reflex=0.0)
    params = CircuitParameters.for_support(Support.VV, patient=patient)
    state = begun = start(params)
    resistance = patient.systemic_resistance * (1.0 + 1.5 * severity) * 60.0 / 1000.0  # mmHg s/mL
    end = patient.atrial + patient.total_flow * 1000.0 / 60.0 * resistance
    for number in range(1, round(8 / dt) + 1):
        state = step(state, params, {"afterload_rise": severity}, Controls.usual(params), number * dt, dt)
        expected = end + (begun.arterial - end) * math.exp(-number * dt / (resistance * patient.compliance))
        assert state.arterial == pytest.approx(expected, abs=1e-3)


def test_that_the_arteries_decay_with_their_own_time_constant_while_the_step_stands() -> None:
    patient = PatientParameters(reflex=0.0)
    params = CircuitParameters.for_support(Support.VV, patient=patient)
    high = start(params)
    for number in range(1, 61):
        high = step(high, params, {"afterload_rise": 1.0}, Controls.usual(params), float(number), 1.0)
    tau = patient.systemic_resistance * 60.0 / 1000.0 * patient.compliance
    settled, state = start(params).arterial, high
    for number in range(1, 4):
        state = step(state, params, {}, Controls.usual(params), float(number), 1.0)
        left = (state.arterial - settled) / (high.arterial - settled)
        assert left == pytest.approx(math.exp(-number / tau), abs=1e-3)
