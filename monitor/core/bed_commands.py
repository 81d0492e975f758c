"""What is told of one bed beside orders: its own limits, call me if, its cylinder, a pause of the sound, a move."""

from typing import Annotated, Literal

from pydantic import Field, model_validator

from monitor.core.command_base import CommandBase, Words
from shared.messages import BedLabel, Millis, Name
from shared.quantities import Quantity
from shared.word import Word

#: A rule's id as it stands in limits.toml.
RuleName = Annotated[str, Field(pattern=r"^[a-z][a-z0-9_]{1,39}$")]
Slot = Annotated[int, Field(ge=1, le=2)]


class SetLimit(CommandBase):
    """A bed's own limit for a rule, in the quantity's unit, until a moment; then the default stands again.

    ``person`` owns it; ``second``: another person, needed for a rule of high priority.
    """

    kind: Literal["limit"] = "limit"
    bed: BedLabel
    slot: Slot = 1
    rule: RuleName
    value: float
    until: Millis
    second: Name | None = None
    reason: Words = ""


class DropLimit(CommandBase):
    """The default stands again before the time."""

    kind: Literal["limit_end"] = "limit_end"
    bed: BedLabel
    slot: Slot = 1
    rule: RuleName


class ProposeLimit(CommandBase):
    """A bed's own limit that ``person`` proposes: it counts for nothing until one who may set it accepts it."""

    kind: Literal["limit_propose"] = "limit_propose"
    bed: BedLabel
    slot: Slot = 1
    rule: RuleName
    value: float
    until: Millis
    reason: Words = ""


class AnswerProposal(CommandBase):
    """A proposed limit is accepted, and set as by `SetLimit`, or refused. ``value``, ``until``: as it was seen."""

    kind: Literal["limit_answer"] = "limit_answer"
    bed: BedLabel
    slot: Slot = 1
    rule: RuleName
    accept: bool
    value: float
    until: Millis
    second: Name | None = None
    reason: Words = ""


class SetCallMe(CommandBase):
    """Call me if: a person wants to be called when a quantity is below or above a value, until a moment."""

    kind: Literal["call_me"] = "call_me"
    bed: BedLabel
    slot: Slot = 1
    quantity: Quantity
    below: float | None = None
    above: float | None = None
    calls: Name
    until: Millis
    note: Words = ""

    @model_validator(mode="after")
    def _one_side(self) -> "SetCallMe":
        if (self.below is None) == (self.above is None):
            raise ValueError("either below or above must be given")
        return self


class DropCallMe(CommandBase):
    """A call-me-if is taken back."""

    kind: Literal["call_me_end"] = "call_me_end"
    bed: BedLabel
    slot: Slot = 1
    quantity: Quantity


class DepartureItem(Word):
    """What goes along on a transport (common practice, no source)."""

    CLAMPS = "clamps"
    HAND_DRIVE = "hand_drive"
    CYLINDER = "cylinder"
    SECOND_PERSON = "second_person"


class ChangeCylinder(CommandBase):
    """Another cylinder feeds the oxygenator on the way: litres of gas in it."""

    kind: Literal["cylinder"] = "cylinder"
    bed: BedLabel
    litres: float = Field(gt=0, le=12_000)


class PauseAudio(CommandBase):
    """The desks' sound of one bed pauses for at most two minutes; 0 seconds ends a pause."""

    kind: Literal["audio_pause"] = "audio_pause"
    bed: BedLabel
    seconds: int = Field(default=120, ge=0, le=120)


class LookedAt(CommandBase):
    """A person has looked at a bed's page: what changes from now on is new to them.

    ``card``: at its handover card instead; whoever takes a post over has looked at the cards of its beds.
    """

    kind: Literal["looked"] = "looked"
    bed: BedLabel
    card: bool = False


class SeeConfiguration(CommandBase):
    """A person has seen that the unit's configuration was changed, up to and with a moment."""

    kind: Literal["configuration_seen"] = "configuration_seen"
    up_to: Millis


class PlanEvent(CommandBase):
    """Something is planned at a bed: what, in words, and when. It calls nobody."""

    kind: Literal["event"] = "event"
    bed: BedLabel
    what: Annotated[str, Field(min_length=1, max_length=80)]
    at: Millis


class EndEvent(CommandBase):
    """What was planned was done, or is taken back."""

    kind: Literal["event_end"] = "event_end"
    bed: BedLabel
    event: int = Field(ge=1)
    done: bool


class ReviewBeyond(CommandBase):
    """The charge nurse has seen what was done beyond a role, up to and with a number."""

    kind: Literal["beyond_seen"] = "beyond_seen"
    up_to: int = Field(ge=1)


class MoveRun(CommandBase):
    """The patient moves to another, empty bed: runs, open alerts and limits go along."""

    kind: Literal["run_move"] = "run_move"
    bed: BedLabel
    to: BedLabel
