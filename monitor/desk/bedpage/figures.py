"""The numbers that matter for a support type: each with unit, age, kind, target and limit. Pure."""

from collections.abc import Iterator
from dataclasses import dataclass

from monitor.core.point_marks import MEASURED, UNSURE_WORDS, Marks
from monitor.core.view import RunView, TileView
from monitor.desk import words
from monitor.desk.readings import Latest
from monitor.desk.store import Store
from monitor.desk.tile.content import is_fitted, label_of
from monitor.desk.tile.moment import Moment
from shared.derived import LEAST_FLOW, LEAST_SPEED
from shared.instant import SECOND
from shared.language.saying import say, to_say
from shared.messages import Origin
from shared.quantities import CATALOGUE
from shared.quantities import Quantity as Q

_CIRCUIT = (
    Q.PUMP_FLOW,
    Q.PUMP_SPEED,
    Q.SPEED_YIELD,
    Q.INLET_PRESSURE,
    Q.PRE_OXYGENATOR_PRESSURE,
    Q.POST_OXYGENATOR_PRESSURE,
    Q.OXYGENATOR_PRESSURE_DROP,
    Q.OXYGENATOR_RESISTANCE,
)
_PATIENT = (
    Q.MEAN_ARTERIAL_PRESSURE,
    Q.PULSE_PRESSURE,
    Q.CENTRAL_VENOUS_PRESSURE,
    Q.LEFT_ATRIAL_PRESSURE,
    Q.PA_MEAN_PRESSURE,
    Q.PA_DIASTOLIC_PRESSURE,
    Q.SPO2_RIGHT_HAND,
    Q.SVO2,
    Q.SWEEP_GAS_FLOW,
    Q.FDO2,
    Q.BLOOD_TEMPERATURE,
    Q.SPO2_FOOT,
    Q.MOTOR_CURRENT,
    Q.HAEMOGLOBIN,
    Q.LACTATE,
    Q.POST_OXYGENATOR_PO2,
)
_ORDER = (*_CIRCUIT, *_PATIENT, Q.BATTERY_CHARGE, Q.BATTERY_MINUTES)
_COMPUTED = {
    Q.SPEED_YIELD: (Q.PUMP_FLOW, Q.PUMP_SPEED),
    Q.OXYGENATOR_PRESSURE_DROP: (Q.PRE_OXYGENATOR_PRESSURE, Q.POST_OXYGENATOR_PRESSURE),
    Q.OXYGENATOR_RESISTANCE: (Q.PRE_OXYGENATOR_PRESSURE, Q.POST_OXYGENATOR_PRESSURE, Q.PUMP_FLOW),
}
#: Entered now and then: shown whenever they were ever entered, with their age.
_LABORATORY = frozenset({Q.HAEMOGLOBIN, Q.LACTATE, Q.POST_OXYGENATOR_PO2})
#: What a page that has blood and the minutes of the battery beside the numbers does not say twice.
BESIDES = _LABORATORY | {Q.BATTERY_CHARGE, Q.BATTERY_MINUTES}
#: What a narrow column calls a computed quantity.
SHORT = {Q.OXYGENATOR_RESISTANCE: to_say("Oxy ΔP / flow"), Q.SPEED_YIELD: to_say("Flow/1 000 rpm")}
LOST = "--"


@dataclass(frozen=True, slots=True)
class Figure:
    """One row. ``kind``: measured says nothing; else doubtful, unchecked, estimated, computed or by hand.

    ``old``: in bold, stale; ``was``: what it was then. ``unsure``: the marks for which it is not plainly true,
    drawn beside the value.
    """

    label: str
    value: str
    unit: str
    target: str
    limit: str
    kind: str
    age: str
    old: bool = False
    unsure: Marks = MEASURED
    was: str = ""


def figures_of(
    tile: TileView, run: RunView, store: Store, moment: Moment, *, besides: frozenset[Q] = frozenset()
) -> tuple[Figure, ...]:
    """Give the rows of a run, top to bottom. What is not fitted is not there; what is lost is ``--``.

    ``besides``: what the page shows elsewhere at the same time.
    """
    return tuple(_rows(tile, run, store, moment, besides))


