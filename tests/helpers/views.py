"""Views for tests of the desk: a bed, an episode, a ladder, and a store filled with them. All invented."""

import math
from collections.abc import Iterable, Mapping
from functools import lru_cache
from typing import Any

from monitor.core.grades import AlertClass, LadderClass, Priority, Rung
from monitor.core.view import (
    AlertView,
    CoverView,
    EpisodeView,
    HolderView,
    LadderView,
    PersonView,
    RungState,
    RungView,
    RunView,
    TileView,
    UnitView,
)
from monitor.core.wire import Beat, Delta, LatestReadings, ReadingsDelta, Snapshot
from monitor.desk.hearing import Heard
from monitor.desk.store import Changes, Store
from shared.instant import HOUR, MINUTE, SECOND, Instant
from shared.messages import Origin
from shared.quantities import Quantity as Q
from shared.support import Support, describe_run

#: 14:32:51 on a day of no importance.
NOW: Instant = 1_767_623_571_000
BOOT = "boot-1"

BASE: Mapping[Q, float] = {
    Q.PUMP_SPEED: 3500,
    Q.PUMP_FLOW: 4.2,
    Q.INLET_PRESSURE: -60,
    Q.PRE_OXYGENATOR_PRESSURE: 220,
    Q.POST_OXYGENATOR_PRESSURE: 190,
    Q.MEAN_ARTERIAL_PRESSURE: 72,
    Q.PULSE_PRESSURE: 25,
    Q.CENTRAL_VENOUS_PRESSURE: 8,
    Q.SPO2_RIGHT_HAND: 97,
    Q.SPO2_FOOT: 97,
    Q.SVO2: 70,
    Q.SWEEP_GAS_FLOW: 3.0,
    Q.FDO2: 80,
    Q.BLOOD_TEMPERATURE: 36.8,
    Q.ON_MAINS: 1,
    Q.BATTERY_CHARGE: 100,
    Q.BATTERY_MINUTES: 60,
    Q.MOTOR_CURRENT: 1.1,
    Q.CONSOLE_TEMPERATURE: 31.0,
    Q.LEFT_ATRIAL_PRESSURE: 11,
    Q.PA_DIASTOLIC_PRESSURE: 16,
    Q.PA_MEAN_PRESSURE: 22,
    Q.HEART_RATE: 84,
}

PEOPLE = (
    PersonView(name="charge", label="Charge 2", role="charge_nurse", in_unit=True, phone="4410"),
    PersonView(name="perfusionist", label="Perfusionist 1", role="perfusionist", in_unit=False, phone="4477"),
    PersonView(name="intensivist", label="Intensivist 1", role="intensivist", in_unit=True, phone="4402"),
    PersonView(name="surgeon", label="Surgeon 3", role="surgeon", in_unit=False, phone="4480"),
    *(
        PersonView(name=f"nurse-{n}", label=f"Nurse {n}", role="bedside_nurse", in_unit=True, phone=f"44{n:02}")
        for n in range(1, 25)
    ),
)
STANDS = {
    Rung.BEDSIDE: "nurse-7",
    Rung.CHARGE: "charge",
    Rung.PERFUSIONIST: "perfusionist",
    Rung.INTENSIVIST: "intensivist",
    Rung.SURGEON: "surgeon",
}


def run(support: Support = Support.VA, slot: int = 1, flow: float = 4.2, **more: Any) -> RunView:
    """A run with a flow target and the shipped inlet limit."""
    days = more.pop("days", 3)
    limits = {Q.PUMP_FLOW: (round(flow * 0.85, 2), None), Q.INLET_PRESSURE: (-100.0, None)}
    return RunView(
        description=describe_run(
            support, f"run-{slot}-{support.value}", slot, started_at=NOW - days * 24 * HOUR, **more
        ),
        targets={Q.PUMP_FLOW: flow, Q.MEAN_ARTERIAL_PRESSURE: 70.0},
        limits={**limits, Q.MEAN_ARTERIAL_PRESSURE: (60.0, 90.0)},
        baseline={},
        order_baseline={},
    )


