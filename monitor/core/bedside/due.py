"""What is due at the beds, oldest first, and what has come up since the shift began. It calls nobody.

What is overdue so long that somebody must be told is an alert of its own; here everything stands in one list.
"""

from collections.abc import Iterator
from itertools import pairwise

from monitor.core.bedside.own_limits import said
from monitor.core.bedside.rounds import ROUND_WORDS, due_at
from monitor.core.handling import Handling
from monitor.core.judging.editions import KEPT
from monitor.core.judging.silence import limit_ms, quiet_since
from monitor.core.laboratory import LABORATORY
from monitor.core.roster.planning import shift_at
from monitor.core.roster.wall import clock_of
from monitor.core.rules import MissingRule, OverdueRule
from monitor.core.state import BedState, RunState
from monitor.core.view import SINCE_SHIFT, DueKind, DueView
from shared.instant import HOUR, MINUTE, Instant, ms
from shared.messages import RoundKind
from shared.quantities import CATALOGUE

#: A round that is due for so long is late, as an hourly reading is at 75 min. Default chosen here.
LATE_MS = 15 * MINUTE
#: Where no shift is planned, so far back is looked.
_BACK_MS = 12 * HOUR


def due_views(handling: Handling) -> tuple[DueView, ...]:
    """Give what is due at every bed with a run, oldest first; then what came up since the shift began."""
    shift = shift_at(handling.unit, handling.now)
    begun = shift.begins if shift is not None else handling.now - _BACK_MS
    found = [one for bed in handling.state.beds.values() for one in _of_bed(handling, bed, begun)]
    return tuple(sorted(found, key=lambda one: (one.kind in SINCE_SHIFT, one.at)))


def _of_bed(handling: Handling, bed: BedState, begun: Instant) -> Iterator[DueView]:
    for event in bed.events.values():
        if event.at <= handling.now:
            late = event.at + LATE_MS <= handling.now
            yield DueView(bed=bed.label, kind=DueKind.EVENT, at=event.at, words=event.what, late=late)
    for slot, run in bed.runs.items():
        for kind, at, words, late in _of_run(handling, bed, run, begun):
            yield DueView(bed=bed.label, slot=slot, kind=kind, at=at, words=words, late=late)


_Found = tuple[DueKind, Instant, str, bool]


def _of_run(handling: Handling, bed: BedState, run: RunState, begun: Instant) -> Iterator[_Found]:
    yield from _readings(handling, bed, run)
    for kind in RoundKind:
        due = due_at(handling, run, kind)
        if due is not None and due <= handling.now:
            yield DueKind.ROUND, due, ROUND_WORDS[kind], due + LATE_MS <= handling.now
    laboratory = handling.unit.laboratory
    for quantity in LABORATORY:
        hours, draws = laboratory.every_h.get(quantity), run.draws.get(quantity)
        due = draws[-1][0] + round(hours * HOUR) if hours is not None and draws else None
        if due is not None and due <= handling.now:
            late = due + round(laboratory.overdue_min * MINUTE) <= handling.now
            yield DueKind.DRAW, due, f"{CATALOGUE[quantity].label} to be drawn", late
    for device, since in run.owed.items():
        yield DueKind.ITEM, since, f"Which {device.replace('_', ' ')} it is, to be entered", False
    if run.unset_alert is not None:
        yield DueKind.TARGET, bed.alerts[run.unset_alert].raised_at, "No target for the flow is set", False
    for rule, one in run.proposals.items():
        person = handling.people.get(one.by)
        by = person.label if person is not None else one.by
        yield DueKind.PROPOSAL, one.at, f"Limit proposed by {by}: {said(handling, run, rule, one.value)}", False
    yield from _gaps(handling, bed, run, begun)
    yield from _sets(handling, run, begun)


def _readings(handling: Handling, bed: BedState, run: RunState) -> Iterator[_Found]:
    """Overdue by the first rule that says so and late by the last: a reading by hand, or a feed that is silent."""
    kind: type[MissingRule | OverdueRule] = OverdueRule if bed.by_sets else MissingRule
    quiet = quiet_since(run)
    due = sorted(quiet + limit_ms(rule, bed) for rule in handling.rules.values() if isinstance(rule, kind))
    if due and due[0] <= handling.now:
        late = due[-1] <= handling.now
        if bed.by_sets:
            yield DueKind.READING, quiet, "Reading overdue", late
        else:
            yield DueKind.NO_FEED, quiet, "No readings from the feed", late


def _gaps(handling: Handling, bed: BedState, run: RunState, begun: Instant) -> Iterator[_Found]:
    """Silences that are over: of a feed those that were told, of sets by hand those that no set has filled."""
    gaps = run.gaps
    if bed.by_sets:
        allowed = min(
            (ms(one.delay_s) for one in handling.rules.values() if isinstance(one, OverdueRule)), default=0
        )
        whole = {run.started_at} if len(run.sets) < KEPT else set[Instant]()
        times = sorted(whole | {one.read_at for one in run.sets.values()})
        gaps = [(one, other) for one, other in pairwise(times) if allowed and other - one >= allowed]
    for first, last in gaps:
        if last > begun:
            words = " to ".join(clock_of(at, handling.unit.zone) for at in (first, last))
            yield DueKind.GAP, first, f"No reading {words}", False


def _sets(handling: Handling, run: RunState, begun: Instant) -> Iterator[_Found]:
    """Sets of this shift that were entered late or corrected."""
    allowed = ms(handling.ladder.timings.entered_set_s)
    for one in run.sets.values():
        late = one.entered_at - one.read_at > allowed
        if one.entered_at >= begun and (late or one.version > 1):
            how = " and ".join(["entered late"] * late + ["corrected"] * (one.version > 1))
            person = handling.people.get(one.by)
            by = person.label if person is not None else one.by
            read = clock_of(one.read_at, handling.unit.zone)
            yield DueKind.SET, one.entered_at, f"Set of {read} {how} by {by}", False
