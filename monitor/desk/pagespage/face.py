"""What the desk says of pages out, in words: the last ones, who can be rung, and which page did not go out."""

from dataclasses import dataclass

from monitor.core.grades import RUNG_LABEL, Rung
from monitor.core.pages.states import LOST, TELEPHONE, PageState, state_words
from monitor.core.view import EpisodeView, PageView
from monitor.desk import words
from monitor.desk.people import natural
from monitor.desk.store import Store
from monitor.desk.tile.moment import Moment
from shared.cautions import DELIVERY
from shared.language.saying import say, to_say

#: Rungs above the bedside first, then the nurses at the beds, then everybody else.
_PLACES = {2: 0, 3: 1, 4: 2, 5: 3, 1: 4}
_LAST = 5

CAUTION = DELIVERY
_SHORT = {
    PageState.WAITING: to_say("waiting since {at}"),
    PageState.TRYING_AGAIN: to_say("not sent {at}: telephone"),
    PageState.IN_DOUBT: to_say("in doubt {at}: telephone"),
    PageState.HANDED_OVER: to_say("out {at}, delivery unknown"),
    PageState.REFUSED: to_say("refused {at}: telephone"),
    PageState.NOT_SENT: to_say("not sent: telephone"),
    PageState.LEFT_IN_DOUBT: to_say("in doubt: telephone"),
    PageState.STOPPED: to_say("not sent, taken {at}"),
    PageState.DESKS_ONLY: to_say("at the desks only"),
}


@dataclass(frozen=True, slots=True)
class PageLine:
    """A page as it is shown: when and to whom, what it says, how it stands; ``heavy``: nobody may count on it."""

    head: str
    text: str
    state: str
    heavy: bool


@dataclass(frozen=True, slots=True)
class PhoneLine:
    """Somebody who can be rung. ``rung``: ``R3``, or empty for whoever stands nowhere now."""

    rung: str
    role: str
    label: str
    number: str


def page_lines(store: Store, moment: Moment) -> tuple[PageLine, ...]:
    """Give the last pages, newest first."""
    pages = store.unit.pages if store.unit is not None else ()
    return tuple(_line(page, store, moment) for page in pages)


def page_words(page: PageView, moment: Moment) -> str:
    """Say how a page stands, with the time of its last change."""
    return state_words(page.state, words.hhmm(page.changed_at, moment.zone))


def short_page_words(page: PageView, moment: Moment) -> str:
    """Say the same in few words, for a line among others."""
    return say(_SHORT[page.state]).format(at=words.hhmm(page.changed_at, moment.zone))


def page_of_rung(store: Store, bed: str | None, episode: EpisodeView, rung: int) -> PageView | None:
    """Give the newest page of a rung of an episode; where one of several did not go out, that one."""
    pages = store.unit.pages if store.unit is not None else ()
    found = [page for page in pages if (page.bed, page.episode, page.rung) == (bed, episode.id, rung)]
    return next((page for page in found if page.state in TELEPHONE), found[0] if found else None)


def lost_words(store: Store) -> str:
    """Say which pages of open needs did not go out, or may not have; empty where there is none."""
    if store.unit is None:
        return ""
    open_now = {(bed, episode.id) for bed, episode in store.needs() if not episode.over}
    lost = [page for page in store.unit.pages if page.state in LOST and (page.bed, page.episode) in open_now]
    if not lost:
        return ""
    page = lost[0]
    person = store.person(page.person)
    number = f" {person.phone}" if person is not None and person.phone else ""
    more = say(" · {count} more: P", count=len(lost) - 1) if len(lost) > 1 else ""
    went = say("Page in doubt") if page.state is PageState.LEFT_IN_DOUBT else say("Page not sent")
    return say(
        "{went}: telephone {person}{number} for {value}{more}",
        went=went,
        person=store.label(page.person),
        number=number,
        value=page.bed or say("the unit"),
        more=more,
    )


def phone_lines(store: Store) -> tuple[PhoneLine, ...]:
    """Give who can be rung: those who stand on a rung first, by rung, then everybody else with a number."""
    if store.unit is None:
        return ()
    stands = {cover.person: cover.rung for cover in store.unit.cover if cover.person is not None}
    nurses = {tile.nurse for tile in store.tiles.values() if tile.nurse is not None}
    lines = []
    for person in store.unit.people:
        rung = stands.get(person.name)
        if rung is None and (person.name in nurses or person.name == store.unit.deputy):
            rung = 1
        if rung is None and not person.phone:
            continue
        role = say(RUNG_LABEL[Rung(rung)]) if rung is not None else say(person.role.replace("_", " ").capitalize())
        line = PhoneLine(f"R{rung}" if rung else "", role, person.label, person.phone or say("no number"))
        lines.append((_LAST if rung is None else _PLACES[rung], line))
    return tuple(line for _, line in sorted(lines, key=lambda pair: (pair[0], natural(pair[1].label))))


def _line(page: PageView, store: Store, moment: Moment) -> PageLine:
    rung = say(RUNG_LABEL[Rung(page.rung)])
    at = words.hhmm(page.at, moment.zone)
    who = store.label(page.person)
    return PageLine(f"{at}  {who} · {rung}", page.text, page_words(page, moment), page.state in TELEPHONE)
