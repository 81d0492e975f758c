"""Looking for the signs of a pattern: for each word of the table, what must be seen for it to be there.

A sign is present, absent, unknown or without its sensor; unknown says why, in words. With each sign goes the
reading that it rests on and its age.
"""

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from statistics import median
from types import MappingProxyType

from monitor.analysis.operating import HeadCurve, residual
from monitor.analysis.patterns import Seen
from monitor.core.hint_state import Stand
from monitor.core.judging.verdict import DERIVED_FROM, fitted
from monitor.core.laboratory import LABORATORY
from monitor.core.meaning.current import current_sign_of
from monitor.core.meaning.observed import Level, Observed
from monitor.core.patterns import Feature, Is, Move, Sign
from shared.instant import HOUR, Instant, ms
from shared.quantities import CATALOGUE, Scope
from shared.quantities import Quantity as Q

#: The pressures that move together; which of them is read behind the pump depends on the circuit.
PRESSURES = (Q.INLET_PRESSURE, Q.PRE_OXYGENATOR_PRESSURE, Q.POST_OXYGENATOR_PRESSURE)
#: What the pump's console shows; sweep and gas are read elsewhere.
OF_CONSOLE = frozenset(
    {Q.PUMP_SPEED, Q.PUMP_FLOW, *PRESSURES, Q.MOTOR_CURRENT, Q.CONSOLE_TEMPERATURE, Q.ON_MAINS, Q.BATTERY_CHARGE}
)
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
class _Subject:
    """A quantity or feature where it is now, with its change (as its row of the table measures it)."""

    quantity: Q | None
    value: float
    at: Instant
    change: float | None
    drawn: bool = False


def look_for(observed: Observed, sign: Sign) -> Found:
    """Look for one sign at a run."""
    if sign.of is Feature.CONSOLE:
        silent = Is.LOST in sign.is_ and _console_gone(observed)
        return Found(Seen.PRESENT if observed.still or silent else Seen.ABSENT)
    if sign.of is Feature.CURRENT_FOR_FLOW:
        return _current_for_flow(observed, sign)
    if Is.LOST in sign.is_ and isinstance(sign.of, Q) and (lost := _lost(observed, sign.of)) is not None:
        return lost
    subject = _subject(observed, sign)
    if isinstance(subject, Found):
        return subject
    said = [_CHECKS[one](observed, sign, subject) for one in sign.is_ if one is not Is.LOST]
    seen = Seen.PRESENT if True in said else Seen.UNKNOWN if None in said else Seen.ABSENT
    why = "what is usual here is not known yet" if seen is Seen.UNKNOWN else ""
    return Found(seen, subject.quantity, subject.value, subject.at, why, subject.drawn)


def _subject(observed: Observed, sign: Sign) -> "_Subject | Found":
    match sign.of:
        case Feature.HEAD_AGAINST_CURVE:
            return _head(observed, sign.since_run)
        case Feature.POST_OXYGENATOR_RATIO:
            return _ratio(observed)
        case Feature.ONE_PRESSURE:
            return _one_pressure(observed)
        case Feature.CONSOLE | Feature.CURRENT_FOR_FLOW:  # looked for before
            return Found(Seen.UNKNOWN)
        case quantity if quantity in _DRAWN and observed.owner(quantity) is None:
            return _drawn(observed, quantity)
        case quantity:
            return _read(observed, quantity, sign.since_run)


def _read(observed: Observed, quantity: Q, since_run: bool) -> "_Subject | Found":
    level = observed.level(quantity, since_run)
    if isinstance(level, Level):
        return _Subject(quantity, level.value, level.at, observed.change(quantity, since_run))
    fitted = observed.owner(quantity) is not None
    return Found(
        Seen.UNKNOWN if fitted else Seen.NOT_FITTED, why=level if fitted else _not_fitted(observed, quantity)
    )


def _not_fitted(observed: Observed, quantity: Q) -> str:
    """Name the sensor that is missing; of a derived quantity, those of its parts."""
    parts = [part for part in Q if part in DERIVED_FROM.get(quantity, {quantity})]
    missing = [part for part in parts if observed.owner(part) is None]
    named = {Q.POST_OXYGENATOR_PRESSURE: "Outlet P"} if not observed.run.description.oxygenator else {}
    return "no " + ", no ".join(named.get(part, CATALOGUE[part].label) for part in missing) + " fitted"


