"""What a round at a bed looks at besides numbers, and when it is due: part of ``config/entry.toml``.

Every item is looked at by a person; none is ever inferred from numbers, and an item that nobody has looked at is
not in order. A round that is due is told on the bed page and calls nobody.
"""

from typing import Annotated

from pydantic import Field, model_validator

from shared.entry.row import Row
from shared.mark import Mark
from shared.messages import ItemId, RoundKind
from shared.support import RunDescription, Support

#: A kind of finding, as it is kept in the record: a word or two.
Finding = Annotated[str, Field(min_length=2, max_length=32)]


class RoundItem(Row):
    """One item.

    Attributes:
        findings: which finding there can be, in the order of their keys 1 to 9; 0 is always another one.
        optional: passed without an answer it was not asked for, and is not sent at all.
        rounds: those that ask for it. supports: only at these, empty: at all.
    """

    id: ItemId
    words: str = Field(min_length=3, max_length=80)
    findings: Annotated[tuple[Finding, ...], Field(max_length=9)] = ()
    rounds: Annotated[frozenset[RoundKind], Field(min_length=1)]
    optional: bool = False
    oxygenator: bool = False
    supports: frozenset[Support] = frozenset()

    def belongs_to(self, run: RunDescription) -> bool:
        """Tell whether the item makes sense at a run."""
        return (run.oxygenator or not self.oxygenator) and (not self.supports or run.support in self.supports)


class RoundTimes(Row):
    """When rounds are due. What is left out is never due.

    Attributes:
        hourly_min, perfusion_min: minutes from one to the next.
        safety_walk: due when a run has begun, at the start of each shift and after each transport.
    """

    hourly_min: float | None = Field(default=None, gt=0, le=1440)
    perfusion_min: float | None = Field(default=None, gt=0, le=2880)
    safety_walk: bool = False
    mark: Mark = Mark.COMMON_PRACTICE
    source: str = Field(default="common practice, no source", max_length=160)

    def every_min(self, kind: RoundKind) -> float | None:
        """Give the minutes from one round of a kind to the next, ``None`` where it is not due by the clock."""
        return {RoundKind.HOURLY: self.hourly_min, RoundKind.PERFUSION: self.perfusion_min}.get(kind)


class RoundTable(Row):
    """Items in the order of the round, and when rounds are due."""

    due: RoundTimes = RoundTimes()
    item: tuple[RoundItem, ...] = Field(default=(), max_length=40)

    @model_validator(mode="after")
    def _each_once(self) -> "RoundTable":
        ids = [one.id for one in self.item]
        twice = sorted({one for one in ids if ids.count(one) > 1})
        if twice:
            raise ValueError(f"{', '.join(twice)}: an item stands twice")
        return self

    def items_of(self, kind: RoundKind, run: RunDescription) -> tuple[RoundItem, ...]:
        """Give the items of a round at a run, in their order."""
        return tuple(one for one in self.item if kind in one.rounds and one.belongs_to(run))

    def words_of(self, item: str) -> str:
        """Give the words of an item; its id where the table no longer has it."""
        return next((one.words for one in self.item if one.id == item), item.replace("_", " "))
