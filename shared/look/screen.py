"""The screen that a window stands on: how large its pixels are, and how large everything on it is to be.

A size in millimetres, or one that is to be read from a distance, needs the pixel pitch. It is measured and written
down by the station (``screen.toml``), for what screens say of themselves is often wrong; without that it is the
pitch that all sizes are stated for. Larger text is a larger scale of everything, so that nothing is cut by it.
"""

import math
from dataclasses import dataclass
from typing import Annotated

from pydantic import BaseModel, ConfigDict, Field

from shared.look.sizes import USUAL_PITCH, height_for_arc

FILE = "screen.toml"
#: The name in the environment by which Qt is told a scale, before an application begins.
SCALE = "QT_SCALE_FACTOR"
#: What a pitch can be, mm: from a telephone's screen to that of a wall.
LEAST_PITCH, MOST_PITCH = 0.1, 1.2
#: The least window, in the pixels of text of 100 %, in which nothing is cut.
LEAST_WINDOW = (683, 384)
#: From this size on the form by which rounds are typed shows all at once; below, some rows, and which.
ROOMY_FORM = (1330, 660)
#: A system that knows no screen reckons with 96 or 72 pixels an inch.
_MADE_UP = (25.4 / 96, 25.4 / 72)
_ALIKE = 0.004
TOUCH_MM = 20.0
#: The same of what chooses what is seen and answers nothing: tabs, windows of time.
AIM_MM = 12.0
#: What answers is never lower than this, px: its words must have room.
_LEAST_TOUCH, _LEAST_AIM = 40, 24


class ScreenTable(BaseModel):
    """``screen.toml``: the screen of this station."""

    model_config = ConfigDict(frozen=True, strict=True, extra="forbid", defer_build=True)

    pitch_mm: Annotated[float, Field(ge=LEAST_PITCH, le=MOST_PITCH)] = USUAL_PITCH
    text_percent: Annotated[int, Field(ge=100, le=200)] = 100


@dataclass(frozen=True, slots=True)
class Screen:
    """``pitch_mm``: of a pixel as windows count them. ``is_told``: the station has measured it.

    ``text``: the size of text that is shown, %, and the one that was asked for, which had no room.
    """

    pitch_mm: float = USUAL_PITCH
    is_told: bool = False
    text: tuple[int, int] = (100, 100)

    @property
    def touch(self) -> int:
        """Pixels of what answers: 20 mm, for a gloved finger."""
        return max(_LEAST_TOUCH, self.in_mm(TOUCH_MM))

    @property
    def aim(self) -> int:
        """Pixels of what chooses what is seen: 12 mm, and never too low for its words."""
        return max(_LEAST_AIM, self.in_mm(AIM_MM))

    def in_mm(self, mm: float) -> int:
        """Pixels that are so many millimetres, or a little more."""
        return math.ceil(mm / self.pitch_mm)

    def cap(self, distance_m: float, arc_minutes: float) -> float:
        """Pixels a capital must be high to subtend so many minutes of arc at a distance."""
        return height_for_arc(distance_m, arc_minutes, self.pitch_mm)


_here = Screen()


def stand_on(screen: Screen) -> Screen:
    """Reckon with this screen from now on, in this process; gives the one before."""
    global _here
    before, _here = _here, screen
    return before


def here() -> Screen:
    """Give the screen that this process draws on."""
    return _here


def most_percent(wide: int, high: int) -> int:
    """Give how large text can be, in per cent, on a screen of so many pixels; 100 where not even that has room."""
    room = min(wide / LEAST_WINDOW[0], high / LEAST_WINDOW[1])
    return max(100, min(200, math.floor(100 * room + 1e-6)))


def believed_pitch(mm: tuple[float, float], px: tuple[int, int]) -> float | None:
    """Give the pitch that a screen says of itself, mm; ``None`` where that cannot be believed.

    Not believed: nothing, pixels that are not square, a pitch that no screen has, and the ones that systems make up
    where they know no screen.
    """
    if min(*mm, *px) <= 0:
        return None
    across, down = mm[0] / px[0], mm[1] / px[1]
    if not LEAST_PITCH <= across <= MOST_PITCH or abs(across / down - 1) > 0.05:
        return None
    if any(abs(across - made_up) < _ALIKE * made_up for made_up in _MADE_UP):
        return None
    return across
