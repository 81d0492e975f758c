"""Text on the screens: real glyphs, true minus, nothing cut."""

import math
from pathlib import Path

import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from PySide6.QtGui import QFontInfo, QGuiApplication

from monitor.desk.paint.fonts import FALLBACK, FAMILY, MINUS, THIN_GAP, family, font, load_folder, text_width
from monitor.desk.paint.text import Align, Fitted, draw_text, fit_text, format_number
from monitor.desk.palette import load_palette
from tests.helpers.painting import Picture, canvas, dark

pytestmark = pytest.mark.usefixtures("qapp")
DAY = load_palette().day


def drawn(text: str, bold: bool = False, px: float = 24) -> Picture:
    with canvas(160, 60, DAY.tile) as sheet:
        draw_text(sheet.painter, 10, 40, text, px, bold, DAY.ink)
    return sheet.pixels


def test_that_no_glyph_is_an_empty_box() -> None:
    """An empty box is the same box for every letter."""
    glyphs = [drawn(c) for c in f"0123456789BRLm:/·%{MINUS}→↗₂Δ"]
    assert all(dark(g).sum() > 0 for g in glyphs)
    assert len({g.tobytes() for g in glyphs}) == len(glyphs)


def test_that_the_font_is_the_one_that_was_asked_for() -> None:
    assert family() in (FAMILY, FALLBACK)
    assert QFontInfo(font(17, True)).family() == family()
    assert QFontInfo(font(17, True)).bold()
    assert QFontInfo(font(17)).pixelSize() == 17


def test_that_bold_is_heavier_than_regular() -> None:
    assert dark(drawn("B11", True)).sum() > 1.15 * dark(drawn("B11", False)).sum()


def test_that_digits_stand_in_columns() -> None:
    for bold in (False, True):
        assert len({text_width(digit, 31, bold) for digit in "0123456789"}) == 1


def test_that_a_bold_number_has_a_bold_minus() -> None:
    """Rows of ink in the middle of the sign: the bold one is thicker, so it is seen as far as its digits."""
    regular, bold = (dark(drawn(MINUS, b, 45)).any(axis=1).sum() for b in (False, True))
    assert bold > regular


def test_that_a_thin_gap_is_narrower_than_a_space_and_wider_than_nothing() -> None:
    tight, thin, wide = (text_width(t, 31) for t in ("3420", f"3{THIN_GAP}420", "3 420"))
    assert tight < thin < wide


@pytest.mark.parametrize("align", list(Align))
def test_that_text_stands_where_it_is_put(align: Align) -> None:
    with canvas(200, 60, DAY.tile) as sheet:
        width = draw_text(sheet.painter, 100, 40, "88:88", 24, False, DAY.ink, align)
    columns = np.flatnonzero(dark(sheet.pixels).any(axis=0))
    left = 100 - align.value * width
    assert left - 1 <= columns[0] <= left + 4
    assert left + width - 4 <= columns[-1] <= left + width + 1
    rows = np.flatnonzero(dark(sheet.pixels).any(axis=1))
    assert rows[-1] in (39, 40)


@pytest.mark.parametrize(("value", "decimals", "written"), [
    (-97.0, 0, "−97"), (3420.0, 0, f"3{THIN_GAP}420"), (0.0, 1, "0.0"), (-0.04, 1, "0.0"), (-0.06, 1, "−0.1"),
    (-12345.6, 1, f"−12{THIN_GAP}345.6"), (999.6, 0, f"1{THIN_GAP}000"), (None, 1, "--"),
    (math.nan, 1, "--"), (math.inf, 0, "--"),
])  # fmt: skip
def test_that_a_number_is_written_as_the_screens_write_it(value: float | None, decimals: int, written: str) -> None:
    assert format_number(value, decimals) == written


def test_that_a_text_that_fits_keeps_its_size() -> None:
    assert fit_text("Flow low", 400, 17, True).px == 17


def test_that_a_long_text_gets_smaller_before_it_wraps() -> None:
    text = "Inlet falling, unsteady"
    room = text_width(text, 14, True) + 1
    fitted = fit_text(text, room, 17, True, smallest=12)
    assert 12 < fitted.px < 17
    assert fitted.lines == (text,)
    assert fitted.fits


def test_that_a_longer_text_wraps_at_the_smallest_size() -> None:
    text = "Perfusionist 1 helps by phone"
    fitted = fit_text(text, text_width(text, 12, True) * 0.6, 14, True, smallest=12, most_lines=2)
    assert fitted.px == 12
    assert len(fitted.lines) == 2
    assert fitted.fits


def test_that_no_line_ends_between_a_number_and_its_per_cent_sign() -> None:
    text = "Interval that holds 90 % of it"
    just_short = (text_width("Interval that holds 90", 12) + text_width("Interval that holds 90 %", 12)) / 2
    fitted = fit_text(text, just_short, 14, smallest=12, most_lines=2)
    assert fitted.lines == ("Interval that holds", "90 % of it")


def test_that_what_cannot_fit_says_so() -> None:
    assert not fit_text("Oxygenator resistance up 34 %", 60, 14, smallest=12).fits
    assert not fit_text("Oxygenator", 20, 14, smallest=12, most_lines=9).fits


@settings(deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture], max_examples=60)
@given(
    words=st.lists(st.text("abcdefgh·−", min_size=1, max_size=12), min_size=1, max_size=8),
    width=st.floats(5, 500),
)
def test_that_no_word_is_ever_left_out(words: list[str], width: float) -> None:
    text = " ".join(words)
    fitted = fit_text(text, width, 17, smallest=11, most_lines=2)
    assert " ".join(fitted.lines) == text
    if fitted.fits:
        assert all(text_width(line, fitted.px) <= width for line in fitted.lines)


def test_that_a_missing_font_folder_loads_nothing(tmp_path: Path, qapp: QGuiApplication) -> None:
    assert load_folder(tmp_path / "none") == []
    (tmp_path / "notes.txt").write_text("no font")
    assert load_folder(tmp_path) == []


def test_that_a_name_wider_than_its_line_goes_on_after_a_hyphen() -> None:
    width = text_width("console-2", 11, False) + 1
    assert fit_text("spare-console-2", width, 16, smallest=11, most_lines=2) == Fitted(
        11, ("spare-", "console-2"), True
    )
    assert fit_text("a spare-console-2", width, 11, smallest=11, most_lines=3).lines == ("a spare-", "console-2")
    roomy = text_width("spare-console-2", 11, False) + 1
    assert fit_text("a spare-console-2", roomy, 11, smallest=11, most_lines=2).lines == ("a", "spare-console-2")
    assert not fit_text("spare-console-2", width, 11, smallest=11).fits
