"""The roster in words: one line for each post, and lists beside it. No window, no colour."""

from collections.abc import Iterator
from dataclasses import dataclass

from monitor.core.roster.post import Post
from monitor.core.roster.state import OfferKind
from monitor.core.roster.view import HoleView, LoadView, OfferView, PostView, RosterView
from monitor.core.roster.why import Why
from monitor.core.view import ConfiguredView, UnitView
from monitor.desk import words
from monitor.desk.people import natural
from monitor.desk.store import Store
from monitor.desk.tile.moment import Moment
from shared.instant import MINUTE
from shared.language.saying import say, says, to_say

_WHY = {
    Why.EMPTY: to_say("nobody"),
    Why.NOT_PLANNED: to_say("nobody planned"),
    Why.UNREACHABLE: to_say("unreachable"),
}


@dataclass(frozen=True, slots=True)
class Row:
    """One post. ``hole``: nobody can be called there. ``open``: what waits for somebody, ``old`` if for long."""

    post: Post
    label: str
    who: str
    hole: bool
    since: str
    load: str
    plan: str
    open: str
    old: bool


@dataclass(frozen=True, slots=True)
class Line:
    """A line of a list; ``bold``: somebody must act on it."""

    left: str
    right: str
    bold: bool = False


def rows_of(store: Store, roster: RosterView, moment: Moment) -> tuple[Row, ...]:
    """Give a row for each post; of the beds those with a run, and those where somebody stands all the same."""
    loads = {load.person: load for load in roster.loads}
    return tuple(
        _row(store, roster, one, loads.get(one.stands or ""), moment)
        for one in roster.posts
        if one.post.bed is None or one.person is not None or _in_use(store, one.post.bed)
    )


def _in_use(store: Store, bed: str) -> bool:
    tile = store.tiles.get(bed)
    return tile is not None and bool(tile.runs)


def _row(store: Store, roster: RosterView, one: PostView, load: LoadView | None, moment: Moment) -> Row:
    offer = offer_on(roster, one.post)
    return Row(
        post=one.post,
        label=one.post.label,
        who=who_words(store, one, moment),
        hole=one.stands is None,
        since=words.hhmm(one.since, moment.zone),
        load=load_words(load) if load is not None else "",
        plan=_plan_words(store, one, moment),
        open=_waits_for(store, offer, moment) if offer is not None else "",
        old=offer is not None and offer.old,
    )


def unseen(unit: UnitView, person: str | None) -> tuple[ConfiguredView, ...]:
    """Give the changes of the configuration that a person has not seen; nobody: all of them."""
    seen = unit.configuration_seen.get(person or "", 0)
    return tuple(one for one in unit.configured if one.at > seen)


def offer_on(roster: RosterView, post: Post) -> OfferView | None:
    """Give the open offer of a post: for good before one for a break, or to be called instead of who has it."""
    offers = [one for one in roster.offers if post in one.posts]
    person = next((one.person for one in roster.posts if one.post == post), None)
    offers += [one for one in roster.offers if one.kind is OfferKind.INSTEAD and one.giver == person]
    return min(offers, key=lambda one: one.kind is not OfferKind.HAND_OVER, default=None)


def who_words(store: Store, one: PostView, moment: Moment) -> str:
    """Say who is called on a post, and in whose place."""
    name = store.label(one.person)
    if one.person is None:
        return say("nobody")
    if one.unreachable_until is not None:
        until = words.hhmm(one.unreachable_until, moment.zone)
        if one.stands is None:
            return say("{name}: unreachable until {until}", name=name, until=until)
        return say(
            "{stands} instead of {name} until {until}", stands=store.label(one.stands), name=name, until=until
        )
    if one.went is not None and one.back_at is not None:
        return say(
            "{name} for {went}, back {hhmm}",
            name=name,
            went=store.label(one.went),
            hhmm=words.hhmm(one.back_at, moment.zone),
        )
    return name


def load_words(load: LoadView) -> str:
    """Say what rests on a name: ``2 beds · 1 high``."""
    beds = says("{count} bed", "{count} beds", load.beds) if load.beds else ""
    highs = says("{count} high held", "{count} highs held", load.open_highs) if load.open_highs else ""
    return " · ".join(part for part in (beds, highs) if part)


def _plan_words(store: Store, one: PostView, moment: Moment) -> str:
    now = ""
    if one.has_plan and one.planned not in (one.person, one.went):
        now = say("now {planned}", planned=store.label(one.planned) if one.planned else say("nobody planned"))
    then = ""
    if one.changes_at is not None:
        who = store.label(one.then) if one.then else say("nobody planned")
        then = f"{words.hhmm(one.changes_at, moment.zone)} {who}"
    return ", ".join(part for part in (now, then) if part)


