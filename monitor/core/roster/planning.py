"""The plan: who is planned on which post, from the shifts of the unit and from plans for a stretch.

A plan for a stretch comes before the shifts, the newest first. A post that some shift names is planned at every
time: where no shift covers it, nobody is planned. A post that nothing names has no plan.
"""

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from datetime import time, timedelta

from monitor.core.grades import Rung
from monitor.core.roster.post import key_of
from monitor.core.roster.state import PlanState
from monitor.core.roster.wall import day_of, moment_of
from monitor.core.unit import Shift, Unit
from shared.instant import HOUR, Instant

_DAY = timedelta(days=1)
_RUNGS = tuple(rung for rung in Rung if rung is not Rung.BEDSIDE)


@dataclass(frozen=True, slots=True)
class Stretch:
    """One shift of one day."""

    shift: Shift
    begins: Instant
    ends: Instant


def stretches(unit: Unit, begin: Instant, end: Instant) -> Iterator[Stretch]:
    """Give the shifts that touch the time from ``begin`` to ``end``, in the order of the file, day by day."""
    if not unit.shifts:
        return
    first, last = day_of(begin, unit.zone) - 2 * _DAY, day_of(end, unit.zone) + _DAY
    for shift in unit.shifts:
        day, begins, ends = first, time.fromisoformat(shift.begins), time.fromisoformat(shift.ends)
        while day <= last:
            until = day if begins < ends else day + _DAY
            made = Stretch(shift, moment_of(day, begins, unit.zone), moment_of(until, ends, unit.zone))
            if made.ends >= begin and made.begins <= end:
                yield made
            day += _DAY


def shift_at(unit: Unit, at: Instant) -> Stretch | None:
    """Give the shift that runs at a time: the first of the file that covers it."""
    return next((one for one in stretches(unit, at, at) if one.begins <= at < one.ends), None)


class Shifts:
    """Gives the shift that runs; it is looked for again only where the plan has an edge."""

    def __init__(self, unit: Unit) -> None:
        self._unit = unit
        self._known: tuple[Instant, Instant | None] | None = None
        self._found: Stretch | None = None

    def at(self, now: Instant) -> Stretch | None:
        """Give what `shift_at` gives."""
        known = self._known
        if known is None or now < known[0] or (known[1] is not None and now >= known[1]):
            self._known = now, next_edge(self._unit, (), now)
            self._found = shift_at(self._unit, now)
        return self._found


def named_in(shift: Shift) -> dict[str, str | None]:
    """Give who a shift plans on which post; an empty post that it names is not written."""
    found: dict[str, str | None] = {key_of(rung): shift.on(rung, None) for rung in _RUNGS}
    found |= {key_of(Rung.BEDSIDE, bed): nurse for bed, nurse in shift.nurses.items()}
    found[key_of(Rung.BEDSIDE)] = shift.deputy
    return {key: person for key, person in found.items() if person is not None}


def planned(unit: Unit, plans: Iterable[PlanState], at: Instant) -> Mapping[str, str | None]:
    """Give who is planned at a time on each post that has a plan; ``None``: nobody is planned there."""
    found: dict[str, str | None] = {key: None for shift in unit.shifts for key in named_in(shift)}
    running = [one for one in stretches(unit, at, at) if one.begins <= at < one.ends]
    for one in reversed(running):
        found |= named_in(one.shift)
    for plan in sorted(plans, key=lambda plan: plan.id):
        if plan.begins <= at < plan.ends:
            found[plan.post] = plan.person
    return found


def next_changes(
    unit: Unit, plans: Iterable[PlanState], now: Instant, until: Instant
) -> dict[str, tuple[Instant, str | None]]:
    """Give for each planned post when the plan next names somebody else there up to ``until``, and whom."""
    plans = list(plans)
    before = planned(unit, plans, now)
    found: dict[str, tuple[Instant, str | None]] = {}
    for at in edges(unit, plans, now, until):
        said = planned(unit, plans, at)
        for key, person in said.items():
            if key not in found and (key not in before or before[key] != person):
                found[key] = (at, person)
    return found


def edges(unit: Unit, plans: Iterable[PlanState], after: Instant, until: Instant) -> list[Instant]:
    """Give every time at which the plan may change, after ``after`` and up to ``until``, in order."""
    found: set[Instant] = set()
    for one in stretches(unit, after, until):
        found |= {one.begins, one.ends}
    for plan in plans:
        found |= {plan.begins, plan.ends}
    return sorted(at for at in found if after < at <= until)


def next_edge(unit: Unit, plans: Iterable[PlanState], after: Instant) -> Instant | None:
    """Give the next time at which the plan may change, or ``None`` where there is no plan."""
    plans = list(plans)
    later = [at for plan in plans for at in (plan.begins, plan.ends) if at > after]
    soon = edges(unit, plans, after, after + 72 * HOUR)
    return min([*later, *soon], default=None)