def _drawn(observed: Observed, quantity: Q) -> "_Subject | Found":
    """Take the newest draw while it serves; its change is against the draws of the day before."""
    draws = sorted(draw for run in observed.bed.runs.values() for draw in run.draws.get(quantity, ()))
    settings = observed.source.configuration.unit.laboratory
    serves = max(settings.usable(quantity), settings.every_h.get(quantity, 0.0)) * HOUR
    if not draws or observed.source.now - draws[-1][0] > serves:
        return Found(Seen.UNKNOWN, why=f"no {CATALOGUE[quantity].label} drawn lately")
    at, value = draws[-1]
    earlier = [before for moment, before in draws[:-1] if at - moment <= _DAY]
    move = observed.moves.get(quantity)
    change = None
    if earlier and move is not None:
        change = Level(value, at, median(earlier)).change(move.share)
    return _Subject(quantity, value, at, change, drawn=True)


def _ratio(observed: Observed) -> "_Subject | Found":
    """Post-oxygenator pO2 over the share of oxygen in the gas that stands now."""
    oxygen = _drawn(observed, Q.POST_OXYGENATOR_PO2)
    gas = _read(observed, Q.FDO2, since_run=False)
    if isinstance(oxygen, Found) or isinstance(gas, Found):
        return oxygen if isinstance(oxygen, Found) else gas if isinstance(gas, Found) else Found(Seen.UNKNOWN)
    return _Subject(None, oxygen.value / (gas.value / 100), oxygen.at, None, drawn=True)


def _head(observed: Observed, since_run: bool) -> "_Subject | Found":
    """How the measured head lies to the pump's curve, as compared with before."""
    run = observed.run
    profile = observed.source.configuration.pumps.get(run.description.profile)
    outlet = Q.PRE_OXYGENATOR_PRESSURE if run.description.oxygenator else Q.POST_OXYGENATOR_PRESSURE
    needed = (Q.PUMP_SPEED, Q.PUMP_FLOW, outlet, Q.INLET_PRESSURE)
    read = [observed.level(quantity, since_run) for quantity in needed]
    levels = [level for level in read if isinstance(level, Level)]
    if profile is None or len(levels) < len(read):
        fitted = profile is not None and all(observed.owner(quantity) is not None for quantity in needed)
        return Found(Seen.UNKNOWN if fitted else Seen.NOT_FITTED, why="head is not known")

    def beside(speed: float, flow: float, after: float, before: float) -> float:
        return residual(HeadCurve(speed, profile.head_speed_factor, profile.head_flow_factor), flow, after - before)

    usual = [level.usual for level in levels if level.usual is not None]
    now = beside(*(level.value for level in levels))
    change = now - beside(*usual) if len(usual) == len(levels) else None
    return _Subject(None, now, min(level.at for level in levels), change)


def _one_pressure(observed: Observed) -> "_Subject | Found":
    """The pressure that moved while the others did not; with none, the first that is read."""
    here = [quantity for quantity in PRESSURES if observed.owner(quantity) is not None]
    if len(here) < 2:
        return Found(Seen.NOT_FITTED, why="no second pressure fitted")
    read = [_read(observed, quantity, since_run=False) for quantity in here]
    subjects = [one for one in read if isinstance(one, _Subject)]
    if len(subjects) < len(here):
        return next(one for one in read if isinstance(one, Found))
    moved = [one for one in subjects if one.quantity is not None and observed.moved(one.quantity)]
    return moved[0] if moved else subjects[0]


def _lost(observed: Observed, quantity: Q) -> Found | None:
    """Say whether a quantity that was measured is read no more while the rest of its console is."""
    run = observed.owner(quantity)
    if run is None or observed.still or run.last_reading_at is None or not run.minutes.get(quantity):
        return None
    signal = run.signals.get(quantity)
    alive = any(observed.is_read(run, other) for other in run.signals if other is not quantity)
    if not signal or not alive:
        return None
    gone = not observed.is_read(run, quantity)
    return Found(Seen.PRESENT, quantity, signal.last, signal.last_at) if gone or signal.estimated else None


def _console_gone(observed: Observed) -> bool:
    """Tell whether all that the console showed is read no more while the patient's readings go on."""
    run = observed.run
    shown = [q for q in run.signals if CATALOGUE[q].scope is Scope.RUN and fitted(run, q) and q not in DERIVED_FROM]
    patients = [q for q in run.signals if CATALOGUE[q].scope is Scope.BED and fitted(run, q)]
    gone = [q for q in shown if q in OF_CONSOLE and not observed.is_read(run, q)]
    alive = any(observed.is_read(run, q) for q in patients)
    return alive and len(gone) > 0 and len(gone) == sum(q in OF_CONSOLE for q in shown)


def _current_for_flow(observed: Observed, sign: Sign) -> Found:
    """Say whether the motor current is clearly above or below what speed and flow ask for."""
    current = _read(observed, Q.MOTOR_CURRENT, since_run=False)
    if isinstance(current, Found):
        return current
    said = current_sign_of(observed.source, observed.bed, observed.run)
    seen = Seen.PRESENT if said.value in sign.is_ else Seen.ABSENT
    return Found(seen, Q.MOTOR_CURRENT, current.value, current.at)


