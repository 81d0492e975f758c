"""What a station's key allows: which roles sign in there, and in which of them a person acts from it."""

from collections.abc import Mapping

from monitor.core.commands import CallHelp, Command
from monitor.core.events import Commanded
from monitor.core.grades import Role
from monitor.core.roles.permission import ROLE_LABEL
from monitor.core.unit import Person
from monitor.hub.sign_in import speakers
from monitor.settings.keys_file import StationKey
from shared.language.saying import say


def not_from_here(station: StationKey, name: str, people: Mapping[str, Person]) -> str:
    """Say why somebody cannot sign in or act at a station; empty: they can, or are not among the people."""
    person = people.get(name)
    if person is None or person.roles.intersection(station.roles):
        return ""
    own, here = (_labels(roles) for roles in (person.roles, station.roles))
    return say(
        "{label} ({own}) cannot act from {name}: it is for {here}. Go to another desk",
        label=person.label,
        own=own,
        name=station.name,
        here=here,
    )


def refusal_of(station: StationKey, command: Command, people: Mapping[str, Person]) -> str:
    """Say why a command is not taken from a station; empty: it is. Help by hand is taken from everywhere."""
    if isinstance(command, CallHelp):
        return ""
    said = (not_from_here(station, name, people) for name, _ in speakers(command, "", ""))
    return next(filter(None, said), "")


def commanded(station: StationKey | None, command: Command, people: Mapping[str, Person]) -> Commanded:
    """Give a command as the engine hears it: with the station's key, in the roles that act from there."""
    if station is None:
        return Commanded(command)
    person = people.get(command.person)
    if person is None or isinstance(command, CallHelp) or person.roles <= frozenset(station.roles):
        return Commanded(command, station.fingerprint)
    return Commanded(command, station.fingerprint, person.roles.intersection(station.roles))


def _labels(roles: tuple[Role, ...] | frozenset[Role]) -> str:
    return ", ".join(ROLE_LABEL[role].lower() for role in ROLE_LABEL if role in roles)
