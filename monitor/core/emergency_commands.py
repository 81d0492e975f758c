"""What is told of a bed in an emergency: off support and back on it, and the steps of a card that are done.

None of it changes an alert, a delay or a call.
"""

from typing import Annotated, Literal

from pydantic import Field

from monitor.core.bed_commands import Slot
from monitor.core.command_base import CommandBase, Words
from shared.messages import BedLabel, Millis

#: A card's name: that of its file.
CardName = Annotated[str, Field(pattern=r"^[a-z][a-z0-9_]{1,39}$")]
CardVersion = Annotated[int, Field(ge=1, le=9_999)]
CardTitle = Annotated[str, Field(min_length=1, max_length=60)]
CardStep = Annotated[int, Field(ge=1, le=40)]


class GoOffSupport(CommandBase):
    """A run is off support from now on: its clock runs. ``pressed``: when the key was, before it was asked who."""

    kind: Literal["off_support"] = "off_support"
    bed: BedLabel
    slot: Slot = 1
    pressed: Millis | None = None


class BackOnSupport(CommandBase):
    """A run is back on support: its clock ends, and says how many seconds it ran."""

    kind: Literal["back_on_support"] = "back_on_support"
    bed: BedLabel
    slot: Slot = 1
    pressed: Millis | None = None


class BeginCard(CommandBase):
    """An emergency card is begun anew at a bed: none of its steps is ticked."""

    kind: Literal["card_begin"] = "card_begin"
    bed: BedLabel
    card: CardName
    title: CardTitle
    version: CardVersion


class TickStep(CommandBase):
    """A step of an emergency card is done, or its tick is taken back. ``text``: the step as it was read."""

    kind: Literal["card_step"] = "card_step"
    bed: BedLabel
    card: CardName
    title: CardTitle
    version: CardVersion
    step: CardStep
    text: Words
    done: bool = True
