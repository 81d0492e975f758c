"""The page of a bed with text of 200 % on 1366 x 768: all of every card can be seen, by keys, wheel and pointer."""

from collections.abc import Iterator
from dataclasses import replace

import pytest
from PySide6.QtCore import QPoint, QPointF, Qt
from PySide6.QtGui import QWheelEvent
from PySide6.QtWidgets import QApplication, QWidget
from pytestqt.qtbot import QtBot

from monitor.core.entries import Entry, EntryKind
from monitor.core.meaning.derived_view import DerivedView, InputView
from monitor.core.meaning.hint_view import HintView, SignView
from monitor.core.meaning.labs_view import DrawView, LabView
from monitor.core.meaning.operating_view import AfterView, OrderEffectView
from monitor.core.meaning.trend_view import SlopeView, TrendView
from monitor.core.meaning.view import Meaning
from monitor.core.wire import AskEntries, AskMeaning, Entries, Meant
from monitor.desk.bedpage.numbers_deck import NumbersDeck
from monitor.desk.bedpage.page import BedPage
from monitor.desk.bedpage.trend_tab import TrendTab
from monitor.desk.bedpage.trends import Trends
from monitor.desk.bedpage.turning import TurnedCard
from monitor.desk.footer import CAUTION
from monitor.desk.paint.noted import seen_on
from monitor.desk.sound.face import Check, SoundState, sound_face
from monitor.desk.store import Changes
from shared.instant import HOUR, MINUTE, SECOND
from shared.look.screen import AIM_MM, TOUCH_MM, here, stand_on
from shared.look.screen import Screen as Screen_
from shared.look.sizes import USUAL_PITCH
from shared.quantities import CATALOGUE
from shared.quantities import Quantity as Q
from tests.gui.test_layouts import faults
from tests.helpers.desk import click, press_key, type_keys
from tests.helpers.screens import Screen
from tests.helpers.shown import look_at
from tests.helpers.views import NOW

SLIM = (683, 384)
LABS = (Q.HAEMOGLOBIN, Q.LACTATE, Q.PLASMA_FREE_HAEMOGLOBIN, Q.LDH, Q.ACT, Q.APTT, Q.PLATELETS, Q.FIBRINOGEN)
ORDERS = ((Q.PUMP_SPEED, 3400.0), (Q.PUMP_SPEED, 3300.0), (Q.SWEEP_GAS_FLOW, 4.0))
MEANING = Meaning(
    bed="B2",
    slot=1,
    run_id="run-1-VA",
    at=NOW,
    labs=tuple(
        LabView(quantity=q, value=78.0, at=NOW - HOUR, previous=DrawView(value=95.0, at=NOW - 9 * HOUR))
        for q in LABS
    ),
    order_effects=tuple(
        OrderEffectView(
            at=NOW - place * HOUR,
            quantity=q,
            was=3500.0,
            value=value,
            by="charge",
            quantities=(Q.PUMP_FLOW, Q.INLET_PRESSURE),
            before=(4.2, -60.0),
            after=(AfterView(minutes=10, values=(3.4, -38.0)), AfterView(minutes=60, missing="not yet")),
        )
        for place, (q, value) in enumerate(ORDERS)
    ),
    derived=tuple(
        DerivedView(
            id=f"index-{number}",
            label=f"Flow index {number}",
            value=2.2,
            unit="L/min/m²",
            formula="flow / body surface area",
            inputs=(
                InputView(label="Flow", value=4.0, unit="L/min", at=NOW - 2 * SECOND),
                InputView(label="Height", value=171.0, unit="cm"),
                InputView(label="Weight", value=72.0, unit="kg"),
            ),
            at=NOW - 2 * SECOND,
        )
        for number in range(6)
    ),
    trends=tuple(
        TrendView(
            quantity=q,
            slopes=tuple(
                SlopeView(window_ms=window, slope=-0.6, low=-0.8, high=-0.4)
                for window in (15 * MINUTE, HOUR, 4 * HOUR)
            ),
            noise=0.03,
            run_baseline=4.2,
            run_baseline_from=NOW - 3 * HOUR,
        )
        for q in (Q.PUMP_FLOW, Q.INLET_PRESSURE, Q.MEAN_ARTERIAL_PRESSURE, Q.PRE_OXYGENATOR_PRESSURE)
    ),
    hints=(
        HintView(
            id="A",
            title="Drainage limited",
            signs_for=tuple(SignView(words=f"Sign number {number} that speaks for it") for number in range(5)),
            signs_against=(SignView(words="CVP not low"),),
            also=("Air, or an open drainage side",),
            apart="Look at the drainage line and cannula: kink, clamp, depth mark. Look for bleeding.",
            since=NOW - 5 * MINUTE,
        ),
    ),
)
ENTRIES = tuple(
    Entry(at=NOW - n * MINUTE, kind=EntryKind.NOTE, bed="B2", slot=1, text=f"Speed by 100 rpm, written by {n}")
    for n in range(12)
)


def full_bed(qtbot: QtBot, strip: bool, theme: str = "day") -> Screen:
    """The page of a bed of which much is known, filled as by its hub."""
    screen = Screen(qtbot, "bed", SLIM, theme)
    window = screen.window
    if strip:
        window.show_sound(sound_face(SoundState.TOO_QUIET, Check.DUE))
    asked = {type(one): one.request for one in screen.desk.sent if isinstance(one, AskMeaning | AskEntries)}
    page, moment = window.page, window.moment()
    assert isinstance(page, BedPage)
    assert moment is not None
    changes = Changes()
    changes.replies += [
        Meant(request=asked[AskMeaning], meaning=MEANING),
        Entries(request=asked[AskEntries], entries=ENTRIES),
    ]
    page.show_moment(moment, changes)
    return screen


