"""Simulated beds for what is learned of flow and current, and how often it is right: measured on seeded noise.

    python -m tests.helpers.flow_beds          # prints the table; about two minutes

The circuit's readings carry the noise of the scenarios; the current, which the circuit gives without any, gets one
of its own. "Slow" adds to the medians of minutes a noise that stays alike for 20 min (first order): 0.03 L/min,
1 mmHg, 0.008 A. What an interval must hold is the flow that the sensor measured in that minute.
"""

import math
import sys
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, field
from random import Random
from statistics import median

from monitor.analysis.flow_model import Contradiction, Estimate, FlowModel, Witness
from monitor.analysis.held_back import long_before
from monitor.analysis.motor_model import CurrentSign, MotorModel, current_sign
from monitor.analysis.seen import Beyond
from monitor.analysis.worked import Worked, WorkedPast
from shared.circuit import BROAD, SMALL, PumpProfile
from shared.circuit.bed import Circuit
from shared.circuit.parameters import CircuitParameters, PatientParameters
from shared.quantities import Quantity as Q
from shared.scenario_parts import FaultKind
from shared.support import Support

#: Standard deviation of a reading of the current, A (chosen here); the scenarios have none.
CURRENT_SD = 0.02
#: Slow noise of a minute's flow, head, drop and current, and for how many minutes it stays alike.
SLOW, SLOW_MINUTES = (0.03, 1.0, 1.0, 0.008), 20.0
#: The numbers of minutes begin somewhere.
FIRST = 29_000_000
HEAD, DROP, CURRENT = (frozenset({one}) for one in (Witness.HEAD, Witness.DROP, Witness.CURRENT))
BOTH = HEAD | CURRENT


class SimulatedBed:
    """A circuit that is read once a second, as medians of minutes.

    Args:
        seed: of patient, noise, and everything that is chosen.
        support, profile: chosen by the seed unless named.
    """

    def __init__(self, seed: int, support: Support | None = None, profile: PumpProfile | None = None) -> None:
        self.rng = Random(seed)
        chosen, pump = self.rng.choice(list(Support)), self.rng.choice([BROAD, SMALL])
        self.params = CircuitParameters.for_support(
            support or chosen, profile or pump, patient=_patient(self.rng), noise=True
        )
        self.circuit = Circuit(self.params, seed)
        self.number = FIRST

    def fault(self, kind: FaultKind, severity: float, over_minutes: float) -> None:
        """Let something go wrong from now on."""
        self.circuit.apply(kind, severity, 60.0 * over_minutes)

    def play(self, factor: float, minutes: int) -> list[Worked]:
        """Turn the speed to a share of the usual one and read for some minutes; the first is not of one speed."""
        self.circuit.order("pump_speed", self.params.profile.nearest_speed(self.params.usual_speed * factor))
        rows = [self._minute() for _ in range(minutes)]
        return rows[1:]

    def _minute(self) -> Worked:
        seconds = [self._second() for _ in range(60)]
        self.number += 1
        speed, flow, head, drop, current = (median(column) for column in zip(*seconds, strict=True))
        return Worked(self.number, speed, flow, head, drop if self.params.oxygenator else None, current)

    def _second(self) -> tuple[float, float, float, float, float]:
        self.circuit.advance(self.circuit.now + 1.0)
        read = self.circuit.observe().values
        after = read[Q.POST_OXYGENATOR_PRESSURE]
        outlet = read.get(Q.PRE_OXYGENATOR_PRESSURE, after)
        current = read[Q.MOTOR_CURRENT] + self.rng.gauss(0.0, CURRENT_SD)
        return read[Q.PUMP_SPEED], read[Q.PUMP_FLOW], outlet - read[Q.INLET_PRESSURE], outlet - after, current


@dataclass(frozen=True, slots=True)
class Course:
    """Minutes that are learned from, and minutes at which the flow is asked for."""

    learned: list[Worked]
    asked: list[Worked]

    def slowly(self, seed: int) -> "Course":
        """The same with slow noise."""
        rows = list(slow_noise([*self.learned, *self.asked], seed))
        return Course(rows[: len(self.learned)], rows[len(self.learned) :])


def of_speeds(seed: int, support: Support | None = None, profile: PumpProfile | None = None) -> Course:
    """Learn at three to five speeds, then ask at five others between them."""
    bed = SimulatedBed(seed, support, profile)
    learned = [1.0, *(bed.rng.uniform(0.85, 1.08) for _ in range(bed.rng.randint(2, 4)))]
    rows = [row for factor in learned for row in bed.play(factor, bed.rng.randint(6, 20))]
    asked = [bed.rng.uniform(min(learned), max(learned)) for _ in range(5)]
    return Course(rows, [row for factor in asked for row in bed.play(factor, 7)])


def of_one_speed(seed: int) -> Course:
    """Learn for over an hour at one speed, then ask at it while something goes on at the patient, or nothing."""
    bed = SimulatedBed(seed)
    rows = bed.play(1.0, bed.rng.randint(65, 90))
    kinds: list[FaultKind] = ["vasoplegia", "hypovolaemia", "outlet_kink", "inlet_kink"]
    kind = bed.rng.choice([*kinds, None])
    if kind is not None:
        bed.fault(kind, bed.rng.uniform(0.05, 0.3), 10.0)
    return Course(rows, bed.play(1.0, 35))


