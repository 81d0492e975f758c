"""What a screen says when something is away: what happened, what to do, whole at every size, in the manual's words.

Each case is a real window in one state. ``MANUAL.md`` (*When something fails*) quotes what screens say then; every
quote is held to the screen of its case, and every quote has one.
"""

import re
from collections.abc import Callable
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

import pytest
from PySide6.QtWidgets import QWidget
from pytestqt.qtbot import QtBot

from monitor.cli.manual.document import MANUAL
from monitor.core.view import SheetView, SignInView, UnitView
from monitor.desk.awake import MAY_GO_DARK
from monitor.desk.hearing import Heard
from monitor.desk.paint import fonts
from monitor.desk.reach import DO, HubAddress, Reach, Reached
from monitor.desk.sound.face import Check, SoundState, sound_face
from monitor.desk.store import Changes, Store
from shared.instant import MINUTE, SECOND
from shared.quantities import Quantity as Q
from tests.helpers.desk import Desk, type_keys
from tests.helpers.disk import fill, small_disk
from tests.helpers.form import Form, Turned, unit_folder
from tests.helpers.screens import Screen, rich
from tests.helpers.shown import look_at
from tests.helpers.views import NOW, filled, tile, unit
from tests.helpers.ward_desk import WardDesk, ward_now

ROOT = Path(__file__).parents[2]
SIZES = ((1366, 768), (960, 540))
LABELS = tuple(one.bed for one in rich(4))
AT = HubAddress("tcp://10.0.0.5:17314", "1a2b-3c4d-5e6f")


@dataclass(frozen=True)
class Case:
    """One state. ``quotes``: of the manual; ``does``: what the screen itself says to do, in parts."""

    show: Callable[[QtBot, tuple[int, int]], QWidget]
    quotes: tuple[str, ...]
    does: tuple[str, ...] = ()


def of_unit(**fields: Any) -> Callable[[QtBot, tuple[int, int]], QWidget]:
    def show(qtbot: QtBot, size: tuple[int, int]) -> QWidget:
        the_unit: UnitView = unit(LABELS, **fields)
        return Desk(qtbot, filled(rich(4), the_unit=the_unit), size=size).window

    return show


def silent(seconds: float) -> Callable[[QtBot, tuple[int, int]], QWidget]:
    def show(qtbot: QtBot, size: tuple[int, int]) -> QWidget:
        sheet = SheetView(folder="/srv/sheets", host="desk-1", newest="s.pdf", at=NOW - 23 * MINUTE, since=NOW)
        desk = Desk(qtbot, filled(rich(4), the_unit=unit(LABELS, sheet=sheet)), size=size)
        desk.at(seconds)
        return desk.window

    return show


def never(reach: Reach) -> Callable[[QtBot, tuple[int, int]], QWidget]:
    def show(qtbot: QtBot, size: tuple[int, int]) -> QWidget:
        desk = Desk(qtbot, Store(0.0, AT), size=size, who=None)
        desk.store.apply(Heard(0.0, Reached(reach)), Changes())
        desk.at(16.0)
        return desk.window

    return show


def sounding(state: SoundState, check: Check = Check.HEARD) -> Callable[[QtBot, tuple[int, int]], QWidget]:
    def show(qtbot: QtBot, size: tuple[int, int]) -> QWidget:
        desk = Desk(qtbot, filled(rich(4)), size=size)
        desk.window.show_sound(sound_face(state, check))
        desk.window.tick()
        return desk.window

    return show


def unanswered(qtbot: QtBot, size: tuple[int, int]) -> QWidget:
    desk = Desk(qtbot, filled(rich(4)), size=size)
    desk.window.board.set_focus_bed("B2")
    type_keys(desk.window, "s")
    desk.at(desk.seconds + 5.2)
    return desk.window


def unread(qtbot: QtBot, size: tuple[int, int]) -> QWidget:
    old: dict[str, Any] = {"stale": True, "judged": 0, "last_reading_at": NOW - 400 * SECOND}
    tiles = [tile("B1", **old), tile("B2", last_reading_at=None), tile("B3")]
    the_unit = unit(["B1", "B2", "B3"], feeds_live=1, feeds_known=3)
    return Desk(qtbot, filled(tiles, the_unit=the_unit), size=size).window


