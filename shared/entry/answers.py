"""What was looked at, in the making: answers of one key each, none of them ever filled in.

An item without an answer was not looked at; answered too long ago, it must be looked at again.
"""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from shared.entry.looking import EntryTimes
from shared.entry.round_table import RoundItem
from shared.entry.times import must_be_read_again
from shared.instant import Instant
from shared.messages import Found, Looked


@dataclass(frozen=True, slots=True)
class Answer:
    """What a person says of one item, and when; ``note``: which finding."""

    found: Found
    at: Instant
    note: str | None = None

    @property
    def looked(self) -> Looked:
        """The same as it is sent."""
        return Looked(found=self.found, note=self.note)


def unanswered(items: Iterable[RoundItem], answers: Mapping[str, Answer]) -> tuple[RoundItem, ...]:
    """Give the items that were asked for and of which nothing was said."""
    return tuple(one for one in items if one.id not in answers and not one.optional)


def too_old(
    items: Iterable[RoundItem], answers: Mapping[str, Answer], times: EntryTimes, now: Instant
) -> tuple[RoundItem, ...]:
    """Give the items that were answered so long ago that they must be looked at again."""
    answered = [one for one in items if one.id in answers]
    return tuple(one for one in answered if must_be_read_again(times, answers[one.id].at, now))


def looked_at(items: Iterable[RoundItem], answers: Mapping[str, Answer]) -> dict[str, Looked]:
    """Give every item of a round as it is sent, or nothing where no item was answered.

    An item of which nothing was said is sent as not looked at, for that is what is known of it; an optional one is
    not sent.
    """
    asked = tuple(one for one in items if one.id in answers or not one.optional)
    if not any(one.id in answers for one in asked):
        return {}
    not_looked = Looked(found=Found.NOT_LOOKED)
    return {one.id: answers[one.id].looked if one.id in answers else not_looked for one in asked}
