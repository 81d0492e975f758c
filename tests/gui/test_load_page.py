"""The page of alert load: asked for by a key, drawn in both themes and sizes, and never taken for the present."""

import pytest
from pytestqt.qtbot import QtBot

from monitor.analysis.alert_rates import BIN_MS
from monitor.core.wire import AskLoad, Load, NotUnderstood
from monitor.desk.hearing import Heard
from monitor.desk.loadpage.head import SPANS
from monitor.desk.loadpage.page import LoadPage
from monitor.desk.loadpage.ranking import rule_rows
from shared.instant import HOUR
from shared.look.need import Need
from tests.helpers.desk import Desk, beds, picture, press_key, type_keys
from tests.helpers.loads import night_figures
from tests.helpers.painting import coloured
from tests.helpers.views import NOW, filled, tile

SIZES = [(1920, 1080), (1366, 768)]


def desk_of(qtbot: QtBot, theme: str = "day", size: tuple[int, int] = SIZES[0]) -> Desk:
    desk = Desk(qtbot, filled([tile(bed) for bed in beds(12)]), theme, size)
    window = desk.window
    window.add_page("l", lambda: LoadPage(window.session, window.theme))
    return desk


def page_of(desk: Desk) -> LoadPage:
    page = desk.window.page
    assert isinstance(page, LoadPage)
    return page


def asked(desk: Desk) -> list[AskLoad]:
    return [request for request in desk.sent if isinstance(request, AskLoad)]


def answer(desk: Desk, hours: float = 12) -> None:
    figures = night_figures(NOW, hours)
    reply = Load(request=asked(desk)[-1].request, figures=figures)
    desk.window.take(desk.window.session.take([Heard(desk.seconds, reply)], desk.seconds))


def opened(qtbot: QtBot, theme: str = "day", size: tuple[int, int] = SIZES[0]) -> Desk:
    desk = desk_of(qtbot, theme, size)
    type_keys(desk.window, "l")
    answer(desk)
    return desk


def test_that_a_key_asks_for_the_last_twelve_hours_and_again_goes_back(qtbot: QtBot) -> None:
    desk = desk_of(qtbot)
    type_keys(desk.window, "l")
    [request] = asked(desk)
    assert request.begin % BIN_MS == 0
    assert 12 * HOUR <= request.end - request.begin < 12 * HOUR + BIN_MS
    assert page_of(desk).head.says == "The hub is asked."
    type_keys(desk.window, "l")
    assert desk.window.page is None
    assert desk.window.board.isVisible()


@pytest.mark.parametrize(("key", "hours"), [("1", 1), ("2", 12), ("3", 24), ("4", 168)])
def test_that_keys_choose_the_stretch_of_time(qtbot: QtBot, key: str, hours: int) -> None:
    desk = opened(qtbot)
    type_keys(desk.window, key)
    request = asked(desk)[-1]
    assert request.end - request.begin - hours * HOUR in range(BIN_MS)
    assert page_of(desk).head.key == key
    assert SPANS[key] == hours * HOUR


@pytest.mark.parametrize("theme", ["day", "night"])
@pytest.mark.parametrize("size", SIZES)
def test_that_the_bars_have_the_colours_of_their_grades_and_nothing_is_cut(
    qtbot: QtBot, theme: str, size: tuple[int, int], monkeypatch: pytest.MonkeyPatch
) -> None:
    cut: list[str] = []
    watch_texts(monkeypatch, cut)
    desk = opened(qtbot, theme, size)
    page = page_of(desk)
    pixels = picture(page.bars)
    colours = desk.window.theme.priority
    for need in (Need.HIGH, Need.MEDIUM, Need.LOW):
        assert coloured(pixels[70:], colours[need]).sum() > 20, need
    picture(page)
    assert cut == []


def watch_texts(monkeypatch: pytest.MonkeyPatch, cut: list[str]) -> None:
    """Note every text of the page that does not fit on its line."""
    from monitor.desk.loadpage import figures, head, ranking
    from monitor.desk.paint.text import Fitted, fit_text

    def watched(text: str, width: float, *args: object, **more: object) -> Fitted:
        found = fit_text(text, width, *args, **more)  # type: ignore[arg-type]
        if not found.fits:
            cut.append(text)
        return found

    for module in (figures, head, ranking):
        monkeypatch.setattr(module, "fit_text", watched)


def test_that_the_figures_carry_what_they_are_out_of(qtbot: QtBot) -> None:
    page = page_of(opened(qtbot))
    assert all("n = " in one.below for one in page.answers.figures[:3])
    assert all("bed-hours" in one.below for one in page.load.figures[:3])
    assert sum("yardstick" in one.below for one in page.load.figures) == 4
    figures = night_figures(NOW)
    assert [row.name for row in page.rules.rows] == [row.name for row in rule_rows(figures)]
    assert page.rules.rows[0].total == max(row.total for row in page.rules.rows)
    assert sum(row.total for row in page.beds.rows) == figures.all.count


def test_that_old_figures_are_called_not_live_when_the_hub_is_lost(qtbot: QtBot) -> None:
    desk = opened(qtbot)
    sent = len(asked(desk))
    assert page_of(desk).head.warns == ""
    desk.at(desk.seconds + 40)
    assert page_of(desk).head.warns == "NOT LIVE: figures of 14:32"
    assert page_of(desk).figures is not None
    assert len(asked(desk)) == sent, "a hub that is lost is not asked"


def test_that_the_page_opens_while_not_live_and_says_so(qtbot: QtBot) -> None:
    desk = desk_of(qtbot)
    desk.at(40)
    type_keys(desk.window, "l")
    assert asked(desk) == []
    assert page_of(desk).head.warns == "NOT LIVE"
    assert page_of(desk).head.says == "The hub cannot be asked."


def test_that_a_refusal_is_shown_and_asked_again_later(qtbot: QtBot) -> None:
    desk = desk_of(qtbot)
    type_keys(desk.window, "l")
    request = asked(desk)[-1].request
    refusal = NotUnderstood(reason=f"{request}: the record cannot be read: disk I/O error")
    desk.window.take(desk.window.session.take([Heard(0.5, refusal)], 0.5))
    assert page_of(desk).head.says == "Refused: the record cannot be read: disk I/O error"


def test_that_nothing_is_answered_from_a_page_that_shows_no_bed(qtbot: QtBot) -> None:
    desk = desk_of(qtbot)
    desk.window.board.set_focus_bed("B1")
    type_keys(desk.window, "l")
    type_keys(desk.window, "stnahhcm")
    assert desk.commands() == []
    assert desk.window.panel.question is None


def test_that_escape_goes_back_to_the_board(qtbot: QtBot) -> None:
    from PySide6.QtCore import Qt

    desk = opened(qtbot)
    press_key(desk.window, Qt.Key.Key_Escape)
    assert desk.window.page is None
    type_keys(desk.window, "l")
    assert page_of(desk).figures is None
