"""What is drawn as text, with the boxes in which it stands: for tests that nothing is cut or stands on another."""

from collections.abc import Iterable
from dataclasses import dataclass
from types import ModuleType
from typing import Any

import pytest

from monitor.desk.paint.text import Align, draw_text


@dataclass(frozen=True)
class Drawn:
    """A text as drawn: its box from cap height to baseline."""

    text: str
    px: float
    left: float
    top: float
    right: float
    bottom: float

    def meets(self, other: "Drawn") -> bool:
        """Tell whether the boxes overlap by more than a pixel each way."""
        wide = min(self.right, other.right) - max(self.left, other.left)
        high = min(self.bottom, other.bottom) - max(self.top, other.top)
        return wide > 1 and high > 1


class Texts:
    """Everything that was drawn as text."""

    def __init__(self) -> None:
        self.drawn: list[Drawn] = []

    def said(self) -> str:
        """Give all of it, one text after the other."""
        return " ".join(one.text for one in self.drawn).replace("\u00a0", " ")


def watch_texts(monkeypatch: pytest.MonkeyPatch, modules: Iterable[ModuleType]) -> Texts:
    """Note what these modules draw from now on."""
    seen = Texts()

    def watched(
        p: Any, x: float, base: float, text: str, px: float, bold: bool, colour: Any, align: Any = Align.LEFT
    ) -> float:
        width = draw_text(p, x, base, text, px, bold, colour, align)
        left = x - align.value * width
        if text:
            seen.drawn.append(Drawn(text, px, left, base - 0.75 * px, left + width, base))
        return width

    for module in modules:
        monkeypatch.setattr(module, "draw_text", watched)
    return seen
