"""The palette: every named colour of the two themes, checked as it is read.

A colour is a `Hex`, a text of the form "#RRGGBB" and a type of its own; needs, states and series are enums.
So the name of a state can never be handed over where a colour is meant.
"""

from enum import StrEnum
from typing import Annotated, Literal, NewType

from pydantic import AfterValidator, BaseModel, ConfigDict

from shared.look.colour import channels
from shared.look.need import Need
from shared.toml_text import parse_toml

Hex = NewType("Hex", str)


def _checked(value: Hex) -> Hex:
    channels(value)
    return value


Colour = Annotated[Hex, AfterValidator(_checked)]


class StateHue(StrEnum):
    """Names of the colours that mark a state: one mark and one word, never a number."""

    SEEN = "seen"
    TAKEN = "taken"
    HELD = "held"
    HELD_PLATE = "held_plate"
    LATCHED = "latched"
    NOT_JUDGED = "not_judged"
    STALE = "stale"
    SIMULATED = "simulated"
    HAND_ENTERED = "hand_entered"


class SeriesHue(StrEnum):
    """Names of the line colours on a bed page."""

    FLOW = "flow"
    SPEED = "speed"
    INLET = "inlet"
    PRE = "pre"
    POST = "post"
    MAP = "map"


class _Table(BaseModel):
    model_config = ConfigDict(frozen=True, strict=True, extra="forbid", defer_build=True)


class NeedColours(_Table):
    """One colour for each need; read as ``colours[Need.HIGH]``."""

    high_circuit: Colour
    high: Colour
    medium: Colour
    low: Colour
    technical: Colour

    def __getitem__(self, need: Need) -> Hex:
        found: Hex = getattr(self, need.value)
        return found


class StateColours(_Table):
    """One colour for each `StateHue`; read as ``colours[StateHue.SEEN]``."""

    seen: Colour
    taken: Colour
    held: Colour
    held_plate: Colour
    latched: Colour
    not_judged: Colour
    stale: Colour
    simulated: Colour
    hand_entered: Colour

    def __getitem__(self, hue: StateHue) -> Hex:
        found: Hex = getattr(self, hue.value)
        return found


class SeriesColours(_Table):
    """One line colour for each `SeriesHue`; read as ``colours[SeriesHue.FLOW]``."""

    flow: Colour
    speed: Colour
    inlet: Colour
    pre: Colour
    post: Colour
    map: Colour

    def __getitem__(self, hue: SeriesHue) -> Hex:
        found: Hex = getattr(self, hue.value)
        return found


class RungColours(_Table):
    """Rungs of the staff. ``"need"`` stands for the colour of the need that climbs."""

    empty: Colour
    edge: Colour
    next: Literal["need"]
    called: Literal["need"]
    held: Colour


class Theme(_Table):
    """All colours of one theme. ``priority``, ``on_priority`` and ``tint`` are the solid plate of a need,
    the text and mark on it, and its pale plate."""

    ground: Colour
    tile: Colour
    tile_raised: Colour
    trough: Colour
    ink: Colour
    ink_2: Colour
    ink_3: Colour
    rule: Colour
    rule_strong: Colour
    spark: Colour
    band: Colour
    hatch: Colour
    focus: Colour
    priority: NeedColours
    on_priority: NeedColours
    tint: NeedColours
    state: StateColours
    rung: RungColours
    series: SeriesColours


class Palette(_Table):
    """The two themes."""

    day: Theme
    night: Theme


def parse_palette(text: str) -> Palette:
    """Read a palette from the text of its TOML file.

    Raises:
        ConfigurationError: with every fault at once, each with table, key, value and what is allowed.
    """
    return parse_toml(text, Palette, "palette")
