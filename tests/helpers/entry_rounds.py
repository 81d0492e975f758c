"""Genuine rounds, invented: what a person would read off simulated beds every hour, with noise and slow change.

The circuit gives console and monitor (`shared/circuit`, its own noise); what it holds constant or does not have
(temperature, saturations, laboratory, limbs, urine) wanders about a usual value by steps of a size of ours. A
course of small faults and orders moves a bed over hours without making it unusual. All of it is invented.
"""

import math
import random
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field, replace

from shared.circuit import BROAD, SMALL, Circuit, CircuitParameters, Controls, PatientParameters, PumpProfile
from shared.entry.known import Known
from shared.entry.table import EntryTable, parse_entry_table
from shared.instant import MINUTE, Instant
from shared.quantities import CATALOGUE
from shared.quantities import Quantity as Q
from shared.scenario_parts import FaultKind
from shared.support import DEFAULT_SENSORS, Support, describe_run
from tests.helpers.courses import CONFIG

TABLE: EntryTable = parse_entry_table((CONFIG / "entry.toml").read_text())
#: What wanders: usual value, spread, and how much of a step is kept to the next reading.
WANDERING: Mapping[Q, tuple[float, float, float]] = {
    Q.BLOOD_TEMPERATURE: (36.8, 0.25, 0.8),
    Q.LIMB_NIRS_LEFT: (65, 2.5, 0.7),
    Q.LIMB_NIRS_RIGHT: (64, 2.5, 0.7),
    Q.URINE_OUTPUT: (80, 18, 0.6),
    Q.HEPARIN_RATE: (1000, 20, 0.8),
    Q.PRE_OXYGENATOR_PO2: (40, 2.5, 0.5),
    Q.PRE_OXYGENATOR_PCO2: (45, 2.2, 0.5),
    Q.POST_OXYGENATOR_PO2: (400, 18, 0.5),
    Q.POST_OXYGENATOR_PCO2: (40, 2, 0.5),
    Q.ARTERIAL_PO2: (150, 16, 0.5),
    Q.HAEMOGLOBIN: (95, 3.5, 0.7),
    Q.HAEMATOCRIT: (29, 1.1, 0.7),
    Q.PLATELETS: (150, 12, 0.7),
    Q.FIBRINOGEN: (2.8, 0.2, 0.6),
    Q.PLASMA_FREE_HAEMOGLOBIN: (40, 6, 0.5),
    Q.LDH: (350, 30, 0.6),
    Q.LACTATE: (1.4, 0.2, 0.6),
    Q.ACT: (190, 8, 0.5),
    Q.APTT: (62, 4, 0.6),
    Q.APTT_RATIO: (1.9, 0.12, 0.6),
    Q.ANTI_XA: (0.42, 0.035, 0.6),
    Q.D_DIMER: (6.0, 0.5, 0.7),
}
#: What a monitor's display adds to what the circuit holds: standard deviations.
DISPLAY: Mapping[Q, float] = {
    Q.SPO2_RIGHT_HAND: 0.8,
    Q.SPO2_FOOT: 0.8,
    Q.SVO2: 1.3,
    Q.CENTRAL_VENOUS_PRESSURE: 0.9,
    Q.LEFT_ATRIAL_PRESSURE: 0.9,
    Q.PA_MEAN_PRESSURE: 1.2,
    Q.PA_DIASTOLIC_PRESSURE: 1.2,
    Q.SYSTOLIC_PRESSURE: 2.5,
    Q.DIASTOLIC_PRESSURE: 2.0,
}
#: Faults of a quiet bed: how far each goes at most, as a share of the worst case.
QUIET: Mapping[FaultKind, float] = {
    "hypovolaemia": 0.15,
    "afterload_rise": 0.20,
    "vasoplegia": 0.15,
    "recovery": 0.30,
    "oxygenator_clot": 0.03,
}
KNOBS = {Q.PUMP_SPEED: 100.0, Q.SWEEP_GAS_FLOW: 0.5, Q.FDO2: 5.0}