def _rows(tile: TileView, run: RunView, store: Store, moment: Moment, besides: frozenset[Q]) -> Iterator[Figure]:
    slot = run.description.slot
    for quantity in _ORDER:
        if quantity in _COMPUTED:
            if all(is_fitted(run, part) for part in _COMPUTED[quantity]):
                yield _computed(tile, run, quantity, store, moment)
            continue
        if quantity in besides:
            continue
        latest = store.readings.latest(tile.bed, slot, quantity)
        if is_fitted(run, quantity) or (quantity in _LABORATORY and latest is not None):
            yield _figure(tile, run, quantity, latest, moment)


def _figure(tile: TileView, run: RunView, quantity: Q, latest: Latest | None, moment: Moment) -> Figure:
    spec = CATALOGUE[quantity]
    label, unit = label_of(quantity, run), spec.unit
    target = run.targets.get(quantity)
    beside = (words.reading(quantity, target) if target is not None else "", _limit(run, quantity))
    if latest is None or moment.veiled:
        never = say("not entered") if tile.origin is Origin.ENTERED else say("lost")
        return Figure(label, LOST, unit, *beside, "", never if latest is None else say("not live"), True)
    age_ms = moment.second - latest.read_at
    by_hand = tile.origin is Origin.ENTERED or quantity in _LABORATORY
    stale = age_ms >= tile.stale_after_s * SECOND and quantity not in _LABORATORY
    old = age_ms >= tile.age_from_s * SECOND
    kind = _kind(latest, say("estimated") if latest.estimated else say("by hand") if by_hand else "")
    age = words.age(age_ms) if old or by_hand else ""
    if stale:
        was = words.reading(quantity, latest.value)
        at = say("{was} at {hhmm}", was=was, hhmm=words.hhmm(latest.read_at, moment.zone))
        return Figure(label, LOST, unit, *beside, at, words.age(age_ms), True, was=was)
    return Figure(label, words.reading(quantity, latest.value), unit, *beside, kind, age, unsure=latest.unsure)


def _kind(latest: Latest, usual: str) -> str:
    unsure = [say(word) for mark, word in UNSURE_WORDS.items() if mark in latest.marks]
    return " · ".join(part for part in (*unsure, usual) if part)


def _computed(tile: TileView, run: RunView, quantity: Q, store: Store, moment: Moment) -> Figure:
    slot = run.description.slot
    parts = [store.readings.latest(tile.bed, slot, part) for part in _COMPUTED[quantity]]
    spec = CATALOGUE[quantity]
    label = say(SHORT.get(quantity, say(spec.label)))
    value = None if moment.veiled else _value(quantity, parts, moment, tile)
    shown = LOST if value is None else words.reading(quantity, value)
    unsure = MEASURED if value is None else MEASURED.union(*(part.unsure for part in parts if part is not None))
    kind = " · ".join([*(say(word) for mark, word in UNSURE_WORDS.items() if mark in unsure), say("computed")])
    return Figure(label, shown, spec.unit, "", _limit(run, quantity), kind, "", unsure=unsure)


def _value(quantity: Q, parts: list[Latest | None], moment: Moment, tile: TileView) -> float | None:
    """Compute from readings of one and the same time that are still live, or not at all."""
    known = [part for part in parts if part is not None]
    if len(known) < len(parts) or len({part.read_at for part in known}) != 1:
        return None
    if moment.second - known[0].read_at >= tile.stale_after_s * SECOND:
        return None
    values = [part.value for part in known]
    if quantity is Q.OXYGENATOR_PRESSURE_DROP:
        return values[0] - values[1]
    if quantity is Q.OXYGENATOR_RESISTANCE:
        return (values[0] - values[1]) / values[2] if values[2] >= LEAST_FLOW else None
    return values[0] / values[1] * 1000 if values[1] >= LEAST_SPEED else None


def _limit(run: RunView, quantity: Q) -> str:
    low, high = run.limits.get(quantity, (None, None))
    parts = []
    if low is not None:
        parts.append(f"≥ {words.reading(quantity, low)}")
    if high is not None:
        parts.append(f"≤ {words.reading(quantity, high)}")
    return "  ".join(parts)
