"""The paper for a dark board: how old it is at the foot, on the strip where it lies and what fails."""

from datetime import UTC

from pytestqt.qtbot import QtBot

from monitor.core.view import SheetView
from monitor.desk.link_state import LinkState
from monitor.desk.paper_words import paper_age, paper_strip
from monitor.desk.store import Store
from shared.instant import MINUTE
from tests.helpers.desk import Desk
from tests.helpers.views import NOW, filled, tile, unit

FOLDER = "/station/sheets"


def shown(old_min: int | None, fault: str = "", since_min: int = 90) -> Store:
    at = None if old_min is None else NOW - old_min * MINUTE
    sheet = SheetView(
        folder=FOLDER, host="desk-1", newest="s.pdf", at=at, since=NOW - since_min * MINUTE, fault=fault
    )
    return filled([tile("B2")], the_unit=unit(["B2"], sheet=sheet))


def said(store: Store) -> tuple[str, str]:
    return paper_age(store, NOW), paper_strip(store, NOW, UTC)


def test_that_the_age_stands_always_and_from_75_minutes_on_with_what_to_do() -> None:
    assert said(filled([tile("B2")])) == ("", ""), "a hub that has none made says nothing of paper"
    assert said(shown(0)) == ("Paper < 1 min old", "")
    assert said(shown(74)) == ("Paper 1 h 14 min old", "")
    assert said(shown(75)) == ("Paper 1 h 15 min old", "Downtime sheet 1 h 15 min old: print one by hand")
    assert said(shown(None, since_min=74)) == ("No paper yet", "")
    assert said(shown(None, since_min=75))[1] == "Downtime sheet 1 h 15 min old: print one by hand"
    full = "No space left on device"
    assert (
        said(shown(23, full))[1]
        == f"No downtime sheet: {full} (the newest is 23 min old). Alerts go on: print one by hand."
    )
    assert (
        said(shown(None, full))[1] == f"No downtime sheet: {full} (none is there). Alerts go on: print one by hand."
    )


def test_that_a_desk_that_lost_the_hub_says_where_the_paper_lies(qtbot: QtBot) -> None:
    desk = Desk(qtbot, shown(23))
    assert desk.window.footer.face.paper == "Paper 23 min old"
    assert desk.window.strip.isHidden()
    desk.at(20.0)
    assert desk.store.link.state is LinkState.NOT_LIVE
    assert desk.window.strip.text() == f"Paper of 14:09 on desk-1: {FOLDER}/s.pdf"
    assert desk.window.strip.isVisible()
