"""Looking for the signs of a pattern: for each word of the table, what must be seen for it to be there.

A sign is present, absent, unknown or without its sensor; unknown says why, in words. With each sign goes the
reading that it rests on and its age.
"""

from collections.abc import Callable, Iterator, Mapping
from operator import attrgetter
from types import MappingProxyType

from monitor.analysis.patterns import Seen
from monitor.core.hint_state import Stand
from monitor.core.judging.verdict import DERIVED_FROM, fitted
from monitor.core.meaning.current import current_sign_of
from monitor.core.meaning.observed import Observed
from monitor.core.meaning.sign_subjects import PRESSURES, Found, Subject, read_now, subject_of
from monitor.core.patterns import Feature, Is, Looking, Move, Sign
from shared.instant import ms
from shared.language.saying import say, to_say
from shared.quantities import CATALOGUE, Scope
from shared.quantities import Quantity as Q

TOO_SELDOM = to_say("readings are too far apart to tell")
#: What the pump's console shows; sweep and gas are read elsewhere.
OF_CONSOLE = frozenset(
    {Q.PUMP_SPEED, Q.PUMP_FLOW, *PRESSURES, Q.MOTOR_CURRENT, Q.CONSOLE_TEMPERATURE, Q.ON_MAINS, Q.BATTERY_CHARGE}
)


#: What is seen only in readings that follow one another -> within how many seconds.
_PACE: Mapping[Is, Callable[[Looking], float]] = MappingProxyType(
    {
        Is.ROSE: attrgetter("sudden_s"),
        Is.UNSTEADY: attrgetter("unsteady_window_s"),
        Is.SUDDEN: attrgetter("sudden_s"),
        Is.GRADUAL: attrgetter("sudden_s"),
    }
)


def look_for(observed: Observed, sign: Sign) -> Found:
    """Look for one sign at a run."""
    if sign.of is Feature.CONSOLE:
        silent = Is.LOST in sign.is_ and _console_gone(observed)
        return Found(Seen.PRESENT if observed.still or silent else Seen.ABSENT)
    if sign.of is Feature.CURRENT_FOR_FLOW:
        return _current_for_flow(observed, sign)
    if Is.LOST in sign.is_ and isinstance(sign.of, Q) and (lost := _lost(observed, sign.of)) is not None:
        return lost
    subject = subject_of(observed, sign)
    if isinstance(subject, Found):
        return subject
    said = [_CHECKS[one](observed, sign, subject) for one in sign.is_ if one is not Is.LOST]
    seen = Seen.PRESENT if True in said else Seen.UNKNOWN if None in said else Seen.ABSENT
    why = _why_unknown(observed, sign) if seen is Seen.UNKNOWN else ""
    return Found(seen, subject.quantity, subject.value, subject.at, why, subject.drawn)


def _why_unknown(observed: Observed, sign: Sign) -> str:
    if any(one in _PACE and observed.too_seldom(_PACE[one](observed.looking)) for one in sign.is_):
        return TOO_SELDOM
    return say("what is usual here is not known yet")


def _lost(observed: Observed, quantity: Q) -> Found | None:
    """Say whether a quantity that was measured is read no more while the rest of its console is."""
    run = observed.owner(quantity)
    if observed.bed.by_sets:  # what a person leaves out is no sensor that was lost
        return None
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
    if observed.bed.by_sets:
        return False
    shown = [q for q in run.signals if CATALOGUE[q].scope is Scope.RUN and fitted(run, q) and q not in DERIVED_FROM]
    patients = [q for q in run.signals if CATALOGUE[q].scope is Scope.BED and fitted(run, q)]
    gone = [q for q in shown if q in OF_CONSOLE and not observed.is_read(run, q)]
    alive = any(observed.is_read(run, q) for q in patients)
    return alive and len(gone) > 0 and len(gone) == sum(q in OF_CONSOLE for q in shown)


def _current_for_flow(observed: Observed, sign: Sign) -> Found:
    """Say whether the motor current is clearly above or below what speed and flow ask for."""
    current = read_now(observed, Q.MOTOR_CURRENT, since_run=False)
    if isinstance(current, Found):
        return current
    said = current_sign_of(observed.source, observed.bed, observed.run)
    seen = Seen.PRESENT if said.value in sign.is_ else Seen.ABSENT
    return Found(seen, Q.MOTOR_CURRENT, current.value, current.at)


def _move(observed: Observed, sign: Sign) -> Move | None:
    return observed.moves.get(sign.of)


def _stands(observed: Observed, sign: Sign, subject: Subject, wanted: Stand) -> bool | None:
    stand = observed.stand(sign.of, subject.change, sign.since_run)
    return None if stand is None else stand is wanted


def _up(observed: Observed, sign: Sign, subject: Subject) -> bool | None:
    return _stands(observed, sign, subject, Stand.UP)


def _down(observed: Observed, sign: Sign, subject: Subject) -> bool | None:
    return _stands(observed, sign, subject, Stand.DOWN)


def _unchanged(observed: Observed, sign: Sign, subject: Subject) -> bool | None:
    return _stands(observed, sign, subject, Stand.UNCHANGED)


def _rose(observed: Observed, sign: Sign, subject: Subject) -> bool | None:
    if subject.quantity is None or observed.too_seldom(observed.looking.sudden_s):
        return None
    return observed.rose(subject.quantity) is not None


def _unsteady(observed: Observed, sign: Sign, subject: Subject) -> bool | None:
    if subject.quantity is None or observed.too_seldom(observed.looking.unsteady_window_s):
        return None
    return observed.swings(subject.quantity)


def _sudden(observed: Observed, sign: Sign, subject: Subject) -> bool | None:
    began = None if subject.quantity is None else observed.began(subject.quantity)
    return None if began is None else began.sudden


def _gradual(observed: Observed, sign: Sign, subject: Subject) -> bool | None:
    began = None if subject.quantity is None else observed.began(subject.quantity)
    return None if began is None or began.sudden is None else not began.sudden


def _leads(observed: Observed, sign: Sign, subject: Subject) -> bool | None:
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


def _stopped(observed: Observed, sign: Sign, subject: Subject) -> bool | None:
    move = _move(observed, sign)
    return None if move is None or move.stopped is None else abs(subject.value) <= move.stopped


def _reversed(observed: Observed, sign: Sign, subject: Subject) -> bool | None:
    move = _move(observed, sign)
    return None if move is None or move.reversed is None else subject.value < -move.reversed


def _below(observed: Observed, sign: Sign, subject: Subject) -> bool | None:
    return None if sign.than is None else subject.value < sign.than


def _above(observed: Observed, sign: Sign, subject: Subject) -> bool | None:
    return None if sign.than is None else subject.value > sign.than


def _alone(observed: Observed, sign: Sign, subject: Subject) -> bool | None:
    here = (quantity for quantity in PRESSURES if observed.owner(quantity) is not None)
    stands = [observed.stand(quantity, observed.change(quantity)) for quantity in here]
    if None in stands:
        return None
    return stands.count(Stand.UNCHANGED) == len(stands) - 1 and Stand.BETWEEN not in stands


def _moves(observed: Observed, sign: Sign, subject: Subject) -> bool | None:
    run = None if subject.quantity is None else observed.owner(subject.quantity)
    if run is None or subject.quantity is None:
        return None
    return subject.at - run.signals[subject.quantity].changed_at <= ms(observed.looking.moves_s)


_CHECKS: Mapping[Is, Callable[[Observed, Sign, Subject], bool | None]] = MappingProxyType(
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
