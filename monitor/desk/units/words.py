"""The lines of a review of several units: those of each unit, in one order of need. Pure.

A line keeps the place of its unit, and what a unit's hub said is put into words with that unit's own store and time
alone. A unit that is lost stays in the order by what was last heard of it, said to be as it stood, and the loss is
a need of its own: a medium of the unit that nobody has, as it sounds.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

from monitor.core.grades import RANK, Priority
from monitor.core.wire import News
from monitor.desk import words
from monitor.desk.link_state import LinkState
from monitor.desk.reach import do_words
from monitor.desk.reviewpage.words import (
    EVERYTHING_ELSE,
    LAST,
    NOBODY_HAS,
    NONE,
    TITLES,
    UNIT,
    UNKNOWN,
    Line,
    Part,
    found_of,
    rest_of,
)
from monitor.desk.store import Store
from monitor.desk.tile.moment import Moment
from shared.language.saying import say, to_say

#: The unit of a line that is about all of them.
ALL = -1
AS_IT_STOOD = to_say("as it stood")


@dataclass(frozen=True, slots=True)
class Watched:
    """One unit: what its hub told, what is new there to whoever sits here, and its own time; none: never heard."""

    store: Store
    news: News | None = None
    who: str | None = None
    moment: Moment | None = None


def names_of(stores: Sequence[Store]) -> tuple[str, ...]:
    """Give each unit's name; with its address where two have the same, and that alone before it was heard."""
    names = [store.unit.name if store.unit is not None else "" for store in stores]
    found = []
    for name, store in zip(names, stores, strict=True):
        address = store.link.hub.address
        found.append(address if not name else f"{name} ({address})" if names.count(name) > 1 else name)
    return tuple(found)


def parts_over(units: Sequence[Watched]) -> tuple[Part, ...]:
    """Give the parts in order, each with the lines of all units in one order; last what is collapsed, by unit."""
    told: dict[str, list[Line]] = {title: [] for title in TITLES}
    rest: list[Line] = []
    for place, one in enumerate(units):
        told[NOBODY_HAS] += _loss(place, one)
        if one.moment is None:
            for title in NONE.keys() - {NOBODY_HAS}:
                told[title].append(Line("", say(UNKNOWN), rank=LAST, unit=place))
            continue
        found = found_of(one.store, one.news, one.who, one.moment)
        for part in found:
            lines = part.lines
            if not lines and one.moment.veiled and part.title in NONE:
                lines = (Line("", say(UNKNOWN), rank=LAST),)
            told[part.title] += [_of(place, line, one.moment) for line in lines]
        rest += [replace(line, unit=place) for part in rest_of(found, one.store, one.moment) for line in part.lines]
    parts = [Part(title, tuple(_ordered(title, lines))) for title, lines in told.items()]
    return tuple(part for part in (*parts, Part(EVERYTHING_ELSE, tuple(rest))) if part.lines)


def _of(place: int, line: Line, moment: Moment) -> Line:
    if moment.veiled and line.rank == LAST:
        return Line("", say(UNKNOWN), rank=LAST, unit=place)
    stood = moment.veiled and say(AS_IT_STOOD) not in line.aside
    return replace(
        line, unit=place, aside=" · ".join(filter(None, (line.aside, say(AS_IT_STOOD) if stood else "")))
    )


def _ordered(title: str, lines: list[Line]) -> list[Line]:
    if not lines and title in NONE:
        return [Line("", say(NONE[title]), unit=ALL)]
    return sorted(lines, key=lambda line: line.rank)


def _loss(place: int, one: Watched) -> Iterator[Line]:
    """Say that a unit's hub is lost or was never found: where it was looked for, and what to do."""
    link = one.store.link
    if one.moment is None:
        found = say("Hub not found") if link.state is LinkState.NOT_LIVE else say("Looking for the hub")
        text = " ".join(filter(None, (f"{found}: {link.tried}.", do_words(link.reach))))
        yield Line(
            say(UNIT),
            text,
            say("Nothing of it is known. Telephone: the list on paper"),
            bold=True,
            rank=_rank(0),
            unit=place,
        )
    elif link.state is LinkState.NOT_LIVE:
        last = one.store.clock.last_word
        since = say("NOT LIVE since {clock}", clock=words.clock(last, one.moment.zone))
        text = " ".join(
            filter(
                None,
                (say("{since}: the hub is lost ({tried}).", since=since, tried=link.tried), do_words(link.reach)),
            )
        )
        yield Line(
            say(UNIT), text, say("Nothing of it is current. Telephones: P"), bold=True, rank=_rank(last), unit=place
        )


def _rank(since: int) -> tuple[int, ...]:
    """As `order_of_need` ranks a technical medium that nobody has."""
    return (0, 1, RANK[Priority.MEDIUM], 1, 0, since)
