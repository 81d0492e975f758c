"""Every command is held to the table of roles before it is carried out: the hub is the only authority.

A refusal says what, why and who can. Help by hand is anybody's. Any clinical login may act at any bed with a reason
(break-glass); that, and what is let through in doubt, is written down and shown until the charge nurse has seen it.
"""

from dataclasses import dataclass

from monitor.core.bed_commands import AnswerProposal, ProposeLimit
from monitor.core.commands import CallHelp, Command, Order, Take
from monitor.core.equipment_commands import NoteItem
from monitor.core.grades import RUNG_LABEL, Role, Rung
from monitor.core.handling import Handling
from monitor.core.roles.posts import RUNG_OF, fills_a_hole, is_own_matter, rungs_of
from monitor.core.roles.table import ACT_OF, COLUMNS, TABLE, Act, May, may_freely
from monitor.core.roster.cover import rung_of
from monitor.core.roster.post import key_of
from monitor.core.roster.standing import has, owner
from monitor.core.roster_commands import AcceptOffer
from monitor.core.unit import Person
from shared.language.saying import say

ROLE_LABEL = {
    **{role: RUNG_LABEL[rung] for role, rung in zip(COLUMNS, Rung, strict=False)},
    Role.VIEWER: "Viewer",
    Role.ADMINISTRATOR: "Administrator",
}


@dataclass(frozen=True, slots=True)
class Permission:
    """What the table says of a command.

    Attributes:
        refusal: why it is not carried out, in words for the person; empty: it may be.
        with_reason: it may be once a reason is given (break-glass).
        beyond: it may be, and the charge nurse is shown why it went beyond the role.
    """

    refusal: str = ""
    with_reason: bool = False
    beyond: str = ""


_YES = Permission()


def judge(handling: Handling, command: Command) -> Permission:
    """Hold a command to the table of roles."""
    if isinstance(command, CallHelp):
        return _YES
    act = ACT_OF[type(command)]
    person = handling.people.get(command.person)
    if person is None:
        return _stranger(command.person)
    if person.looks_on and not may_freely(act, person.roles):
        return Permission(
            say("{label} looks on and cannot answer: {who_can}", label=person.label, who_can=_who_can(act))
        )
    if isinstance(command, Take | AcceptOffer) and command.told_to is not None:
        return _YES  # told by voice: whoever is in the unit may write it down, and both names stand in the record
    return _by_role(handling, command, act, person)


def _by_role(handling: Handling, command: Command, act: Act, person: Person) -> Permission:
    cells = {TABLE[act][role] for role in person.roles}
    bed: str | None = getattr(command, "bed", None)
    own = act is Act.ROSTER and is_own_matter(handling, command, person.name)
    if own or may_freely(act, person.roles) or _is_met(handling, command, person, cells):
        return _YES
    if May.OWN_BED in cells and bed is not None:
        return _elsewhere(handling, command, act, person, bed)
    if act is Act.ROSTER and not person.looks_on and fills_a_hole(handling, command):
        return Permission(beyond=say("nobody stood there"))
    return Permission(_words(act, person, cells))


def _is_met(handling: Handling, command: Command, person: Person, cells: set[May]) -> bool:
    """Tell whether the condition of one of the cells is met."""
    if May.WITH_PRESCRIBER in cells:
        return not isinstance(command, Order) or bool(command.prescriber.strip())
    if May.PROPOSE in cells:
        mine = isinstance(command, ProposeLimit) and is_own_bed(handling, person.name, command.bed)
        return mine or _takes_back(handling, command, person.name)
    if May.NOTE in cells:
        return isinstance(command, NoteItem)
    if May.OWN_RUNG in cells:
        rungs = rungs_of(handling, command)
        return bool(rungs) and rungs <= {RUNG_OF[role] for role in person.roles if role in RUNG_OF}
    return May.OWN_BED in cells and is_own_bed(handling, person.name, getattr(command, "bed", None))


def _takes_back(handling: Handling, command: Command, name: str) -> bool:
    """Tell whether somebody takes back what they proposed themselves."""
    if not isinstance(command, AnswerProposal) or command.accept or command.bed not in handling.state.beds:
        return False
    run = handling.state.beds[command.bed].runs.get(command.slot)
    found = run.proposals.get(command.rule) if run is not None else None
    return found is not None and found.by == name


def is_own_bed(handling: Handling, name: str, bed: str | None) -> bool:
    """Tell whether a bed is a nurse's: its nurse, on a break too, the deputy, on the way, or whoever is called.

    What belongs to no bed is everybody's; a bed that is not there is refused for that.
    """
    if bed is None or bed not in handling.state.beds:
        return True
    roster, transport = handling.state.unit.roster, handling.state.beds[bed].transport
    key, leader = key_of(Rung.BEDSIDE, bed), transport.leader if transport is not None else None
    return name in (has(roster, key), owner(roster, key), leader) or rung_of(roster, name, bed) is not None


def _elsewhere(handling: Handling, command: Command, act: Act, person: Person, bed: str) -> Permission:
    """At the bed of somebody else: with a reason; where nobody is called at the bed, in doubt without one."""
    if command.break_glass.strip():
        return Permission(beyond=command.break_glass.strip())
    nurse = handling.people.get(handling.state.unit.roster.stands.get(key_of(Rung.BEDSIDE, bed)) or "")
    if nurse is None:
        return Permission(beyond=say("nobody stood at this bed"))
    words = say(
        "{bed} is {label}'s bed, not {person_label}'s: {who_can}; or {person_label} with a reason",
        bed=bed,
        label=nurse.label,
        person_label=person.label,
        who_can=_who_can(act),
    )
    return Permission(words, with_reason=True)


def _words(act: Act, person: Person, cells: set[May]) -> str:
    who = _who_can(act)
    if May.WITH_PRESCRIBER in cells:
        return say(
            "an order that {label} writes down names who ordered it; without one: {who}",
            label=person.label,
            who=who,
        )
    if May.PROPOSE in cells:
        return say(
            "{label} can propose a limit at their own bed, and not set one: {who}", label=person.label, who=who
        )
    if May.NOTE in cells:
        return say(
            "{label} can leave a note on an item; the rest of the equipment log: {who_can}",
            label=person.label,
            who_can=_who_can(act),
        )
    if May.OWN_RUNG in cells:
        return say("{label} changes the roster of their own rung alone: {who}", label=person.label, who=who)
    return say(
        "{label} ({roles}) does not {act}: {who}", label=person.label, roles=_roles(person), act=act.value, who=who
    )


def _who_can(act: Act) -> str:
    able = [ROLE_LABEL[role].lower() for role in COLUMNS if may_freely(act, (role,))]
    words = say("{listed} or {able}", listed=", ".join(able[:-1]), able=able[-1]) if len(able) > 1 else able[0]
    return say("{words} can", words=words)


def _roles(person: Person) -> str:
    return ", ".join(ROLE_LABEL[role].lower() for role in COLUMNS if role in person.roles)


def _stranger(name: str) -> Permission:
    return Permission(say("{name} is not among the unit's people", name=name))
