"""What people say of the equipment: where it is, that it was checked, that something is wrong with it."""

from typing import Annotated, Literal

from pydantic import Field, model_validator

from monitor.core.command_base import CommandBase, Words
from monitor.core.equipment.table import ItemId, ItemKind, Slot
from shared.messages import BedLabel, Millis, Name
from shared.support import Support

#: Words that must be there.
Said = Annotated[str, Field(min_length=1, max_length=120, pattern=r"\S")]
Place = Annotated[str, Field(max_length=40)]
Percent = Annotated[int, Field(ge=0, le=100)]


class ItemBase(CommandBase):
    """What is said of one item."""

    item: ItemId


class PlaceItem(ItemBase):
    """An item is now at a bed, there on the run of a slot or, without one, beside it; or it is at a place."""

    kind: Literal["item_place"] = "item_place"
    bed: BedLabel | None = None
    slot: Slot | None = None
    place: Place = ""

    @model_validator(mode="after")
    def _one_place(self) -> "PlaceItem":
        if (self.bed is None) != bool(self.place.strip()):
            raise ValueError("either a bed or a place must be given")
        if self.slot is not None and self.bed is None:
            raise ValueError("a slot needs its bed")
        return self


class CheckItem(ItemBase):
    """An item was checked; ``fault`` empty: nothing was found. ``primed``: a circuit was primed now."""

    kind: Literal["item_check"] = "item_check"
    fault: Words = ""
    charge: Percent | None = None
    primed: bool = False


class QuarantineItem(ItemBase):
    """An item must not be used."""

    kind: Literal["item_quarantine"] = "item_quarantine"
    reason: Said


class ReturnItem(ItemBase):
    """An item in quarantine was checked and is in service again; ``reason``: what was done."""

    kind: Literal["item_return"] = "item_return"
    reason: Said
    charge: Percent | None = None


class NoteItem(ItemBase):
    """A remark about an item."""

    kind: Literal["item_note"] = "item_note"
    note: Said


class AddItem(ItemBase):
    """A new item, at a place. It is to be checked before it counts as ready."""

    kind: Literal["item_new"] = "item_new"
    of: ItemKind
    supports: Annotated[tuple[Support, ...], Field(max_length=6)] = ()
    profile: Name | None = None
    place: Place = Field(min_length=1, pattern=r"\S")
    primed_at: Millis | None = None
