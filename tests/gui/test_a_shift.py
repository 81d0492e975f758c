"""A shift at the real windows, from taking over to the report: once with the keyboard alone, once with the mouse.

Hub, feed and desk are real and speak over real sockets; the clock is turned by the test. The steps stand in a
table: what is done, by which keys, by which presses, and what must then be so. To look at each step:
``WEIRKEEPER_SHIFT_PICTURES=FOLDER`` keeps a picture of the window after it.
"""

import os
import re
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

import pytest
from pytestqt.qtbot import QtBot

from monitor.cli.main import main
from monitor.desk.bedpage.page import BedPage
from monitor.desk.cardspage.page import CardsPage
from monitor.desk.duepage.page import DuePage
from monitor.desk.equipmentpage.page import EquipmentPage
from monitor.desk.loadpage.page import LoadPage
from monitor.desk.rosterpage.page import RosterPage
from monitor.desk.sweeppage.page import SweepPage
from monitor.desk.window import DeskWindow
from shared.cautions import SECOND_LOOK
from tests.helpers.shift import LOW, AtTheDesk

SIZES = {"keyboard": (1366, 768), "mouse": (1920, 1080)}
THEMES = {"keyboard": "night", "mouse": "day"}
MAP = "Keys · ?"
PICTURES = os.environ.get("WEIRKEEPER_SHIFT_PICTURES", "")


@dataclass(frozen=True)
class Step:
    """One step. ``presses``: words that are pressed; ``so``: what must be so then; ``waits``: seconds before."""

    what: str
    keys: str
    presses: tuple[str, ...]
    so: Callable[[AtTheDesk], object]
    waits: int = 0
    low: bool | None = None


def page(kind: type) -> Callable[[AtTheDesk], bool]:
    return lambda desk: isinstance(desk.window.page, kind)


def home(desk: AtTheDesk) -> bool:
    return desk.window.page is None and desk.window.panel.question is None


def asks(words: str) -> Callable[[AtTheDesk], bool]:
    return lambda desk: desk.window.panel.question is not None and words in desk.window.panel._title.text()


def holder(desk: AtTheDesk) -> tuple[str, str | None]:
    one = desk.tile("B1").episodes[0].holder
    return (one.person, one.told_to) if one is not None else ("", None)


def charge(desk: AtTheDesk) -> str | None:
    unit = desk.window.session.store.unit
    assert unit is not None
    return next(one.stands for one in unit.roster.posts if one.post.key == "2")


def said(desk: AtTheDesk, words: str) -> bool:
    return words in desk.window.footer.face.told


def away(desk: AtTheDesk) -> bool:
    return desk.tile("B2").transport is not None


def is_back(desk: AtTheDesk) -> bool:
    transport = desk.tile("B2").transport
    return transport is not None and transport.ended_at is not None


def other_theme(desk: AtTheDesk) -> bool:
    return desk.window.theme_name != desk.theme


