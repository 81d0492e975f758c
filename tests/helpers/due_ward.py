"""A ward in which something is due at several beds, some of it late; for desks of tests. All invented."""

from typing import Any

from monitor.core.cards import BedCard, CardFigures, CardRow
from monitor.core.grades import Priority
from monitor.core.view import DueKind as D
from monitor.core.view import DueView, EventView, LookView, OwnLimitView, RoundView, TileView
from monitor.desk.store import Store
from shared.instant import HOUR, MINUTE
from shared.messages import Origin, RoundKind
from shared.quantities import CATALOGUE
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


def row(quantity: Q, *values: float | None, **more: Any) -> CardRow:
    """A row of a card: lowest, median, highest, change."""
    low, median, high, change = values
    spec = CATALOGUE[quantity]
    return CardRow(slot=1, quantity=quantity, label=spec.label, unit=spec.unit, low=low, median=median, high=high,
                   change=change, **more)  # fmt: skip


def card_of(tile: TileView, **more: Any) -> BedCard:
    """The hub's figures of a bed."""
    counted = {"outside": 34, "judged": 702, "not_judged": 3, "no_reading": 15, "has_target": True}
    rows = (
        row(Q.PUMP_FLOW, 2.1, 4.1, 4.4, -0.52, **counted),
        row(Q.PUMP_SPEED, 3300, 3480, 3520, 180.0),
        row(Q.INLET_PRESSURE, -104, -62, -41, -12.0, **(counted | {"outside": 4})),
        row(Q.MEAN_ARTERIAL_PRESSURE, 51, 70, 84, 0.2, **counted),
        row(Q.SPO2_RIGHT_HAND, None, None, None, None, outside=0, judged=0, not_judged=0, no_reading=720),
        row(Q.SVO2, 58, 66, 71, -5.0),
    )
    fields: dict[str, Any] = {
        "changes": ("Target Flow 4.0 → 4.2 L/min", "New oxygenator", "Flow 4.5 → 3.9 L/min", "SvO₂ 70 → 65 %"),
        "open": (
            "High: Flow 2.2, limit 2.5, since 14:28",
            "Medium: Drain P −97, limit −90, ended, not seen: 3 times, 09:12 to 11:50",
            "Trial sweep-off, since 24 Dec 11:00",
        ),
        "alerts": (
            "high 2 · medium 5 · low 1; episodes: 2 high, 4 medium",
            "Of 7 to answer: seen 6, median 1:02 min, longest 4:10 min",
            "Not answered: 1; longest without an answer 3:10 min",
        ),
        "rows": rows,
    }  # fmt: skip
    return BedCard(bed=tile.bed, runs=tuple(one.description.run_id for one in tile.runs), **(fields | more))


def figures() -> CardFigures:
    """The figures of all beds of the ward."""
    beds = tuple(card_of(one, **({} if one.runs else {"rows": ()})) for one in ward())
    return CardFigures(
        begin=NOW - 12 * HOUR, end=NOW - MINUTE, beds=beds, open=("Medium: Surgeon: nobody, since 12:00",)
    )
