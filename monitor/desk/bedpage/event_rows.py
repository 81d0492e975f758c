"""The rows of a bed's events: calls of one moment on one row, and the same calls again on the row of the newest.

While nobody answers, everybody is called again each minute: written one by one, calls would push everything that
changed off the list.
"""

from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass
from datetime import tzinfo
from itertools import groupby

from monitor.core.entries import Entry, EntryKind
from monitor.core.entry_words import words_of
from monitor.desk import words
from shared.language.saying import say, within

Label = Callable[[str | None], str]


@dataclass(frozen=True, slots=True)
class EventRow:
    """One row: the newest entry that stands on it, and its words."""

    entry: Entry
    text: str


@dataclass(slots=True)
class _Calls:
    """Calls of the same people for one episode with nothing between: the newest moment, the oldest, how many."""

    newest: Entry
    people: str
    oldest: Entry
    times: int = 1


def event_rows(entries: Iterable[Entry], label: Label, zone: tzinfo | None) -> Iterator[EventRow]:
    """Give the rows of entries, newest first; an entry that says nothing has none, and parts no calls."""
    calls: _Calls | None = None
    speaking = (entry for entry in entries if words_of(entry, label))
    for key, group in groupby(speaking, key=_moment):
        together = list(group)
        if key is not None:
            people = _people(together, label)
            if calls is not None and (calls.people, calls.newest.episode) == (people, together[0].episode):
                calls.oldest, calls.times = together[0], calls.times + 1
                continue
        if calls is not None:
            yield _row(calls, zone)
            calls = None
        if key is not None:
            calls = _Calls(together[0], people, together[0])
        else:
            yield from (EventRow(entry, words_of(entry, label)) for entry in together)
    if calls is not None:
        yield _row(calls, zone)


def _moment(entry: Entry) -> tuple[int, int | None] | None:
    return (entry.at, entry.episode) if entry.kind is EntryKind.CALLED else None


def _people(calls: list[Entry], label: Label) -> str:
    """Give who was called in one moment, the first rung first; a single call keeps its own words."""
    if len(calls) == 1:
        return words_of(calls[0], label)
    in_order = sorted(calls, key=lambda entry: entry.rung or 0)
    return say(
        "Called: {people}",
        people=", ".join(within(words_of(entry, label), "{who} called") for entry in in_order),
    )


def _row(calls: _Calls, zone: tzinfo | None) -> EventRow:
    more = (
        say(" · {times} times since {hhmm}", times=calls.times, hhmm=words.hhmm(calls.oldest.at, zone))
        if calls.times > 1
        else ""
    )
    return EventRow(calls.newest, f"{calls.people}{more}")