SHIFT = (
    # -- taking over ---------------------------------------------------------------------------------------
    Step("who sits here is asked", "u", ("Nobody signed in · U",), asks("Who are you?")),
    Step("and said", "1", ("Charge 2",), lambda d: d.window.people.name == "charge-2"),
    Step("the roster", "r", (MAP, "roster:"), page(RosterPage)),
    Step("back", "⎋", ("Esc",), home),
    Step("the sweep", "v", (MAP, "sweep from bed"), page(SweepPage)),
    Step("a bed was looked at", "␣", ("Space",), lambda d: said(d, "Look B1 · recorded")),
    Step("back", "⎋", ("Esc",), home),
    Step("what is due", "o", (MAP, "what is due"), page(DuePage)),
    Step("back", "⎋", ("Esc",), home),
    # -- an alert ------------------------------------------------------------------------------------------
    Step("flow falls at B1", "", (), lambda d: d.tile("B1").episodes[0].priority == "high", waits=16, low=True),
    Step("the bed is chosen", "1", ("B1",), lambda d: d.window.board.focus_bed == "B1", waits=2),
    Step("seen", "s", ("Seen",), lambda d: d.tile("B1").episodes[0].seen_by == ("charge-2",)),
    Step("a take begins", "t", ("Flow 2.2", "Take"), asks("Charge 2 takes B1")),
    Step("told by voice", "v", ("Told by voice",), asks("Who has B1?")),
    Step("by whom", "1", ("Nurse 1",), asks("Nurse 1 takes B1")),
    Step("where", "b", ("At the bed",), asks("Take")),
    Step("why", "2", ("Circulation checked",), lambda d: holder(d) == ("nurse-1", "charge-2")),
    Step("the bed's page", "⏎", (MAP, "open the bed's page"), page(BedPage), waits=1),
    Step("back", "⎋", ("Back  Esc",), home),
    Step("help: once", "h", (MAP, "twice within"), lambda d: said(d, "H once more")),
    Step("help: twice", "h", (MAP, "twice within"), asks("Help to B1")),
    Step("what for", "p", ("Pump noise",), lambda d: d.tile("B1").episodes[0].circuit_critical),
    # -- at the other bed ----------------------------------------------------------------------------------
    Step("it is chosen", "⎋2", ("B2",), lambda d: d.window.board.focus_bed == "B2", waits=2),
    Step("write down", "m", (MAP, "write down at"), asks("At B2")),
    Step("a transport", "t", ("Transport begins",), asks("who leads the transport?")),
    Step("who leads", "1", ("Charge 2",), asks("back in")),
    Step("back by", "1", ("15 min",), asks("where to?")),
    Step("where to", "1", ("CT",), asks("departure list")),
    Step("two clamps are there", "1", ("Two clamps",), asks("departure list")),
    Step("go on", "0", ("Done: go on",), asks("the cylinder in use")),
    Step("gas is not known", "n", ("Not known",), away),
    Step("back from transport", "mb", (MAP, "write down at", "Back from"), is_back),
    Step("the return check", "mr", (MAP, "write down at", "Return check"), lambda d: not away(d)),
    Step("a trial", "ma", (MAP, "write down at", "Trial begins"), asks("which trial was ordered?")),
    Step("it is left unwritten", "⎋", ("Leave",), home),
    Step("care", "c", (MAP, "care at the bed"), asks("Care at B2")),
    Step("for five minutes", "5", ("5 min",), lambda d: d.tile("B2").care_until is not None),
    Step("a round: its form opens", "i", (MAP, "type a round in"), lambda d: d.forms == [("B2", "charge-2")]),
    # -- the unit ------------------------------------------------------------------------------------------
    Step("equipment", "b", (MAP, "equipment"), page(EquipmentPage)),
    Step("back", "⎋", ("Esc",), home),
    Step("alert load", "l", (MAP, "alert load"), page(LoadPage)),
    Step("back", "⎋", (MAP, "back; never answers"), home),
    Step("by night, or by day", "d", (MAP, "day or night"), other_theme, waits=1),
    # -- handing over --------------------------------------------------------------------------------------
    Step("the cards", "x", (MAP, "handover cards"), page(CardsPage), waits=1),
    Step("the unit's and each bed's", "␣␣␣", ("Space", "Space", "Space"), lambda d: said(d, "Look B2 · recorded")),
    Step("an offer begins", "o", ("O",), asks("Offer Charge nurse to")),
    Step("to whom", "1", ("Charge 5",), lambda d: said(d, "Offer · recorded")),
    Step("the other says who it is", "u", ("You are: Charge 2 · U",), asks("Who are you?")),
    Step("and takes the place", "5", ("Charge 5",), lambda d: d.window.people.name == "charge-5"),
    Step("the cards, looked at", "↑↑↑" + 8 * "␣", ("Unit", *8 * ("Space",)), lambda d: said(d, "Look B7")),
    Step("accepts", "a", ("A",), asks("Charge 5 accepts")),
    Step("with what is open", "1", ("Accepts",), lambda d: charge(d) == "charge-5"),
    Step("back to the board", "⎋", ("Esc",), home),
)  # fmt: skip


def done(desk: AtTheDesk, step: Step, by: str) -> None:
    if step.low is not None:
        desk.readings["B1"] = LOW
    if by == "keyboard":
        desk.keys(step.keys)
    else:
        desk.press(*step.presses)
    desk.pass_on(step.waits)
    try:
        desk.until(lambda: bool(step.so(desk)))
    except AssertionError as error:
        told = desk.window.footer.face.told
        raise AssertionError(f"{step.what}: is not so. At the foot: {told!r}. {desk.words()[:40]}") from error


@pytest.mark.slow
@pytest.mark.parametrize("by", ["keyboard", "mouse"])
def test_that_a_whole_shift_goes_by_keyboard_alone_and_by_mouse(qtbot: QtBot, tmp_path: Path, by: str) -> None:
    with AtTheDesk(qtbot, tmp_path, SIZES[by], THEMES[by]) as desk:
        for number, step in enumerate(SHIFT):
            done(desk, step, by)
            if PICTURES:
                desk.window.grab().save(f"{PICTURES}/{by}-{number:02}.png")
            assert SECOND_LOOK in desk.words() or desk.window.panel.question is not None, step.what
        assert desk.rig.hub.defects == 0
        report = tmp_path / "shift.pdf"
        assert main(["report", str(desk.rig.path), "--hours", "1", "--pdf", str(report)]) == 0
        assert report.read_bytes().startswith(b"%PDF")


def leads_home(window: DeskWindow, desk: AtTheDesk) -> bool:
    for _ in range(3):
        if home(desk) and not window.keys.isVisible() and not window._far:
            return True
        desk.keys("⎋")
    return home(desk)


def test_that_escape_leads_home_from_every_screen_and_every_screen_says_so(qtbot: QtBot, tmp_path: Path) -> None:
    with AtTheDesk(qtbot, tmp_path, (1366, 768), "day") as desk:
        window = desk.window
        desk.keys("u1")
        for keys in ("r", "l", "p", "o", "v", "x", "b", "j", "e", "e1", "?", "1⏎", "1m", "1mo", "1mt", "ro"):
            desk.keys(keys)
            desk.pass_on(1)
            assert not home(desk) or window.keys.isVisible(), keys
            shown = " ".join(desk.words())
            assert re.search(r"\bEsc|\bany key\b|\bJ board\b|Leave", shown), f"{keys}: {shown}"
            assert leads_home(window, desk), keys
        desk.keys("f")
        assert leads_home(window, desk)