def _move(observed: Observed, sign: Sign) -> Move | None:
    return observed.moves.get(sign.of)


def _stands(observed: Observed, sign: Sign, subject: _Subject, wanted: Stand) -> bool | None:
    stand = observed.stand(sign.of, subject.change, sign.since_run)
    return None if stand is None else stand is wanted


def _up(observed: Observed, sign: Sign, subject: _Subject) -> bool | None:
    return _stands(observed, sign, subject, Stand.UP)


def _down(observed: Observed, sign: Sign, subject: _Subject) -> bool | None:
    return _stands(observed, sign, subject, Stand.DOWN)


def _unchanged(observed: Observed, sign: Sign, subject: _Subject) -> bool | None:
    return _stands(observed, sign, subject, Stand.UNCHANGED)


def _rose(observed: Observed, sign: Sign, subject: _Subject) -> bool | None:
    return None if subject.quantity is None else observed.rose(subject.quantity) is not None


def _unsteady(observed: Observed, sign: Sign, subject: _Subject) -> bool | None:
    return None if subject.quantity is None else observed.swings(subject.quantity)


def _sudden(observed: Observed, sign: Sign, subject: _Subject) -> bool | None:
    began = None if subject.quantity is None else observed.began(subject.quantity)
    return None if began is None else began.sudden


def _gradual(observed: Observed, sign: Sign, subject: _Subject) -> bool | None:
    began = None if subject.quantity is None else observed.began(subject.quantity)
    return None if began is None or began.sudden is None else not began.sudden


def _leads(observed: Observed, sign: Sign, subject: _Subject) -> bool | None:
    """It left what is usual before the other one did, or the other one has not yet."""
    if subject.quantity is None or sign.before is None:
        return None
    own, other = observed.began(subject.quantity), observed.began(sign.before)
    if own is None:
        return False
    if other is None:
        return None if observed.change(sign.before) is None else not observed.moved(sign.before)
    least = max(own.resolution_ms, other.resolution_ms, ms(observed.looking.leads_s))
    return other.at - own.at >= least


def _stopped(observed: Observed, sign: Sign, subject: _Subject) -> bool | None:
    move = _move(observed, sign)
    return None if move is None or move.stopped is None else abs(subject.value) <= move.stopped


def _reversed(observed: Observed, sign: Sign, subject: _Subject) -> bool | None:
    move = _move(observed, sign)
    return None if move is None or move.reversed is None else subject.value < -move.reversed


def _below(observed: Observed, sign: Sign, subject: _Subject) -> bool | None:
    return None if sign.than is None else subject.value < sign.than


def _above(observed: Observed, sign: Sign, subject: _Subject) -> bool | None:
    return None if sign.than is None else subject.value > sign.than


def _alone(observed: Observed, sign: Sign, subject: _Subject) -> bool | None:
    here = (quantity for quantity in PRESSURES if observed.owner(quantity) is not None)
    stands = [observed.stand(quantity, observed.change(quantity)) for quantity in here]
    if None in stands:
        return None
    return stands.count(Stand.UNCHANGED) == len(stands) - 1 and Stand.BETWEEN not in stands


def _moves(observed: Observed, sign: Sign, subject: _Subject) -> bool | None:
    run = None if subject.quantity is None else observed.owner(subject.quantity)
    if run is None or subject.quantity is None:
        return None
    return subject.at - run.signals[subject.quantity].changed_at <= ms(observed.looking.moves_s)


_CHECKS: Mapping[Is, Callable[[Observed, Sign, _Subject], bool | None]] = MappingProxyType(
    {
        Is.UP: _up,
        Is.DOWN: _down,
        Is.UNCHANGED: _unchanged,
        Is.ROSE: _rose,
        Is.UNSTEADY: _unsteady,
        Is.SUDDEN: _sudden,
        Is.GRADUAL: _gradual,
        Is.LEADS: _leads,
        Is.STOPPED: _stopped,
        Is.REVERSED: _reversed,
        Is.BELOW: _below,
        Is.ABOVE: _above,
        Is.ALONE: _alone,
        Is.MOVES: _moves,
    }
)


def changed_here(observed: Observed) -> Iterator[str]:
    """Give what has changed and should be explained, as the words by which signs are about it."""
    named = (move.of for move in observed.patterns.move if move.explain)
    here = (of for of in named if isinstance(of, Q) and observed.owner(of) is not None)
    return (quantity.value for quantity in here if observed.moved(quantity))