def nobody(qtbot: QtBot, size: tuple[int, int]) -> QWidget:
    ward = ward_now(nurses={}, deputy=None, charge=None, perfusionist=None, intensivist=None, surgeon=None)
    ward.to(NOW - MINUTE)
    ward.help("B2")
    window = WardDesk(qtbot, ward, size=size).window
    type_keys(window, "r")
    return window


def without_font(qtbot: QtBot, size: tuple[int, int]) -> QWidget:
    desk = Desk(qtbot, filled(rich(4)), size=size)
    desk.window.footer.update()
    return desk.window


def dark(qtbot: QtBot, size: tuple[int, int]) -> QWidget:
    desk = Desk(qtbot, filled(rich(4)), size=size)
    desk.window.footer.show_dark(MAY_GO_DARK)
    return desk.window


def blind(qtbot: QtBot, size: tuple[int, int]) -> QWidget:
    return Screen(qtbot, "blind", size).window


PAPER = "Go to the beds. Telephone: the list on paper at the desk"
CASES = {
    "late": Case(silent(5.0), ("Hub silent for N s",)),
    "gone": Case(
        silent(16.0),
        ("Not live since hh:mm:ss", "was:"),
        ("Nothing below is current and nothing can be taken from here", "Go to the beds. Telephone:",
         "Paper of 14:09 on desk-1"),
    ),
    **{
        f"never: {one.name}": Case(never(one), ("No hub found", one.value), (AT.words, DO.get(one, ""), PAPER))
        for one in Reach
    },
    "no device": Case(
        sounding(SoundState.NO_DEVICE), ("No sound here", "SOUND OFF"), ("watch the board. Plug in a loudspeaker",)
    ),
    "sound failed": Case(
        sounding(SoundState.FAILED), ("Sound failed", "SOUND OFF"), ("Plug the loudspeaker in again, or start",)
    ),
    "too quiet": Case(sounding(SoundState.TOO_QUIET), ("Sound too quiet", "SOUND OFF"), ("Turn it up.",)),
    "not checked": Case(sounding(SoundState.ON, Check.NOT_CHECKED), ("Sound not checked · Y",)),
    "hub's disk full": Case(
        of_unit(not_recorded=NOW - 5 * MINUTE),
        ("NOT RECORDED since hh:mm",),
        ("Alerts and calls go on. Write on paper what you answer.", "Have the hub's disk looked at: is it full?"),
    ),
    "no answer": Case(unanswered, ("NOT RECORDED: ... Telephone.",), ("no answer from the hub within 5 s",)),
    "no paper": Case(
        of_unit(sheet=SheetView(folder="/srv/sheets", host="desk-1", newest="s.pdf", at=NOW - 23 * MINUTE,
                                since=NOW - 90 * MINUTE, fault="No space left on device")),
        ("No downtime sheet: ...",),
        ("Alerts go on: print one by hand.",),
    ),
    "old paper": Case(
        of_unit(sheet=SheetView(folder="/srv/sheets", host="desk-1", newest="s.pdf", at=NOW - 85 * MINUTE,
                                since=NOW - 90 * MINUTE)),
        ("Downtime sheet N min old",),
        ("print one by hand",),
    ),
    "names": Case(
        of_unit(sign_in=SignInView(fault="people.toml:3: this is not TOML")),
        ("NAMES ARE NOT CHECKED",),
        ("people.toml:3",),
    ),
    "unread": Case(unread, ("Feeds 9 of 11", "no reading yet", "Not judged")),
    "blind": Case(blind, ("Board blind",), ("Go to these beds now.", "Telephone:")),
    "nobody": Case(nobody, ("Nobody can be called",), ("Go there, and put somebody on a post: R.", "Telephone:")),
    "font": Case(without_font, ("Font missing",), ("weirkeeper check",)),
    "dark": Case(dark, ("Screen may go dark",)),
}  # fmt: skip
#: Of the entry form, held to by the tests below.
OF_FORM = ("NOT STORED YET", "THE DISK REFUSES")


def pattern(quote: str) -> str:
    """A quote with its places for times, numbers and other words."""
    said = re.escape(quote)
    for place, found in (
        ("hh:mm:ss", r"\d\d:\d\d:\d\d"), ("hh:mm", r"\d\d:\d\d(:\d\d)?"), (r"\ N\ ", r" \d+( h \d+)? "),
        ("9\\ of\\ 11", r"\d+ of \d+"), (r"\.\.\.", ".*"),
    ):  # fmt: skip
        said = said.replace(place, found)
    return said


def words_of(window: QWidget) -> str:
    return " ".join(look_at(window).words()).replace("\n", " ")


