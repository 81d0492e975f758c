"""The screen of a station: its pitch and the size of its text, told, checked, and in what is drawn and answered."""

import argparse
import math
import shutil
import subprocess
import sys
from collections.abc import Iterator
from itertools import combinations
from pathlib import Path

import pytest
from PySide6.QtCore import QPoint, QPointF, Qt
from PySide6.QtGui import QImage
from PySide6.QtWidgets import QPushButton
from pytestqt.qtbot import QtBot

from feeds.entered.dress import LABEL_MM, label_px
from monitor.cli import desk
from monitor.cli.paths import CONFIG, ROOT
from monitor.cli.screen import screen_of, screen_words, text_that_fits
from monitor.cli.screen_report import Report
from monitor.desk.bedpage.page import BedPage
from monitor.desk.emergencypage import large
from monitor.desk.loadpage.head import HeadCard
from monitor.settings.examine import examine
from shared.look.screen import Screen, ScreenTable, believed_pitch, here, most_percent, stand_on
from shared.look.sizes import CAP_SHARE, COMFORTABLE_ARC, USUAL_PITCH, arc_minutes
from shared.quantities import Quantity as Q
from tests.helpers.desk import click, press_key, type_keys
from tests.helpers.form import Form, Turned, unit_folder
from tests.helpers.screens import Screen as Shown
from tests.helpers.shown import look_at


@pytest.fixture
def reckoning() -> Iterator[None]:
    """Give the process its screen back."""
    before = here()
    yield
    stand_on(before)


#: Picture in mm, pixels, what is believed. The first three: panels of 24, 32 and 43 inches (looks, section 7).
@pytest.mark.parametrize(("mm", "px", "pitch"), [
    ((531, 299), (1920, 1080), 0.277), ((708, 398), (1920, 1080), 0.369), ((952, 536), (1920, 1080), 0.496),
    ((0, 0), (1920, 1080), None), ((508, 285.75), (1920, 1080), None), ((160, 90), (1920, 1080), None),
    ((531, 299), (1080, 1080), None), ((677, 381), (1920, 1080), None),
])  # fmt: skip
def test_that_a_screen_is_believed_only_where_that_can_be(
    mm: tuple[float, float], px: tuple[int, int], pitch: float | None
) -> None:
    found = believed_pitch(mm, px)
    assert found == pytest.approx(pitch, abs=0.001) if pitch is not None else found is None


def test_that_check_says_the_pitch_and_whether_the_screen_agrees() -> None:
    told = ScreenTable(pitch_mm=0.496, text_percent=200)
    said = screen_words(told, Report((1366, 768), (423.5, 238.1)))
    assert said[0] == "0.496 mm a pixel, text 200 %: 20 mm are 41 px, capitals read at 4 m 52 px"
    assert said[1] == "this screen says 0.310 mm: measure its picture, and put right pitch_mm in screen.toml"
    assert said[2].startswith("text of 200 % shows 2 beds at once, those with the worst needs first, Page keys")
    assert said[2].endswith("146 % shows 3")
    tight = screen_words(told, Report((1280, 720), (423.5, 238.1)))
    assert tight[2] == "text of 200 % has no room on 1280 x 720: 187 % is shown"
    assert "text of 187 % shows 2 beds at once" in tight[3]
    large = screen_words(told, Report((1920, 1080), (952, 536)))
    assert large[1] == "this screen says 0.496 mm too"
    assert large[2].startswith("text of 200 % shows 6 beds at once")
    usual = told.model_copy(update={"text_percent": 100})
    assert screen_words(usual, Report((1920, 1080), (952, 536)))[1:] == ["this screen says 0.496 mm too"]
    assert "no screen here to ask" in screen_words(None, None)[1]
    assert "is not believed" in screen_words(None, Report((1920, 1080), (508, 285.75)))[1]


def test_that_a_folder_says_it_and_faults_are_told_at_their_line(tmp_path: Path) -> None:
    folder = Path(shutil.copytree(CONFIG, tmp_path / "config"))
    assert screen_of(folder) is None
    (folder / "screen.toml").write_text("# measured\npitch_mm = 0.311\ntext_percent = 150\n")
    assert screen_of(folder) == examine(folder).screen == ScreenTable(pitch_mm=0.311, text_percent=150)
    (folder / "screen.toml").write_text("# measured\npitch_mm = 0.05\ntext_percent = 300\n")
    said = [str(fault) for fault in examine(folder).faults]
    assert [one.split(" ")[0] for one in said] == ["screen.toml:2:", "screen.toml:3:"], said


