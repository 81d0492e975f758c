"""Rounds at a bed: which was done when and by whom, what was found, and when the next is due.

A round calls nobody. A finding stands until a later round of any kind finds its item in order.
"""

from collections.abc import Iterator, Mapping

from monitor.core.bedside.round_words import ROUND_WORDS
from monitor.core.entries import EntryKind
from monitor.core.handling import Handling
from monitor.core.judging.sets import brings_numbers
from monitor.core.state import BedState, KeptSet, RoundDone, RunState
from shared.instant import MINUTE, Instant
from shared.language.saying import say
from shared.messages import Found, Observation, RoundKind
from shared.quantities import Quantity


def take(handling: Handling, bed: BedState, run: RunState, observation: Observation) -> None:
    """Take a round that came with a set; where a bed has no feed, every set is an hourly one."""
    kind = _kind(bed, observation.round, observation.readings)
    if kind is None or observation.by is None:
        return
    before = run.rounds.get(kind)
    if before is not None and before.at > observation.read_at:
        return
    run.rounds[kind] = RoundDone(observation.read_at, observation.by)
    handling.touch(bed.label)
    if observation.looked is None:
        return
    for item, looked in observation.looked.items():
        if looked.found is Found.FINDING:
            run.findings[item] = looked.note or ""
        elif looked.found is Found.IN_ORDER:
            run.findings.pop(item, None)
    _write(handling, bed, run, observation, kind)


def take_back(bed: BedState, run: RunState, old: KeptSet) -> None:
    """A set is corrected or struck: what was found in it goes, and the round before it is the newest again."""
    for item, note in old.found.items():
        if run.findings.get(item) == note:
            del run.findings[item]
    kind = _kind(bed, old.round, old.readings)
    done = run.rounds.get(kind) if kind is not None else None
    if kind is None or done is None or done.at != old.read_at:
        return
    rest = [one for one in run.sets.values() if one is not old and _kind(bed, one.round, one.readings) is kind]
    newest = max(rest, key=lambda one: one.read_at, default=None)
    if newest is None:
        del run.rounds[kind]
    else:
        run.rounds[kind] = RoundDone(newest.read_at, newest.by)


def _kind(bed: BedState, said: RoundKind | None, readings: Mapping[Quantity, float]) -> RoundKind | None:
    return said or (RoundKind.HOURLY if bed.by_sets and brings_numbers(readings) else None)


def due_at(handling: Handling, run: RunState, kind: RoundKind) -> Instant | None:
    """Give when the next round of a kind is due at a run, or was; ``None``: never."""
    times, done = handling.rounds.due, run.rounds.get(kind)
    if kind is RoundKind.SAFETY_WALK:
        return _walk_due_at(handling, run, done) if times.safety_walk else None
    every = times.every_min(kind)
    if every is None:
        return None
    return (run.started_at if done is None else done.at) + round(every * MINUTE)


def _walk_due_at(handling: Handling, run: RunState, done: RoundDone | None) -> Instant | None:
    shift = handling.shifts.at(handling.now)
    asked = max(run.started_at, run.back_at or 0, shift.begins if shift is not None else 0)
    if done is None or done.at < asked:
        return asked
    return shift.ends if shift is not None else None


def _write(handling: Handling, bed: BedState, run: RunState, observation: Observation, kind: RoundKind) -> None:
    text = "; ".join((ROUND_WORDS[kind], *_told(handling, observation)))
    slot = run.description.slot
    handling.write(EntryKind.ROUND_DONE, bed.label, slot=slot, person=observation.by, text=text[:300])


def _told(handling: Handling, observation: Observation) -> Iterator[str]:
    looked = observation.looked or {}
    for found, word in ((Found.FINDING, "found"), (Found.NOT_LOOKED, say("not looked at"))):
        items = [
            handling.rounds.words_of(item) + (f" ({one.note})" if one.note else "")
            for item, one in looked.items()
            if one.found is found
        ]
        if items:
            yield f"{word}: {', '.join(items)}"
    yield say(
        "{good} of {all} in order",
        good=sum(one.found is Found.IN_ORDER for one in looked.values()),
        all=len(looked),
    )
