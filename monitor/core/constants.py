"""The constants on which published sources disagree: the unit chooses, and the page says which were used."""

from enum import StrEnum

from pydantic import Field

from monitor.core.model import Frozen
from shared.mark import Mark
from shared.physics import body, resistance


class BodySurface(StrEnum):
    """The formulas of body surface."""

    MOSTELLER = "mosteller"
    DU_BOIS = "du_bois"


class ResistanceFactor(StrEnum):
    """What makes dyn s cm-5 of mmHg min/L: 80 as textbooks round it, or 79.9934 from the definitions."""

    ROUNDED = "rounded"
    EXACT = "exact"


class Constants(Frozen):
    """Constants of computed quantities.

    Attributes:
        oxygen_capacity: mL of oxygen that a gram of haemoglobin binds: 1.34, 1.36 or 1.39 (from memory).
        oxygen_solubility: mL of oxygen dissolved in a decilitre for each mmHg: 0.0031 or 0.003 (from memory).
        body_surface: Mosteller 1987 or Du Bois 1916 (both from memory).
        resistance_factor: rounded, 80, or exact, 79.9934.
    """

    oxygen_capacity: float = Field(default=1.34, ge=1.30, le=1.40)
    oxygen_solubility: float = Field(default=0.0031, ge=0.0029, le=0.0032)
    body_surface: BodySurface = BodySurface.MOSTELLER
    resistance_factor: ResistanceFactor = ResistanceFactor.ROUNDED
    mark: Mark = Mark.PUBLISHED

    def surface(self, height: float, weight: float) -> float:
        """Give the body surface in m2 from cm and kg."""
        formula = {BodySurface.MOSTELLER: body.mosteller, BodySurface.DU_BOIS: body.du_bois}
        return formula[self.body_surface](height, weight)

    @property
    def factor(self) -> float:
        """The resistance factor as a number."""
        exact = self.resistance_factor is ResistanceFactor.EXACT
        return resistance.EXACT_FACTOR if exact else resistance.ROUND_FACTOR
