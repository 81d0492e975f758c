"""A machine with the entry form on it: sets that somebody reads off a console, types, corrects and strikes.

The link is that of a feed. What a person may do to a set stands in `shared.entry.versions`; played is what comes of
it: first versions, corrections, strikes of two people, and what somebody takes back alone.
"""

import random
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property

from monitor.cli.trials.feed_machine import FeedMachine
from monitor.rehearsal.trials.plan import Item
from shared.feed_talk import Draft, Kept
from shared.instant import MINUTE, SECOND, Instant
from shared.messages import Edition, Why

#: A set is typed so long after it was read: no clock that is set here puts it into the hub's future.
READ_BEFORE_MS = MINUTE
_OLDER_MS = 25 * MINUTE


@dataclass(slots=True)
class _Set:
    id: str
    bed: str
    read_at: Instant
    version: int = 1
    struck: bool = False


class FormMachine(FeedMachine):
    """One form. What was typed is kept with it, through all its lives. ``beside``: its beds that have a cable."""

    beside: Sequence[str] = ()

    @cached_property
    def _typed(self) -> list[_Set]:
        return []

    def enter(self, item: Item) -> None:
        """Do at a bed what an item says: ``what`` is one of `SETS` of the plan, ``length`` until it is mended."""
        rng = random.Random(item.seed)
        standing = [one for one in self._typed if one.bed == item.who and not one.struck]
        if item.what in ("correct", "strike"):
            if standing:
                one = rng.choice(standing[-3:])
                self._correct(one) if item.what == "correct" else self._strike(one, "charge")
            return
        back = rng.randrange(_OLDER_MS) if item.what == "older" else 0
        at = max(self._wall() - READ_BEFORE_MS - back, self._wall() - self._timeline.now) + item.number
        one = _Set(f"{item.seed:016x}", item.who, at)
        if not self._type(one, Edition(set=one.id)):
            return
        self._typed.append(one)
        if item.what == "mistyped":
            self._timeline.after(item.length, lambda: self._correct(one))
        elif item.what == "taken back":
            self._timeline.after(min(item.length, 10 * SECOND), lambda: self._strike(one, None))

    def _correct(self, one: _Set) -> None:
        if not one.struck and self._type(one, Edition(set=one.id, version=one.version + 1, why=Why.MISTYPED)):
            one.version += 1

    def _strike(self, one: _Set, second: str | None) -> None:
        if second is None and one.version > 1:
            return  # only as it was sent
        edition = Edition(set=one.id, version=one.version + 1, why=Why.WRONG_BED, struck=True, second=second)
        if not one.struck and self._type(one, edition):
            one.version, one.struck = one.version + 1, True

    def _type(self, one: _Set, edition: Edition) -> bool:
        """Send a version; give whether it was numbered: from then on nothing but a lost memory loses it."""
        also = random.Random(f"{one.id} {edition.version}").random() < 0.6
        has_cable = one.bed in self.beside
        readings = {} if edition.struck else self._patients.typed(one.bed, also, has_cable)
        if self._talk is None or readings is None:
            return False
        draft = Draft(
            bed=one.bed,
            read_at=one.read_at,
            readings=readings,
            entered_at=self._wall(),
            by=f"nurse-{one.bed}",
            edition=edition,
        )
        self._is_numbered = False
        self._alive(lambda talk: talk.publish([draft]))
        if not self._is_numbered:
            return False  # it was killed before
        self._story.counts[f"sets: version {min(edition.version, 3)}" + (", struck" if edition.struck else "")] += 1
        return True

    def _numbered(self, epoch: str, batch: Sequence[Kept]) -> None:
        self._is_numbered = True
        super()._numbered(epoch, batch)
