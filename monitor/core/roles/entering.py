"""Who may enter and correct readings at a bed now: for the entry form, which is no desk and gives no commands."""

from monitor.core.grades import Rung
from monitor.core.handling import Handling
from monitor.core.roles.permission import is_own_bed
from monitor.core.roles.table import TABLE, Act, May, may_freely
from monitor.core.roster.post import key_of


def nurse_of(handling: Handling, bed: str) -> str | None:
    """Give who stands on a bed's first rung."""
    return handling.state.unit.roster.stands.get(key_of(Rung.BEDSIDE, bed))


def may_enter(handling: Handling, bed: str) -> tuple[str, ...]:
    """Give the names of those who may; where nobody stands at the bed, everybody whose own it could be."""
    nobody = nurse_of(handling, bed) is None
    found = []
    for person in handling.unit.people:
        cells = {TABLE[Act.READINGS][role] for role in person.roles}
        own = May.OWN_BED in cells and (nobody or is_own_bed(handling, person.name, bed))
        if own or may_freely(Act.READINGS, person.roles):
            found.append(person.name)
    return tuple(found)
