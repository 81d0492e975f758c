"""Later versions of sets entered by hand: old values go out of what is known, nothing out of the log.

Theory. A run remembers which values its newest sets brought. A later version takes the old values out of signals,
minutes, baselines and draws at the time they were read, and puts its own there; what was read before comes to the
front again by itself. Then the rules are judged from what now stands, if that is news of now. An alert that an old
value had raised keeps its place and its title; the log says beside it that the value was corrected. Only a reading
ends it: a struck set ends nothing.

A later version may come before the first, as where a form's disk was full in between and what it kept in memory is
told before what waits there. It changes nothing then, and is remembered: when the first version comes, what stands
is taken in in its place.
"""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass

from monitor.analysis.baseline import Baseline
from monitor.analysis.minutes import Minutes
from monitor.analysis.signal import Signal
from monitor.core.entries import EntryKind
from monitor.core.handling import Handling, of_alert
from monitor.core.judging.draws import drop_draws
from monitor.core.judging.observing import Watch, sure_of
from monitor.core.judging.outside import COUNTED, count_anew, recount
from monitor.core.judging.running import stood_at
from monitor.core.judging.sets import kept_beyond, set_at
from monitor.core.roster.wall import clock_of
from monitor.core.state import BedState, KeptSet, RunState
from monitor.core.titles import number
from shared.derived import with_derived
from shared.instant import MINUTE, Instant, ms
from shared.language.saying import say, to_say
from shared.messages import Edition, Found, Observation, Why
from shared.quantities import CATALOGUE
from shared.quantities import Quantity as Q
from shared.support import label_at

#: How many of its newest sets a run remembers: more than a day of them by the hour.
KEPT = 40
_WHY: Mapping[Why, str] = {
    Why.MISTYPED: to_say("mistyped"),
    Why.MISREAD: to_say("misread"),
    Why.WRONG_TIME: to_say("wrong time"),
    Why.WRONG_BED: to_say("wrong bed"),
    Why.SENSOR_OR_LINE: to_say("sensor or line"),
    Why.OTHER: to_say("another reason"),
}


def is_later(observation: Observation) -> bool:
    """Tell whether an observation is a correction or a strike of an earlier one."""
    return observation.edition is not None and observation.edition.version > 1


def remember(run: RunState, observation: Observation, counted: bool) -> None:
    """Keep which values a set brought, so that a later version can take them out.

    Args:
        counted: they went into the signals, not into the trends alone.
    """
    edition = observation.edition
    if edition is None:
        return
    found = {item: one.note or "" for item, one in (observation.looked or {}).items() if one.found is Found.FINDING}
    run.sets[edition.set] = KeptSet(
        version=edition.version,
        read_at=observation.read_at,
        readings=dict(sure_of(observation)),
        counted=counted,
        by=observation.by or "",
        round=observation.round,
        found=found,
        entered_at=observation.entered_at or observation.read_at,
        unchecked=observation.unchecked is not None,
    )
    while len(run.sets) > KEPT:
        del run.sets[next(iter(run.sets))]


def what_stands(run: RunState, observation: Observation) -> Observation | None:
    """Give what is to be taken in of a set's first version: itself, or a correction that came before it.

    ``None``: it was struck before it came. What is no set stands as it is.
    """
    early = run.early.get(observation.edition.set) if observation.edition is not None else None
    if early is None or early.edition is None:
        return observation
    return None if early.edition.struck else early


@dataclass(frozen=True, slots=True)
class Replaced:
    """The version that another one takes the place of; ``held``: the quantities of which a value was taken out."""

    before: KeptSet
    held: frozenset[Q]


