"""How long battery and cylinder last, and whether that is enough for a trip."""

from monitor.core.model import Frozen
from shared.instant import Instant


class SupplyView(Frozen):
    """Battery or cylinder: minutes from ``at`` on, ``None`` where not known; ``source``: where that is from."""

    minutes: float | None = None
    at: Instant | None = None
    source: str = ""


class PowerView(Frozen):
    """Battery and gas of a run.

    Attributes:
        on_mains: ``None`` where not known.
        fails_now: the line that says how long both last if mains and wall gas fail now.
        packs: how many battery packs are in, where known.
    """

    on_mains: bool | None = None
    battery: SupplyView
    gas: SupplyView | None = None
    packs: int | None = None
    fails_now: str = ""
