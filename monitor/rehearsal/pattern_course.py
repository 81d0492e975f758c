"""Random courses for the table of patterns: an invented patient, a pump, one fault of known cause, seeded noise.

Everything follows from seed and number, so a course that went wrong can be played again. Severities, times and
patients are spread wide on purpose (chosen here); how often each cause comes in life is not meant.
"""

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from random import Random
from types import MappingProxyType

from monitor.core.patterns import Patterns
from shared.circuit.parameters import PatientParameters
from shared.scenario_parts import FaultKind
from shared.support import WITH_OXYGENATOR, Support

#: No fault: what hints come all the same.
NO_FAULT = "none"


@dataclass(frozen=True, slots=True)
class _Cause:
    """A fault that stands for a pattern: bounds of its severity, and of the seconds that it takes to come."""

    kind: FaultKind
    severity: tuple[float, float]
    over: tuple[float, float]


_AT_ONCE, _SECONDS, _MINUTES, _SLOW = (0.0, 0.0), (0.0, 5.0), (20.0, 600.0), (120.0, 900.0)

#: What stands for which pattern. J, M and N have no fault in the circuit.
CAUSES: Mapping[str, tuple[_Cause, ...]] = MappingProxyType(
    {
        "A": (
            _Cause("hypovolaemia", (0.3, 0.7), _MINUTES),
            _Cause("inlet_kink", (0.3, 0.8), _SECONDS),
            _Cause("tamponade", (0.4, 0.9), _MINUTES),
        ),
        "B": (_Cause("outlet_kink", (0.35, 0.9), _SECONDS),),
        "C": (_Cause("afterload_rise", (0.4, 1.0), _MINUTES),),
        "D": (_Cause("oxygenator_clot", (0.1, 0.6), _SLOW),),
        "E": (_Cause("pump_thrombosis", (0.3, 1.0), _MINUTES),),
        "F": (_Cause("pump_stop", (1.0, 1.0), _AT_ONCE),),
        "G": (_Cause("flow_sensor_off", (1.0, 1.0), _AT_ONCE),),
        "H": (_Cause("pressure_sensor_fault", (0.55, 1.0), _AT_ONCE),),
        "I": (_Cause("vasoplegia", (0.4, 1.0), _MINUTES),),
        "K": (_Cause("recovery", (0.5, 1.0), _SLOW),),
        "L": (_Cause("sweep_lost", (0.9, 1.0), _SECONDS),),
        "O": (_Cause("return_open", (0.25, 0.8), _SECONDS),),
        "P": (_Cause("air_entrainment", (0.4, 1.0), (0.0, 60.0)),),
        "Q": (_Cause("console_frozen", (1.0, 1.0), _AT_ONCE),),
        NO_FAULT: (),
    }
)
#: The resistance that the vessels of the lungs give is not what these faults change.
_AORTA = frozenset({Support.VA, Support.LA_AO, Support.LV_AO})
_ONLY: Mapping[str, frozenset[Support]] = MappingProxyType(
    {
        "C": _AORTA,
        "D": WITH_OXYGENATOR,
        "K": frozenset({Support.VA}),
        "L": WITH_OXYGENATOR,
    }
)


@dataclass(frozen=True, slots=True)
class PatternCourse:
    """One course.

    Attributes:
        truth: letter of the pattern that the fault stands for, or `NO_FAULT`.
        at, over: when the fault begins and how long it takes to come, s; the course ends ``after`` seconds later.
        speed_share: the speed at the start, as a share of what gives the usual flow.
    """

    number: int
    seed: int
    truth: str
    support: Support
    profile: str
    patient: PatientParameters
    speed_share: float
    kind: FaultKind | None
    severity: float
    at: float
    over: float
    after: float = 720.0

    @property
    def seconds(self) -> int:
        """Length of the course."""
        return math.ceil(self.at + self.over + self.after)


def draw_course(
    seed: int, number: int, supports: Sequence[Support], profiles: Sequence[str], patterns: Patterns
) -> PatternCourse:
    """Draw course ``number``: support types and causes take turns, the rest is chance."""
    chance = Random(f"{seed}/{number}")
    support = supports[number % len(supports)]
    letters = _letters(support, patterns)
    truth = letters[number // len(supports) % len(letters)]
    cause = chance.choice(CAUSES[truth]) if CAUSES[truth] else None
    return PatternCourse(
        number=number,
        seed=chance.randrange(2**31),
        truth=truth,
        support=support,
        profile=chance.choice(profiles),
        patient=_patient(chance),
        speed_share=chance.uniform(0.92, 1.06),
        kind=cause.kind if cause else None,
        severity=chance.uniform(*cause.severity) if cause else 0.0,
        at=660.0 + chance.randrange(120),
        over=_over(chance, *cause.over) if cause else 0.0,
    )


def _letters(support: Support, patterns: Patterns) -> list[str]:
    here = {row.id for row in patterns.here(support, support in WITH_OXYGENATOR)} | {NO_FAULT}
    return [letter for letter in CAUSES if letter in here and support in _ONLY.get(letter, frozenset(Support))]


def _over(chance: Random, least: float, most: float) -> float:
    """Short times as often as long ones."""
    return 0.0 if most == 0.0 else math.exp(chance.uniform(math.log(least + 1.0), math.log(most + 1.0))) - 1.0


def _patient(chance: Random) -> PatientParameters:
    return PatientParameters(
        arterial=chance.uniform(62.0, 84.0),
        atrial=chance.uniform(7.0, 11.0),
        left_atrial=chance.uniform(6.0, 12.0),
        total_flow=chance.uniform(5.8, 7.4),
        venous_resistance=chance.uniform(1.5, 2.1),
        compliance=chance.uniform(1.0, 1.6),
        heart_rate=chance.uniform(65.0, 110.0),
        reflex=chance.uniform(0.6, 1.4),
        lung_saturation=chance.uniform(74.0, 90.0),
        venous_saturation=chance.uniform(64.0, 75.0),
    )
