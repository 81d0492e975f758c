"""Who enters readings, by role, as the hub's own table has it: a test holds them to each other.

Whose bed a bed is now is the hub's to say; the form asks it.
"""

from collections.abc import Iterable, Mapping
from enum import StrEnum
from types import MappingProxyType

from shared.language.saying import to_say


class Enters(StrEnum):
    """Where a role enters and corrects readings."""

    ANY_BED = "any_bed"
    OWN_BED = "own_bed"
    NOWHERE = "nowhere"


#: By the role of ``unit.toml`` (common practice, no source); every other role: nowhere.
ENTERS: Mapping[str, Enters] = MappingProxyType(
    {"bedside_nurse": Enters.OWN_BED, "charge_nurse": Enters.ANY_BED, "perfusionist": Enters.ANY_BED}
)
WHO_CAN = to_say("charge nurse or perfusionist can")


def enters(roles: Iterable[str]) -> Enters:
    """Give where somebody with these roles enters readings."""
    found = {ENTERS.get(role, Enters.NOWHERE) for role in roles}
    return next(one for one in Enters if one in found)
