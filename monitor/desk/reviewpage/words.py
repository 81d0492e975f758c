"""The lines of a review, in the order in which somebody elsewhere must know them. Pure."""

from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass

from monitor.core.entries import Entry
from monitor.core.entry_words import words_of
from monitor.core.grades import Priority
from monitor.core.meaning.looked_view import ShiftView
from monitor.core.meaning.news import BedNews, looked_at
from monitor.core.view import DueKind, RunView, TileView
from monitor.core.wire import News
from monitor.desk import words
from monitor.desk.device_words import told_ages
from monitor.desk.duepage.words import due_now, span, what_words
from monitor.desk.need import need_of, order_of_need, wants_somebody
from monitor.desk.store import Store
from monitor.desk.sweeppage.face import age_words
from monitor.desk.tile.content import label_of
from monitor.desk.tile.moment import Moment
from monitor.desk.tile.need_words import call_back_words, holder_words, next_call, title_of, without_help
from shared.language.saying import say, to_say
from shared.look.need import Need
from shared.support import SUPPORT_LABEL

NOBODY_HAS, CHANGED, OVERDUE, DEVICES = (
    to_say("Nobody has it"),
    to_say("Changed since you last looked"),
    to_say("Readings and rounds overdue or stale"),
    to_say("Device ages due"),
)
WITH_SOMEBODY, EVERYTHING_ELSE = to_say("With somebody, low, or over and not seen"), to_say("Everything else")
#: The headings, in their order.
TITLES = (NOBODY_HAS, CHANGED, OVERDUE, DEVICES, WITH_SOMEBODY)
#: What stands in place of a bed where the whole unit is meant.
UNIT = to_say("Unit")
WHO = to_say("Who are you? U. What is new to you cannot be told without a name.")
ASKED = to_say("Being asked for.")
UNKNOWN = to_say("Not live: not known here.")
NONE = {
    NOBODY_HAS: to_say("Every medium and high that is open is with somebody."),
    CHANGED: to_say("Nothing of what is compared or written down."),
    OVERDUE: to_say("None by what the hub knows."),
    DEVICES: to_say("None by the ages that the unit set."),
}
#: The rank of a line that is no news itself.
LAST = (float("inf"),)
_READINGS = frozenset({DueKind.READING, DueKind.NO_FEED})
_SHIFTS, _ENTRIES = 3, 2


@dataclass(frozen=True, slots=True)
class Line:
    """A line: what it is about; ``bed`` empty: nothing to open. ``aside``: since when, or who is called next.

    ``also``: further beds of which the same is said. ``rank``: by which a part is in order, the smallest first.
    ``unit``: which, where several are watched. ``need``: of an alert that is open.
    """

    bed: str
    text: str
    aside: str = ""
    bold: bool = False
    also: tuple[str, ...] = ()
    rank: tuple[float, ...] = ()
    unit: int = 0
    need: Need | None = None


@dataclass(frozen=True, slots=True)
class Part:
    """A heading with its lines."""

    title: str
    lines: tuple[Line, ...]


def parts_of(store: Store, news: News | None, who: str | None, moment: Moment) -> tuple[Part, ...]:
    """Give the parts in order; the last one collapses every bed of which nothing was said."""
    found = found_of(store, news, who, moment)
    told = (part for part in found if part.lines or part.title in NONE)
    parts = tuple(part if part.lines else Part(part.title, (Line("", _none(part, moment)),)) for part in told)
    return (*parts, *rest_of(found, store, moment))


def found_of(store: Store, news: News | None, who: str | None, moment: Moment) -> tuple[Part, ...]:
    """Give what there is to say under each heading; an empty part where there is nothing."""
    changed = tuple(_changed(store, news, moment)) if news is not None and news.person == who else None
    unsaid = Line("", say(WHO if who is None else ASKED), bold=not who, rank=LAST)
    return (
        Part(NOBODY_HAS, tuple(_nobody_has(store, moment))),
        Part(CHANGED, changed if changed is not None else (unsaid,)),
        Part(OVERDUE, tuple(_overdue(store, moment))),
        Part(DEVICES, tuple(_devices(store, moment))),
        Part(WITH_SOMEBODY, tuple(_others(store, moment))),
    )


def _none(part: Part, moment: Moment) -> str:
    return say(UNKNOWN) if moment.veiled else say(NONE[part.title])


def _nobody_has(store: Store, moment: Moment) -> Iterator[Line]:
    for bed, episode in store.needs():
        if wants_somebody(episode):
            tile = store.tiles.get(bed) if bed is not None else None
            since = say("since {hhmm}", hhmm=words.hhmm(episode.since, moment.zone))
            called = say("as it stood") if moment.veiled else next(iter(next_call(episode, store, moment)), "")
            grade = say("high") if episode.priority is Priority.HIGH else say("medium")
            said = [call_back_words(episode, who, store, moment)[0] for who in without_help(episode)[-1:]]
            text = " · ".join((f"{title_of(episode, tile, moment)} · {grade}", *said))
            aside = " · ".join(filter(None, (since, called)))
            yield Line(bed or say(UNIT), text, aside, True, rank=order_of_need(episode), need=need_of(episode))


def _others(store: Store, moment: Moment) -> Iterator[Line]:
    for bed, episode in store.needs():
        if not wants_somebody(episode):
            tile = store.tiles.get(bed) if bed is not None else None
            has = holder_words(episode.holder, store, moment) if episode.holder is not None else ""
            stands = has or (say("over, not seen") if episode.over else say(episode.priority.value))
            since = say("since {hhmm}", hhmm=words.hhmm(episode.since, moment.zone))
            text = f"{title_of(episode, tile, moment)} · {stands}"
            need = None if episode.over else need_of(episode)
            yield Line(bed or say(UNIT), text, since, rank=order_of_need(episode), need=need)