def alert(title: str = "Flow low", priority: Priority = Priority.MEDIUM, **more: Any) -> AlertView:
    """One present alert on the flow of the first run."""
    fields: dict[str, Any] = {
        "id": 11,
        "rule": "flow_low",
        "title": title,
        "slot": 1,
        "quantity": Q.PUMP_FLOW,
        "priority": priority,
        "alert_class": AlertClass.PHYSIOLOGICAL,
        "circuit_critical": False,
        "patient_side": False,
        "raised_at": NOW - 4 * MINUTE,
        "present": True,
        "listed": True,
        "value": 2.2,
        "limit": 2.5,
        "revision": 1,
    }
    return AlertView(**(fields | more))


def ladder(
    called: int = 1,
    top: int = 5,
    next_in_s: float | None = 34,
    held: bool = False,
    skipped: Iterable[int] = (),
    kind: LadderClass = LadderClass.HIGH_OTHER,
) -> LadderView:
    """A ladder whose first ``called`` rungs were called, the next one due in ``next_in_s``."""
    skipped = set(skipped)
    rungs = []
    upcoming = next((n for n in range(called + 1, top + 1) if n not in skipped), None)
    due = None if held or next_in_s is None or upcoming is None else NOW + round(next_in_s * SECOND)
    for number in range(1, top + 1):
        if number in skipped:
            state, at, person = RungState.SKIPPED, None, None
        elif number <= called:
            state = RungState.HELD if held else RungState.CALLED
            at, person = NOW - (called - number + 1) * MINUTE, STANDS[Rung(number)]
        elif number == upcoming and due is not None:
            state, at, person = RungState.NEXT, due, STANDS[Rung(number)]
        else:
            state, at, person = RungState.EMPTY, None, STANDS[Rung(number)]
        rungs.append(RungView(rung=number, person=person, state=state, at=at))
    return LadderView(
        ladder=kind,
        rungs=tuple(rungs),
        next_rung=upcoming if due is not None else None,
        next_person=STANDS[Rung(upcoming)] if due is not None and upcoming is not None else None,
        next_at=due,
        began=NOW - MINUTE,
        repeats_at=None,
    )


def holder(person: str = "charge", **more: Any) -> HolderView:
    """Somebody who has it."""
    fields: dict[str, Any] = {
        "where": "at_bed",
        "reason": "at_bedside",
        "taken_at": NOW - 2 * MINUTE,
        "until": NOW + 50 * SECOND,
    }
    return HolderView(person=person, **(fields | more))


def episode(
    title: str = "Flow low",
    priority: Priority = Priority.MEDIUM,
    since_s: float = 240,
    alerts: tuple[AlertView, ...] | None = None,
    **more: Any,
) -> EpisodeView:
    """An open episode with one alert. A medium one has a ladder of four rungs, a low one none."""
    technical = more.get("alert_class") is AlertClass.TECHNICAL
    low = priority is Priority.LOW
    top = 3 if technical else (4 if priority is Priority.MEDIUM else 5)
    fields: dict[str, Any] = {
        "id": None if low else 5,
        "lead": 11,
        "priority": priority,
        "alert_class": AlertClass.PHYSIOLOGICAL,
        "circuit_critical": False,
        "title": title,
        "since": NOW - round(since_s * SECOND),
        "revision": 1,
        "over": False,
        "seen_by": (),
        "holder": None,
        "also": (),
        "advising": (),
        "ladder": None if low else ladder(top=top, held=more.get("holder") is not None),
    }
    fields |= more
    if alerts is None:
        alerts = (
            alert(
                title,
                priority,
                alert_class=fields["alert_class"],
                circuit_critical=fields["circuit_critical"],
                present=not fields["over"],
                ended_at=NOW - 34 * MINUTE if fields["over"] else None,
            ),
        )
    return EpisodeView(alerts=alerts, **fields)


def tile(bed: str = "B7", runs: tuple[RunView, ...] | None = None, **more: Any) -> TileView:
    """A quiet bed that is read once a second."""
    fields: dict[str, Any] = {
        "nurse": "nurse-7",
        "origin": Origin.CONSOLE,
        "interval_s": 1.0,
        "last_reading_at": NOW - SECOND,
        "age_from_s": 30.0,
        "stale_after_s": 120.0,
        "stale": False,
        "rules": 31,
        "judged": 31,
        "not_watched": (),
        "episodes": (),
        "notes": (),
    }
    return TileView(bed=bed, runs=(run(),) if runs is None else runs, **(fields | more))


