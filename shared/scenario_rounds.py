"""The tables of a scenario in which people go round without any cable: rounds, what is mended, shifts.

A round is read off the bed's simulated circuit at its moment and typed by a person (`shared.rounds_played`).
"""

from collections.abc import Iterator, Mapping
from typing import Annotated

from pydantic import Field, model_validator

from shared.messages import BedLabel, ItemId, Name, RoundKind, Why
from shared.scenario_parts import Part, Settable, Slot, Time

Key = Annotated[str, Field(min_length=1, max_length=40, pattern=r"^[a-z0-9-]+$")]


class Round(Part):
    """A round, or with ``every`` a series of them until ``until``.

    Attributes:
        read_at: when the first is read; each of a series begins up to ``spread`` later, as the seed has it.
        takes: from reading to saving. ``at``: when it is saved, where that is much later; of a series never.
        skip: which of a series are not done, counted from 1.
        read_off: another bed, off which the numbers were read by mistake.
        slip: what is typed first into a field, before the number itself. misread: what is typed instead of it.
        found: what was found, by item; not_looked: items that nobody looked at; the rest is in order.
        key: by which a ``[[mend]]`` names it.
    """

    bed: BedLabel
    by: Name
    slot: Slot = 1
    kind: RoundKind = RoundKind.HOURLY
    read_at: Time
    at: Time | None = None
    takes: Time = 150.0
    every: Time | None = None
    until: Time | None = None
    spread: Time = 0.0
    skip: frozenset[Annotated[int, Field(ge=1)]] = frozenset()
    read_off: BedLabel | None = None
    slip: Mapping[Settable, str] = {}
    misread: Mapping[Settable, str] = {}
    found: Mapping[ItemId, Annotated[str, Field(max_length=80)]] = {}
    not_looked: frozenset[ItemId] = frozenset()
    key: Key | None = None

    @model_validator(mode="after")
    def _makes_sense(self) -> "Round":
        if (self.every is None) != (self.until is None):
            raise ValueError("`every` and `until` go together")
        if self.every is not None and (self.at is not None or self.key is not None or self.every <= self.spread):
            raise ValueError("a series has no `at` and no `key`, and `spread` is shorter than `every`")
        if self.at is not None and self.at < self.read_at:
            raise ValueError("`at` is before `read_at`: nothing is entered before it is read")
        if self.kind is RoundKind.SAFETY_WALK and (self.slip or self.misread):
            raise ValueError("no number is typed on a safety walk")
        return self

    def moments(self) -> Iterator[float]:
        """Give when each of it is read, in seconds from the start, before any spread."""
        if self.every is None or self.until is None:
            yield self.read_at
            return
        for number in range(1, int((self.until - self.read_at) // self.every) + 2):
            if number not in self.skip:
                yield self.read_at + (number - 1) * self.every


class Mend(Part):
    """What becomes of a round that was sent: numbers corrected, or the whole struck by two people.

    ``values`` corrects; without any it is struck: asked for at ``at``, agreed to by ``second`` at ``agreed``, and
    put down at ``move_to`` where that is named.
    """

    of: Key
    at: Time
    by: Name
    why: Why = Why.MISTYPED
    values: Mapping[Settable, float] = {}
    second: Name | None = None
    agreed: Time | None = None
    move_to: BedLabel | None = None

    @model_validator(mode="after")
    def _makes_sense(self) -> "Mend":
        strikes = self.second is not None and self.agreed is not None
        if bool(self.values) == strikes or (self.values and (self.second or self.agreed or self.move_to)):
            raise ValueError("either `values`, which correct, or `second` and `agreed`, which strike")
        if self.agreed is not None and self.agreed < self.at:
            raise ValueError("`agreed` is before `at`: nobody agrees before it is asked")
        return self


class ShiftPlan(Part):
    """A shift and who is planned on which post; times from the scenario's start, every day the same."""

    name: Annotated[str, Field(min_length=1, max_length=24)]
    begins: Time
    ends: Time
    nurses: Mapping[BedLabel, Name] = {}
    deputy: Name | None = None
    charge: Name | None = None
    perfusionist: Name | None = None
    intensivist: Name | None = None
    surgeon: Name | None = None