def test_that_larger_text_ends_where_something_would_be_cut() -> None:
    assert (most_percent(1920, 1080), most_percent(1366, 768), most_percent(1280, 720)) == (200, 200, 187)
    assert (most_percent(800, 600), most_percent(640, 480)) == (117, 100)
    assert text_that_fits(200, (1366, 768)) == 200
    assert text_that_fits(200, (1280, 720)) == 187


@pytest.mark.parametrize("size", [(683, 384), (960, 540), (1366, 768)])
def test_that_a_desk_says_for_as_long_as_it_stands_that_its_text_is_smaller_than_was_asked(
    qtbot: QtBot, reckoning: None, size: tuple[int, int]
) -> None:
    stand_on(Screen(2 * USUAL_PITCH, text=(187, 200)))
    assert "Text 187 %: 200 % has no room here" in look_at(Shown(qtbot, "board", size).window).words()
    stand_on(Screen(2 * USUAL_PITCH, text=(200, 200)))
    assert not any("no room here" in one for one in look_at(Shown(qtbot, "board", size).window).words())


@pytest.mark.parametrize("pitch", [0.16, 0.277, 0.369, 0.496])
def test_that_what_answers_is_20_mm_and_cards_are_read_at_their_distance_on_any_screen(
    qtbot: QtBot, reckoning: None, pitch: float
) -> None:
    stand_on(Screen(pitch))
    screen = Shown(qtbot, "bed")
    page = screen.window.page
    assert isinstance(page, BedPage)
    page.who.grab()
    type_keys(screen.window, "t")
    asked = [one for one in screen.window.panel.findChildren(QPushButton) if one.isVisible()]
    for button in (*page.who.buttons.values(), *asked):
        assert button.height() * pitch >= 20, button.text()
    press_key(screen.window.panel, Qt.Key.Key_Escape)
    assert arc_minutes(CAP_SHARE * large.largest(), 1.5, pitch) == pytest.approx(COMFORTABLE_ARC, abs=1.0)
    assert arc_minutes(CAP_SHARE * large.smallest(), 1.5, pitch) >= 16


@pytest.mark.parametrize(("pitch", "count"), [(0.277, 6), (0.277, 12), (0.369, 12), (0.369, 16), (0.496, 24)])
def test_that_the_far_layer_is_read_at_4_m(qtbot: QtBot, reckoning: None, pitch: float, count: int) -> None:
    """Bed and number: 22 minutes of arc; with 16 beds on 32 inches the limit of 16 (looks, section 7)."""
    stand_on(Screen(pitch))
    shown = look_at(Shown(qtbot, "far", count=count).window)
    least = 16.0 if (pitch, count) == (0.369, 16) else 21.0
    beds = [one for one in shown.things if one.owner == f"TileWidget {one.what}"]
    assert len(beds) == count
    for one in beds:
        assert arc_minutes(CAP_SHARE * one.px, 4.0, pitch) >= least, one.what
    numbers = [one for one in shown.things if one.what == "4.2" and one.owner.startswith("TileWidget")]
    assert numbers
    for one in numbers:
        assert arc_minutes(CAP_SHARE * one.px, 4.0, pitch) >= min(least, 16.0), one.owner


def test_that_the_label_of_the_form_is_as_high_on_any_screen(reckoning: None) -> None:
    for pitch in (0.2, 0.277, 0.496):
        stand_on(Screen(pitch, is_told=True))
        assert CAP_SHARE * label_px(None) * pitch >= LABEL_MM
    assert math.isclose(here().pitch_mm, 0.496)
    assert here().pitch_mm > USUAL_PITCH


def test_that_a_desk_draws_everything_twice_as_large(tmp_path: Path) -> None:
    """A process of its own, for Qt takes a scale before it begins: as many pixels, half as many places."""
    folder = Path(shutil.copytree(CONFIG, tmp_path / "config"))
    (folder / "screen.toml").write_text("text_percent = 200\n")
    file = tmp_path / "desk.png"
    words = ["monitor", "desk", "--config", str(folder), "--size", "1920x1080", "--after", "0.1", "--sound-checked"]
    subprocess.run([sys.executable, "-m", *words, "--picture", str(file)], cwd=ROOT, check=True, timeout=60)
    image = QImage(str(file))
    assert (image.width(), image.height()) == (1920, 1080)
    rows = range(40)
    inked = [y for y in rows if any(image.pixelColor(x, y).lightness() < 120 for x in range(24, 200))]
    assert inked[-1] - inked[0] >= 14, "the unit's name is drawn larger than at 100 %"


