"""What the numbers mean, in words for the page: what changed in order, and since somebody looked. Pure."""

from collections.abc import Iterable, Iterator
from datetime import tzinfo

from monitor.core.entries import Entry
from monitor.core.entries import EntryKind as K
from monitor.core.entry_words import words_of
from monitor.core.meaning.looked_view import LookedView
from monitor.core.meaning.news import NEWS
from monitor.core.meaning.trend_view import ChangeView
from monitor.core.meaning.view import Meaning
from monitor.core.view import RunView
from monitor.desk import words
from monitor.desk.bedpage.changes_card import HOW, HOW_BY_SET, ChangeLines
from monitor.desk.bedpage.event_rows import Label
from monitor.desk.bedpage.rows_card import Row
from monitor.desk.tile.content import label_of
from shared.instant import MINUTE
from shared.language.saying import say, to_say
from shared.quantities import Quantity as Q

_FOLLOWS = {
    Q.SPEED_YIELD: frozenset({Q.PUMP_FLOW}),
    Q.OXYGENATOR_PRESSURE_DROP: frozenset({Q.PRE_OXYGENATOR_PRESSURE, Q.POST_OXYGENATOR_PRESSURE}),
}
NO_CHANGE = to_say("Nothing that is read has left what was usual here. Not everything is read.")
NO_NEWS = to_say("nothing of what is compared or written down")
NO_CHANGE_BY_SET = to_say("Nothing in the last set has left what was usual here. Not everything is read.")
ONE_SET = to_say("What is usual here is not known yet: the first set and the next one are needed.")
ASKED = to_say("Being worked out.")
YOUNG = to_say("What is usual here is not known yet: the run's first ten minutes.")
STALE = to_say("Not judged: the readings are too old to say what changed.")
NOT_LIVE = to_say("Not live: what changed is not known here.")
NEVER_LOOKED = to_say("{who} has not looked at this run yet")
NOBODY = to_say("Nobody is signed in (U): what is new to you cannot be told.")


def change_words(change: ChangeView, run: RunView, zone: tzinfo | None) -> str:
    """``13:12 Drain P −60 → −97``, with its second where it came at once and the readings still tell it."""
    before, value = (words.reading(change.quantity, number) for number in (change.before, change.value))
    label = label_of(change.quantity, run)
    fine = change.sudden and change.resolution_ms < MINUTE
    onset = words.clock(change.onset, zone) if fine else words.hhmm(change.onset, zone)
    when = (
        say("before {onset}, in a gap:", onset=onset)
        if change.after_gap
        else say("by {onset}", onset=onset)
        if change.by_set
        else onset
    )
    return f"{when} {label} {before} → {value}" + (say(", at once") if change.sudden else "")


def change_lines(
    meaning: Meaning | None,
    run: RunView,
    since: tuple[Row, ...],
    who: str | None,
    zone: tzinfo | None,
    *,
    live: bool = True,
    by_hand: bool = False,
    stale: bool = False,
) -> ChangeLines:
    """Give the two lines above the trends. ``who``: the person at this desk, as written on screens."""
    if meaning is None:
        return ChangeLines((), say(ASKED) if live else say(NOT_LIVE), (), "")
    chips = (*_differs(meaning), *(change_words(change, run, zone) for change in _told(meaning.changes)))
    unknown = not any(one.run_baseline is not None for one in meaning.trends)
    young, same = (say(ONE_SET), say(NO_CHANGE_BY_SET)) if by_hand else (say(YOUNG), say(NO_CHANGE))
    without = say(STALE) if stale else young if unknown else same
    looked = meaning.looked
    tip = say(HOW_BY_SET) if by_hand else say(HOW)
    how = tip if without is same else ""
    if who is None or looked is None:
        return ChangeLines(chips, without, (say(NOBODY),), say("Since you looked"), how, tip)
    if looked.at is None:
        return ChangeLines(
            chips,
            without,
            (say(NEVER_LOOKED, who=who),),
            say("Since you looked"),
            how,
            tip,
        )
    title = say("Since {who} looked {hhmm}", who=who, hhmm=words.hhmm(looked.at, zone))
    told = tuple(f"{row.at} {row.text}".strip() for row in since) or (say(NO_NEWS),)
    return ChangeLines(chips, without, told, title, how, tip)


def _differs(meaning: Meaning) -> tuple[str, ...]:
    """A flow that is shown and is not what the pump's own past says comes first: all else is read beside it."""
    flow = meaning.flow_estimate
    return (flow.differs,) if flow is not None and flow.differs else ()


def _told(changes: tuple[ChangeView, ...]) -> Iterator[ChangeView]:
    """What only follows from another change is no news beside it: flow per speed, and the drop of two pressures."""
    changed = {change.quantity for change in changes}
    return (change for change in changes if not _FOLLOWS.get(change.quantity, frozenset()) & changed)


def since_rows(
    looked: LookedView | None, entries: Iterable[Entry], run: RunView, label: Label, zone: tzinfo | None
) -> tuple[Row, ...]:
    """Give what is new to somebody since their last look: usual values that moved, then news, the newest first."""
    if looked is None or looked.at is None:
        return ()
    return (*_shifts(looked, run), *_news(looked.at, entries, label, zone))


def _shifts(looked: LookedView, run: RunView) -> Iterator[Row]:
    for shift in looked.shifts:
        before, now = (words.reading(shift.quantity, value) for value in (shift.before, shift.now))
        of = say("last sets") if looked.by_set else say("medians of 30 min")
        yield Row("", f"{label_of(shift.quantity, run)} {before} → {now} ({of})")


def _news(since: int, entries: Iterable[Entry], label: Label, zone: tzinfo | None) -> Iterator[Row]:
    for entry in entries:
        if entry.at > since and entry.kind in NEWS:
            text = words_of(entry, label)
            if text:
                yield Row(words.hhmm(entry.at, zone), text, entry.kind is K.PROMOTED)
