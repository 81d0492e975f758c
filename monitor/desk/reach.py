"""How far a desk gets at its hub's address, and what can be done where that is not all the way. Plain Python.

A hub that is not found, that is another one, or that does not know this desk's key is told by where the connection
ends. It is told beside the state of the link and changes nothing of it: only complete words make that live.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from enum import StrEnum
from types import MappingProxyType

from shared.language.saying import say, to_say


class Reach(StrEnum):
    """Where the last try ended, in words that follow the address."""

    LOOKING = "being looked for"
    NO_NAME = "no machine of that name"
    NOTHING = "nothing answers there"
    STRANGER = "another answers there"
    UNLIKE = "one side alone has keys"
    REFUSED = "the hub refuses this key"
    CONNECTED = "connected, but silent"


#: What to do where a try ended so.
DO: Mapping[Reach, str] = MappingProxyType(
    {
        Reach.NO_NAME: to_say("Look at the address (--hub), or give the machine's number."),
        Reach.NOTHING: to_say("Look at the address (--hub), the network, and whether the hub runs."),
        Reach.STRANGER: to_say("It is no hub, or another than that of the hub's key (--hub-key): look at both."),
        Reach.UNLIKE: to_say("Give keys (--key, --hub-key) where the hub has them, and none where it has none."),
        Reach.REFUSED: to_say("Have it put on that hub's list (weirkeeper keys list), or give another (--key)."),
        Reach.CONNECTED: to_say("If nothing comes, look at the hub's own machine."),
    }
)


@dataclass(frozen=True, slots=True)
class Reached:
    """Heard of the connection itself: how far it got."""

    reach: Reach


@dataclass(frozen=True, slots=True)
class HubAddress:
    """Where a hub is looked for, and the short name of the key that is shown there; none: without keys."""

    address: str = ""
    key: str = ""

    @property
    def words(self) -> str:
        """``tcp://10.0.0.5:17314, key 1a2b-3c4d-5e6f``."""
        return f"{self.address}, {(say('key {key}', key=self.key) if self.key else say('no key'))}"


#: A desk that nobody has told an address, as in a test.
NOT_SAID = HubAddress()


def tried_words(at: HubAddress, reach: Reach) -> str:
    """Say where a hub was looked for, with what, and how far that got."""
    return f"{at.words}: {say(reach.value)}" if at.address else ""


def do_words(reach: Reach) -> str:
    """Say what to do about it; empty while there is nothing to do."""
    return DO.get(reach, "")