def take_out(handling: Handling, bed: BedState, run: RunState, observation: Observation) -> Replaced | None:
    """Take the values of the version before out of a run and write down that they were corrected.

    Gives what was replaced; ``None`` where it is not remembered, or is as new as this one: then nothing changes
    but that a version of which none came before is kept for the first one.
    """
    edition = observation.edition
    assert edition is not None
    old = run.sets.get(edition.set)
    if old is not None and old.version >= edition.version:
        return None
    _write(handling, bed, run, observation, old)
    if old is None:
        _keep_early(run, observation, edition)
        return None
    drop_draws(run, old.readings, old.read_at)
    held = set()
    for quantity, value in with_derived(old.readings).items():
        signal = run.signals.get(quantity)
        if signal is not None and signal.at(old.read_at) == value:
            held.add(quantity)
            if not bed.by_sets:
                _drop_minute(handling.watch, run, quantity, old.read_at, value)
            _build(bed, run, quantity, signal.spans, {at: v for at, v in _samples(signal) if at != old.read_at})
    if edition.struck:
        del run.sets[edition.set]
    _bring_up(handling.watch, bed, run, observation)
    if bed.by_sets:
        run.last_reading_at = set_at(run)
    return Replaced(old, frozenset(held))


def _keep_early(run: RunState, observation: Observation, edition: Edition) -> None:
    before = run.early.pop(edition.set, observation)
    is_newer = before.edition is None or before.edition.version < edition.version
    run.early[edition.set] = observation if is_newer else before
    while len(run.early) > KEPT:
        del run.early[next(iter(run.early))]


def _bring_up(watch: Watch, bed: BedState, run: RunState, observation: Observation) -> None:
    """Put in what was entered late beside the version that is gone, and is the newest of its quantity without it.

    Where the new version brings as new a value itself, that is the newest.
    """
    assert observation.edition is not None
    stands = {quantity: signal.last_at for quantity, signal in run.signals.items()}
    for quantity in with_derived(sure_of(observation)):
        stands[quantity] = max(observation.read_at, stands.get(quantity, 0))
    for name, kept in run.sets.items():
        if name == observation.edition.set:
            continue
        for quantity, value in with_derived(kept.readings).items():
            if kept.read_at > stands.get(quantity, 0):
                kept.counted = True
                _insert(watch, bed, run, quantity, kept.read_at, value)


def put_in(watch: Watch, bed: BedState, run: RunState, observation: Observation, replaced: Replaced) -> None:
    """Put those values of a correction where they were read that are not the newest of their quantity.

    Among what a feed reads, or of a set that was late, only in place of what was held there.
    """
    assert observation.edition is not None
    of_all = bed.by_sets and replaced.before.counted
    run.sets[observation.edition.set].counted |= of_all
    for quantity, value in with_derived(sure_of(observation)).items():
        if of_all or quantity in replaced.held:
            _insert(watch, bed, run, quantity, observation.read_at, value)


def _insert(watch: Watch, bed: BedState, run: RunState, quantity: Q, at: Instant, value: float) -> None:
    """Put a value where it was read, unless something was read in that moment."""
    signal = run.signals.get(quantity)
    samples = dict(_samples(signal)) if signal is not None else {}
    if at not in samples:
        _build(bed, run, quantity, watch.windows[quantity], {**samples, at: value})
        if not bed.by_sets:
            _insert_minute(watch, run, quantity, at, value)


def grow_anew(watch: Watch, run: RunState, readings: Mapping[Q, float], begin: Instant) -> None:
    """Grow the baselines of a bed without a feed again that a change of what was read from ``begin`` on touches.

    One that stood before is left as it is: what it was made of may be forgotten by now. The speed touches all of
    them, for a pump that stands still counts for none. The minutes outside target are counted again too.
    """
    touched = set(with_derived(readings))
    for quantity in touched & COUNTED & run.minutes.keys():
        count_anew(watch.outside, run, quantity)
    for kept in (run.run_baselines, run.order_baselines):
        for quantity, baseline in kept.items():
            stood = baseline.value is not None and baseline.last_at is not None and baseline.last_at < begin
            if not stood and (quantity in touched or Q.PUMP_SPEED in touched):
                kept[quantity] = _grown(watch, run, quantity, baseline)


