"""Beds and runs as a unit writes them in ``unit.toml``: what hub and entry form both must know of them."""

from typing import Annotated

from pydantic import AwareDatetime, BaseModel, ConfigDict, Field

from shared.instant import SECOND
from shared.messages import BedLabel, Name
from shared.quantities import Quantity
from shared.support import DEFAULT_SENSORS, HEIGHTS, WEIGHTS, RunDescription, Support, describe_run

#: A target of a run, in the unit of its quantity.
Target = Annotated[float, Field(ge=-400, le=12_000)]


class _Written(BaseModel):
    model_config = ConfigDict(frozen=True, extra="forbid", strict=True, allow_inf_nan=False, defer_build=True)


class RunEntry(_Written):
    """A support run as a unit writes it: the usual sensors of its type, with what differs.

    ``fitted_also`` and ``not_fitted`` change the usual sensors; ``sensors`` replaces them. ``started_at``: since
    when the patient is on it; left out: not known, and its devices count as new when it is first known here.
    """

    support: Support
    slot: int = Field(default=1, ge=1, le=2)
    run: Name | None = None
    profile: Name = "broad"
    sensors: frozenset[Quantity] | None = None
    fitted_also: frozenset[Quantity] = frozenset()
    not_fitted: frozenset[Quantity] = frozenset()
    targets: dict[Quantity, Target] = {}
    weight: float | None = Field(default=None, ge=WEIGHTS[0], le=WEIGHTS[1])
    height: float | None = Field(default=None, ge=HEIGHTS[0], le=HEIGHTS[1])
    started_at: AwareDatetime | None = None

    def fitted(self) -> frozenset[Quantity]:
        """Give the sensors that are fitted."""
        usual = DEFAULT_SENSORS[self.support] if self.sensors is None else self.sensors
        return (usual | self.fitted_also) - self.not_fitted

    def described_at(self, label: str) -> RunDescription:
        """Describe the run at its bed. Raises ValidationError where its parts do not fit each other."""
        return describe_run(
            self.support,
            self.run or f"{label}-{self.slot}",
            self.slot,
            self.profile,
            self.fitted(),
            round(self.started_at.timestamp() * SECOND) if self.started_at is not None else None,
            weight=self.weight,
            height=self.height,
        )


class BedEntry(_Written):
    """A bed as a unit writes it. Without a run it is an empty bed: shown, and nothing is watched there."""

    label: BedLabel
    nurse: Name | None = None
    entered_by_hand: bool = False
    note: str = Field(default="", max_length=60)
    runs: tuple[RunEntry, ...] = Field(default=(), max_length=2, alias="run")