def unit(beds: Iterable[str] = ("B7",), **more: Any) -> UnitView:
    """A unit with every rung covered."""
    beds = tuple(beds)
    fields: dict[str, Any] = {
        "name": "Cardiac support unit",
        "cover": tuple(CoverView(rung=int(rung), person=name) for rung, name in STANDS.items()),
        "deputy": "nurse-2",
        "people": PEOPLE,
        "episodes": (),
        "feeds_live": len(beds),
        "feeds_known": len(beds),
    }
    return UnitView(beds=beds, **(fields | more))


def latest(
    bed: str, slot: int = 1, read_at: Instant = NOW - SECOND, estimated: Iterable[Q] = (), **values: float
) -> LatestReadings:
    """Base readings with some of them changed."""
    wanted = {**BASE, **{Q(name): value for name, value in values.items()}}
    return LatestReadings(
        bed=bed,
        slot=slot,
        values={quantity: (read_at, value) for quantity, value in wanted.items()},
        estimated=frozenset(estimated),
    )


def filled(
    tiles: Iterable[TileView],
    readings: Iterable[LatestReadings] | None = None,
    the_unit: UnitView | None = None,
    monotonic: float = 0.0,
    trends: bool = True,
) -> Store:
    """A live store at `NOW`, with quiet trends of the last two hours behind the readings."""
    tiles = tuple(tiles)
    if readings is None:
        readings = [
            latest(one.bed, run.description.slot, one.last_reading_at or NOW) for one in tiles for run in one.runs
        ]
    readings = tuple(readings)
    store = Store(monotonic)
    snapshot = Snapshot(
        request="r",
        seq=1,
        boot=BOOT,
        hub_time=NOW,
        unit=the_unit or unit([one.bed for one in tiles]),
        tiles=tiles,
        readings=readings,
    )
    store.apply(Heard(monotonic, snapshot), Changes())
    if trends:
        for part in readings:
            _trend(store, part)
    return store


def beat(store: Store, monotonic: float, hub_time: Instant = NOW) -> None:
    """Let the hub say that it lives."""
    hear(store, Beat(seq=1, hub_time=hub_time, boot=BOOT), monotonic)


def hear(store: Store, delta: Delta, monotonic: float = 0.0) -> Changes:
    """Apply one delta."""
    changes = Changes()
    store.apply(Heard(monotonic, delta), changes)
    return changes


def _trend(store: Store, part: LatestReadings) -> None:
    newest = {quantity: value for quantity, (_, value) in part.values.items() if quantity in _WAVES}
    at = max(at for at, _ in part.values.values())
    for delta in _waves(part.bed, part.slot, tuple(newest.items()), at, store.readings.window_ms(part.bed)):
        store.readings.take(delta)


_WAVES = {Q.PUMP_FLOW: 0.04, Q.INLET_PRESSURE: 3.0, Q.MEAN_ARTERIAL_PRESSURE: 1.5, Q.SPO2_RIGHT_HAND: 0.6}


@lru_cache(maxsize=256)
def _waves(
    bed: str, slot: int, values: tuple[tuple[Q, float], ...], newest: Instant, window: int
) -> tuple[ReadingsDelta, ...]:
    """The same for every desk of a test process that shows this bed: they are not made anew."""
    found, at = [], newest - window
    while at < newest:
        turn = at / MINUTE
        wave = math.sin(turn / 3.1 + slot) + 0.6 * math.sin(turn / 1.3) + 0.4 * math.sin(turn * 2.3)
        read = {quantity: value + _WAVES[quantity] * wave for quantity, value in values}
        found.append(ReadingsDelta(boot=BOOT, seq=1, bed=bed, slot=slot, read_at=at, values=read, late=True))
        at += 30 * MINUTE if window > 2 * HOUR else 20 * SECOND
    return tuple(found)
