"""The five needs a bed can show, worst first."""

from collections.abc import Mapping
from enum import StrEnum
from types import MappingProxyType

from shared.language.saying import to_say


class Need(StrEnum):
    """What an alert asks for on a screen: grade for physiological alerts, one look for technical ones."""

    HIGH_CIRCUIT = "high_circuit"
    HIGH = "high"
    MEDIUM = "medium"
    LOW = "low"
    TECHNICAL = "technical"


#: Each need in one word, as the key of the marks has it.
NEED_WORD: Mapping[Need, str] = MappingProxyType(
    {
        Need.HIGH_CIRCUIT: to_say("circuit"),
        Need.HIGH: to_say("high"),
        Need.MEDIUM: to_say("medium"),
        Need.LOW: to_say("low"),
        Need.TECHNICAL: to_say("technical"),
    }
)
