"""What people tell the hub. A command names what the person saw: an alert and its revision.

Every command has an id (drawn by the desk, the same when sent again) and the person who gives it. The hub orders
commands as they arrive; it records each once, or refuses it with a reason.
"""

from enum import StrEnum
from typing import Annotated, Literal

from pydantic import Field, TypeAdapter

from monitor.core.bed_commands import (
    AnswerProposal,
    ChangeCylinder,
    DepartureItem,
    DropCallMe,
    DropLimit,
    EndEvent,
    LookedAt,
    MoveRun,
    PauseAudio,
    PlanEvent,
    ProposeLimit,
    ReviewBeyond,
    SeeConfiguration,
    SetCallMe,
    SetLimit,
)
from monitor.core.command_base import CommandBase, Words
from monitor.core.emergency_commands import BackOnSupport, BeginCard, GoOffSupport, TickStep
from monitor.core.equipment.table import ItemId
from monitor.core.equipment_commands import (
    AddItem,
    CheckItem,
    NoteItem,
    PlaceItem,
    QuarantineItem,
    ReturnItem,
)
from monitor.core.grades import Rung, TrialKind
from monitor.core.roster_commands import (
    AcceptOffer,
    DeclineOffer,
    DropPlan,
    EndBreak,
    OfferPosts,
    PlanPost,
    SayReachable,
    SayUnreachable,
    StartBreak,
    WithdrawOffer,
)
from shared.messages import BedLabel, Millis, Name
from shared.quantities import Quantity
from shared.support import RunDescription
from shared.when_asked import SAID_ONCE


class Reason(StrEnum):
    """Why somebody takes, passes on or helps."""

    AT_BEDSIDE = "at_bedside"
    CIRCULATION_CHECKED = "circulation_checked"
    TEAM_AT_BED = "team_at_bed"
    EXPECTED = "expected"
    CARE_ACTIVITY = "care_activity"
    SENSOR_OR_LINE = "sensor_or_line"
    LIMIT_WRONG = "limit_wrong"
    ADVISING = "advising"
    OTHER = "other"


class Where(StrEnum):
    """Where the one who has it is."""

    AT_BED = "at_bed"
    GOING = "going"
    PHONE = "phone"


class HelpKind(StrEnum):
    """What help is called for by hand."""

    AIR = "air"
    LINE_OUT = "line_out"
    BLEEDING = "bleeding"
    PUMP_NOISE = "pump_noise"
    GAS_LOST = "gas_lost"
    OTHER = "other"


class Answer(CommandBase):
    """An answer to an alert: it counts for the whole episode of that alert. ``revision`` is what was seen."""

    bed: BedLabel | None = None
    alert: int = Field(ge=1)
    revision: int = Field(ge=1)


class Seen(Answer):
    """I know. The ladder goes on."""

    kind: Literal["seen"] = "seen"


class Take(Answer):
    """I am going, or a named person is: ``told_to`` is then who writes it down for ``person``."""

    kind: Literal["take"] = "take"
    reason: Reason | None = None
    where: Where = Where.GOING
    eta_min: int | None = Field(default=None, ge=1, le=60)
    told_to: Name | None = None


class PassOn(Answer):
    """Not me: the next rung at once."""

    kind: Literal["decline"] = "decline"
    reason: Reason | None = None


class CallBack(StrEnum):
    """What somebody who was called elsewhere says of coming back to it."""

    CALLING = "calling"
    COMING = "coming"
    DEPUTY = "deputy"


class HelpByPhone(Answer):
    """Helping from elsewhere: adds a name, holds no high.

    ``says``: calling in, coming, or a deputy was sent; ``eta_min``: there in so many minutes.
    """

    kind: Literal["advise"] = "advise"
    reason: Reason | None = None
    says: CallBack | None = None
    eta_min: int | None = Field(default=None, ge=1, le=60)


class Renew(Answer):
    """The hold of the present take begins anew."""

    kind: Literal["renew"] = "renew"
    reason: Reason | None = None


class GiveReason(Answer):
    """Why the one who has it took it: asked of a high within minutes, of the rest at the take."""

    kind: Literal["reason"] = "reason"
    reason: Reason


class Order(CommandBase):
    """An order that was carried out at the bed: a speed, a flow target, a gas flow. Nothing is controlled."""

    kind: Literal["order"] = "order"
    bed: BedLabel
    slot: int = Field(default=1, ge=1, le=2)
    quantity: Quantity
    value: float
    prescriber: Words = ""


class SetTarget(CommandBase):
    """A run's target for a quantity."""

    kind: Literal["target"] = "target"
    bed: BedLabel
    slot: int = Field(default=1, ge=1, le=2)
    quantity: Quantity
    value: float


class ChangeRoster(CommandBase):
    """Who stands on a rung from now on; ``None``: nobody. Rung 1 names the bed; without one it is the deputy."""

    kind: Literal["roster"] = "roster"
    rung: Rung
    stands: Name | None = None
    bed: BedLabel | None = None


