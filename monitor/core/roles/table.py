"""Who may do what, by role: data alone. `permission` holds every command to it (common practice, no source).

What calls people is nobody's right to refuse: help by hand is open to all, signed in or not, and every role that
can be called may bring more calls. Readings are entered by the form, which asks who may (`entering`); settings have
no command yet, and their row says who will be asked.
"""

from collections.abc import Iterable, Mapping
from enum import StrEnum
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
from monitor.core.equipment_commands import AddItem, CheckItem, NoteItem, PlaceItem, QuarantineItem, ReturnItem
from monitor.core.grades import Role
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


class Act(StrEnum):
    """What is done, in the words of a refusal: "a viewer does not ..."."""

    LOOK = "see the board"
    HELP = "call help"
    SEEN = "answer seen"
    TAKE = "take"
    CALL = "bring more calls"
    EMERGENCY = "keep the clock or tick the cards of an emergency"
    READINGS = "enter or correct readings"
    BED = "write down what is done at a bed"
    ORDER = "write down an order"
    LIMITS = "change limits"
    ROSTER = "change the roster"
    EQUIPMENT = "write the equipment log"
    SETTINGS = "change ladder timers and configuration"
    REVIEW = "look through what was done beyond a role"


class May(StrEnum):
    """A cell of the table."""

    YES = "yes"
    NO = "no"
    OWN_BED = "own bed"
    IN_UNIT = "in the unit; else advise"
    WITH_PRESCRIBER = "with prescriber"
    PROPOSE = "propose"
    OWN_RUNG = "own rung"
    NOTE = "note"
    TWO = "two, not while a high is open"


#: The columns of the table.
COLUMNS = (
    Role.BEDSIDE_NURSE,
    Role.CHARGE_NURSE,
    Role.PERFUSIONIST,
    Role.INTENSIVIST,
    Role.SURGEON,
    Role.VIEWER,
    Role.ADMINISTRATOR,
)
_Y, _N, _BED, _UNIT, _RUNG = May.YES, May.NO, May.OWN_BED, May.IN_UNIT, May.OWN_RUNG

#: bedside nurse, charge nurse, perfusionist, intensivist, surgeon, viewer, administrator
_ROWS: Mapping[Act, tuple[May, ...]] = {
    Act.LOOK: (_Y, _Y, _Y, _Y, _Y, _Y, _Y),
    Act.HELP: (_Y, _Y, _Y, _Y, _Y, _Y, _Y),
    Act.SEEN: (_BED, _Y, _Y, _Y, _Y, _N, _N),
    Act.TAKE: (_BED, _Y, _UNIT, _UNIT, _UNIT, _N, _N),
    Act.CALL: (_Y, _Y, _Y, _Y, _Y, _N, _N),
    Act.EMERGENCY: (_Y, _Y, _Y, _Y, _Y, _N, _N),
    Act.READINGS: (_BED, _Y, _Y, _N, _N, _N, _N),
    Act.BED: (_BED, _Y, _Y, _Y, _Y, _N, _N),
    Act.ORDER: (May.WITH_PRESCRIBER, _Y, _Y, _Y, _Y, _N, _N),
    Act.LIMITS: (May.PROPOSE, _Y, _Y, _Y, _Y, _N, _N),
    Act.ROSTER: (_N, _Y, _RUNG, _RUNG, _RUNG, _N, _N),
    Act.EQUIPMENT: (May.NOTE, _Y, _Y, _N, _N, _N, _N),
    Act.SETTINGS: (_N, _N, _N, _N, _N, _N, May.TWO),
    Act.REVIEW: (_N, _Y, _N, _N, _N, _N, _N),
}
TABLE: Mapping[Act, Mapping[Role, May]] = MappingProxyType(
    {act: MappingProxyType(dict(zip(COLUMNS, cells, strict=True))) for act, cells in _ROWS.items()}
)

_FREE = frozenset({May.YES, May.IN_UNIT})  # where a person is, `answers` looks at


def may_freely(act: Act, roles: Iterable[Role]) -> bool:
    """Tell whether one of some roles may do something without a further condition."""
    return any(TABLE[act][role] in _FREE for role in roles)


#: Every command that there is, and the row that it falls under.
ACT_OF: Mapping[type, Act] = MappingProxyType(
    {
        **dict.fromkeys((LookedAt, SeeConfiguration), Act.LOOK),
        CallHelp: Act.HELP,
        **dict.fromkeys((Seen, HelpByPhone, GiveReason, PauseAudio), Act.SEEN),
        **dict.fromkeys((Take, Renew), Act.TAKE),
        **dict.fromkeys((PassOn, SetCallMe, SayReachable), Act.CALL),
        **dict.fromkeys((CareMarker, StartTransport, ChangeCylinder, EndTransport, ReturnCheck), Act.BED),
        **dict.fromkeys((StartRun, EndRun, MoveRun, DropCallMe, PlanEvent, EndEvent), Act.BED),
        **dict.fromkeys((Order, SetTarget, Exchange, StartTrial, EndTrial), Act.ORDER),
        **dict.fromkeys((SetLimit, DropLimit, ProposeLimit, AnswerProposal), Act.LIMITS),
        **dict.fromkeys((ChangeRoster, PlanPost, DropPlan, OfferPosts, AcceptOffer, DeclineOffer), Act.ROSTER),
        **dict.fromkeys((WithdrawOffer, StartBreak, EndBreak, SayUnreachable), Act.ROSTER),
        **dict.fromkeys((PlaceItem, CheckItem, QuarantineItem, ReturnItem, NoteItem, AddItem), Act.EQUIPMENT),
        **dict.fromkeys((GoOffSupport, BackOnSupport, BeginCard, TickStep), Act.EMERGENCY),
        ReviewBeyond: Act.REVIEW,
    }
)