@pytest.mark.parametrize("text", ["99", "201", "big", "-120", "1e2"])
def test_that_no_other_size_of_text_is_taken(text: str) -> None:
    with pytest.raises(argparse.ArgumentTypeError, match="from 100 to 200"):
        desk.percent_of(text)
    assert desk.percent_of("150 %") == 150


@pytest.mark.parametrize("size", [(1366, 768), (1920, 1080)])
def test_that_all_that_is_done_at_a_bed_can_be_touched_with_20_mm(qtbot: QtBot, size: tuple[int, int]) -> None:
    """A glove on the head of a tile with a need; then every answer, and all that can be written down.

    The bar of a bed's page has the same on buttons of 12 mm and more, keys all of it (practice, 4.3).
    """
    screen = Shown(qtbot, "board", size)
    tile = screen.window.board.tile("B2")
    head = next(y for y in range(tile.height()) if not tile._answers_at(QPointF(tile.parts().head.x + 40, y)))
    assert head * USUAL_PITCH >= 20
    assert tile.parts().head.w * USUAL_PITCH >= 20
    click(tile, QPoint(round(tile.parts().head.x + 40), head - 3))
    panel = screen.window.panel

    def buttons() -> dict[str, QPushButton]:
        found = [one for one in panel.findChildren(QPushButton) if one.isVisible()]
        for one in found:
            assert min(one.width(), one.height()) * USUAL_PITCH >= 20, one.text()
        return {" ".join(one.text().split()): one for one in found}

    assert set(buttons()) == {"S Seen", "T Take", "N Pass on", "A Help by phone", "M Write down", "Esc Leave"}
    buttons()["M Write down"].click()
    assert {"O Order carried out", "X Exchange", "N Run ends", "H Call help"} <= set(buttons())
    press_key(panel, Qt.Key.Key_Escape)
    screen.window.go_to("B2")
    screen.desk.at(1.0)
    page = screen.window.page
    assert isinstance(page, BedPage)
    bar = list(page.acts.buttons.values())
    assert len(bar) >= 12
    assert all(min(one.width(), one.height()) * USUAL_PITCH >= 11.9 for one in bar)


@pytest.mark.parametrize("size", [(1366, 768), (960, 540), (683, 384)])
def test_that_the_form_cuts_nothing_on_the_least_window_that_it_is_given(
    qtbot: QtBot, tmp_path: Path, size: tuple[int, int]
) -> None:
    """960 x 540 and 683 x 384 are what 1920 x 1080 and 1366 x 768 leave with text of 200 %."""
    with Form(qtbot, unit_folder(tmp_path / "config"), Turned()) as form:
        form.open("B5", "nurse-5")
        form.window.resize(*size)
        form.type(Q.PUMP_FLOW, "4.2")
        for look in (False, True):
            assert form.window.parts is not None
            form.window.parts.show_part(look)
            shown = look_at(form.window)
            assert [*shown.cut(), *shown.faint()] == []
            assert any("Go to the bed." in words for words in shown.words())


@pytest.mark.parametrize(
    ("size", "times"),
    [((1920, 1080), 1), ((1366, 768), 1), ((1280, 720), 1), ((960, 540), 2), ((683, 384), 2)],
)
def test_that_tabs_and_windows_of_time_are_12_mm_each_way(
    qtbot: QtBot, reckoning: None, size: tuple[int, int], times: int
) -> None:
    """12 mm for what answers nothing (practice, 4.3, after Chen 2013, Appl Ergon 44:297); ``times``: of a pixel."""
    pitch = times * USUAL_PITCH
    stand_on(Screen(pitch))
    window = Shown(qtbot, "bed", size).window
    page = window.page
    assert isinstance(page, BedPage)
    strip, windows = page.parts.deck.strip, page.windows
    type_keys(window, "=")
    places = [
        *((strip, strip.aims(box)) for box in strip._boxes(strip.width()).values()),
        *((windows, windows.aims(box)) for box in windows._boxes().values()),
    ]
    head = HeadCard(window.theme, lambda _: None)
    qtbot.addWidget(head)
    head.resize(size[0], 64)
    places += [(head, box) for box in head._boxes().values()]
    assert len(places) >= 8 + 6 + 4
    for card, box in places:
        assert min(box.width(), box.height()) * pitch >= 11.99, (type(card).__name__, box)
        assert card.rect().contains(box.toRect()), (type(card).__name__, box)
    for (one, first), (two, second) in combinations(places, 2):
        assert one is not two or not first.intersects(second)
    for key in strip.words:
        click(strip, strip.aims(strip._boxes(strip.width())[key]).center().toPoint())
        assert page.parts.deck.key == key
