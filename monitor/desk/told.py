"""What the foot of the screen says of the last command: sent, recorded, refused, or NOT RECORDED."""

from collections.abc import Mapping
from datetime import tzinfo
from types import MappingProxyType

from monitor.core.bed_commands import (
    AnswerProposal,
    ChangeCylinder,
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
from monitor.core.commands import (
    CallHelp,
    CareMarker,
    ChangeRoster,
    Command,
    EndRun,
    EndTransport,
    EndTrial,
    Exchange,
    GiveReason,
    HelpByPhone,
    Order,
    PassOn,
    Renew,
    ReturnCheck,
    Seen,
    SetTarget,
    StartRun,
    StartTransport,
    StartTrial,
    Take,
)
from monitor.core.emergency_commands import BackOnSupport, BeginCard, GoOffSupport, TickStep
from monitor.core.equipment_commands import (
    AddItem,
    CheckItem,
    NoteItem,
    PlaceItem,
    QuarantineItem,
    ReturnItem,
)
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
from monitor.core.view import TileView
from monitor.desk import words
from monitor.desk.command_life import Given, Life
from monitor.desk.standing import write
from shared.quantities import CATALOGUE
from shared.support import label_at

#: A command that was recorded is told for so long; one that was not stays until the next.
TOLD_FOR_S = 20.0
_NO_TILES: Mapping[str, TileView] = MappingProxyType({})

_WORDS: dict[type, str] = {
    Seen: "Seen",
    Take: "Take",
    PassOn: "Pass on",
    HelpByPhone: "Help by phone",
    Renew: "Hold anew",
    CallHelp: "Help called",
    CareMarker: "Care",
    Exchange: "Exchange",
    StartTrial: "Trial",
    EndTrial: "Trial ended",
    StartTransport: "Transport",
    EndTransport: "Back from transport",
    ReturnCheck: "Return check",
    Order: "Order",
    SetTarget: "Target",
    ChangeRoster: "Cover",
    StartRun: "Run started",
    EndRun: "Run ended",
    MoveRun: "Move",
    GiveReason: "Reason",
    SetLimit: "Limit",
    DropLimit: "Default limit",
    ProposeLimit: "Proposal",
    AnswerProposal: "Answer to a proposal",
    SetCallMe: "Call me if",
    DropCallMe: "Call me if taken back",
    ChangeCylinder: "Cylinder",
    PauseAudio: "Audio pause",
    LookedAt: "Look",
    SeeConfiguration: "Change of the configuration, seen",
    PlanEvent: "Planned",
    EndEvent: "Planned event ended",
    PlaceItem: "Item placed",
    CheckItem: "Item checked",
    QuarantineItem: "Quarantine",
    ReturnItem: "Item back in service",
    NoteItem: "Note on an item",
    AddItem: "New item",
    ReviewBeyond: "Beyond a role, seen",
    PlanPost: "Plan",
    DropPlan: "Plan taken back",
    OfferPosts: "Offer",
    AcceptOffer: "Accepted",
    DeclineOffer: "Not accepted",
    WithdrawOffer: "Offer taken back",
    StartBreak: "Break",
    EndBreak: "Break ended",
    SayUnreachable: "Unreachable",
    SayReachable: "Reachable again",
    GoOffSupport: "Off support",
    BackOnSupport: "Back on support",
    BeginCard: "Card begun",
    TickStep: "Card",
}


def told(
    given: Given | None, monotonic: float, zone: tzinfo | None, tiles: Mapping[str, TileView] = _NO_TILES
) -> tuple[str, bool]:
    """Say it, and whether somebody must act on it. ``tiles``: the beds, for the words of a quantity at its run."""
    if given is None:
        return "", False
    what = _what(given.command, tiles)
    lasting = given.life in (Life.REFUSED, Life.NOT_RECORDED)
    if not lasting and monotonic - given.moved > TOLD_FOR_S:
        return "", False
    at = words.clock(given.at, zone) if given.at is not None else ""
    return {
        Life.SENT: (f"{what} · sent", False),
        Life.RECORDED: (f"{what} · recorded {at}", False),
        Life.UNRECORDED: (f"{what} · counts since {at}, NOT RECORDED: write it down", True),
        Life.REFUSED: (f"{what} · refused: {given.reason}", True),
        Life.NOT_RECORDED: (f"{what} · NOT RECORDED: {given.reason}. Telephone.", True),
    }[given.life]


def _what(command: Command, tiles: Mapping[str, TileView]) -> str:
    bed = getattr(command, "bed", None)
    said = f"{_WORDS[type(command)]} {bed}" if bed else _WORDS[type(command)]
    if isinstance(command, TickStep):
        said += f", step {command.step}{'' if command.done else ' taken back'}"
    if isinstance(command, Order | SetTarget):
        unit, label = CATALOGUE[command.quantity].unit, _label(command, tiles.get(command.bed))
        said += f", {label} {write(command.quantity, command.value)} {unit}".rstrip()
    return said


def _label(command: Order | SetTarget, tile: TileView | None) -> str:
    for run in tile.runs if tile is not None else ():
        if run.description.slot == command.slot:
            return label_at(command.quantity, run.description)
    return CATALOGUE[command.quantity].label
