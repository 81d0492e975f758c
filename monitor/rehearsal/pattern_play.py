"""A random course played: the simulated circuit before the real engine, and which hint came first.

The feed reads once a second, with noise. Nobody answers anything.
"""

from dataclasses import dataclass

from monitor.core.engine import Engine
from monitor.core.entries import Entry, EntryKind
from monitor.core.events import Declared, Observed
from monitor.core.unit import Configuration
from monitor.rehearsal.pattern_course import PatternCourse
from monitor.rehearsal.rehearse import BEGIN
from monitor.rehearsal.sources import FEED, Numbered
from monitor.rehearsal.stage import stage_of
from monitor.rehearsal.turns import entries_of, until
from shared.circuit import Circuit, CircuitParameters
from shared.circuit.state import Controls
from shared.instant import SECOND, ms
from shared.messages import BedDeclared, Origin
from shared.quantities import Quantity
from shared.scenario import Scenario, run_of

BED = "B1"
_ALERTS = frozenset({EntryKind.RAISED, EntryKind.FOLDED, EntryKind.PROMOTED})


@dataclass(frozen=True, slots=True)
class Played:
    """What came of a course.

    Attributes:
        truth, fault: letter and kind of the fault; ``early``: hints before it began.
        alerted_s: seconds from the fault to the first alert; ``None``: none came.
        first, second: the first hint, and the first that it says fits too.
        right_s: seconds from the fault to the first hint that is right.
    """

    truth: str
    fault: str | None
    support: str
    profile: str
    severity: float
    number: int
    early: int
    alerted_s: float | None
    first: str | None
    second: str | None
    right_s: float | None


def play(course: PatternCourse, configuration: Configuration) -> Played:
    """Play a course to its end, or until its first hint has turned out right.

    Args:
        configuration: whose limits, ladder, pumps and patterns are used; its unit is not.
    """
    circuit = _circuit(course, configuration)
    target = max(1.0, round(circuit.observe().values.get(Quantity.PUMP_FLOW, 4.2), 1))
    scenario = Scenario(
        title="Random course", minutes=course.seconds / 60, beds=(BED,), noise=True, feed="circuit",
        support=course.support, profile=course.profile, target_flow=target,
    )  # fmt: skip
    stage = stage_of(
        scenario, configuration.limits, configuration.ladder, configuration.pumps, configuration.patterns
    )
    engine = Engine(stage, BEGIN)
    engine.start(BEGIN)
    run = run_of(scenario, BED)
    engine.handle(
        Declared(FEED, (BedDeclared(bed=BED, runs=(run,), interval=1.0, origin=Origin.SIMULATED),)), BEGIN
    )
    seen = _Seen(course)
    numbered = Numbered()
    for second in range(course.seconds + 1):
        now = BEGIN + second * SECOND
        circuit.advance(float(second))
        read = circuit.observe()
        for entry in until(engine, now):
            seen.take(entry)
        observation = numbered.live(BED, 1, now, read.values, read.estimated, read.conditions)
        for entry in entries_of(engine.handle(Observed(observation), now)):
            seen.take(entry)
        if seen.right_s is not None:
            break
    return seen.result()


def _circuit(course: PatternCourse, configuration: Configuration) -> Circuit:
    profile = configuration.pumps[course.profile]
    params = CircuitParameters.for_support(course.support, profile, patient=course.patient, noise=True)
    speed = profile.nearest_speed(params.usual_speed * course.speed_share)
    circuit = Circuit(params, course.seed, controls=Controls(speed, params.sweep, params.fdo2))
    if course.kind is not None:
        circuit.apply(course.kind, course.severity, course.over, course.at)
    return circuit


@dataclass(slots=True)
class _Seen:
    """What of the entries matters."""

    course: PatternCourse
    early: int = 0
    alerted_s: float | None = None
    first: Entry | None = None
    right_s: float | None = None

    def take(self, entry: Entry) -> None:
        after = (entry.at - BEGIN - ms(self.course.at)) / SECOND
        if entry.kind in _ALERTS and after >= 0 and self.alerted_s is None:
            self.alerted_s = after
        if entry.kind is not EntryKind.HINT:
            return
        if after < 0:
            self.early += 1
            return
        self.first = self.first or entry
        if entry.hint == self.course.truth and self.right_s is None:
            self.right_s = after

    def result(self) -> Played:
        course, first = self.course, self.first
        return Played(
            truth=course.truth,
            fault=course.kind,
            support=course.support.value,
            profile=course.profile,
            severity=round(course.severity, 3),
            number=course.number,
            early=self.early,
            alerted_s=self.alerted_s,
            first=first.hint if first else None,
            second=(first.alternatives or (None,))[0] if first else None,
            right_s=self.right_s,
        )
