"""A bed that is off support, at the desk: the clock on tile, far layer, bed page and list, and its two keys."""

import pytest
from pytestqt.qtbot import QtBot

from monitor.core.emergency_commands import BackOnSupport, GoOffSupport
from monitor.core.grades import Priority
from monitor.core.view import TileView
from monitor.desk.bedpage.page import BedPage
from monitor.desk.link_state import LinkState
from monitor.desk.standing import standing_lines
from monitor.desk.tile.compose import compose
from monitor.desk.tile.moment import Moment
from shared.instant import SECOND
from shared.support import Support
from tests.helpers.desk import Desk, picture
from tests.helpers.menu import OFF, asked, only, press, ready
from tests.helpers.views import NOW, episode, filled, run, tile

AT = Moment(NOW)


def off(*supports: Support) -> TileView:
    """A bed whose first run is off support for 1:14, with a high alert."""
    runs = [run(support, slot=n + 1) for n, support in enumerate(supports)]
    runs[0] = runs[0].model_copy(update={"off_support": OFF})
    return tile("B2", runs=tuple(runs), episodes=(episode("Pump stopped", Priority.HIGH),))


def test_that_the_clock_counts_with_the_second_beside_the_need_and_names_the_pump_of_two() -> None:
    view = off(Support.VA)
    face = compose(view, filled([view]), AT)
    assert face.off == "1:14"
    assert face.need.title == "Pump stopped", "the need keeps its row"
    assert "Off support 1:14" in face.spoken
    assert compose(view, filled([view]), Moment(NOW + 999)).off == "1:14"
    assert compose(view, filled([view]), Moment(NOW + SECOND)).off == "1:15"
    assert compose(view, filled([view]), Moment(NOW + 3_600_000)).off == "1 h 01 min"
    two = off(Support.LA_AO, Support.RA_PA_OXY)
    assert compose(two, filled([two]), AT).off == "L 1:14"
    lost = compose(view, filled([view]), Moment(NOW, LinkState.NOT_LIVE)).off
    assert lost.startswith("since "), "what is not heard does not count on"
    assert compose(tile("B2"), filled([tile("B2")]), AT).off == ""


def test_that_the_page_says_since_when_and_by_whom() -> None:
    view = off(Support.VA)
    first = standing_lines(view, filled([view]), AT, "")[0]
    assert first.bold
    assert first.text.startswith("Off support since ")
    assert first.text.endswith("by Charge 2 · back on: M Y")


@pytest.mark.parametrize("theme", ["day", "night"])
def test_that_the_clock_is_painted_on_tile_far_layer_and_page(qtbot: QtBot, theme: str) -> None:
    """The picture differs from that of the same bed without a clock, and changes with each second."""

    def pictures(view: TileView, seconds: float) -> list[bytes]:
        desk = Desk(qtbot, filled([view]), theme, (1366, 768))
        window = desk.window
        window.set_bed_page_factory(
            lambda bed: BedPage(bed, window.session, window.answering, window.theme, window.go_to)
        )
        desk.at(seconds)
        found = [picture(window.board.tile("B2")).tobytes()]
        window.set_far(True)
        found.append(picture(window.board.tile("B2")).tobytes())
        window.set_far(False)
        window.go_to("B2")
        assert window.page is not None
        return [*found, picture(window.page)[:78].tobytes()]

    plain = off(Support.VA).model_copy(update={"runs": (run(),)})
    shown = pictures(off(Support.VA), 0.4)
    assert all(a != b for a, b in zip(shown, pictures(plain, 0.4), strict=True))
    assert all(a != b for a, b in zip(shown, pictures(off(Support.VA), 1.4), strict=True))


def test_that_each_key_counts_from_its_press_and_of_two_pumps_asks_only_which_it_can_be(qtbot: QtBot) -> None:
    desk = ready(qtbot)
    press(desk, "mf")
    command = only(desk)
    assert isinstance(command, GoOffSupport)
    assert command.pressed == NOW + 400
    both = ready(qtbot, runs=(run(Support.LA_AO), run(Support.RA_PA_OXY, slot=2)))
    press(both, "mf")
    assert asked(both) == "B2: which pump?"
    press(both, "2")
    assert only(both).slot == 2
    one = ready(qtbot, runs=off(Support.LA_AO, Support.RA_PA_OXY).runs)
    press(one, "my")
    assert isinstance(only(one), BackOnSupport)
    assert only(one).slot == 1
