"""A text that was laid out once stands where Qt itself draws it, whatever characters it has."""

import gc
from collections.abc import Callable
from functools import partial

import numpy as np
import numpy.typing as npt
import pytest
from PySide6.QtCore import QPointF
from PySide6.QtGui import QColor, QImage, QPainter, QStaticText
from PySide6.QtWidgets import QApplication

from monitor.desk.paint.fonts import font
from monitor.desk.paint.text import draw_text, laid
from shared.look.palette import Hex

INK, GROUND = Hex("#102030"), "#ffffff"
TEXTS = (
    "Flow", "4.2", "–85", "L/min", "mmHg·min/L", "SpO₂ R", "FdO₂", "Oxy ΔP", "≥ 10.7", "36.8 °C", "12 %",
    "AV fi To", "Nobody has it · Surgeon called in 0:34", "“é, ž, ß”", "→ ↑", "中",
)  # fmt: skip
PLACES = ((3.0, 60.0), (7.37, 58.61))
Ink = npt.NDArray[np.float64]


def _painted(draw: Callable[[QPainter], object], ratio: float) -> Ink:
    """Give how much ink each device pixel has, 0 to 1."""
    image = QImage(round(420 * ratio), round(90 * ratio), QImage.Format.Format_RGB32)
    image.setDevicePixelRatio(ratio)
    image.fill(QColor(GROUND))
    painter = QPainter(image)
    try:
        painter.translate(0.3, 5)
        draw(painter)
    finally:
        painter.end()
    raw = np.frombuffer(image.constBits(), np.uint8).reshape(image.height(), image.width(), 4)
    return 1.0 - raw[:, :, 1] / 255.0


def _mine(text: str, px: float, bold: bool, x: float, y: float, painter: QPainter) -> None:
    draw_text(painter, x, y, text, px, bold, INK)


def _qts(text: str, px: float, bold: bool, x: float, y: float, painter: QPainter) -> None:
    painter.setFont(font(px, bold))
    painter.setPen(QColor(INK))
    painter.drawText(QPointF(x, y), text)


def _middle(ink: Ink) -> Ink:
    rows, columns = np.indices(ink.shape)
    middle: Ink = np.array([(rows * ink).sum(), (columns * ink).sum()]) / ink.sum()
    return middle


@pytest.mark.parametrize("bold", [False, True])
@pytest.mark.parametrize("text", TEXTS)
def test_that_a_text_has_the_very_pixels_that_qt_draws(qapp: QApplication, text: str, bold: bool) -> None:
    for px in (11.0, 12.6, 17.0, 26.4, 46.0):
        for x, y in PLACES:
            mine, qts = (_painted(partial(draw, text, px, bold, x, y), 1.0) for draw in (_mine, _qts))
            assert qts.sum() > 1
            assert np.array_equal(mine, qts), (px, x)


@pytest.mark.parametrize("ratio", [1.25, 2.0])
@pytest.mark.parametrize("text", TEXTS)
def test_that_on_a_larger_scale_it_is_off_by_no_more_than_a_third_of_a_pixel(
    qapp: QApplication, text: str, ratio: float
) -> None:
    for px in (11.0, 17.0, 26.4):
        for x, y in PLACES:
            mine, qts = (_painted(partial(draw, text, px, False, x, y), ratio) for draw in (_mine, _qts))
            assert mine.sum() == pytest.approx(qts.sum(), rel=0.02)
            assert np.abs(_middle(mine) - _middle(qts)).max() < 1 / 3, (px, x)


def test_that_texts_are_laid_out_once_but_those_with_characters_of_another_font(qapp: QApplication) -> None:
    for text in ("4.2 L/min", "−62 mmHg", "SpO₂", "≥ 10.7 °C · ΔP"):
        assert not any(isinstance(part, str) for _, part in laid(text, 17.0, False)[3]), text
    assert any(isinstance(part, str) for _, part in laid("中", 17.0, False)[3])


def test_that_numbers_that_change_for_hours_leave_few_texts_behind(qapp: QApplication) -> None:
    for tenths in range(3_000):
        laid(f"{tenths / 10:.1f} mmHg", 17.0, False)
    gc.collect()
    assert sum(isinstance(one, QStaticText) for one in gc.get_objects()) <= 1_100
