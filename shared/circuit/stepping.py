"""The step: parameters and state in, new state with its readings out. No clock, no global, no hidden generator."""

import math

from shared.circuit import suction
from shared.circuit.display import DRAWS, Truth, show
from shared.circuit.faults import NO_FAULTS, Levels
from shared.circuit.flow import Operating, air_left, free_flow, operate, plumbing_of
from shared.circuit.heart import Circulation, filling_of, reflex_tone, resistance_factor
from shared.circuit.motor import motor_current
from shared.circuit.noise import gauss_pair
from shared.circuit.parameters import DRAINS_LEFT, RETURNS_TO_AORTA, CircuitParameters, return_pressure
from shared.circuit.saturation import saturations_after, saturations_at_start
from shared.circuit.state import CircuitState, Controls
from shared.circuit.supply import charge_after, powered
from shared.physics.filters import one_pole
from shared.physics.windkessel import pressure_after
from shared.support import Support

_REFLEX_SECONDS, _WARMING_SECONDS, _FEVER_SECONDS = 8.0, 60.0, 600.0
_HOTTER, _FEVER = 40.0, 1.6
_ML_PER_S = 1000.0 / 60.0
_SETTLING_STEPS = 240


def start(params: CircuitParameters, seed: int = 0, controls: Controls | None = None) -> CircuitState:
    """A state at rest: the base bed, run for four quiet minutes so that everything has settled."""
    patient = params.patient
    set_at = controls or Controls.usual(params)
    state = CircuitState(
        seed=seed,
        speed=set_at.speed,
        arterial=patient.arterial,
        drained=patient.left_atrial if params.support in DRAINS_LEFT else patient.atrial,
        returned=return_pressure(params.support, patient),
        saturations=saturations_at_start(params.support, patient),
        warmth=params.profile.usual_temperature,
        temperature=patient.temperature,
    )
    for _ in range(_SETTLING_STEPS):
        state = step(state, params, NO_FAULTS, set_at, 0.0, 1.0)
    return state


def step(
    state: CircuitState,
    params: CircuitParameters,
    levels: Levels,
    controls: Controls,
    t_seconds: float,
    dt: float,
) -> CircuitState:
    """Go on by ``dt`` seconds (0 < dt <= 2) to ``t_seconds``, with the faults ``levels`` of that time.

    Raises:
        ValueError: ``dt`` is outside what the step stands for.
    """
    if not 0.0 < dt <= 2.0:
        raise ValueError(f"a step of {dt:g} s is outside 0 to 2 s (at {t_seconds:g} s)")
    patient = params.patient
    speed = _speed_after(state, params, levels, controls, dt)
    filling = filling_of(params.support, patient, levels, state.lost, state.arterial)
    flutter = gauss_pair(state.seed, state.counter)[0] if levels.get("air_entrainment") else 0.0
    pipes = plumbing_of(params, levels, speed, flutter)
    free = free_flow(pipes, state.drained, state.returned)
    most = filling.drainable()
    depth = suction.depth(free, most)
    phase = suction.next_phase(state.phase, depth, dt)
    flow = suction.swinging(most, depth, phase) if depth > 0.0 else free
    at = operate(pipes, flow, state.drained, state.returned, depth > 0.0)
    there = filling.circulation(min(free, most), depth > 0.0)
    filled = air_left(levels, flutter)
    charge = charge_after(state.charge, params, levels, speed, dt)
    tone = one_pole(state.tone, reflex_tone(state.arterial, patient, levels), dt, _REFLEX_SECONDS)
    hot = params.profile.usual_temperature + _HOTTER * levels.get("console_hot", 0.0)
    fever = patient.temperature + _FEVER * levels.get("vasoplegia", 0.0)
    truth = Truth(
        at=at,
        there=there,
        speed=speed,
        current=motor_current(params.profile, speed, pipes.head(0.0), flow, levels, filled),
        arterial=state.arterial,
        saturations=saturations_after(
            state.saturations, params.support, patient, levels, there, flow - at.lost, controls.sweep, dt
        ),
        temperature=one_pole(state.temperature, fever, dt, _FEVER_SECONDS),
        warmth=one_pole(state.warmth, hot, dt, _WARMING_SECONDS),
        charge=charge,
    )
    arterial = _arterial_after(state, params, there, at, tone * resistance_factor(levels), dt)
    return CircuitState(
        seed=state.seed,
        speed=speed,
        arterial=arterial,
        drained=there.drained,
        returned=_returned(params.support, arterial, there),
        saturations=truth.saturations,
        warmth=truth.warmth,
        temperature=truth.temperature,
        tone=tone,
        lost=state.lost + at.lost * _ML_PER_S * dt,
        phase=phase,
        charge=charge,
        counter=state.counter + 2 + DRAWS,
        shown=show(truth, params, levels, controls, state.shown, state.seed, state.counter + 2),
    )


def _speed_after(
    state: CircuitState, params: CircuitParameters, levels: Levels, controls: Controls, dt: float
) -> float:
    """The impeller follows the knob no faster than its slew, and runs down where nothing drives it."""
    driven = powered(state.charge, params, levels)
    goal = controls.speed * (1.0 - levels.get("pump_stop", 0.0)) if driven else 0.0
    most = params.profile.speed_slew * dt
    return state.speed + math.copysign(min(most, abs(goal - state.speed)), goal - state.speed)


def _arterial_after(
    state: CircuitState,
    params: CircuitParameters,
    there: Circulation,
    at: Operating,
    resistance_now: float,
    dt: float,
) -> float:
    """Arterial pressure by the windkessel; what an open line spills never reaches the arteries."""
    patient = params.patient
    resistance = patient.systemic_resistance * resistance_now / _ML_PER_S
    received = (there.systemic - at.lost) * _ML_PER_S
    return pressure_after(state.arterial, dt, received, resistance, patient.compliance, there.atrial)


def _returned(support: Support, arterial: float, there: Circulation) -> float:
    if support in RETURNS_TO_AORTA:
        return arterial
    return there.atrial if support is Support.VV else there.pulmonary
