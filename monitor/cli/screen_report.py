"""What this machine's screen says of itself, asked in a process: ``python -m monitor.cli.screen_report``.

Where there is no screen, Qt ends the process that asks it; and a scale must be chosen before a window's own process
has asked anything.
"""

import json
import os
import sys
from dataclasses import dataclass

from monitor.cli.asked_apart import asked_apart
from shared.look.screen import SCALE, believed_pitch

_SCREENS = ("DISPLAY", "WAYLAND_DISPLAY")


@dataclass(frozen=True, slots=True)
class Report:
    """Pixels and millimetres of the first screen."""

    px: tuple[int, int]
    mm: tuple[float, float]

    @property
    def pitch_mm(self) -> float | None:
        """What it says of its pixels; ``None`` where that cannot be believed."""
        return believed_pitch(self.mm, self.px)


def screen_report() -> Report | None:
    """Ask; ``None`` where there is no screen, or it does not answer."""
    asks_nobody = sys.platform.startswith("linux") and not any(os.environ.get(name) for name in _SCREENS)
    if asks_nobody:
        return None
    environment = {name: value for name, value in os.environ.items() if name != SCALE}
    told = asked_apart("monitor.cli.screen_report", environment)
    if told is None:
        return None
    wide, high, mm_wide, mm_high = told
    return Report((int(wide), int(high)), (float(mm_wide), float(mm_high)))


def _tell() -> None:
    from PySide6.QtGui import QGuiApplication

    application = QGuiApplication([])
    screen, ratio = application.primaryScreen(), application.devicePixelRatio()
    size, mm = screen.size(), screen.physicalSize()
    print(json.dumps([round(size.width() * ratio), round(size.height() * ratio), mm.width(), mm.height()]))


if __name__ == "__main__":
    _tell()
