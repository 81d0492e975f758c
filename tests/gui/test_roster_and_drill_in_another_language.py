"""The roster's flows and a drill from its offer to its end, in the language of tests: said, and not cut."""

import re
from collections.abc import Iterator

import pytest
from PySide6.QtCore import Qt
from pytestqt.qtbot import QtBot

from monitor.core.grades import Priority
from monitor.desk.drill.state import DrillState
from shared.instant import HOUR, MINUTE
from shared.language.saying import SOURCE
from tests.gui.test_other_language import asked_in, in_source_language
from tests.helpers.desk import read_out
from tests.helpers.drill_desk import DrillDesk
from tests.helpers.pseudo import pseudo_language, speaking
from tests.helpers.shown import look_at
from tests.helpers.views import NOW, episode
from tests.helpers.ward import Ward, shift
from tests.helpers.ward_desk import WardDesk, ward_now

Key = Qt.Key
SMALL = (1366, 768)
#: What people, shifts and courses are called, and what marks every bed of a drill.
NAMED = re.compile(
    r"(Nurse|Charge|Perf(usionist)?|Int(ensivist)?|Surg(eon)?)[ -]\d|Deputy\b|All\b|Ward\b|TEST( drill)?\d?"
    r"|Falling flow: (return line|pump head)|run/drills/1|Cardiac support unit|Flow low"
)


@pytest.fixture(autouse=True)
def another_language() -> Iterator[None]:
    with speaking(pseudo_language()):
        yield


def offered() -> Ward:
    ward = ward_now()
    ward.to(NOW - 12 * MINUTE)
    ward.does("offer", giver="charge-1", to="charge-2", posts=({"rung": 2},))
    return ward


def away() -> Ward:
    ward = ward_now()
    ward.to(NOW - MINUTE)
    ward.does("break", who="nurse-1", cover="nurse-3", minutes=20, told_to="charge-1")
    ward.does("unreachable", who="perf-1", until=NOW + HOUR)
    return ward


def planned() -> Ward:
    ward = ward_now(shifts=[shift("All", "00:00", "00:00", charge="charge-1")])
    ward.does("plan", rung=2, stands="charge-2", begins=NOW + HOUR, ends=NOW + 2 * HOUR)
    return ward


WARDS = {"whole": ward_now, "offered": offered, "away": away, "planned": planned}
#: On which ward, and the keys of a flow; what cannot be there is said at the foot.
FLOWS = [
    *(("whole", keys) for keys in ("p1", "p0", "b13", "b1b", "o1", "o2", "n1", "v113", "a", "w", "x1", "e")),
    *(("offered", keys) for keys in ("a1", "w1", "w2", "d")),
    *(("away", keys) for keys in ("e", "e1", "b", "p1")),
    *(("planned", keys) for keys in ("v1", "v121", "v2")),
]


def plain(words: list[str]) -> list[str]:
    return in_source_language([NAMED.sub("", one) for one in words])


@pytest.mark.parametrize(("name", "keys"), FLOWS)
def test_that_every_step_of_a_flow_of_the_roster_is_asked_in_the_language(
    qtbot: QtBot, name: str, keys: str
) -> None:
    with speaking(SOURCE):
        ward = WARDS[name]()
        ward.to(NOW)
    sheet = WardDesk(qtbot, ward, size=SMALL)
    found = []
    for number, key in enumerate(keys):
        sheet.press(key)
        at, panel = keys[: number + 1], sheet.window.panel
        if panel.question is not None:
            found += [f"{at}: {one}" for one in plain(asked_in(panel))]
            found += [f"{at}: {one}" for one in look_at(sheet.window).cut() if "Panel" in one or "Q" in one[:3]]
    assert found == []
    sheet.desk.at(1.0)
    assert plain([sheet.window.footer.face.told]) == []


@pytest.mark.parametrize("name", WARDS)
def test_that_the_roster_itself_speaks_the_language(qtbot: QtBot, name: str) -> None:
    with speaking(SOURCE):
        ward = WARDS[name]()
        ward.to(NOW)
    shown = look_at(WardDesk(qtbot, ward, size=SMALL).window)
    assert plain(shown.words()) == []
    assert shown.cut() == []


def test_that_a_drill_speaks_the_language_from_its_offer_to_its_end(qtbot: QtBot) -> None:
    desk = DrillDesk(qtbot, SMALL)
    found: list[str] = []

    def look() -> None:
        shown = look_at(desk.frame)
        found.extend(f"{desk.state}: {one}" for one in (*plain(shown.words()), *shown.cut()))
        spoken = [read_out(one) for one in (desk.frame.line, desk.frame.band) if one.isVisible()]
        found.extend(f"{desk.state}, aloud: {one}" for one in plain([f"{one.name} {one.value}" for one in spoken]))

    def press(*keys: Key | str) -> None:
        desk.press(*keys)
        look()
        for window in (desk.live, desk.drill if desk.frame.drill is not None else None):
            if window is not None and window.panel.question is not None:
                found.extend(plain(asked_in(window.panel)))

    press(Key.Key_F9)
    press("1")
    press("1")
    press("2")
    assert desk.stands(DrillState.RUNNING)
    desk.tells(desk.live, "B2", episode("Flow low", Priority.HIGH, circuit_critical=True))
    desk.tick()
    assert desk.stands(DrillState.ASIDE)
    look()
    desk.frame.resting.end()
    desk.tells(desk.live, "B2")
    desk.tick()
    look()
    press(Key.Key_F9)
    press(Key.Key_F10)
    desk.tick()
    look()
    assert found == []