def quoted() -> set[str]:
    """What the manual's table quotes of screens: in italics or bold, or in capitals."""
    text = (ROOT / MANUAL).read_text(encoding="utf-8")
    table = text.split("## 11. ")[1].split("## 12. ")[0]
    rows = [
        line.strip("|").split(" | ") for line in table.splitlines() if line.startswith("| ") and "---" not in line
    ]
    said = " ".join(f"{row[0]} {' '.join(re.findall(r'[*][^*]+[*]', row[2]))}" for row in rows[1:])
    italics = re.findall(r"\*\*(.+?)\*\*|\*(.+?)\*", said)
    plain = re.sub(r"\*\*.+?\*\*|\*.+?\*", " ", said)
    capitals = re.findall(r"[A-Z]{3,}(?: [A-Z]{2,})*(?: since hh:mm)?", plain)
    return {one or other for one, other in italics} | set(capitals)


def test_that_every_quote_of_the_manual_has_its_case() -> None:
    held = {quote for case in CASES.values() for quote in case.quotes} | set(OF_FORM)
    assert held == quoted()


@pytest.mark.parametrize("size", SIZES, ids=lambda size: f"{size[0]}x{size[1]}")
@pytest.mark.parametrize("name", CASES)
def test_that_the_screen_says_what_happened_and_what_to_do(
    qtbot: QtBot, monkeypatch: pytest.MonkeyPatch, name: str, size: tuple[int, int]
) -> None:
    case = CASES[name]
    if name == "font":
        monkeypatch.setattr(fonts, "family", lambda: fonts.FALLBACK)
    window = case.show(qtbot, size)
    shown = look_at(window)
    said = " ".join(shown.words()).replace("\n", " ")
    for quote in case.quotes:
        assert re.search(pattern(quote), said), f"{quote!r} is not in {said!r}"
    for words in case.does:
        assert words in said
    things = shown.things
    if name == "gone":  # marks of tiles lie under a veil that is there to make them faint
        things = tuple(one for one in things if not (one.is_mark and one.owner.startswith("TileWidget")))
    if name != "font":  # another font has other widths
        assert replace(shown, things=things).cut() == []


@pytest.mark.parametrize("size", SIZES, ids=lambda size: f"{size[0]}x{size[1]}")
def test_that_a_strip_with_all_that_can_be_wrong_at_once_is_whole(qtbot: QtBot, size: tuple[int, int]) -> None:
    sheet = SheetView(
        folder="/srv/sheets", host="desk-1", newest="s.pdf", at=None, since=NOW, fault="No space left on device"
    )
    fault = SignInView(fault="people.toml:3: this is not TOML")
    window = of_unit(not_recorded=NOW - 5 * MINUTE, sheet=sheet, sign_in=fault)(qtbot, size)
    window.show_sound(sound_face(SoundState.NO_DEVICE, Check.HEARD))  # type: ignore[attr-defined]
    shown = look_at(window)
    assert shown.cut() == []
    assert shown.overlapping() == []
    said = " ".join(shown.words())
    for words in ("NOT RECORDED since", "NO SOUND HERE", "NAMES ARE NOT CHECKED", "No downtime sheet"):
        assert words in said


def test_that_the_form_says_what_is_not_stored_and_what_a_full_disk_means(
    qtbot: QtBot, tmp_path: Path, caplog: pytest.LogCaptureFixture
) -> None:
    clock = Turned()
    with (
        small_disk(tmp_path / "disk") as disk,
        Form(qtbot, unit_folder(tmp_path / "config"), clock, journal=disk / "j", shelf=disk / "s") as form,
    ):
        form.open("B5", "nurse-5")
        form.type(Q.PUMP_FLOW, "4.2")
        form.window.save()
        form.window.show_state()
        assert OF_FORM[0] in words_of(form.window)
        assert "The hub is not there: 1 set is NOT STORED YET, kept here and sent when it is back." in form.warned
        form.type(Q.PUMP_FLOW, "4.1")
        fill(disk)
        clock.ms += 3 * SECOND
        form.window.look()
        form.window.show_state()
        form.window.save()
        form.window.show_state()
        said = words_of(form.window)
        assert OF_FORM[1] in said
        assert "Write it on paper too, and leave this form open." in said
        assert look_at(form.window).cut() == []
        (disk / "ballast").unlink()
    assert "kept in memory only" in caplog.text
    caplog.clear()
