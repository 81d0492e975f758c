"""How long battery and cylinder last, from where that is known, and whether it is enough for a trip."""

from monitor.core.model import Frozen
from shared.instant import Instant


class SupplyView(Frozen):
    """Battery or cylinder.

    Attributes:
        minutes: left now; ``None``: not known, and then ``source`` says why.
        at_most: counted down from an old reading: it is at most this.
        source: where the minutes are from, in words; ``at``: when that was read or measured.
    """

    minutes: float | None = None
    at_most: bool = False
    source: str
    at: Instant | None = None


class AtSpeedView(Frozen):
    """What the battery would have left if the pump ran at ``speed`` rpm from now on."""

    speed: float
    minutes: float


class TripView(Frozen):
    """A transport that is open: minutes to the planned return, and what each supply should last for that.

    ``battery``, ``gas``: whether it does; ``None``: not known.
    """

    minutes: float
    wanted: float
    battery: bool | None
    gas: bool | None = None


class PowerView(Frozen):
    """Battery and gas of a run.

    Attributes:
        on_mains: ``None`` where not known.
        gas: ``None`` where the run has no oxygenator.
        fails_now: how long both last if mains and wall gas fail now, as one line.
        at_speeds: for speeds above the present one, by the load of ``load_of``; empty where not known.
        load_of: the pump whose load was taken, in words.
        as_new: minutes that ``packs`` new packs would last from this charge at this load: only a comparison.
        times, margin: a supply should last so many times a trip, never less than so many minutes more.
    """

    on_mains: bool | None = None
    battery: SupplyView
    gas: SupplyView | None = None
    fails_now: str = ""
    at_speeds: tuple[AtSpeedView, ...] = ()
    load_of: str = ""
    as_new: float | None = None
    packs: int | None = None
    trip: TripView | None = None
    times: float
    margin: float
