"""What the entry form asks of the hub on `commands`: beds and runs as they stand now, and who may enter where.

A unit's files say how it began; runs that people began, moved or ended at a desk since, the roster, and what was
read last are known to the hub alone.
"""

from typing import Annotated, Literal

from pydantic import Field, TypeAdapter

from shared.messages import BedLabel, Message, Millis, Name, RoundKind
from shared.quantities import Quantity
from shared.sign_in import SignedIn
from shared.support import RunDescription
from shared.when_asked import SAID_ONCE


class AskBeds(Message):
    """The form asks for everything that follows."""

    type: Literal["ask_beds"] = "ask_beds"
    request: str = Field(max_length=40)


class RoundNow(Message):
    """A round of a kind: when it was done last, and when the next is due; left out: never."""

    kind: RoundKind
    done_at: Millis | None = None
    due_at: Millis | None = None


class RunNow(Message):
    """A run that is open: its newest numbers with the times at which they were read, its rounds.

    ``findings``: what a round found and none since found in order, by the words of the item.
    """

    run: RunDescription
    last: dict[Quantity, tuple[Millis, float]] = {}
    rounds: tuple[RoundNow, ...] = ()
    findings: dict[str, str] = {}


class BedNow(Message):
    """A bed. ``nurse`` stands on its first rung, if anybody does; ``may_enter``: who may enter readings there."""

    bed: BedLabel
    runs: Annotated[tuple[RunNow, ...], Field(max_length=2)] = ()
    nurse: Name | None = None
    may_enter: tuple[Name, ...] = ()


class BedsNow(Message):
    """The answer. A bed that could not be told is left out, and is as it was.

    Attributes:
        asks: whose secret is asked for. idle_s: a form forgets who types after so long without a key.
        fault: why no secret is checked although it should be.
    """

    type: Literal["beds_now"] = "beds_now"
    request: str
    hub_time: Millis
    beds: tuple[BedNow, ...]
    asks: tuple[Name, ...] = ()
    idle_s: int = 0
    fault: str = ""


#: What the hub answers to a form.
FormReply = Annotated[BedsNow | SignedIn, Field(discriminator="type")]
FORM_REPLIES: TypeAdapter[FormReply] = TypeAdapter(FormReply, config=SAID_ONCE)
