"""What a unit says of its laboratory values: how often each is drawn, for how long it serves, what is remarked."""

from types import MappingProxyType
from typing import Annotated

from pydantic import Field

from monitor.core.model import Frozen
from shared.mark import Mark
from shared.quantities import Quantity as Q

#: What is drawn, not measured at the bed all the time, in the order of the page. Assays stay apart: an aPTT, an
#: anti-Xa and an ACT of the same blood disagree, so none stands for another.
LABORATORY = (
    Q.HAEMOGLOBIN,
    Q.HAEMATOCRIT,
    Q.ARTERIAL_PO2,
    Q.PRE_OXYGENATOR_PO2,
    Q.PRE_OXYGENATOR_PCO2,
    Q.POST_OXYGENATOR_PO2,
    Q.POST_OXYGENATOR_PCO2,
    Q.LACTATE,
    Q.PLASMA_FREE_HAEMOGLOBIN,
    Q.LDH,
    Q.PLATELETS,
    Q.ACT,
    Q.APTT,
    Q.APTT_RATIO,
    Q.ANTI_XA,
    Q.FIBRINOGEN,
    Q.D_DIMER,
)

#: The same, to look up in.
DRAWN = frozenset(LABORATORY)

Hours = Annotated[float, Field(gt=0, le=168)]

_EVERY = MappingProxyType(
    {
        Q.ACT: 2.0,
        Q.APTT: 6.0,
        Q.APTT_RATIO: 6.0,
        Q.ANTI_XA: 6.0,
        Q.ARTERIAL_PO2: 6.0,
        Q.HAEMOGLOBIN: 12.0,
        Q.PLATELETS: 12.0,
        Q.FIBRINOGEN: 12.0,
        Q.POST_OXYGENATOR_PO2: 24.0,
        Q.PLASMA_FREE_HAEMOGLOBIN: 24.0,
        Q.LDH: 24.0,
        Q.D_DIMER: 24.0,
    }
)
_USABLE = MappingProxyType({Q.HAEMOGLOBIN: 12.0, Q.ARTERIAL_PO2: 6.0, Q.POST_OXYGENATOR_PO2: 6.0})
_ABOVE = MappingProxyType({Q.PLASMA_FREE_HAEMOGLOBIN: 500.0, Q.LDH: 1000.0, Q.D_DIMER: 25.0})
_BELOW = MappingProxyType({Q.PLATELETS: 50.0, Q.FIBRINOGEN: 2.0})


class Laboratory(Frozen):
    """Laboratory values.

    Attributes:
        every_h: hours between two draws; a quantity that is left out is never due.
        overdue_min: minutes after that from which the next draw is overdue.
        usable_h: no older than this may a value go into a computation with what is measured now.
        notice_above, notice_below: remarkable beyond this, in words beside the value; never an alert. From Lubnow
            2014, PLoS One 9:e112316, Table 6; free haemoglobin also Appelt 2020, PLoS One 15:e0227793.
        mark: of the hours: common practice, no source.
        notice_mark: of what is remarkable.
    """

    every_h: dict[Q, Hours] = dict(_EVERY)
    overdue_min: float = Field(default=30, ge=0, le=1440)
    usable_h: dict[Q, Hours] = dict(_USABLE)
    notice_above: dict[Q, float] = dict(_ABOVE)
    notice_below: dict[Q, float] = dict(_BELOW)
    mark: Mark = Mark.COMMON_PRACTICE
    notice_mark: Mark = Mark.PUBLISHED

    def usable(self, quantity: Q) -> float:
        """Give how many hours a value may go into a computation."""
        return self.usable_h.get(quantity, _USABLE.get(quantity, 6.0))
