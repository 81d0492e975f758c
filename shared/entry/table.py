"""The model of ``config/entry.toml``: the fields of a round in bedside order, and how typed numbers are looked at.

Ranges here are for the validation of what was typed, never for treatment. Numbers are in the unit of the catalogue,
which each field writes down again, so that whoever reads or edits the file sees it.
"""

from collections.abc import Mapping
from enum import StrEnum
from functools import cached_property
from itertools import product
from typing import Annotated

from pydantic import Field, PrivateAttr, model_validator

from shared.entry.looking import AnotherBed, CrossChecks, EntryTimes
from shared.entry.round_table import RoundTable
from shared.entry.row import Row
from shared.entry.units import TypedIn, Units
from shared.language.saying import say
from shared.mark import Mark
from shared.quantities import CATALOGUE, Quantity
from shared.support import RunDescription, Support, label_for
from shared.toml_text import parse_toml

Positive = Annotated[float, Field(gt=0)]
Share = Annotated[float, Field(gt=0, le=10)]
Words = Annotated[str, Field(min_length=1, max_length=160)]


class Asked(StrEnum):
    """Where a field stands: where its sensor is fitted, where there is an oxygenator, or always."""

    FITTED = "fitted"
    OXYGENATOR = "oxygenator"
    ALWAYS = "always"


class OtherUnit(Row):
    """A unit in which the same thing is often read: field = typed times ``factor`` plus ``offset``.

    Nothing is ever converted: it only tells what a number may have been meant as. ``ask``: a number that can only
    be in this unit is asked about first, and refused when it is typed again.
    """

    unit: str = Field(min_length=1, max_length=24)
    factor: Positive
    offset: float = 0.0
    ask: bool = False


class OfTopSpeed(Row):
    """Bounds of the pump's speed as shares of the highest speed of its profile."""

    soft_below: Share
    soft_above: Share
    refused_above: Share


class EntryField(Row):
    """One field of the form.

    Attributes:
        quantity: what is typed, in ``unit``, which is that of the catalogue.
        supports: only at these support types; empty: at all.
        asked: where it stands; ``sensor`` is the one that must be fitted, its own where left out.
        soft_below, soft_above: beyond these the number must be typed again.
        refused_below, refused_above: beyond these it cannot be; the catalogue's hard range where left out.
        of_top_speed: the same as shares of the pump's highest speed.
        decimals: digits after the point at most; ``step``: of Ctrl with the arrow keys.
        due_min: minutes from one to the next.
        usual_by, usual_share: how much it may differ from the last one; the larger counts. Beyond it a slip that
            would fit the last number is asked about.
        ask_by, ask_share: beyond the larger of these it is asked about whatever it may be.
        ordered: an order explains a change.
        sign: ``minus`` where it is usually below zero: a number without a sign is asked for one.
        swapped_with: the field with which it is easily exchanged.
        no_number: what to do where there is no number to type.
        slips: in words for a reader of the file; ``other_unit``: those that can be told by a factor.
    """

    quantity: Quantity
    unit: str = Field(max_length=12)
    supports: frozenset[Support] = frozenset()
    asked: Asked = Asked.FITTED
    sensor: Quantity | None = None
    soft_below: float | None = None
    soft_above: float | None = None
    refused_below: float | None = None
    refused_above: float | None = None
    of_top_speed: OfTopSpeed | None = None
    decimals: int = Field(default=0, ge=0, le=3)
    step: Positive
    due_min: float = Field(default=60, gt=0, le=7 * 24 * 60)
    usual_by: float = Field(default=0, ge=0)
    usual_share: float = Field(default=0, ge=0, le=10)
    ask_by: Positive | None = None
    ask_share: Share | None = None
    ordered: bool = False
    sign: str = Field(default="", pattern=r"^(minus)?$")
    swapped_with: Quantity | None = None
    other_unit: tuple[OtherUnit, ...] = Field(default=(), max_length=4)
    slips: str = Field(default="", max_length=160)
    no_number: str = Field(default="", max_length=120)
    mark: Mark
    source: Words
    _typed_in: TypedIn | None = PrivateAttr(default=None)
    _kind: tuple[Support, bool] | None = PrivateAttr(default=None)

    @model_validator(mode="after")
    def _hangs_together(self) -> "EntryField":
        entry = CATALOGUE[self.quantity]
        if entry.derived:
            raise ValueError("a derived quantity is computed beside what is typed, and never typed")
        if self.unit != entry.unit:
            raise ValueError(f'unit "{self.unit}" is not that of the catalogue: {entry.unit or "none"}')
        low, high = self.refused
        if not entry.low <= low < high <= entry.high:
            raise ValueError(f"refused beyond {low:g} to {high:g}: must lie within {entry.low:g} to {entry.high:g}")
        for name, soft in (("soft_below", self.soft_below), ("soft_above", self.soft_above)):
            if soft is not None and not low <= soft <= high:
                raise ValueError(f"{name} = {soft:g} is outside what is accepted at all, {low:g} to {high:g}")
        if self.soft_below is not None and self.soft_above is not None and self.soft_below >= self.soft_above:
            raise ValueError("soft_below is not below soft_above: every number would be asked about")
        return self

    @property
    def refused(self) -> tuple[float, float]:
        """Lowest and highest number that can be, as the file or else the catalogue has them."""
        entry = CATALOGUE[self.quantity]
        low = entry.low if self.refused_below is None else self.refused_below
        return low, entry.high if self.refused_above is None else self.refused_above

    @property
    def typed_in(self) -> TypedIn | None:
        """The unit in which it is typed, where that is not the catalogue's; every number here stays in that."""
        return self._typed_in

    @property
    def typed_unit(self) -> str:
        """The unit that stands beside the field."""
        return self.unit if self._typed_in is None else self._typed_in.unit

    @property
    def typed_decimals(self) -> int:
        """Digits after the point at most, as it is typed."""
        return self.decimals if self._typed_in is None else self._typed_in.decimals

    @property
    def typed_step(self) -> float:
        """The step of Ctrl with the arrow keys, as it is typed."""
        return self.step if self._typed_in is None else self._typed_in.step

    @property
    def factor(self) -> float:
        """What a typed number is multiplied with to be in the unit of the catalogue."""
        return 1.0 if self._typed_in is None else self._typed_in.factor

    def typed_as(self, typed_in: TypedIn) -> "EntryField":
        """Give the same field as it stands where another unit is typed.

        Its other units are then held against the number as it would have been in this one.
        """
        others = [other for other in self.other_unit if other.unit != typed_in.unit]
        read = [
            OtherUnit(unit=one.unit, factor=one.factor / typed_in.factor, offset=one.offset, ask=one.ask)
            for one in (*others, OtherUnit(unit=self.unit, factor=1.0))
        ]
        made = self.model_copy(update={"other_unit": tuple(read)})
        made._typed_in = typed_in
        return made

    def at(self, support: Support, oxygenator: bool) -> "EntryField":
        """Give the same field as it stands at runs of a kind, which names no part that is not fitted there."""
        made = self.model_copy()
        made._kind = support, oxygenator
        return made

    @property
    def label(self) -> str:
        """Its short words, as they are at the run."""
        return self.label_of(self.quantity)

    def label_of(self, quantity: Quantity) -> str:
        """Give the short words of any quantity at the field's run; of no run, the catalogue's."""
        return say(CATALOGUE[quantity].label if self._kind is None else label_for(quantity, *self._kind))

    @property
    def signed(self) -> bool:
        """Tell whether a minus is possible."""
        return self.refused[0] < 0

    def belongs_to(self, run: RunDescription) -> bool:
        """Tell whether the form of a run has this field."""
        if self.supports and run.support not in self.supports:
            return False
        if self.asked is Asked.OXYGENATOR:
            return run.oxygenator
        return self.asked is Asked.ALWAYS or (self.sensor or self.quantity) in run.sensors

    def plausible_units(self, value: float) -> tuple[OtherUnit, ...]:
        """Give the other units in which a number would be a usual one of this field."""
        low, high = self.refused
        low = low if self.soft_below is None else self.soft_below
        high = high if self.soft_above is None else self.soft_above
        return tuple(one for one in self.other_unit if low <= value * one.factor + one.offset <= high)

    def usual(self, last: float) -> float:
        """How much a number may differ from ``last`` before a slip that fits better is asked about."""
        return max(self.usual_by, self.usual_share * abs(last))

    def asks_beyond(self, last: float) -> float | None:
        """The change from ``last`` beyond which it is always asked about, or ``None``."""
        if self.ask_by is None and self.ask_share is None:
            return None
        return max(self.ask_by or 0.0, (self.ask_share or 0.0) * abs(last))


