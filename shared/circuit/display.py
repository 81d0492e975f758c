"""From the truth to what is shown: fitted sensors, noise, sensor faults, a console that froze."""

from typing import NamedTuple

from shared.circuit.faults import Levels
from shared.circuit.flow import Operating
from shared.circuit.heart import Circulation
from shared.circuit.motor import estimated_flow
from shared.circuit.noise import gauss_pair
from shared.circuit.parameters import CircuitParameters
from shared.circuit.saturation import Saturations
from shared.circuit.state import CircuitReadings, Controls
from shared.circuit.supply import on_mains, packs_in, shown_minutes
from shared.messages import Condition
from shared.quantities import Quantity as Q

#: Standard deviations of the noise (invented, those of the scenarios).
FLOW_SD, INLET_SD, OUTLET_SD, ARTERIAL_SD = 0.05, 3.0, 3.0, 2.0
#: What each pressure transducer can show, mmHg; beyond that it stands at its end.
TRANSDUCERS = (
    (Q.INLET_PRESSURE, -380.0, 100.0),
    (Q.PRE_OXYGENATOR_PRESSURE, -50.0, 580.0),
    (Q.POST_OXYGENATOR_PRESSURE, -50.0, 580.0),
)
#: Offset of the worst pressure sensor fault, mmHg.
SENSOR_OFFSET = 60.0
#: Mean pressure below which a fingertip gives no oximeter reading, mmHg (common practice, no source).
OXIMETER_NEEDS = 30.0
#: Numbers that one set of readings draws.
DRAWS = 6

#: What the pump's console shows; the rest is the patient's monitor.
OF_CONSOLE = frozenset(
    {
        Q.PUMP_SPEED, Q.PUMP_FLOW, Q.INLET_PRESSURE, Q.PRE_OXYGENATOR_PRESSURE, Q.POST_OXYGENATOR_PRESSURE,
        Q.MOTOR_CURRENT, Q.CONSOLE_TEMPERATURE, Q.ON_MAINS, Q.BATTERY_CHARGE, Q.BATTERY_MINUTES,
    }
)  # fmt: skip
_NOTHING: frozenset[Q] = frozenset()
_OXIMETERS = frozenset({Q.SPO2_RIGHT_HAND, Q.SPO2_FOOT})
_FLOW_ESTIMATED = frozenset({Q.PUMP_FLOW})


class Truth(NamedTuple):
    """Everything that sensors can see at one moment."""

    at: Operating
    there: Circulation
    speed: float
    current: float
    arterial: float
    saturations: Saturations
    temperature: float
    warmth: float
    charge: float


def show(
    truth: Truth,
    params: CircuitParameters,
    levels: Levels,
    controls: Controls,
    before: CircuitReadings,
    seed: int,
    counter: int,
) -> CircuitReadings:
    """Readings of the fitted sensors; draws `DRAWS` numbers from ``counter`` on when noise is on."""
    flow, estimated = _flow_shown(truth, params, levels)
    values = _console_values(truth, params, levels, flow) | _patient_values(truth, params, levels, controls)
    if params.noise:
        _add_noise(values, seed, counter, measured=not estimated and flow != 0.0)
    _bend_pressures(values, levels, params.sensors)
    unread = _OXIMETERS if truth.arterial < OXIMETER_NEEDS else _NOTHING
    fitted = params.sensors - unread if unread else params.sensors
    values = {quantity: value for quantity, value in values.items() if quantity in fitted}
    conditions = _conditions(truth, params, levels)
    if levels.get("console_frozen", 0.0) >= 0.5:
        return _failed(values, before, params)
    return CircuitReadings(values, estimated.intersection(values) if estimated else _NOTHING, conditions)


def _flow_shown(truth: Truth, params: CircuitParameters, levels: Levels) -> tuple[float, frozenset[Q]]:
    lost = levels.get("flow_sensor_off", 0.0) > 0.0
    if not lost and params.flow_sensor:
        return truth.at.flow, _NOTHING
    if lost and params.flow_sensor and params.profile.without_flow_sensor == "zero":
        return 0.0, _NOTHING
    return estimated_flow(params.profile, truth.speed, truth.current), _FLOW_ESTIMATED