def _grown(watch: Watch, run: RunState, quantity: Q, baseline: Baseline) -> Baseline:
    again = Baseline(baseline.begin, baseline.needed_ms)
    signal = run.signals.get(quantity)
    for at, value in _samples(signal) if signal is not None else ():
        if not stood_at(run, at):
            again.add(at, value, ms(watch.timings.entered_set_s))
    return again


def _drop_minute(watch: Watch, run: RunState, quantity: Q, at: Instant, value: float) -> None:
    """Take a value out of the minutes of a bed with a feed."""
    minutes = run.minutes.get(quantity)
    if minutes is not None and minutes.drop(at, value) and quantity in COUNTED:
        recount(watch.outside, run, quantity, at // MINUTE, value, -1)


def _insert_minute(watch: Watch, run: RunState, quantity: Q, at: Instant, value: float) -> None:
    minutes = run.minutes.get(quantity)
    if minutes is not None and minutes.insert(at, value) and quantity in COUNTED:
        recount(watch.outside, run, quantity, at // MINUTE, value, 1)


def _samples(signal: Signal) -> Iterator[tuple[Instant, float]]:
    yield from zip(signal.times, signal.values, strict=True)


def _build(
    bed: BedState, run: RunState, quantity: Q, spans: tuple[int, ...], samples: Mapping[Instant, float]
) -> None:
    """Build a signal from samples, and of a bed without a feed its minutes."""
    run.signals.pop(quantity, None)
    if samples:
        run.signals[quantity] = fresh = Signal(spans)
        for at, value in sorted(samples.items()):
            fresh.add(at, value, kept_beyond(bed))
    if bed.by_sets:
        run.minutes[quantity] = minutes = Minutes()
        for at, value in sorted(samples.items()):
            minutes.add(at, value, MINUTE)


def _write(
    handling: Handling,
    bed: BedState,
    run: RunState,
    observation: Observation,
    old: KeptSet | None,
) -> None:
    edition = observation.edition
    assert edition is not None
    why = _WHY[edition.why or Why.OTHER]
    read = clock_of(old.read_at if old is not None else observation.read_at, handling.unit.zone)
    changes = list(_changes(run, old, observation)) if not edition.struck else []
    if edition.struck:
        text = say("Set of {read} struck ({why})", read=read, why=why)
        text += say(", put down at {moved_to}", moved_to=edition.moved_to) if edition.moved_to else ""
    else:
        text = say("Set of {read} corrected ({why})", read=read, why=why) + (
            f": {'; '.join(changes)}" if changes else ""
        )
    slot = run.description.slot
    kind = EntryKind.SET_STRUCK if edition.struck else EntryKind.SET_CORRECTED
    handling.write(kind, bed.label, slot=slot, person=observation.by, told_to=edition.second, text=text[:300])
    handling.touch(bed.label)
    if old is None:
        return
    for alert in bed.alerts.values():
        was = old.readings.get(alert.quantity) if alert.quantity is not None else None
        stands = observation.readings.get(alert.quantity) if alert.quantity is not None else None
        if was is not None and alert.slot == slot and alert.value == was != stands:
            words = say("value corrected to {put}", put=_put(alert.quantity, stands))
            if stands is None:
                words = say("value struck") if edition.struck else say("value corrected: it was not read")
            handling.write(EntryKind.VALUE_CORRECTED, bed.label, **of_alert(alert), value=was, text=words)


def _changes(run: RunState, old: KeptSet | None, observation: Observation) -> Iterator[str]:
    before = old.readings if old is not None else {}
    for quantity in {**before, **observation.readings}:
        was, stands = before.get(quantity), observation.readings.get(quantity)
        if old is not None and was != stands:
            label = label_at(quantity, run.description)
            yield f"{label} {_put(quantity, was)} → {_put(quantity, stands) if stands is not None else 'not read'}"
    if old is not None and old.read_at != observation.read_at:
        yield say("time of reading")


def _put(quantity: Q | None, value: float | None) -> str:
    if quantity is None or value is None:
        return "--"
    return number(value, CATALOGUE[quantity].decimals)
