"""Support types, runs and fitted sensors: what is at a bed, and what can therefore be shown or judged.

A bed holds one or two support runs. A run has a type, a side, an oxygenator or none, and the sensors that are
fitted. What is not fitted is never shown: a dash means lost, never absent.
"""

from collections.abc import Mapping
from types import MappingProxyType
from typing import Annotated

from pydantic import BaseModel, ConfigDict, Field, PlainSerializer, model_validator

from shared.language.saying import to_say
from shared.quantities import CATALOGUE
from shared.quantities import Quantity as Q
from shared.word import Word


class Support(Word):
    """How blood is drained and returned."""

    VA = "VA"
    VV = "VV"
    LA_AO = "LA-Ao"
    LV_AO = "LV-Ao"
    RA_PA = "RA-PA"
    RA_PA_OXY = "RA-PA-oxy"


class Side(Word):
    """Which side of the heart a run supports; a VV run supports neither."""

    LEFT = "left"
    RIGHT = "right"
    BOTH = "both"
    NONE = "none"


SUPPORT_LABEL: Mapping[Support, str] = MappingProxyType(
    {
        Support.VA: "VA",
        Support.VV: "VV",
        Support.LA_AO: "LA–Ao",
        Support.LV_AO: "LV–Ao",
        Support.RA_PA: "RA–PA",
        Support.RA_PA_OXY: "RA–PA oxy",
    }
)

SIDE_OF: Mapping[Support, Side] = MappingProxyType(
    {
        Support.VA: Side.BOTH,
        Support.VV: Side.NONE,
        Support.LA_AO: Side.LEFT,
        Support.LV_AO: Side.LEFT,
        Support.RA_PA: Side.RIGHT,
        Support.RA_PA_OXY: Side.RIGHT,
    }
)

WITH_OXYGENATOR = frozenset({Support.VA, Support.VV, Support.RA_PA_OXY})

_CONSOLE = frozenset(
    {
        Q.PUMP_SPEED,
        Q.PUMP_FLOW,
        Q.MOTOR_CURRENT,
        Q.CONSOLE_TEMPERATURE,
        Q.ON_MAINS,
        Q.BATTERY_CHARGE,
        Q.BATTERY_MINUTES,
    }
)
_PRESSURES = frozenset({Q.INLET_PRESSURE, Q.POST_OXYGENATOR_PRESSURE})
_OXYGENATOR = frozenset({Q.PRE_OXYGENATOR_PRESSURE, Q.SWEEP_GAS_FLOW, Q.FDO2})
_PATIENT = frozenset({Q.MEAN_ARTERIAL_PRESSURE, Q.CENTRAL_VENOUS_PRESSURE, Q.SPO2_RIGHT_HAND, Q.BLOOD_TEMPERATURE})
_PULSE = frozenset({Q.PULSE_PRESSURE})

#: What is fitted when nobody says otherwise: the base bed of the scenarios for VA, by type for the rest.
DEFAULT_SENSORS: Mapping[Support, frozenset[Q]] = MappingProxyType(
    {
        Support.VA: _CONSOLE | _PRESSURES | _OXYGENATOR | _PATIENT | _PULSE | {Q.SVO2, Q.SPO2_FOOT},
        Support.VV: _CONSOLE | _PRESSURES | _OXYGENATOR | _PATIENT | {Q.SVO2},
        Support.LA_AO: _CONSOLE | _PRESSURES | _PATIENT | _PULSE | {Q.LEFT_ATRIAL_PRESSURE},
        Support.LV_AO: _CONSOLE | _PRESSURES | _PATIENT | _PULSE | {Q.PA_DIASTOLIC_PRESSURE},
        Support.RA_PA: _CONSOLE | _PRESSURES | _PATIENT | {Q.PA_MEAN_PRESSURE, Q.PA_DIASTOLIC_PRESSURE},
        Support.RA_PA_OXY: _CONSOLE
        | _PRESSURES
        | _OXYGENATOR
        | _PATIENT
        | {Q.PA_MEAN_PRESSURE, Q.PA_DIASTOLIC_PRESSURE},
    }
)