def _waits_for(store: Store, offer: OfferView, moment: Moment) -> str:
    """Say on the row of a post who has to accept, and for how long that has been so."""
    what = {OfferKind.HAND_OVER: "", OfferKind.BREAK: say(" to cover"), OfferKind.INSTEAD: say(" instead")}[
        offer.kind
    ]
    since = say("since {hhmm}", hhmm=words.hhmm(offer.at, moment.zone))
    if offer.old:
        since = say("{now} min, not accepted", now=(moment.now - offer.at) // MINUTE)
    return f"{store.label(offer.to)}{what}, {since}"


def offer_words(store: Store, offer: OfferView, moment: Moment) -> str:
    """Say what waits for whose acceptance."""
    to, old = store.label(offer.to), ""
    if offer.old:
        old = say(", not accepted for {now} min", now=(moment.now - offer.at) // MINUTE)
    what = {
        OfferKind.HAND_OVER: say("Offered to {to}", to=to),
        OfferKind.BREAK: say("{to} to cover {minutes} min", to=to, minutes=offer.minutes),
        OfferKind.INSTEAD: say("{to} to be called instead", to=to),
    }[offer.kind]
    return f"{what}{old}" if old else f"{what}, {words.hhmm(offer.at, moment.zone)}"


def forecast_of(roster: RosterView, moment: Moment) -> tuple[Line, ...]:
    """Give the holes to come, the soonest first."""
    return tuple(_hole(hole, moment) for hole in roster.forecast)


def _hole(hole: HoleView, moment: Moment) -> Line:
    begins = say("now")
    if hole.begins > moment.now:
        other_day = words.day(hole.begins, moment.zone) != words.day(moment.now, moment.zone)
        begins = f"{(say('tomorrow ') if other_day else '')}{words.hhmm(hole.begins, moment.zone)}"
    when = (
        say("from {begins}", begins=begins)
        if hole.ends is None
        else say("{begins} to {hhmm}", begins=begins, hhmm=words.hhmm(hole.ends, moment.zone))
    )
    return Line(f"{hole.post.label}: {say(_WHY[hole.why])}", when, hole.begins <= moment.now)


def loads_of(store: Store, roster: RosterView) -> tuple[Line, ...]:
    """Give the names on which something rests, the heaviest first."""
    heavy = sorted(roster.loads, key=lambda one: (-one.open_highs, -one.beds, natural(store.label(one.person))))
    found = [(one, load_words(one)) for one in heavy]
    return tuple(Line(store.label(one.person), said, one.open_highs > 1) for one, said in found if said)


def told_of(store: Store, moment: Moment) -> Iterator[Line]:
    """Give what both sides are told now: offers that are old, breaks that end soon."""
    if store.unit is None:
        return
    roster = store.unit.roster
    for offer in roster.offers:
        if offer.old:
            keeps = (
                say("; {giver} keeps it", giver=store.label(offer.giver))
                if offer.giver is not None and offer.posts
                else ""
            )
            posts = f"{', '.join(post.label for post in offer.posts)}: " if offer.posts else ""
            yield Line(f"{posts}{offer_words(store, offer, moment)}{keeps}", "", True)
    for rest in roster.breaks:
        if rest.ends_soon and rest.until > moment.now:
            posts = ", ".join(post.label for post in rest.posts)
            back = say(
                "returns to {who} in {countdown}",
                who=store.label(rest.who),
                countdown=words.countdown(rest.until - moment.now),
            )
            yield Line(
                say(
                    "{posts} {back}, {cover} covers until then",
                    posts=posts,
                    back=back,
                    cover=store.label(rest.cover),
                ),
                "",
                False,
            )


def waiting_of(store: Store, roster: RosterView, moment: Moment) -> tuple[Line, ...]:
    """Give what is open: offers, breaks, who cannot be reached, plans for a stretch."""
    lines = [
        Line(
            ", ".join(post.label for post in one.posts) or say("Instead of {giver}", giver=store.label(one.giver)),
            offer_words(store, one, moment),
            one.old,
        )
        for one in roster.offers
    ]
    lines += [
        Line(
            say("Break: {who}, {cover} covers", who=store.label(one.who), cover=store.label(one.cover)),
            say(
                "back {hhmm}, in {countdown}",
                hhmm=words.hhmm(one.until, moment.zone),
                countdown=words.countdown(one.until - moment.now),
            ),
            one.ends_soon,
        )
        for one in roster.breaks
    ]
    lines += [
        Line(
            say("Unreachable: {person}", person=store.label(one.person)),
            say("until {hhmm}, ", hhmm=words.hhmm(one.until, moment.zone))
            + (
                say("{instead} instead", instead=store.label(one.instead))
                if one.instead is not None
                else say("nobody instead")
            ),
            one.instead is None,
        )
        for one in roster.away
    ]
    lines += [
        Line(
            say(
                "Plan: {label} {person}",
                label=one.post.label,
                person=store.label(one.person) if one.person else say("nobody"),
            ),
            say(
                "{hhmm} to {hhmm2}",
                hhmm=words.hhmm(one.begins, moment.zone),
                hhmm2=words.hhmm(one.ends, moment.zone),
            ),
        )
        for one in roster.plans
    ]
    return tuple(lines)
