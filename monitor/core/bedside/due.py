"""What is due at the beds, oldest first, and what has come up since the shift began. It calls nobody.

What is overdue so long that somebody must be told is an alert of its own; here everything stands in one list.
What comes at a bed is worked out with its times, so it need not be worked out again while only time passes.
"""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from itertools import pairwise

from monitor.core.bedside.own_limits import said
from monitor.core.bedside.round_words import ROUND_WORDS
from monitor.core.bedside.rounds import due_at
from monitor.core.handling import Handling, person_label
from monitor.core.judging.editions import KEPT
from monitor.core.judging.silence import limit_ms, quiet_since
from monitor.core.laboratory import LABORATORY
from monitor.core.roster.wall import clock_of
from monitor.core.state import BedState, RunState
from monitor.core.view import SINCE_SHIFT, DueKind, DueView
from shared.instant import HOUR, MINUTE, Instant, ms
from shared.language.saying import say
from shared.messages import RoundKind
from shared.quantities import CATALOGUE

#: A round that is due for so long is late, as an hourly reading is at 75 min. Default chosen here.
LATE_MS = 15 * MINUTE
#: Where no shift is planned, so far back is looked.
_BACK_MS = 12 * HOUR


@dataclass(frozen=True, slots=True)
class Coming:
    """Something that is due at a bed from a moment on.

    Attributes:
        at: since when, or when it came up, as it is shown.
        begins: from when on it is shown; ``None``: now.
        late_at, ends: from when on it is late, and is shown no more; ``None``: never, by time alone.
    """

    kind: DueKind
    at: Instant
    words: str
    begins: Instant | None = None
    late_at: Instant | None = None
    ends: Instant | None = None
    slot: int | None = None

    def changes_after(self, now: Instant) -> Iterator[Instant]:
        """Give when it will be shown otherwise by time alone."""
        return (at for at in (self.begins, self.late_at, self.ends) if at is not None and at > now)

    def view(self, bed: str, now: Instant) -> DueView | None:
        """Give it as it stands."""
        if (self.begins is not None and self.begins > now) or (self.ends is not None and self.ends <= now):
            return None
        late = self.late_at is not None and self.late_at <= now
        return DueView(bed=bed, slot=self.slot, kind=self.kind, at=self.at, words=self.words, late=late)


def in_order(found: Iterable[DueView]) -> tuple[DueView, ...]:
    """Give what is due oldest first, then what came up since the shift began."""
    return tuple(sorted(found, key=lambda one: (one.kind in SINCE_SHIFT, one.at)))


def coming(handling: Handling, bed: BedState) -> Iterator[Coming]:
    """Give what is due or will be at a bed with a run, while its state and the shift stay as they are."""
    for event in bed.events.values():
        yield Coming(DueKind.EVENT, event.at, event.what, begins=event.at, late_at=event.at + LATE_MS)
    for slot, run in bed.runs.items():
        yield from _of_run(handling, bed, run, slot)


def _of_run(handling: Handling, bed: BedState, run: RunState, slot: int) -> Iterator[Coming]:
    yield from _readings(handling, bed, run, slot)
    for kind in RoundKind:
        due = due_at(handling, run, kind)
        if due is not None:
            words = ROUND_WORDS[kind]
            yield Coming(DueKind.ROUND, due, words, begins=due, late_at=due + LATE_MS, slot=slot)
    laboratory = handling.unit.laboratory
    for quantity in LABORATORY:
        hours, draws = laboratory.every_h.get(quantity), run.draws.get(quantity)
        if hours is not None and draws:
            due = draws[-1][0] + round(hours * HOUR)
            late_at = due + round(laboratory.overdue_min * MINUTE)
            words = say("{label} to be drawn", label=CATALOGUE[quantity].label)
            yield Coming(DueKind.DRAW, due, words, begins=due, late_at=late_at, slot=slot)
    for device, since in run.owed.items():
        yield Coming(
            DueKind.ITEM,
            since,
            say("Which {replace} it is, to be entered", replace=device.replace("_", " ")),
            slot=slot,
        )
    if run.unset_alert is not None:
        at = bed.alerts[run.unset_alert].raised_at
        yield Coming(DueKind.TARGET, at, say("No target for the flow is set"), slot=slot)
    for rule, one in run.proposals.items():
        by = person_label(handling, one.by)
        words = say("Limit proposed by {by}: {said}", by=by, said=said(handling, run, rule, one.value))
        yield Coming(DueKind.PROPOSAL, one.at, words, slot=slot)
    yield from _gaps(handling, bed, run, slot)
    yield from _sets(handling, run, slot)


def _readings(handling: Handling, bed: BedState, run: RunState, slot: int) -> Iterator[Coming]:
    """Overdue by the first rule that says so and late by the last: a reading by hand, or a feed that is silent."""
    quiet = quiet_since(run)
    due = [quiet + limit_ms(rule, bed) for rule in handling.silences.of(bed)]
    if due:
        what, words = (
            (DueKind.READING, say("Reading overdue"))
            if bed.by_sets
            else (DueKind.NO_FEED, say("No readings from the feed"))
        )
        yield Coming(what, quiet, words, begins=min(due), late_at=max(due), slot=slot)


def _gaps(handling: Handling, bed: BedState, run: RunState, slot: int) -> Iterator[Coming]:
    """Silences that are over: of a feed those that were told, of sets by hand those that no set has filled."""
    gaps, shift = run.gaps, handling.shifts.at(handling.now)
    if bed.by_sets:
        allowed = min((ms(one.delay_s) for one in handling.silences.overdue), default=0)
        whole = {run.started_at} if len(run.sets) < KEPT else set[Instant]()
        times = sorted(whole | {one.read_at for one in run.sets.values()})
        gaps = [(one, other) for one, other in pairwise(times) if allowed and other - one >= allowed]
    for first, last in gaps:
        if shift is None or last > shift.begins:
            words = say(" to ").join(clock_of(at, handling.unit.zone) for at in (first, last))
            ends = last + _BACK_MS if shift is None else None
            yield Coming(DueKind.GAP, first, say("No reading {words}", words=words), ends=ends, slot=slot)


def _sets(handling: Handling, run: RunState, slot: int) -> Iterator[Coming]:
    """Sets of this shift that were entered late or corrected."""
    allowed, shift = ms(handling.ladder.timings.entered_set_s), handling.shifts.at(handling.now)
    for one in run.sets.values():
        late = one.entered_at - one.read_at > allowed
        if (shift is None or one.entered_at >= shift.begins) and (late or one.version > 1):
            how = say(" and ").join([say("entered late")] * late + [say("corrected")] * (one.version > 1))
            by = person_label(handling, one.by)
            read = clock_of(one.read_at, handling.unit.zone)
            ends = one.entered_at + _BACK_MS + 1 if shift is None else None
            yield Coming(
                DueKind.SET,
                one.entered_at,
                say("Set of {read} {how} by {by}", read=read, how=how, by=by),
                ends=ends,
                slot=slot,
            )
