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
from shared.language.saying import say, to_say
from shared.quantities import CATALOGUE
from shared.support import label_at

#: A command that was recorded is told for so long; one that was not stays until the next.
TOLD_FOR_S = 20.0
_NO_TILES: Mapping[str, TileView] = MappingProxyType({})

_WORDS: dict[type, str] = {
    Seen: to_say("Seen"),
    Take: to_say("Take"),
    PassOn: to_say("Pass on"),
    HelpByPhone: to_say("Help by phone"),
    Renew: to_say("Hold anew"),
    CallHelp: to_say("Help called"),
    CareMarker: to_say("Care"),
    Exchange: to_say("Exchange"),
    StartTrial: to_say("Trial"),
    EndTrial: to_say("Trial ended"),
    StartTransport: to_say("Transport"),
    EndTransport: to_say("Back from transport"),
    ReturnCheck: to_say("Return check"),
    Order: to_say("Order"),
    SetTarget: to_say("Target"),
    ChangeRoster: to_say("Cover"),
    StartRun: to_say("Run started"),
    EndRun: to_say("Run ended"),
    MoveRun: to_say("Move"),
    GiveReason: to_say("Reason"),
    SetLimit: to_say("Limit"),
    DropLimit: to_say("Default limit"),
    ProposeLimit: to_say("Proposal"),
    AnswerProposal: to_say("Answer to a proposal"),
    SetCallMe: to_say("Call me if"),
    DropCallMe: to_say("Call me if taken back"),
    ChangeCylinder: to_say("Cylinder"),
    PauseAudio: to_say("Audio pause"),
    LookedAt: to_say("Look"),
    SeeConfiguration: to_say("Change of the configuration, seen"),
    PlanEvent: to_say("Planned"),
    EndEvent: to_say("Planned event ended"),
    PlaceItem: to_say("Item placed"),
    CheckItem: to_say("Item checked"),
    QuarantineItem: to_say("Quarantine"),
    ReturnItem: to_say("Item back in service"),
    NoteItem: to_say("Note on an item"),
    AddItem: to_say("New item"),
    ReviewBeyond: to_say("Beyond a role, seen"),
    PlanPost: to_say("Plan"),
    DropPlan: to_say("Plan taken back"),
    OfferPosts: to_say("Offer"),
    AcceptOffer: to_say("Accepted"),
    DeclineOffer: to_say("Not accepted"),
    WithdrawOffer: to_say("Offer taken back"),
    StartBreak: to_say("Break"),
    EndBreak: to_say("Break ended"),
    SayUnreachable: to_say("Unreachable"),
    SayReachable: to_say("Reachable again"),
    GoOffSupport: to_say("Off support"),
    BackOnSupport: to_say("Back on support"),
    BeginCard: to_say("Card begun"),
    TickStep: to_say("Card"),
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
        Life.SENT: (say("{what} · sent", what=what), False),
        Life.RECORDED: (say("{what} · recorded {at}", what=what, at=at), False),
        Life.UNRECORDED: (say("{what} · counts since {at}, NOT RECORDED: write it down", what=what, at=at), True),
        Life.REFUSED: (say("{what} · refused: {reason}", what=what, reason=given.reason), True),
        Life.NOT_RECORDED: (
            say("{what} · NOT RECORDED: {reason}. Telephone.", what=what, reason=given.reason),
            True,
        ),
    }[given.life]


def _what(command: Command, tiles: Mapping[str, TileView]) -> str:
    bed = getattr(command, "bed", None)
    word = say(_WORDS[type(command)])
    said = f"{word} {bed}" if bed else word
    if isinstance(command, TickStep):
        said += say(", step {step}{done}", step=command.step, done="" if command.done else say(" taken back"))
    if isinstance(command, Order | SetTarget):
        unit, label = CATALOGUE[command.quantity].unit, _label(command, tiles.get(command.bed))
        said += f", {label} {write(command.quantity, command.value)} {unit}".rstrip()
    return said


def _label(command: Order | SetTarget, tile: TileView | None) -> str:
    for run in tile.runs if tile is not None else ():
        if run.description.slot == command.slot:
            return say(label_at(command.quantity, run.description))
    return say(CATALOGUE[command.quantity].label)