def slow_noise(
    rows: Iterable[Worked], seed: int, sizes: Sequence[float] = SLOW, minutes: float = SLOW_MINUTES
) -> Iterator[Worked]:
    """Add noise that stays alike for some minutes."""
    rng, keeps = Random(seed), math.exp(-1.0 / minutes)
    state = [rng.gauss(0.0, 1.0) for _ in sizes]
    for row in rows:
        state = [keeps * one + math.sqrt(1.0 - keeps**2) * rng.gauss(0.0, 1.0) for one in state]
        flow, head, drop, current = (size * one for size, one in zip(sizes, state, strict=True))
        yield row._replace(
            flow=row.flow + flow,
            head=None if row.head is None else row.head + head,
            drop=None if row.drop is None else row.drop + drop,
            current=None if row.current is None else row.current + current,
        )


@dataclass(slots=True)
class Score:
    """How estimates did: whether each held the measured flow, how far off it was as a share, how wide it was."""

    held: list[bool] = field(default_factory=list)
    off: list[float] = field(default_factory=list)
    wide: list[float] = field(default_factory=list)
    beyond: int = 0
    contradicted: int = 0

    def ask(self, course: Course, witnesses: frozenset[Witness]) -> None:
        """Learn from one course and ask it."""
        past = remembered(course.learned)
        model = FlowModel.learned(past.rows, witnesses, past.noise)
        if model is None:
            return
        for row in course.asked:
            self._count(model.estimate(row), row.flow)

    def _count(self, found: Estimate | Beyond | Contradiction, flow: float) -> None:
        if isinstance(found, Beyond):
            self.beyond += 1
        elif isinstance(found, Contradiction):
            self.contradicted += 1
        else:
            self.held.append(found.low <= flow <= found.high)
            self.off.append(abs(found.flow - flow) / abs(flow))
            self.wide.append(found.high - found.low)

    @property
    def coverage(self) -> float:
        """Share of intervals that held the measured flow."""
        return sum(self.held) / len(self.held)

    def __str__(self) -> str:
        return (
            f"{len(self.held):5} given, {self.beyond:4} beyond, {self.contradicted:3} contradicted: held "
            f"{self.coverage:.3f}, off {100 * median(self.off):.2f} % (most {100 * max(self.off):.1f} %), "
            f"{median(self.wide):.3f} L/min wide"
        )


@dataclass(frozen=True, slots=True)
class Signs:
    """What the current's residual said: how often it was asked, and place and sign where there was one."""

    asked: int
    told: list[tuple[int, CurrentSign]]


def signs_of(rows: Sequence[Worked], every: int = 10, least: int = 60) -> Signs:
    """Remember minutes as a run does and ask for the sign every so many."""
    past, told, asked = WorkedPast(), list[tuple[int, CurrentSign]](), 0
    for place, row in enumerate(rows):
        past.take(row)
        if place % every:
            continue
        known = long_before(past.rows, row.number)
        if len(known) < least:
            continue
        model = MotorModel.learned(known, past.noise)
        assert model is not None
        asked += 1
        sign = current_sign(model, rows[place - 2 : place + 1])
        if sign is not CurrentSign.NONE:
            told.append((place, sign))
    return Signs(asked, told)


def remembered(rows: Iterable[Worked]) -> WorkedPast:
    """Remember minutes as a run does."""
    past = WorkedPast()
    for row in rows:
        past.take(row)
    return past


def resting(minutes: int, seed: int, sd: float, alike_minutes: float) -> list[Worked]:
    """Minutes of a bed at one speed at which nothing happens, with noise of the current that may stay alike."""
    rng = Random(seed)
    rows = [
        Worked(FIRST + n, 3500.0, 4.2 + rng.gauss(0, 0.008), 280.0 + rng.gauss(0, 0.7), None, 0.77)
        for n in range(minutes)
    ]
    if not alike_minutes:
        return [row._replace(current=0.77 + rng.gauss(0, sd)) for row in rows]
    return list(slow_noise(rows, seed, (0.0, 0.0, 0.0, sd), alike_minutes))


def _patient(rng: Random) -> PatientParameters:
    return PatientParameters(
        arterial=rng.uniform(60, 90), atrial=rng.uniform(6, 11), left_atrial=rng.uniform(7, 15),
        total_flow=rng.uniform(5.6, 7.4),
    )  # fmt: skip


def main() -> None:
    """Print the table."""
    write = sys.stdout.write
    for name, make in (("several speeds", of_speeds), ("one speed", of_one_speed)):
        courses = [make(seed) for seed in range(40)]
        for how in ("white", "slow"):
            for witnesses in (BOTH, HEAD, CURRENT, DROP):
                score = Score()
                for seed, course in enumerate(courses):
                    score.ask(course if how == "white" else course.slowly(seed), witnesses)
                write(f"{name}, {how} noise, {' and '.join(sorted(witnesses)):16} {score}\n")
    for sd, alike in ((0.003, 0.0), (0.01, 20.0), (0.02, 20.0), (0.02, 120.0), (0.03, 120.0)):
        signs = [signs_of(resting(1440, seed, sd, alike)) for seed in range(5)]
        told = [sign for one in signs for sign in one.told]
        write(f"current at rest, {sd:g} A alike for {alike:g} min: {len(told)} of ")
        write(f"{sum(one.asked for one in signs)} looks have a sign, in {len(signs)} bed-days\n")


if __name__ == "__main__":
    main()
