"""Plans and the edges of shifts: a planned change becomes an offer by itself, never a change of hands.

Whoever has a post keeps it over the edge until the planned person accepts. An empty post is offered as well. What
the plan had offered to somebody whom it no longer names is taken back.
"""

from zlib import crc32

from monitor.core.entries import EntryKind
from monitor.core.handling import Handling, cannot_stand, person_label
from monitor.core.roster.changes import drop_offers
from monitor.core.roster.offers import make, offered
from monitor.core.roster.planning import next_edge, planned
from monitor.core.roster.post import Post
from monitor.core.roster.standing import keys_of, owner
from monitor.core.roster.state import OfferKind, PlanState
from monitor.core.roster_commands import DropPlan, PlanPost
from monitor.core.unit import Unit
from shared.instant import HOUR
from shared.language.saying import say

#: So many plans for a stretch may stand at a time.
MOST = 500
#: No plan ends later.
AHEAD = 366 * 24 * HOUR


def plan(handling: Handling, command: PlanPost) -> str | None:
    """Plan a post for a stretch. Gives a reason where that cannot be."""
    roster = handling.state.unit.roster
    try:
        post = Post(rung=command.rung, bed=command.bed)
    except ValueError:
        return say("only the first rung has a post for each bed")
    if post.key not in keys_of(roster):
        return say("there is no bed {bed}", bed=command.bed)
    if command.ends <= handling.now:
        return say("this time is past")
    if command.ends > handling.now + AHEAD:
        return say("a plan ends within {ahead} days", ahead=AHEAD // (24 * HOUR))
    if len(roster.plans) >= MOST:
        return say("{most} plans stand already: take some back first", most=MOST)
    refusal = cannot_stand(handling, command.stands) if command.stands is not None else None
    if refusal is not None:
        return refusal
    number, roster.next_number = roster.next_number, roster.next_number + 1
    roster.plans[number] = PlanState(number, post.key, command.stands, command.begins, command.ends)
    handling.write(
        EntryKind.PLAN_SET,
        post.bed,
        rung=post.rung,
        person=command.stands,
        told_to=command.person,
        until=command.ends,
        command=command.id,
        text=say("{post} planned: {who}", post=post.label, who=person_label(handling, command.stands)),
    )
    look(handling)
    return None


def drop(handling: Handling, command: DropPlan) -> str | None:
    """Take a plan back."""
    found = handling.state.unit.roster.plans.pop(command.plan, None)
    if found is None:
        return say("this plan no longer stands")
    words = say("plan taken back: {label}", label=person_label(handling, found.person))
    handling.write(EntryKind.PLAN_ENDED, person=command.person, command=command.id, text=words)
    look(handling)
    return None


def look(handling: Handling) -> None:
    """Compare the plan of this moment with what it said before: offer what is new, take back what is no more."""
    roster, unit = handling.state.unit.roster, handling.unit
    for number in [n for n, one in roster.plans.items() if one.ends <= handling.now]:
        del roster.plans[number]
    before, said = roster.planned, dict(planned(unit, roster.plans.values(), handling.now))
    roster.planned = said
    changed = {key for key in {*before, *said} if key not in before or said.get(key) != before[key]}
    _take_back(handling, changed)
    wanted: dict[tuple[str | None, str], list[str]] = {}
    for key in keys_of(roster):
        person, whose = said.get(key), owner(roster, key)
        if key in changed and person is not None and person != whose and offered(roster, key) is None:
            wanted.setdefault((whose, person), []).append(key)
    for (giver, to), keys in wanted.items():
        make(handling, keys, giver, to, None)
    _look_again(handling)
    roster.shifts = check_sum(unit)
    handling.touch(None)


def check_sum(unit: Unit) -> int:
    """Give a check sum of the unit's shifts and zone."""
    return crc32(f"{unit.zone} {unit.shifts}".encode())


def _take_back(handling: Handling, changed: set[str]) -> None:
    roster = handling.state.unit.roster
    for number, one in list(roster.offers.items()):
        if one.kind is OfferKind.HAND_OVER and one.by is None:
            lost = [key for key in one.posts if key in changed and roster.planned.get(key) != one.to]
            drop_offers(handling, lost, say("the plan names somebody else now"), [number])


def _look_again(handling: Handling) -> None:
    """Work out when the plan next changes, or an edge comes into the forecast."""
    roster, unit, now = handling.state.unit.roster, handling.unit, handling.now
    ahead = round(handling.ladder.handing_over.forecast_h * HOUR)
    plans = list(roster.plans.values())
    soon, far = next_edge(unit, plans, now), next_edge(unit, plans, now + ahead)
    times = [at - back for at, back in ((soon, 0), (far, ahead)) if at is not None]
    roster.looks_at = min(times, default=None)


def speak(handling: Handling) -> None:
    """Look at the plan when it changes."""
    looks_at = handling.state.unit.roster.looks_at
    if looks_at is not None and looks_at <= handling.now:
        look(handling)
