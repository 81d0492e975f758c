"""What is computed beside the fields while a round is typed: every number that a person then need not type.

Of numbers that can be, whether they were sent or not. What lacks a part is not there; it is never taken from an
earlier set.
"""

from collections.abc import Iterator
from typing import NamedTuple

from shared.entry.judging import Judgement
from shared.language.saying import say
from shared.quantities import CATALOGUE
from shared.quantities import Quantity as Q
from shared.support import RunDescription


class Computed(NamedTuple):
    """One computed number: label, value, unit as a person writes it, digits after the point."""

    label: str
    value: float
    unit: str
    decimals: int


def computed(judgement: Judgement, run: RunDescription) -> Iterator[Computed]:
    """Give what follows from a set: dP, dP/Q and Q/N, pulse pressure, heparin for each kg of body weight."""
    for quantity, value in judgement.derived.items():
        entry = CATALOGUE[quantity]
        yield Computed(entry.label, value, entry.unit, entry.decimals)
    typed = judgement.possible
    if Q.SYSTOLIC_PRESSURE in typed and Q.DIASTOLIC_PRESSURE in typed:
        entry = CATALOGUE[Q.PULSE_PRESSURE]
        pulse = typed[Q.SYSTOLIC_PRESSURE] - typed[Q.DIASTOLIC_PRESSURE]
        yield Computed(entry.label, pulse, entry.unit, entry.decimals)
    if Q.HEPARIN_RATE in typed and run.weight is not None:
        yield Computed(say("Heparin per kg"), typed[Q.HEPARIN_RATE] / run.weight, "IU/kg/h", 1)
