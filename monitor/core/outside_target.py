"""What counts as outside target: the width around what is ordered, for the minutes that rounds ask of first."""

from pydantic import Field

from monitor.core.model import Frozen
from shared.mark import Mark


class OutsideTarget(Frozen):
    """A minute is outside when its median is beyond these.

    Attributes:
        flow_share: flow further from its target than this share of it, either way.
        map_by: mean arterial pressure further from its target than this, mmHg, either way.
        spo2_by: SpO2 of the right hand below its target by more than this, %.
        inlet_below: inlet pressure below this, mmHg: common practice, no source.
        inlet_deep: and far below, mmHg, counted over 24 h beside the signs of haemolysis.
    """

    flow_share: float = Field(default=0.10, gt=0, le=1)
    map_by: float = Field(default=10, gt=0, le=100)
    spo2_by: float = Field(default=2, ge=0, le=20)
    inlet_below: float = Field(default=-80, ge=-400, le=0)
    inlet_deep: float = Field(default=-100, ge=-400, le=0)
    mark: Mark = Mark.DEFAULT
