"""What a sign is about, where it is now: a reading, a drawn value, or one of the table's features.

Each is given with the reading that it rests on, or with why it is not known now or is not fitted here.
"""

from dataclasses import dataclass
from statistics import median

from monitor.analysis.operating import HeadCurve, residual
from monitor.analysis.patterns import Seen
from monitor.core.judging.verdict import DERIVED_FROM
from monitor.core.laboratory import LABORATORY
from monitor.core.meaning.observed import Level, Observed
from monitor.core.patterns import Feature, Sign
from shared.instant import HOUR, Instant
from shared.language.saying import say
from shared.quantities import CATALOGUE
from shared.quantities import Quantity as Q
from shared.support import label_at

#: The pressures that move together; which of them is read behind the pump depends on the circuit.
PRESSURES = (Q.INLET_PRESSURE, Q.PRE_OXYGENATOR_PRESSURE, Q.POST_OXYGENATOR_PRESSURE)
_DRAWN = frozenset(LABORATORY)
_DAY = 24 * HOUR


@dataclass(frozen=True, slots=True)
class Found:
    """What came of looking for a sign.

    Attributes:
        quantity, value, at: the reading that it rests on, in the quantity's unit, if it is one reading.
        why: why it is unknown, or what is not fitted; empty otherwise.
        drawn: it rests on a laboratory value.
    """

    seen: Seen
    quantity: Q | None = None
    value: float | None = None
    at: Instant | None = None
    why: str = ""
    drawn: bool = False


@dataclass(frozen=True, slots=True)
class Subject:
    """A quantity or feature where it is now, with its change (as its row of the table measures it)."""

    quantity: Q | None
    value: float
    at: Instant
    change: float | None
    drawn: bool = False


def subject_of(observed: Observed, sign: Sign) -> Subject | Found:
    """Give what a sign is about, where it is now; or what is found at once: unknown, or not fitted."""
    match sign.of:
        case Feature.HEAD_AGAINST_CURVE:
            return _head(observed, sign.since_run)
        case Feature.POST_OXYGENATOR_RATIO:
            return _ratio(observed)
        case Feature.ONE_PRESSURE:
            return _one_pressure(observed)
    assert isinstance(sign.of, Q)  # console and current for flow have no subject: they are looked for whole
    if sign.of in _DRAWN and observed.owner(sign.of) is None:
        return _drawn(observed, sign.of)
    return read_now(observed, sign.of, sign.since_run)


def read_now(observed: Observed, quantity: Q, since_run: bool) -> Subject | Found:
    """Give a quantity where it is now. ``since_run``: against the run's usual, whatever was ordered since."""
    level = observed.level(quantity, since_run)
    if isinstance(level, Level):
        return Subject(quantity, level.value, level.at, observed.change(quantity, since_run))
    fitted = observed.owner(quantity) is not None
    return Found(
        Seen.UNKNOWN if fitted else Seen.NOT_FITTED, why=level if fitted else _not_fitted(observed, quantity)
    )


def _not_fitted(observed: Observed, quantity: Q) -> str:
    """Name the sensor that is missing; of a derived quantity, those of its parts."""
    parts = [part for part in Q if part in DERIVED_FROM.get(quantity, {quantity})]
    missing = [part for part in parts if observed.owner(part) is None]
    return (
        say("no ")
        + say(", no ").join(label_at(part, observed.run.description) for part in missing)
        + say(" fitted")
    )


def _drawn(observed: Observed, quantity: Q) -> Subject | Found:
    """Take the newest draw while it serves; its change is against the draws of the day before."""
    draws = sorted(draw for run in observed.bed.runs.values() for draw in run.draws.get(quantity, ()))
    settings = observed.source.configuration.unit.laboratory
    serves = max(settings.usable(quantity), settings.every_h.get(quantity, 0.0)) * HOUR
    if not draws or observed.source.now - draws[-1][0] > serves:
        return Found(Seen.UNKNOWN, why=say("no {label} drawn lately", label=CATALOGUE[quantity].label))
    at, value = draws[-1]
    earlier = [before for moment, before in draws[:-1] if at - moment <= _DAY]
    move = observed.moves.get(quantity)
    change = None
    if earlier and move is not None:
        change = Level(value, at, median(earlier)).change(move.share)
    return Subject(quantity, value, at, change, drawn=True)


def _ratio(observed: Observed) -> Subject | Found:
    """Post-oxygenator pO2 over the share of oxygen in the gas that stands now."""
    oxygen = _drawn(observed, Q.POST_OXYGENATOR_PO2)
    gas = read_now(observed, Q.FDO2, since_run=False)
    if isinstance(oxygen, Found) or isinstance(gas, Found):
        return oxygen if isinstance(oxygen, Found) else gas if isinstance(gas, Found) else Found(Seen.UNKNOWN)
    return Subject(None, oxygen.value / (gas.value / 100), oxygen.at, None, drawn=True)


def _head(observed: Observed, since_run: bool) -> Subject | Found:
    """How the measured head lies to the pump's curve, as compared with before."""
    run = observed.run
    profile = observed.source.configuration.pumps.get(run.description.profile)
    outlet = Q.PRE_OXYGENATOR_PRESSURE if run.description.oxygenator else Q.POST_OXYGENATOR_PRESSURE
    needed = (Q.PUMP_SPEED, Q.PUMP_FLOW, outlet, Q.INLET_PRESSURE)
    read = [observed.level(quantity, since_run) for quantity in needed]
    levels = [level for level in read if isinstance(level, Level)]
    if profile is None or len(levels) < len(read):
        fitted = profile is not None and all(observed.owner(quantity) is not None for quantity in needed)
        return Found(Seen.UNKNOWN if fitted else Seen.NOT_FITTED, why=say("head is not known"))

    def beside(speed: float, flow: float, after: float, before: float) -> float:
        return residual(HeadCurve(speed, profile.head_speed_factor, profile.head_flow_factor), flow, after - before)

    usual = [level.usual for level in levels if level.usual is not None]
    now = beside(*(level.value for level in levels))
    change = now - beside(*usual) if len(usual) == len(levels) else None
    return Subject(None, now, min(level.at for level in levels), change)


def _one_pressure(observed: Observed) -> Subject | Found:
    """The pressure that moved while the others did not; with none, the first that is read."""
    here = [quantity for quantity in PRESSURES if observed.owner(quantity) is not None]
    if len(here) < 2:
        return Found(Seen.NOT_FITTED, why=say("no second pressure fitted"))
    read = [read_now(observed, quantity, since_run=False) for quantity in here]
    subjects = [one for one in read if isinstance(one, Subject)]
    if len(subjects) < len(here):
        return next(one for one in read if isinstance(one, Found))
    moved = [one for one in subjects if one.quantity is not None and observed.moved(one.quantity)]
    return moved[0] if moved else subjects[0]
