"""From the state of the roster to its view. Nothing is decided here."""

from monitor.core.grades import Priority, Rung
from monitor.core.handling import Handling, present_members
from monitor.core.roster.forecast import forecast
from monitor.core.roster.planning import next_changes
from monitor.core.roster.post import post_of
from monitor.core.roster.standing import break_on, has, keys_of
from monitor.core.roster.state import OfferState
from monitor.core.roster.view import (
    AwayView,
    BreakView,
    HoleView,
    LoadView,
    OfferView,
    PlanView,
    PostView,
    RosterView,
)
from shared.instant import HOUR, Instant


def roster_view(handling: Handling) -> RosterView:
    """Give the roster as it stands."""
    roster, unit, now = handling.state.unit.roster, handling.unit, handling.now
    used = [bed.label for bed in handling.state.beds.values() if bed.runs]
    horizon = now + round(handling.ladder.handing_over.forecast_h * HOUR)
    shift = handling.shifts.at(now)
    changes = next_changes(unit, roster.plans.values(), now, horizon)
    return RosterView(
        posts=tuple(_post(handling, key, *changes.get(key, (None, None))) for key in keys_of(roster)),
        offers=tuple(_offer(one) for _, one in sorted(roster.offers.items())),
        breaks=tuple(
            BreakView(
                who=one.who,
                cover=one.cover,
                posts=tuple(post_of(key) for key in one.posts),
                began=one.began,
                until=one.until,
                ends_soon=one.told,
            )
            for _, one in sorted(roster.breaks.items())
        ),
        away=tuple(
            AwayView(person=person, since=one.since, until=one.until, instead=one.instead)
            for person, one in sorted(roster.away.items())
        ),
        plans=tuple(
            PlanView(id=one.id, post=post_of(one.post), person=one.person, begins=one.begins, ends=one.ends)
            for _, one in sorted(roster.plans.items())
        ),
        forecast=tuple(
            HoleView(post=post_of(one.post), begins=one.begins, ends=one.ends, why=one.why)
            for one in forecast(unit, roster, used, now, horizon)
        ),
        loads=loads(handling),
        shift=shift.shift.name if shift is not None else None,
        shift_ends=shift.ends if shift is not None else None,
    )


def stands_until(handling: Handling) -> Instant | None:
    """Give when `roster_view` changes by time alone within a shift, or ``None`` for never."""
    roster, now = handling.state.unit.roster, handling.now
    ahead = round(handling.ladder.handing_over.forecast_h * HOUR)
    edges = [at for one in roster.away.values() for at in (one.until, one.until - ahead + 1) if at > now]
    if roster.looks_at is not None:
        edges.append(roster.looks_at)
    return min(edges, default=None)


def loads(handling: Handling) -> tuple[LoadView, ...]:
    """Give what rests on each name: whoever has a post or holds something."""
    roster = handling.state.unit.roster
    beds: dict[str, int] = {}
    highs: dict[str, int] = {}
    for key, person in roster.stands.items():
        post = post_of(key)
        if person is not None:
            at_bed = post.rung is Rung.BEDSIDE and post.bed is not None
            beds[person] = beds.get(person, 0) + at_bed
    for _, place in handling.places():
        for episode in place.episodes.values():
            if episode.holder is None:
                continue
            high = any(alert.priority is Priority.HIGH for alert in present_members(place, episode))
            highs[episode.holder.person] = highs.get(episode.holder.person, 0) + high
    return tuple(
        LoadView(person=person, beds=beds.get(person, 0), open_highs=highs.get(person, 0))
        for person in sorted({*beds, *highs})
    )


def _post(handling: Handling, key: str, changes_at: Instant | None, then: str | None) -> PostView:
    roster = handling.state.unit.roster
    person, rest = has(roster, key), break_on(roster, key)
    away = roster.away.get(person) if person is not None else None
    return PostView(
        post=post_of(key),
        person=person,
        stands=roster.stands.get(key),
        since=roster.since.get(key, handling.now),
        planned=roster.planned.get(key),
        has_plan=key in roster.planned,
        changes_at=changes_at,
        then=then,
        unreachable_until=away.until if away is not None else None,
        went=rest.who if rest is not None else None,
        back_at=rest.until if rest is not None else None,
    )


def _offer(one: OfferState) -> OfferView:
    return OfferView(
        id=one.id,
        kind=one.kind,
        posts=tuple(post_of(key) for key in one.posts),
        giver=one.giver,
        to=one.to,
        by=one.by,
        at=one.at,
        minutes=one.minutes,
        old=one.told,
    )