def _console_values(truth: Truth, params: CircuitParameters, levels: Levels, flow: float) -> dict[Q, float]:
    return {
        Q.PUMP_SPEED: truth.speed,
        Q.PUMP_FLOW: flow,
        Q.INLET_PRESSURE: truth.at.inlet,
        Q.PRE_OXYGENATOR_PRESSURE: truth.at.pre,
        Q.POST_OXYGENATOR_PRESSURE: truth.at.post,
        Q.MOTOR_CURRENT: truth.current,
        Q.CONSOLE_TEMPERATURE: truth.warmth,
        Q.ON_MAINS: 1.0 if on_mains(levels) else 0.0,
        Q.BATTERY_CHARGE: truth.charge,
        Q.BATTERY_MINUTES: shown_minutes(truth.charge, params, levels, truth.speed),
    }


def _patient_values(truth: Truth, params: CircuitParameters, levels: Levels, controls: Controls) -> dict[Q, float]:
    patient, there = params.patient, truth.there
    pulse = 1000.0 * there.ejected / patient.heart_rate / patient.compliance
    return {
        Q.SWEEP_GAS_FLOW: controls.sweep * (1.0 - levels.get("sweep_lost", 0.0)),
        Q.FDO2: controls.fdo2,
        Q.BLOOD_TEMPERATURE: truth.temperature,
        Q.MEAN_ARTERIAL_PRESSURE: max(0.0, truth.arterial),
        Q.SYSTOLIC_PRESSURE: max(0.0, truth.arterial + pulse * 2.0 / 3.0),
        Q.DIASTOLIC_PRESSURE: max(0.0, truth.arterial - pulse / 3.0),
        Q.PULSE_PRESSURE: pulse,
        Q.CENTRAL_VENOUS_PRESSURE: there.atrial,
        Q.LEFT_ATRIAL_PRESSURE: there.left_atrial,
        Q.PA_MEAN_PRESSURE: there.pulmonary,
        Q.PA_DIASTOLIC_PRESSURE: there.left_atrial + 0.35 * (there.pulmonary - there.left_atrial),
        Q.HEART_RATE: patient.heart_rate,
        Q.SPO2_RIGHT_HAND: truth.saturations.right_hand,
        Q.SPO2_FOOT: truth.saturations.foot,
        Q.SVO2: truth.saturations.venous,
    }


def _add_noise(values: dict[Q, float], seed: int, counter: int, measured: bool) -> None:
    flow, inlet = gauss_pair(seed, counter)
    pre, post = gauss_pair(seed, counter + 2)
    arterial, _ = gauss_pair(seed, counter + 4)
    values[Q.PUMP_FLOW] += FLOW_SD * flow if measured else 0.0
    values[Q.INLET_PRESSURE] += INLET_SD * inlet
    values[Q.PRE_OXYGENATOR_PRESSURE] += OUTLET_SD * pre
    values[Q.POST_OXYGENATOR_PRESSURE] += OUTLET_SD * post
    values[Q.MEAN_ARTERIAL_PRESSURE] = max(0.0, values[Q.MEAN_ARTERIAL_PRESSURE] + ARTERIAL_SD * arterial)


def _bend_pressures(values: dict[Q, float], levels: Levels, sensors: frozenset[Q]) -> None:
    """Put one pressure off its zero where its sensor is at fault, and stop all at the ends of their range."""
    odd = levels.get("pressure_sensor_fault", 0.0)
    if odd > 0.0:
        which = Q.INLET_PRESSURE if Q.INLET_PRESSURE in sensors else Q.POST_OXYGENATOR_PRESSURE
        values[which] += SENSOR_OFFSET * odd
    for quantity, low, high in TRANSDUCERS:
        values[quantity] = min(high, max(low, values[quantity]))


def _conditions(truth: Truth, params: CircuitParameters, levels: Levels) -> frozenset[Condition]:
    found: set[Condition] = set()
    if truth.warmth > params.profile.hot_above:
        found.add(Condition.HOT)
    if packs_in(params, levels) < params.profile.packs:
        found.add(Condition.PACKS_OUT)
    if params.self_test_failed:
        found.add(Condition.SELF_TEST_FAILED)
    return frozenset(found)


def _failed(values: dict[Q, float], before: CircuitReadings, params: CircuitParameters) -> CircuitReadings:
    """The console's computer has failed: its values stay as they were, or are gone; the monitor's live on."""
    living = {quantity: value for quantity, value in values.items() if quantity not in OF_CONSOLE}
    if params.profile.failed_display == "blank":
        return CircuitReadings(living)
    kept = {quantity: value for quantity, value in before.values.items() if quantity in OF_CONSOLE}
    return CircuitReadings(living | kept, before.estimated, before.conditions)
