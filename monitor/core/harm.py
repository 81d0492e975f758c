"""What a grade means: which harm may follow if nobody responds, and how soon it may develop, give a priority.

Table 1 of IEC 60601-1-8, from memory: the standard's text was not readable. It is an aid for whoever writes a rule;
the engine takes the priority that the rule names. No conformance is claimed.
"""

from collections.abc import Mapping
from enum import StrEnum
from types import MappingProxyType

from monitor.core.grades import Priority


class Harm(StrEnum):
    """What may happen if nobody responds."""

    DEATH = "death or irreversible injury"
    REVERSIBLE = "reversible injury"
    MINOR = "minor injury or discomfort"


class Onset(StrEnum):
    """How soon it may develop: faster than correction by hand usually allows, not faster, or later still."""

    IMMEDIATE = "immediate"
    PROMPT = "prompt"
    DELAYED = "delayed"


_H, _O, _P = Harm, Onset, Priority

#: Harm and onset -> the priorities that the cell allows; ``None``: no alarm signal at all.
PRIORITIES: Mapping[tuple[Harm, Onset], frozenset[Priority | None]] = MappingProxyType(
    {
        (_H.DEATH, _O.IMMEDIATE): frozenset({_P.HIGH}),
        (_H.DEATH, _O.PROMPT): frozenset({_P.HIGH}),
        (_H.DEATH, _O.DELAYED): frozenset({_P.MEDIUM}),
        (_H.REVERSIBLE, _O.IMMEDIATE): frozenset({_P.HIGH}),
        (_H.REVERSIBLE, _O.PROMPT): frozenset({_P.MEDIUM}),
        (_H.REVERSIBLE, _O.DELAYED): frozenset({_P.LOW}),
        (_H.MINOR, _O.IMMEDIATE): frozenset({_P.MEDIUM}),
        (_H.MINOR, _O.PROMPT): frozenset({_P.LOW}),
        (_H.MINOR, _O.DELAYED): frozenset({_P.LOW, None}),
    }
)
