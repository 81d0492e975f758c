"""In which roles a command is carried out: those that the station's key has too; and its key in the log."""

import pytest

from monitor.core.commands import COMMANDS
from monitor.core.effects import Persist, Refuse
from monitor.core.events import Commanded
from monitor.core.grades import Role
from tests.helpers.ward import Ward

KEY = "1a2b-3c4d-5e6f"


@pytest.fixture
def ward() -> Ward:
    """A ward in which nurse-1, who has B1, is a charge nurse too."""
    ward = Ward()
    unit = ward.configuration.unit
    people = tuple(
        one.model_copy(update={"also": frozenset({Role.CHARGE_NURSE})}) if one.name == "nurse-1" else one
        for one in unit.people
    )
    ward.configuration = ward.configuration.model_copy(update={"unit": unit.model_copy(update={"people": people})})
    ward.reopen()
    return ward


@pytest.mark.parametrize(
    ("bed", "roles", "refused"),
    [
        ("B2", None, ""),
        ("B2", {Role.CHARGE_NURSE}, ""),
        ("B2", {Role.BEDSIDE_NURSE, Role.CHARGE_NURSE}, ""),
        ("B2", {Role.BEDSIDE_NURSE}, "is Nurse-2's bed, not Nurse-1's"),
        ("B1", {Role.BEDSIDE_NURSE}, ""),
        ("B1", {Role.SURGEON}, "looks on and cannot answer"),
    ],
)
def test_that_a_command_is_held_to_the_roles_of_its_station(
    ward: Ward, bed: str, roles: set[Role] | None, refused: str
) -> None:
    said = {"kind": "care_marker", "id": "care-1", "person": "nurse-1", "bed": bed, "minutes": 2}
    given = Commanded(COMMANDS.validate_python(said), KEY, None if roles is None else frozenset(roles))
    effects = ward.engine.handle(given, ward.now)
    reasons = [effect.reason for effect in effects if isinstance(effect, Refuse)]
    assert [refused in reason for reason in reasons] == [True] * bool(refused)
    assert [effect.entry.key for effect in effects if isinstance(effect, Persist)] == [KEY]
    again = {**said, "id": "care-2", "bed": "B3"}
    after = ward.engine.handle(Commanded(COMMANDS.validate_python(again)), ward.now)
    assert not [effect for effect in after if isinstance(effect, Refuse)], "all of their roles again"
    assert [effect.entry.key for effect in after if isinstance(effect, Persist)] == [None]


def test_that_roles_of_a_stranger_change_nothing(ward: Ward) -> None:
    said = {"kind": "care_marker", "id": "care-1", "person": "nobody", "bed": "B1", "minutes": 2}
    effects = ward.engine.handle(Commanded(COMMANDS.validate_python(said), KEY, frozenset(Role)), ward.now)
    assert [effect.reason for effect in effects if isinstance(effect, Refuse)]