USUAL = PatientParameters()


@dataclass(frozen=True, slots=True)
class Bed:
    """One simulated bed whose rounds are typed by hand; ``speed`` in rpm above the usual one of its circuit."""

    label: str
    support: Support
    seed: int
    speed: float = 0.0
    patient: PatientParameters = USUAL
    profile: PumpProfile = BROAD

    def known(self) -> Known:
        """Give what is known of it before its first set."""
        run = describe_run(self.support, f"{self.label}-run-1", profile=self.profile.name, sensors=self.sensors())
        return Known(self.label, run, self.profile.speed_max)

    def sensors(self) -> frozenset[Q]:
        """Give what is fitted: the usual, and the limbs on VA."""
        limbs = {Q.LIMB_NIRS_LEFT, Q.LIMB_NIRS_RIGHT} if self.support is Support.VA else set()
        return DEFAULT_SENSORS[self.support] | limbs


@dataclass(frozen=True, slots=True)
class Round:
    """One genuine set: exact texts of what was read, and what was known before it."""

    known: Known
    read_at: Instant
    texts: Mapping[Q, str]
    ordered: frozenset[Q] = frozenset()

    @property
    def values(self) -> dict[Q, float]:
        """The numbers of the texts."""
        return {quantity: float(text) for quantity, text in self.texts.items()}

    @property
    def after(self) -> Known:
        """What is known once it was accepted."""
        return self.known.with_set(self.values, self.read_at)


#: One bed of each support type, two of the commonest, one on the other pump; no two run alike.
BEDS = (
    Bed("B1", Support.VA, 11),
    Bed("B2", Support.VV, 12, speed=300.0),
    Bed("B3", Support.LA_AO, 13, speed=-300.0),
    Bed("B4", Support.RA_PA_OXY, 14, patient=PatientParameters(arterial=66.0, atrial=12.0)),
    Bed("B5", Support.RA_PA, 15, speed=-400.0, patient=PatientParameters(arterial=84.0, atrial=11.0)),
    Bed("B6", Support.LV_AO, 16, speed=200.0, patient=PatientParameters(arterial=64.0)),
    Bed("B7", Support.VA, 17, speed=-400.0, patient=PatientParameters(arterial=82.0), profile=SMALL),
)


@dataclass(slots=True)
class _Wander:
    """Values about a usual one, each keeping a share of the step before."""

    rng: random.Random
    at: dict[Q, float] = field(default_factory=dict)

    def next(self, quantity: Q) -> float:
        usual, spread, kept = WANDERING[quantity]
        old = self.at.get(quantity, self.rng.gauss(0, spread))
        bounded = max(-2.0, min(2.0, self.rng.gauss(0, 1)))
        self.at[quantity] = kept * old + math.sqrt(1 - kept * kept) * spread * bounded
        return usual + self.at[quantity]


