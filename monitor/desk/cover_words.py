"""The cover in words: holes and why, the perfusionist's telephone, whom to ring, and that nobody can be called."""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import tzinfo

from monitor.core.grades import RUNG_LABEL, LadderClass, Rung
from monitor.core.view import CoverView, EpisodeView, PersonView
from monitor.desk import words
from monitor.desk.need import wants_somebody
from monitor.desk.store import Store
from monitor.desk.tile.moment import Moment
from shared.instant import Instant
from shared.language.saying import say, to_say

_ON_PAPER = to_say("the list on paper at the desk")


@dataclass(frozen=True, slots=True)
class NobodyThere:
    """Alerts for which nobody at all can be called: places, and since when the first of them."""

    places: tuple[str, ...]
    since: Instant


def holes(store: Store, moment: Moment | None) -> tuple[tuple[str, str], ...]:
    """Give each rung on which nobody can be called, and who is called instead of somebody unreachable."""
    if store.unit is None or moment is None:
        return ()
    cover = sorted(store.unit.cover, key=lambda one: one.instead is not None)  # what is really empty comes first
    found = (_hole(store, one, moment) for one in cover)
    return tuple(hole for hole in found if hole is not None)


def _hole(store: Store, cover: CoverView, moment: Moment) -> tuple[str, str] | None:
    role = say(RUNG_LABEL[Rung(cover.rung)])
    if cover.person is None:
        when = (
            say(" since {hhmm}", hhmm=words.hhmm(cover.empty_since, moment.zone))
            if cover.empty_since is not None
            else ""
        )
        return role, say("nobody{when}", when=when)
    if cover.unreachable_until is None:
        return None
    until = words.hhmm(cover.unreachable_until, moment.zone)
    instead = store.person(cover.instead)
    return (
        (role, say("unreachable until {until}", until=until))
        if instead is None
        else (say("{role} until {until}", role=role, until=until), _reach(instead))
    )


def extension(store: Store) -> str:
    """The telephone of the perfusionist, or of who is called instead: the one number that is asked for."""
    if store.unit is None:
        return ""
    on_call = next((_called(one) for one in store.unit.cover if one.rung == Rung.PERFUSIONIST), None)
    person = store.person(on_call)
    if person is None:
        return ""
    return _reach(person)


def _reach(person: PersonView) -> str:
    return f"{person.label} · {person.phone}" if person.phone else person.label


def _called(cover: CoverView) -> str | None:
    return cover.instead if cover.unreachable_until is not None else cover.person


def phones(store: Store) -> str:
    """Give who is called on the rungs above the bedside, with telephones."""
    if store.unit is None:
        return say(_ON_PAPER)
    on_call = (store.person(_called(one)) for one in store.unit.cover if one.rung != Rung.BEDSIDE)
    return _written(person for person in on_call if person is not None) or say(_ON_PAPER)


def everybody(store: Store) -> str:
    """Give every telephone of the unit's people: where nobody stands on a rung, somebody on the list is rung."""
    return _written(store.unit.people if store.unit is not None else ()) or say(_ON_PAPER)


def _written(people: Iterator[PersonView] | tuple[PersonView, ...]) -> str:
    return "    ".join(f"{person.label} · {person.phone}" for person in people if person.phone)


def nobody_words(store: Store, zone: tzinfo | None) -> str:
    """Say for the strip that nobody can be called, where other needs must stay in sight; else nothing."""
    alone = nobody_there(store)
    if alone is None or not others_wait(store, alone):
        return ""
    where, since = ", ".join(alone.places), words.hhmm(alone.since, zone)
    return say(
        "NOBODY CAN BE CALLED for {where} since {since}. Go there. Telephone: {everybody}",
        where=where,
        since=since,
        everybody=everybody(store),
    )


def others_wait(store: Store, alone: NobodyThere) -> bool:
    """Tell whether somebody is wanted elsewhere too."""
    elsewhere = (tile for bed, tile in store.tiles.items() if bed not in alone.places)
    return any(wants_somebody(episode) for tile in elsewhere for episode in tile.episodes)


def nobody_there(store: Store) -> NobodyThere | None:
    """Give the alerts for which nobody at all can be called, or ``None``. A hole in the cover is told as such."""
    places: list[tuple[str, tuple[EpisodeView, ...]]] = [(bed, tile.episodes) for bed, tile in store.tiles.items()]
    places += [(say("the unit"), store.unit.episodes)] if store.unit is not None else []
    found = [
        (place, episode.ladder.nobody_since)
        for place, episodes in places
        for episode in episodes
        if episode.ladder is not None
        and episode.ladder.nobody_since is not None
        and episode.ladder.ladder is not LadderClass.COVER
    ]
    if not found:
        return None
    return NobodyThere(tuple(dict.fromkeys(place for place, _ in found)), min(since for _, since in found))