class EntryTable(Row):
    """The whole of ``entry.toml``; fields in the order of the round at the bed."""

    checks: CrossChecks = CrossChecks()
    another_bed: AnotherBed = AnotherBed()
    times: EntryTimes = EntryTimes()
    rounds: RoundTable = RoundTable()
    units: Units = Units()
    field: tuple[EntryField, ...] = Field(min_length=1, max_length=80)

    @model_validator(mode="after")
    def _each_once(self) -> "EntryTable":
        seen: set[tuple[Quantity, Support]] = set()
        for number, one in enumerate(self.field, 1):
            places = {(one.quantity, support) for support in one.supports or Support}
            if places & seen:
                raise ValueError(f'[[field]] number {number}, key "quantity": {one.quantity} stands twice')
            seen |= places
        return self

    @cached_property
    def typed(self) -> Mapping[Quantity, TypedIn]:
        """What is typed in another unit than the catalogue's."""
        return self.units.typed()

    @cached_property
    def _as_typed(self) -> Mapping[tuple[Support, bool], tuple[EntryField, ...]]:
        units = self.typed
        typed = [one.typed_as(units[one.quantity]) if one.quantity in units else one for one in self.field]
        kinds = product(Support, (False, True))
        return {kind: tuple(one.at(*kind) for one in typed) for kind in kinds}

    def fields_of(self, run: RunDescription) -> tuple[EntryField, ...]:
        """Give the fields of a run's form, in their order, in the units that are typed and in the run's words."""
        return tuple(one for one in self._as_typed[run.support, run.oxygenator] if one.belongs_to(run))

    def field_of(self, run: RunDescription, quantity: Quantity) -> EntryField | None:
        """Give the field of a quantity at a run, or ``None`` where its form has none."""
        return next((one for one in self.fields_of(run) if one.quantity is quantity), None)


def parse_entry_table(text: str) -> EntryTable:
    """Read the text of ``entry.toml``.

    Raises:
        ConfigurationError: names table, number, key, value and what is allowed, all faults at once.
    """
    return parse_toml(text, EntryTable, "table of the entry form")