def _changed(store: Store, news: News | None, moment: Moment) -> Iterator[Line]:
    beds = [one for one in news.beds if one.bed in store.tiles] if news is not None else []
    unseen: list[BedNews] = []
    for one in sorted(beds, key=_rank):
        since = looked_at(one.looked)
        tile = store.tiles[one.bed]
        if since is None:
            unseen.append(one)
        elif one.entries or any(look.shifts for look in one.looked.values()):
            text = " · ".join((*_shifts(one, tile), *_entries(one, store, moment)))
            aside = say("since {day_hhmm}", day_hhmm=words.day_hhmm(since, moment.second, moment.zone))
            yield Line(one.bed, text, aside, rank=_rank(one))
    if unseen:  # alike, so in one line: what is overdue stands below it
        first, *others = (one.bed for one in unseen)
        aside = "" if others else _support(store.tiles[first])
        text = say("You have not looked at this run yet") + _also(others)
        yield Line(first, text, aside, also=tuple(others), rank=_rank(unseen[0]))


def _rank(one: BedNews) -> tuple[bool, float, int]:
    """What moved furthest in units of its own noise comes first, then what only the log tells; unseen beds last."""
    sizes = [shift.size for look in one.looked.values() for shift in look.shifts]
    return looked_at(one.looked) is None, -max(sizes, default=0.0), -len(one.entries)


def _shifts(one: BedNews, tile: TileView) -> Iterator[str]:
    found = [(shift, slot) for slot, look in one.looked.items() for shift in look.shifts]
    for shift, slot in sorted(found, key=lambda pair: -pair[0].size)[:_SHIFTS]:
        run = next((run for run in tile.runs if run.description.slot == slot), None)
        if run is not None:
            yield _shift(shift, run, len(tile.runs) > 1)


def _shift(shift: ShiftView, run: RunView, two: bool) -> str:
    before, now = (words.reading(shift.quantity, value) for value in (shift.before, shift.now))
    pump = say(", pump {slot}", slot=run.description.slot) if two else ""
    times = say(" ({size:.0f} × noise)", size=shift.size) if shift.size >= 1 else ""
    return f"{label_of(shift.quantity, run)}{pump} {before} → {now}{times}"


def _entries(one: BedNews, store: Store, moment: Moment) -> Iterator[str]:
    told = [(entry, text) for entry in one.entries if (text := words_of(entry, store.label))]
    yield from (_entry(entry, text, moment) for entry, text in told[:_ENTRIES])
    more = len(told) - _ENTRIES + one.more
    if more > 0:
        yield say("and {more} more (Enter, then 9)", more=more)


def _entry(entry: Entry, text: str, moment: Moment) -> str:
    return f"{words.hhmm(entry.at, moment.zone)} {text}"


def _overdue(store: Store, moment: Moment) -> Iterator[Line]:
    """The readings that are overdue, rounds that are late, and beds that are stale; alike ones in one line."""
    due = [one for one in due_now(store) if one.kind in _READINGS or (one.kind is DueKind.ROUND and one.late)]
    alike: dict[tuple[str, str, bool], dict[str, int]] = {}
    each = Counter((one.bed, one.words) for one in due)
    for one in due:
        what = one.words if each[one.bed, one.words] > 1 else what_words(one, store)
        alike.setdefault((what, say("for {span}", span=span(moment, one)), one.late), {}).setdefault(
            one.bed, one.at
        )
    for (text, aside, late), beds in alike.items():
        bed, *others = beds
        yield Line(bed, text + _also(others), aside, late, tuple(others), rank=(0, beds[bed]))
    listed = {one.bed for one in due if one.kind in _READINGS}
    for bed in store.beds():
        tile = store.tiles.get(bed)
        if tile is not None and tile.runs and tile.stale and bed not in listed:
            aside = age_words(tile, moment).split(",")[0]
            yield Line(bed, say("Stale: nothing is judged"), aside, bold=True, rank=(1,))


def _also(others: list[str]) -> str:
    return say(" · also {others}", others=", ".join(others)) if others else ""


def _devices(store: Store, moment: Moment) -> Iterator[Line]:
    for bed in store.beds():
        tile = store.tiles.get(bed)
        if tile is not None:
            yield from (Line(bed, line.text, "", line.bold) for line in told_ages(tile, moment))


def rest_of(found: tuple[Part, ...], store: Store, moment: Moment) -> tuple[Part, ...]:
    """Collapse every bed of which nothing was said."""
    said = {bed for part in found for line in part.lines for bed in (line.bed, *line.also)}
    beds = [bed for bed in store.beds() if bed not in said]
    if moment.veiled:
        return (
            Part(
                EVERYTHING_ELSE, (Line("", say("{beds}: not known here. Go to the beds.", beds=", ".join(beds))),)
            ),
        )
    empty = [bed for bed in beds if (tile := store.tiles.get(bed)) is not None and not tile.runs]
    others = [bed for bed in beds if bed not in empty]
    lines = []
    if others:
        lines.append(
            Line("", say("{others}: nothing of the above. That is no proof of safety.", others=", ".join(others)))
        )
    if empty:
        lines.append(Line("", say("{empty}: no support run, nothing is watched.", empty=", ".join(empty))))
    return (Part(EVERYTHING_ELSE, tuple(lines)),) if lines else ()


def _support(tile: TileView) -> str:
    return " + ".join(say(SUPPORT_LABEL[run.description.support]) for run in tile.runs)
