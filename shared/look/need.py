"""The five needs a bed can show, worst first."""

from enum import StrEnum


class Need(StrEnum):
    """What an alert asks for on a screen: grade for physiological alerts, one look for technical ones."""

    HIGH_CIRCUIT = "high_circuit"
    HIGH = "high"
    MEDIUM = "medium"
    LOW = "low"
    TECHNICAL = "technical"
