"""Who held each post in the past: from the entries of the alert log to intervals without gap or overlap.

The log has a `STANDS` entry for every post at the start of the record, and one for each change of who is called
there. From these alone follows, for every moment, exactly one answer: a person or nobody.
"""

from collections.abc import Iterable
from dataclasses import dataclass

from monitor.core.entries import Entry, EntryKind
from monitor.core.grades import Rung
from monitor.core.roster.post import Post
from shared.instant import Instant


@dataclass(frozen=True, slots=True)
class Held:
    """``person`` stood on the post from ``begins`` up to, not including, ``ends``; ``None``: nobody did."""

    begins: Instant
    ends: Instant
    person: str | None


def holding(entries: Iterable[Entry], begin: Instant, end: Instant) -> dict[str, tuple[Held, ...]]:
    """Give the intervals of each post (`Post.key`) from ``begin`` to ``end``, in order, without gap or overlap.

    Args:
        entries: of the alert log in their order, from the start of the record or before ``begin``. What is before
            the first word about a post counts as nobody.
    """
    turns: dict[str, list[tuple[Instant, str | None]]] = {}
    for entry in entries:
        if entry.kind is EntryKind.STANDS and entry.rung is not None and entry.at < end:
            key = Post(rung=Rung(entry.rung), bed=entry.bed).key
            turns.setdefault(key, [(begin, None)]).append((max(begin, entry.at), entry.person))
    return {key: tuple(_joined(found, end)) for key, found in turns.items()}


def _joined(turns: list[tuple[Instant, str | None]], end: Instant) -> list[Held]:
    """Make intervals of turns; of several at one moment the last counts, and equal neighbours are one."""
    made: list[Held] = []
    for number, (at, person) in enumerate(turns):
        until = turns[number + 1][0] if number + 1 < len(turns) else end
        if until <= at:
            continue
        if made and made[-1].person == person:
            made[-1] = Held(made[-1].begins, until, person)
        else:
            made.append(Held(at, until, person))
    return made


def holder_at(intervals: Iterable[Held], at: Instant) -> str | None:
    """Give who stood on a post at a moment. Raises LookupError where no interval, or more than one, has it."""
    found = [one for one in intervals if one.begins <= at < one.ends]
    if len(found) != 1:
        raise LookupError(f"{len(found)} intervals cover {at}")
    return found[0].person