#: Who calls help at a desk where nobody has said who they are.
SOMEBODY = "somebody"


class CallHelp(CommandBase):
    """Help called by hand, by anybody: ``person`` may be `SOMEBODY`."""

    kind: Literal["help"] = "help"
    bed: BedLabel
    what: HelpKind


class CareMarker(CommandBase):
    """A short, named period of hands-on care: delays of medium and low rules are longer meanwhile."""

    kind: Literal["care_marker"] = "care_marker"
    bed: BedLabel
    minutes: int = Field(ge=1, le=15)
    what: Words = ""


class Device(StrEnum):
    """What can be exchanged at a run."""

    PUMP_HEAD = "pump_head"
    OXYGENATOR = "oxygenator"
    TUBING = "tubing"
    CONSOLE = "console"


class Exchange(CommandBase):
    """A device was exchanged: the baselines that it made begin anew. A console makes none.

    ``off``, ``on``: the items of the unit's equipment that came off and went on, where they are in its list.
    """

    kind: Literal["exchange"] = "exchange"
    bed: BedLabel
    slot: int = Field(default=1, ge=1, le=2)
    device: Device
    reason: Words = ""
    off: ItemId | None = None
    on: ItemId | None = None


class StartTrial(CommandBase):
    """An ordered trial starts: with a second person, and a hard end at ``until``.

    ``anticoagulation``: whether the last value, with its age, was looked at before.
    """

    kind: Literal["trial_start"] = "trial_start"
    bed: BedLabel
    slot: int = Field(default=1, ge=1, le=2)
    trial: TrialKind
    until: Millis
    second: Name
    floor_flow: float | None = Field(default=None, ge=0, le=10)
    anticoagulation: bool = False


class EndTrial(CommandBase):
    """A trial ends before its time."""

    kind: Literal["trial_end"] = "trial_end"
    bed: BedLabel
    slot: int = Field(default=1, ge=1, le=2)


class StartTransport(CommandBase):
    """The patient leaves the unit, support and all; ``back``: planned return.

    ``cylinder_l``: litres of gas in the cylinder that feeds the oxygenator, or ``cylinder_min``: how long it lasts
    at the present sweep. ``sweep``: its flow in L/min where the bed has no sweep reading. ``departure``: what was
    checked, each with its time.
    """

    kind: Literal["transport_start"] = "transport_start"
    bed: BedLabel
    leader: Name
    back: Millis
    destination: Words = ""
    cylinder_l: float | None = Field(default=None, gt=0, le=12_000)
    cylinder_min: float | None = Field(default=None, gt=0, le=1_440)
    sweep: float | None = Field(default=None, gt=0, le=20)
    departure: dict[DepartureItem, Millis] = {}


class EndTransport(CommandBase):
    """Back at the bed: a return check falls due."""

    kind: Literal["transport_end"] = "transport_end"
    bed: BedLabel


class ReturnCheck(CommandBase):
    """The circuit was checked at the bed after a transport."""

    kind: Literal["return_check"] = "return_check"
    bed: BedLabel


class StartRun(CommandBase):
    """A support run starts in a slot of a bed: blank baselines, no alerts. ``items``: the equipment it is on."""

    kind: Literal["run_start"] = "run_start"
    bed: BedLabel
    run: RunDescription
    targets: dict[Quantity, float] = {}
    items: Annotated[tuple[ItemId, ...], Field(max_length=12)] = ()


class EndRun(CommandBase):
    """A support run ends: nothing is watched in that slot any more."""

    kind: Literal["run_end"] = "run_end"
    bed: BedLabel
    slot: int = Field(default=1, ge=1, le=2)
    reason: Words = ""


Command = Annotated[
    Seen
    | Take
    | PassOn
    | HelpByPhone
    | Renew
    | GiveReason
    | Order
    | SetTarget
    | ChangeRoster
    | CallHelp
    | CareMarker
    | Exchange
    | StartTransport
    | EndTransport
    | ReturnCheck
    | StartTrial
    | EndTrial
    | StartRun
    | EndRun
    | MoveRun
    | SetLimit
    | ProposeLimit
    | AnswerProposal
    | DropLimit
    | SetCallMe
    | DropCallMe
    | ChangeCylinder
    | PauseAudio
    | LookedAt
    | ReviewBeyond
    | SeeConfiguration
    | PlanEvent
    | EndEvent
    | PlanPost
    | DropPlan
    | OfferPosts
    | AcceptOffer
    | DeclineOffer
    | WithdrawOffer
    | StartBreak
    | EndBreak
    | SayUnreachable
    | SayReachable
    | PlaceItem
    | CheckItem
    | QuarantineItem
    | ReturnItem
    | NoteItem
    | AddItem
    | GoOffSupport
    | BackOnSupport
    | BeginCard
    | TickStep,
    Field(discriminator="kind"),
]
COMMANDS: TypeAdapter[Command] = TypeAdapter(Command, config=SAID_ONCE)
