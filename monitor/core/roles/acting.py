"""In which roles somebody acts: at a station that has keys, in those alone that its key has."""

from collections.abc import Iterable

from monitor.core.grades import Role
from monitor.core.roles.table import COLUMNS
from monitor.core.unit import Person


def acting(people: dict[str, Person], name: str, roles: Iterable[Role] | None) -> dict[str, Person]:
    """Give the people as they stand while ``name`` acts in ``roles`` alone; ``None``: in all of their roles."""
    person = people.get(name)
    if person is None or roles is None:
        return people
    kept = [role for role in COLUMNS if role in person.roles.intersection(roles)]
    first = person.role if person.role in kept else next(iter(kept), Role.VIEWER)
    return people | {name: person.model_copy(update={"role": first, "also": frozenset(kept) - {first}})}