def rounds_of(bed: Bed, hours: int, every_min: int = 10) -> list[list[Round]]:
    """Play a bed; give one series of hourly rounds for each ``every_min`` minutes past the hour.

    The series share the bed's slow course; noise, laboratory and everything that wanders are each series' own.
    """
    series = [_Series(bed, number) for number in range(60 // every_min)]
    circuit = _circuit(bed, hours)
    orders = _orders(bed, hours)
    for minute in range(0, hours * 60, every_min):
        while orders and orders[0][0] <= minute:
            _, quantity, by = orders.pop(0)
            circuit.order(quantity, _knob(circuit, quantity) + by)
            for one in series:
                one.ordered.add(quantity)
        circuit.advance(minute * 60)
        series[minute // every_min % len(series)].take(minute * MINUTE, circuit.observe().values)
    return [one.rounds for one in series]


def changes_of(series: list[list[Round]]) -> Iterator[tuple[Q, float]]:
    """Give how much every number of genuine sets differs from the last one of its field."""
    for rounds in series:
        for one in rounds:
            for quantity, value in one.values.items():
                told = one.known.last.get(quantity)
                if told is not None:
                    yield quantity, abs(value - told.value)


class _Series:
    """Hourly rounds at one bed."""

    def __init__(self, bed: Bed, number: int) -> None:
        self.rng = random.Random(bed.seed * 1_000 + number)
        self.wander = _Wander(self.rng)
        self.known = bed.known()
        for one in TABLE.fields_of(self.known.run):  # what the laboratory gave when it was drawn last
            if one.due_min > 60:
                drawn = round(self.wander.next(one.quantity), CATALOGUE[one.quantity].decimals)
                self.known = self.known.with_set({one.quantity: drawn}, -round(one.due_min) * MINUTE)
        self.rounds: list[Round] = []
        self.ordered: set[Q] = set()
        self.flow_decimals = number % 2 + 1

    def take(self, at: Instant, seen: Mapping[Q, float]) -> None:
        texts: dict[Q, str] = {}
        for one in TABLE.fields_of(self.known.run):
            quantity = one.quantity
            told = self.known.last.get(quantity)
            if one.due_min > 60 and told is not None and at - told.read_at < one.due_min * MINUTE:
                continue
            if quantity in WANDERING:
                value = self.wander.next(quantity)
            elif quantity in seen:
                value = seen[quantity] + self.rng.gauss(0, DISPLAY.get(quantity, 0.0))
            else:
                continue
            value = min(max(value, one.refused[0]), one.refused[1])
            digits = self.flow_decimals if quantity is Q.PUMP_FLOW else CATALOGUE[quantity].decimals
            texts[quantity] = (
                f"{value:.{digits}f}".replace("-0", "0") if abs(value) < 0.5 else f"{value:.{digits}f}"
            )
        taken = Round(self.known, at, texts, frozenset(self.ordered))
        self.rounds.append(taken)
        self.known = taken.after
        self.ordered.clear()


def _circuit(bed: Bed, hours: int) -> Circuit:
    patient_sensors = bed.sensors() | {Q.SYSTOLIC_PRESSURE, Q.DIASTOLIC_PRESSURE}
    params = CircuitParameters.for_support(
        bed.support, bed.profile, sensors=patient_sensors, patient=bed.patient, noise=True
    )
    circuit = Circuit(params, bed.seed, controls=Controls(params.usual_speed + bed.speed))
    rng = random.Random(bed.seed)
    for begin in range(1, hours, 3):
        fault = rng.choice(sorted(QUIET))
        if fault == "oxygenator_clot" and params.oxygenator == 0:
            continue
        circuit.apply(fault, QUIET[fault] * rng.uniform(0.3, 1), 5_400, begin * 3_600)
        circuit.apply(fault, 0.0, 3_600, (begin + 2) * 3_600)
    return circuit


def _orders(bed: Bed, hours: int) -> list[tuple[int, Q, float]]:
    rng = random.Random(bed.seed + 500)
    found: list[tuple[int, Q, float]] = []
    for number, minute in enumerate(range(95, hours * 60, 170)):
        knobs = sorted(KNOBS) if bed.known().run.oxygenator else [Q.PUMP_SPEED]
        quantity = knobs[number % len(knobs)]
        found.append((minute, quantity, KNOBS[quantity] * rng.choice((-1, 1))))
    return found


def _knob(circuit: Circuit, quantity: Q) -> float:
    controls = circuit.controls
    return {Q.PUMP_SPEED: controls.speed, Q.SWEEP_GAS_FLOW: controls.sweep, Q.FDO2: controls.fdo2}[quantity]


def shifted(by: int) -> tuple[Bed, ...]:
    """Give the same beds with other seeds: another course, other noise."""
    return tuple(replace(bed, seed=bed.seed + by) for bed in BEDS)


def all_rounds(hours: int = 12, every_min: int = 10, beds: tuple[Bed, ...] = BEDS) -> dict[Bed, list[list[Round]]]:
    """Play all beds."""
    return {bed: rounds_of(bed, hours, every_min) for bed in beds}
