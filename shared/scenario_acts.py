"""What people do in a scenario: one table of which act carries which fields."""

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType
from typing import Annotated, Literal

from pydantic import Field, model_validator

from shared.messages import BedLabel, Name
from shared.quantities import Quantity
from shared.scenario_parts import ActKind, Part, Reason, Rung, Slot, Time
from shared.support import Support

Minutes = Annotated[float, Field(gt=0, le=1440)]


@dataclass(frozen=True, slots=True)
class ActFields:
    """Which fields an act must and may carry besides ``at``, ``by`` and ``do``."""

    must: tuple[str, ...] = ("bed",)
    may: tuple[str, ...] = ()


_ANSWER = ActFields(may=("reason", "told_to", "where", "eta"))

ACT_FIELDS: Mapping[str, ActFields] = MappingProxyType(
    {
        "seen": _ANSWER,
        "take": _ANSWER,
        "decline": _ANSWER,
        "advise": _ANSWER,
        "renew": _ANSWER,
        "order": ActFields(("bed", "quantity", "value"), ("slot", "reason")),
        "care_marker": ActFields(("bed", "minutes"), ("reason",)),
        "transport_start": ActFields(("bed", "leader", "back"), ("cylinder_minutes",)),
        "transport_end": ActFields(("bed",)),
        "trial_start": ActFields(("bed", "until"), ("kind", "floor_flow", "second", "slot", "reason")),
        "trial_end": ActFields(("bed",), ("slot",)),
        "exchange": ActFields(("bed", "device"), ("slot", "reason")),
        "limit": ActFields(("bed", "rule", "value", "until"), ("second", "slot", "reason")),
        "audio_pause": ActFields(("bed", "minutes"), ("reason",)),
        "roster": ActFields(("rung", "person"), ("bed",)),
        "help": ActFields(("bed", "what"), ("slot",)),
        "run_start": ActFields(("bed",), ("slot", "support", "profile", "target_flow")),
        "run_end": ActFields(("bed",), ("slot", "reason")),
        "return_check": ActFields(("bed",)),
        "accept": ActFields((), ("told_to",)),
    }
)
_COMMON = frozenset({"at", "by", "do"})


class Act(Part):
    """One thing that ``by`` does at ``at`` seconds. Fields that its kind does not carry are ``None``.

    ``minutes`` and ``eta`` are minutes; ``until``, ``back`` are seconds from the start; ``value`` and
    ``floor_flow`` are in catalogue units. ``told_to`` is who writes a take down for ``by``.
    """

    at: Time
    by: Name
    do: ActKind
    bed: BedLabel | None = None
    slot: Slot | None = None
    reason: Reason | None = None
    told_to: Name | None = None
    where: Literal["at_bed", "going", "phone"] | None = None
    eta: Annotated[float, Field(gt=0, le=60)] | None = None
    quantity: Quantity | None = None
    value: float | None = None
    minutes: Minutes | None = None
    leader: Name | None = None
    back: Time | None = None
    cylinder_minutes: Minutes | None = None
    kind: Literal["turn_down", "retrograde", "sweep_off", "clamp"] | None = None
    floor_flow: Annotated[float, Field(ge=0, le=10)] | None = None
    until: Time | None = None
    second: Name | None = None
    device: Literal["pump_head", "oxygenator", "tubing", "console"] | None = None
    rule: Annotated[str, Field(pattern=r"^[a-z][a-z0-9_]{0,39}$")] | None = None
    rung: Rung | None = None
    person: Annotated[str, Field(max_length=40, pattern=r"^[A-Za-z0-9._-]*$")] | None = None
    what: Literal["air", "line_out", "bleeding", "pump_noise", "gas_lost", "other"] | None = None
    support: Support | None = None
    profile: Annotated[str, Field(min_length=1, max_length=40)] | None = None
    target_flow: Annotated[float, Field(gt=0, le=10)] | None = None

    @model_validator(mode="after")
    def _carries_its_fields(self) -> "Act":
        fields = ACT_FIELDS[self.do]
        given = self.model_fields_set - _COMMON
        absent = [name for name in fields.must if name not in given]
        if absent:
            raise ValueError(f'an act "{self.do}" needs {", ".join(absent)}')
        stray = sorted(given - set(fields.must) - set(fields.may))
        if stray:
            allowed = ", ".join((*fields.must, *fields.may))
            raise ValueError(f'an act "{self.do}" carries no {", ".join(stray)}; it may carry {allowed}')
        if self.do == "roster" and self.rung == 1 and self.bed is None:
            raise ValueError("a roster act on rung 1 names the bed")
        return self