@pytest.fixture(autouse=True)
def large_pixels() -> Iterator[None]:
    """Text of 200 %: a pixel is twice as large."""
    before = stand_on(Screen_(2 * USUAL_PITCH))
    yield
    stand_on(before)


#: What must be seen sooner or later behind a tab, by its key.
ALL = {
    "7": ("Flow", "Drain P", "Pre-oxy P", "MAP", "Battery"),
    "8": (*(f"Flow index {n} 2.20 L/min/m²" for n in range(6)), "Height 171.00 cm"),
    "-": ("Flow", "Drain P", "MAP", "Pre-oxy P"),
    "0": ("3.40", "not yet", "14:32", "13:32", "12:32"),
    "b": tuple(CATALOGUE[q].label for q in LABS),
    "k": (*(f"Sign number {n}" for n in range(5)), "Against it: CVP not low", "Also fits", "Look for bleeding"),
    ",": tuple(f"written by {n}" for n in range(12)),
    "=": ("Flow", "Drain P", "MAP"),
}
#: What stands there whatever card is seen.
ALWAYS = ("B2", "Flow 2.2, limit 2.5", "R1", "Take\nT", "Write down    M", CAUTION)


def turn(card: QWidget, way: str) -> None:
    """Go on in a card."""
    turner = card.turner if isinstance(card, TrendTab) else card
    assert isinstance(turner, TurnedCard)
    if way == "keys":
        press_key(turner.window(), Qt.Key.Key_Down)
    elif way == "pointer":
        click(turner, turner._boxes()[1][1].center().toPoint())
    else:
        at = QPointF(turner.rect().center())
        whole = turner.mapToGlobal(at)
        none, button, keys = QPoint(0, 0), Qt.MouseButton.NoButton, Qt.KeyboardModifier.NoModifier
        phase = Qt.ScrollPhase.NoScrollPhase
        QApplication.sendEvent(turner, QWheelEvent(at, whole, none, QPoint(0, -120), button, keys, phase, False))


def told(card: QWidget) -> str:
    """What a card says, with that of the cards in it."""
    own = [one for one in (card, *card.findChildren(QWidget)) if type(one).__module__.startswith("monitor.")]
    parts = [one for one in own if one.isVisible() and not isinstance(one, Trends)]
    return "\n".join(str(one.what) for part in parts for one in seen_on(part))


@pytest.mark.parametrize(
    ("strip", "theme", "way"), [(False, "day", "keys"), (True, "night", "pointer"), (True, "day", "wheel")]
)
def test_that_all_of_every_card_can_be_seen(qtbot: QtBot, strip: bool, theme: str, way: str) -> None:
    window = full_bed(qtbot, strip, theme).window
    page = window.page
    assert isinstance(page, BedPage)
    for key in (*ALL, "9", "z", ".", "j", "+"):
        type_keys(window, key)
        card = page.parts.deck.seen
        card = card.numbers if isinstance(card, NumbersDeck) else card
        card.grab()
        shown = look_at(window)
        assert faults(shown, "bed") == [], key
        missing = [part for part in ALWAYS if part not in shown.words()]
        assert missing == [], key
        seen = told(card)
        for _ in range(40):
            if key not in ALL or all(part in seen for part in ALL[key]):
                break
            turn(card, way)
            page.grab()
            seen += "\n" + told(card)
        assert [part for part in ALL.get(key, ()) if part not in seen] == [], key
        assert faults(look_at(window), "bed") == [], f"{key}, turned"


def test_that_a_step_back_shows_what_stood_there_before(qtbot: QtBot) -> None:
    window = full_bed(qtbot, strip=False).window
    page = window.page
    assert isinstance(page, BedPage)
    type_keys(window, ",")
    pages = [told(page.events)]
    for _ in range(2):
        press_key(window, Qt.Key.Key_Down)
        pages.append(told(page.events))
    assert len(set(pages)) == 3
    for before in pages[-2::-1]:
        press_key(window, Qt.Key.Key_Up)
        assert told(page.events) == before


@pytest.mark.parametrize("words", [1, 2, 3])
def test_that_all_can_be_written_down_by_a_button_under_strips_of_so_many_lines(qtbot: QtBot, words: int) -> None:
    """20 mm for what answers, 12 mm for other targets (performance with gloves plateaus there: practice, S46)."""
    window = full_bed(qtbot, strip=False).window
    page = window.page
    assert isinstance(page, BedPage)
    face = sound_face(SoundState.TOO_QUIET, Check.DUE)
    window.show_sound(replace(face, strip=" ".join([face.strip] * words)))
    shown = look_at(window)
    assert faults(shown, "bed") == []
    assert page.who.more.isVisible()
    assert any(one.startswith("Write down") for one in shown.words())
    assert min(page.who.more.width(), page.who.more.height()) >= here().in_mm(AIM_MM)
    for button in page.who.buttons.values():
        assert min(button.width(), button.height()) >= here().in_mm(TOUCH_MM)
    click(page.who.more)
    assert window.panel.question is not None
