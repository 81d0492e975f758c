"""In which unit a unit reads what is read in two: locked for all of its beds, never chosen on the form.

The record and every screen have one unit for a quantity, that of the catalogue. Where people read another one off
their analyser, they type that one, see that one beside the field and in every sentence, and it is computed once,
exactly, as the set is made. Only this is ever converted: what was typed in a wrong unit is asked about.
"""

from collections.abc import Mapping
from enum import StrEnum
from typing import NamedTuple

from shared.entry.row import Row
from shared.physics.units import PASCAL_PER_MMHG
from shared.quantities import Quantity


class GasUnit(StrEnum):
    """Of oxygen and carbon dioxide in blood."""

    MMHG = "mmHg"
    KPA = "kPa"


class HaemoglobinUnit(StrEnum):
    """Of haemoglobin."""

    G_PER_L = "g/L"
    G_PER_DL = "g/dL"


class TypedIn(NamedTuple):
    """A unit other than the catalogue's: catalogue = typed times ``factor``; digits after the point, the step."""

    unit: str
    factor: float
    decimals: int
    step: float


MMHG_IN_KPA = 1000 / PASCAL_PER_MMHG
_KPA = TypedIn("kPa", MMHG_IN_KPA, 1, 0.1)
_G_PER_DL = TypedIn("g/dL", 10.0, 1, 0.1)
_GASES = (
    Quantity.PRE_OXYGENATOR_PO2,
    Quantity.PRE_OXYGENATOR_PCO2,
    Quantity.POST_OXYGENATOR_PO2,
    Quantity.POST_OXYGENATOR_PCO2,
    Quantity.ARTERIAL_PO2,
)


class Units(Row):
    """The units that are typed; the record keeps mmHg and g/L."""

    gas_pressure: GasUnit = GasUnit.MMHG
    haemoglobin: HaemoglobinUnit = HaemoglobinUnit.G_PER_L

    def typed(self) -> Mapping[Quantity, TypedIn]:
        """Give what is typed in another unit than the catalogue's."""
        gases = dict.fromkeys(_GASES, _KPA) if self.gas_pressure is GasUnit.KPA else {}
        in_dl = self.haemoglobin is HaemoglobinUnit.G_PER_DL
        return gases | ({Quantity.HAEMOGLOBIN: _G_PER_DL} if in_dl else {})
