"""A ward in which something is due at several beds, some of it late; for desks of tests. All invented."""

from typing import Any

from monitor.core.grades import Priority
from monitor.core.view import DueKind as D
from monitor.core.view import DueView, EventView, LookView, OwnLimitView, RoundView, TileView
from monitor.desk.store import Store
from shared.instant import HOUR, MINUTE
from shared.messages import Origin, RoundKind
from shared.quantities import Quantity as Q
from tests.helpers.menu import LOW_FLOW, VERY_LOW
from tests.helpers.views import NOW, episode, filled, run, tile, unit

DUE = (
    DueView(bed="B3", slot=1, kind=D.READING, at=NOW - 125 * MINUTE, words="Reading overdue", late=True),
    DueView(bed="B2", slot=1, kind=D.ROUND, at=NOW - 80 * MINUTE, words="Safety walk", late=True),
    DueView(bed="B2", slot=1, kind=D.DRAW, at=NOW - 35 * MINUTE, words="ACT to be drawn", late=True),
    DueView(bed="B5", kind=D.EVENT, at=NOW - 12 * MINUTE, words="CT"),
    DueView(bed="B6", slot=1, kind=D.NO_FEED, at=NOW - 5 * MINUTE, words="No readings from the feed", late=True),
    DueView(bed="B8", slot=2, kind=D.TARGET, at=NOW - 3 * MINUTE, words="No target for the flow is set"),
    DueView(bed="B1", slot=1, kind=D.ROUND, at=NOW - MINUTE // 2, words="Hourly round"),
    DueView(bed="B6", slot=1, kind=D.GAP, at=NOW - 6 * HOUR, words="No reading 08:31 to 08:44"),
    DueView(bed="B3", slot=1, kind=D.SET, at=NOW - 5 * HOUR,
            words="Set of 08:10 entered late and corrected by Nurse 3"),
)  # fmt: skip


def walked(done: int | None, due: int, kind: RoundKind = RoundKind.HOURLY, by: str = "nurse-7") -> RoundView:
    """A round that was done and is due so many minutes ago; before 0: in so many."""
    at = None if done is None else NOW - done * MINUTE
    return RoundView(kind=kind, done_at=at, by=None if done is None else by, due_at=NOW - due * MINUTE)


def ward() -> tuple[TileView, ...]:
    """Eight beds: quiet ones, one with everything, one by hand, one silent, one with two runs, an empty one."""
    usual = run().model_copy(update={"rounds": (walked(30, -30),)})
    own = OwnLimitView(value=-90.0, by="perfusionist", since=NOW - HOUR, until=NOW + 3 * HOUR, reason="Ordered")
    full: dict[str, Any] = {
        "settable": (LOW_FLOW, VERY_LOW.model_copy(update={"own": own})),
        "limits": {
            Q.PUMP_FLOW: (3.57, None),
            Q.INLET_PRESSURE: (-90.0, None),
            Q.MEAN_ARTERIAL_PRESSURE: (72.0, 90.0),
        },
        "rounds": (walked(95, 35), walked(None, 80, RoundKind.SAFETY_WALK), walked(200, -40, RoundKind.PERFUSION)),
        "findings": {"Clots: pump head, oxygenator, connectors": "fibrin at the outlet connector"},
    }
    events = (
        EventView(number=1, at=NOW - 12 * MINUTE, what="CT", by="charge"),
        EventView(number=2, at=NOW + 20 * HOUR, what="Weaning trial", by="intensivist"),
    )
    looked = LookView(by="charge", at=NOW - 20 * MINUTE)
    alerts = (
        episode("Flow 2.2, limit 2.5", Priority.HIGH),
        episode("Limits not set: no target", Priority.LOW, over=True),
    )
    return (
        tile("B1", (usual,), looked=looked),
        tile("B2", (run().model_copy(update=full),), nurse="nurse-2", episodes=alerts,
             looked=LookView(by="nurse-2", at=NOW - 100 * MINUTE), judged=24, not_watched=("Post-oxy P", "SvO₂")),
        tile("B3", (usual,), nurse="nurse-3", origin=Origin.ENTERED, interval_s=3600.0, stale=True, judged=0,
             last_reading_at=NOW - 125 * MINUTE, stale_after_s=4500.0),
        tile("B4", (), nurse=None),
        tile("B5", (usual,), events=events, looked=looked),
        tile("B6", (usual,), stale=True, judged=0, last_reading_at=NOW - 5 * MINUTE),
        tile("B7", (usual,)),
        tile("B8", (usual, run(slot=2).model_copy(update={"targets": {}})), looked=looked),
    )  # fmt: skip


def due_store(**more: Any) -> Store:
    """A live store of that ward."""
    tiles = ward()
    return filled(tiles, the_unit=unit([one.bed for one in tiles], **({"due": DUE} | more)))
