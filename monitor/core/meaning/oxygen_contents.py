"""Oxygen contents of a run: one set of inputs and constants for all that follows from them."""

from monitor.core.meaning.derived_view import InputView
from monitor.core.meaning.inputs import Gap, Inputs, Part
from shared.language.saying import say, to_say
from shared.physics import oxygen
from shared.quantities import Quantity as Q

_HAND = to_say("Right-hand SpO₂ stands for the arterial saturation")
UNDISSOLVED = to_say("Without dissolved oxygen: no arterial pO₂")
CURVE = to_say("pO₂ of drained blood from its saturation, by the dissociation curve")
#: From here on the dissociation curve is too flat to tell a pO2.
_FULL = 0.995


class Contents:
    """The oxygen contents of a run, with the constants of the unit: one set of inputs for all that follows."""

    def __init__(self, here: Inputs) -> None:
        self._here = here
        constants = here.source.configuration.unit.constants
        self._k, self._a = constants.oxygen_capacity, constants.oxygen_solubility
        self.constants = (
            InputView(label=say("k, oxygen a gram of Hb"), value=self._k, unit="mL/g"),
            InputView(label=say("a, dissolved oxygen"), value=self._a, unit="mL/dL/mmHg", decimals=4),
        )
        self.haemoglobin = here.drawn(Q.HAEMOGLOBIN)
        self.saturation = here.reading(Q.SPO2_RIGHT_HAND)
        pressure = here.drawn(Q.ARTERIAL_PO2)
        self._dissolved = not isinstance(pressure, Gap)
        self._pressure = (pressure,) if self._dissolved else ()
        self.venous_saturation = here.reading(Q.SVO2)

    @property
    def arterial(self) -> tuple[Part, ...]:
        """The inputs of the arterial content, the same for all that follows from it."""
        return (self.haemoglobin, self.saturation, *self._pressure)

    @property
    def arterial_formula(self) -> str:
        """The arterial content in symbols."""
        return say("k · Hb · SaO₂ + a · pO₂") if self._dissolved else say("k · Hb · SaO₂")

    @property
    def arterial_cautions(self) -> tuple[str, ...]:
        """What the arterial content does not say."""
        return (_HAND, "" if self._dissolved else UNDISSOLVED)

    def arterial_of(self, *values: float) -> float:
        """Give the arterial content in mL/dL from Hb (g/L), saturation (%) and, where known, pO2 (mmHg)."""
        return self.content(values[0], values[1] / 100, values[2] if self._dissolved else 0.0)

    @property
    def venous_formula(self) -> str:
        """The venous content in symbols."""
        return say("k · Hb · SvO₂ + a · pO₂") if self._dissolved else say("k · Hb · SvO₂")

    @property
    def venous_cautions(self) -> tuple[str, ...]:
        """What the venous content does not say."""
        return (CURVE if self._dissolved else UNDISSOLVED,)

    def venous_of(self, haemoglobin: float, saturation: float) -> float | Gap:
        """Give the venous content in mL/dL from Hb (g/L) and saturation (%).

        It has dissolved oxygen exactly where the arterial content has, so that their difference holds.
        """
        if self._dissolved:
            return self.drained_of(haemoglobin, saturation)
        return self.content(haemoglobin, saturation / 100, 0.0)

    def drained_of(self, haemoglobin: float, saturation: float) -> float | Gap:
        """Give the content of drained blood in mL/dL from Hb (g/L) and saturation (%)."""
        share = saturation / 100
        if share >= _FULL:
            return Gap(say("drained blood is fully saturated: its pO₂ cannot be told"))
        return self.content(haemoglobin, share, oxygen.po2_of(share))

    def content(self, haemoglobin: float, share: float, po2: float) -> float:
        """Give the content in mL/dL; haemoglobin in g/L."""
        return oxygen.content(haemoglobin / 10, share, po2, capacity=self._k, solubility=self._a)

    @property
    def width(self) -> int:
        """How many values the arterial content takes."""
        return len(self.arterial)
