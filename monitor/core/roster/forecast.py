"""The forecast of cover: posts on which nobody will stand, and when; from the plan and who stands now.

Nobody's acceptance is foretold: who is planned is counted as coming, and the offer shows whether they came.
"""

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, replace
from itertools import pairwise

from monitor.core.grades import Rung
from monitor.core.roster.planning import edges, planned
from monitor.core.roster.post import DEPUTY, post_of
from monitor.core.roster.standing import has, keys_of, reached
from monitor.core.roster.state import RosterState
from monitor.core.roster.why import Why
from monitor.core.unit import Unit
from shared.instant import Instant

#: Who is planned on each post that has a plan.
Planned = Mapping[str, str | None]


@dataclass(frozen=True, slots=True)
class Expected:
    """Who is expected on a post from a moment on; ``now``: who has it at present."""

    at: Instant
    person: str | None
    now: bool


@dataclass(frozen=True, slots=True)
class Hole:
    """Nobody can be called on a post from ``begins`` on, which may be past; ``ends`` ``None``: not in sight."""

    post: str
    begins: Instant
    ends: Instant | None
    why: Why


def forecast(
    unit: Unit, roster: RosterState, beds: Iterable[str], now: Instant, horizon: Instant
) -> tuple[Hole, ...]:
    """Give the holes from ``now`` to ``horizon``, the soonest first.

    Args:
        beds: those in use; nobody is needed at an empty bed. The deputy counts only where a plan names one.
    """
    plans = list(roster.plans.values())
    cuts = [now, *edges(unit, plans, now, horizon)]
    said = [planned(unit, plans, at) for at in cuts]
    used = set(beds)
    holes: list[Hole] = []
    for key in keys_of(roster):
        post = post_of(key)
        deputy = key == DEPUTY.key and any(key in one for one in said)
        if post.rung is not Rung.BEDSIDE or deputy or post.bed in used:
            holes += _holes(roster, key, list(_expected(key, has(roster, key), cuts, said)), horizon)
    return tuple(sorted(holes, key=lambda hole: (hole.begins, hole.post)))


def _expected(key: str, person: str | None, cuts: list[Instant], said: list[Planned]) -> Iterator[Expected]:
    """Give who is expected on a post from each moment on: who has it now, until the plan names somebody else."""
    yield Expected(cuts[0], person, now=True)
    for at, (before, after) in zip(cuts[1:], pairwise(said), strict=True):
        if key in after and (key not in before or before[key] != after[key]):
            yield Expected(at, after[key], now=False)


def _holes(roster: RosterState, key: str, expected: list[Expected], horizon: Instant) -> Iterator[Hole]:
    """Give the stretches in which nobody can be called; neighbours for the same reason are one."""
    begin = expected[0].at
    back = {away.until for away in roster.away.values() if begin < away.until < horizon}
    times = sorted({one.at for one in expected} | back)
    open_hole: Hole | None = None
    for at, ends in zip(times, [*times[1:], None], strict=True):
        one = next(one for one in reversed(expected) if one.at <= at)
        if reached(roster, one.person, at) is not None:
            why = None
        elif one.person is not None:
            why = Why.UNREACHABLE
        else:
            why = Why.EMPTY if one.now else Why.NOT_PLANNED
        if open_hole is not None and why is open_hole.why:
            open_hole = replace(open_hole, ends=ends)
            continue
        if open_hole is not None:
            yield open_hole
        begins = roster.since.get(key, at) if at == begin else at  # a hole of now began when it began
        open_hole = Hole(key, begins, ends, why) if why is not None else None
    if open_hole is not None:
        yield open_hole