#: A set of quantities; written as a sorted list, so that equal messages are equal bytes.
QuantitySet = Annotated[frozenset[Q], PlainSerializer(sorted, return_type=list[Q], when_used="json")]


#: What a patient can weigh (kg) and measure (cm), and how both can go together (kg/m2): beyond these it is a slip.
WEIGHTS, HEIGHTS, MASS_INDEX = (1.0, 400.0), (30.0, 250.0), (5.0, 120.0)


def size_fault(weight: float | None, height: float | None) -> str:
    """Say why weight (kg) and height (cm) cannot be one patient's; empty where they can, or one is not known."""
    if weight is None or height is None:
        return ""
    if MASS_INDEX[0] <= weight / (height / 100) ** 2 <= MASS_INDEX[1]:
        return ""
    return f"{weight:g} kg and {height:g} cm are no patient's size: are they swapped, or in other units?"


class RunDescription(BaseModel):
    """One support run as it is fitted.

    Attributes:
        run_id: name of the run, new with every run; never a person's.
        slot: 1 or 2, its place at the bed.
        support, side: what it supports.
        oxygenator: present in the circuit or not.
        sensors: fitted ones, as quantity ids; never a derived one.
        profile: name of the pump profile.
        started_at: ms since 1970 UTC, or ``None`` where the feed does not know.
        weight, height: of the patient in kg and cm, or ``None`` where nobody wrote them down.
    """

    model_config = ConfigDict(frozen=True, extra="forbid", strict=True, defer_build=True)

    run_id: str = Field(min_length=1, max_length=40, pattern=r"^[A-Za-z0-9._-]+$")
    slot: int = Field(default=1, ge=1, le=2)
    support: Support
    side: Side
    oxygenator: bool
    sensors: QuantitySet
    profile: str = Field(default="broad", max_length=40)
    started_at: int | None = None
    weight: float | None = Field(default=None, ge=WEIGHTS[0], le=WEIGHTS[1])
    height: float | None = Field(default=None, ge=HEIGHTS[0], le=HEIGHTS[1])

    @model_validator(mode="after")
    def _parts_fit(self) -> "RunDescription":
        derived = sorted(q for q in self.sensors if CATALOGUE[q].derived)
        if derived:
            raise ValueError(f"derived quantities cannot be fitted: {', '.join(derived)}")
        if not self.oxygenator and self.sensors & _OXYGENATOR:
            raise ValueError("sensors of an oxygenator are named, but the run has no oxygenator")
        wrong = size_fault(self.weight, self.height)
        if wrong:
            raise ValueError(wrong)
        return self


def describe_run(
    support: Support,
    run_id: str,
    slot: int = 1,
    profile: str = "broad",
    sensors: frozenset[Q] | None = None,
    started_at: int | None = None,
    weight: float | None = None,
    height: float | None = None,
) -> RunDescription:
    """Describe a run with the side, oxygenator and sensors usual for its support type."""
    return RunDescription(
        run_id=run_id,
        slot=slot,
        support=support,
        side=SIDE_OF[support],
        oxygenator=support in WITH_OXYGENATOR,
        sensors=DEFAULT_SENSORS[support] if sensors is None else sensors,
        profile=profile,
        started_at=started_at,
        weight=weight,
        height=height,
    )


def label_at(quantity: Q, run: RunDescription) -> str:
    """Give the word for a quantity at a run: nothing is named after a part that is not fitted."""
    return label_for(quantity, run.support, run.oxygenator)


def label_for(quantity: Q, support: Support, oxygenator: bool) -> str:
    """Give the word for a quantity at a run of a kind."""
    if quantity is Q.POST_OXYGENATOR_PRESSURE and not oxygenator:
        return to_say("Outlet P")
    if quantity is Q.SVO2 and support is Support.VV:
        return to_say("Pre-oxy sat")
    return CATALOGUE[quantity].label
