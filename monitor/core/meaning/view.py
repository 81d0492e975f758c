"""What the numbers of one run mean at one moment: everything the bed page shows beyond readings and alerts."""

from monitor.core.meaning.derived_view import DerivedView
from monitor.core.meaning.flow_view import CurrentView, FlowEstimateView
from monitor.core.meaning.hint_view import HintView
from monitor.core.meaning.labs_view import LabView
from monitor.core.meaning.looked_view import LookedView
from monitor.core.meaning.operating_view import OperatingView, OrderEffectView
from monitor.core.meaning.power_view import PowerView
from monitor.core.meaning.trend_view import ChangeView, TrendView
from monitor.core.model import Frozen
from shared.instant import Instant


class Meaning(Frozen):
    """The meaning of a run's readings at ``at``, the hub's time.

    Attributes:
        derived: in the order of the page. labs: what was drawn, with the times of the draws.
        changes: what changed, in order of onset.
        hints: the likeliest first; none where nothing fits or an input is not fresh.
        not_judged: patterns that this bed cannot judge, each with the reason.
    """

    bed: str
    slot: int
    run_id: str
    at: Instant
    derived: tuple[DerivedView, ...] = ()
    labs: tuple[LabView, ...] = ()
    trends: tuple[TrendView, ...] = ()
    changes: tuple[ChangeView, ...] = ()
    flow_estimate: FlowEstimateView | None = None
    current: CurrentView | None = None
    operating: OperatingView | None = None
    order_effects: tuple[OrderEffectView, ...] = ()
    hints: tuple[HintView, ...] = ()
    not_judged: tuple[str, ...] = ()
    power: PowerView | None = None
    looked: LookedView | None = None
