"""What the numbers mean, on the bed page: tabs, changes in order, hints, computed values, what is new to whom."""

from collections.abc import Callable
from datetime import UTC

import pytest
from PySide6.QtCore import QEvent, QPointF, Qt
from PySide6.QtGui import QKeyEvent, QMouseEvent
from pytestqt.qtbot import QtBot

from monitor.core.bed_commands import LookedAt
from monitor.core.entries import Entry, EntryKind
from monitor.core.meaning.derived_view import DerivedView, InputView
from monitor.core.meaning.flow_view import FlowEstimateView
from monitor.core.meaning.hint_view import HintView, SignView
from monitor.core.meaning.labs_view import DrawView, LabView
from monitor.core.meaning.looked_view import LookedView, ShiftView
from monitor.core.meaning.trend_view import ChangeView, TrendView
from monitor.core.meaning.view import Meaning
from monitor.core.wire import AskMeaning, GiveCommand, Meant, Request
from monitor.desk.answering import Answering
from monitor.desk.bedpage.changes_card import HOW, HOW_BY_SET
from monitor.desk.bedpage.hint_card import HintCard
from monitor.desk.bedpage.meaning_parts import BLOOD, COMPUTED, NUMBERS, ORDERS, PATTERN, POINT, SINCE, SLOPES
from monitor.desk.bedpage.meaning_words import (
    ASKED,
    NO_CHANGE,
    NO_CHANGE_BY_SET,
    NOBODY,
    NOT_LIVE,
    ONE_SET,
    STALE,
    YOUNG,
    change_lines,
    change_words,
)
from monitor.desk.bedpage.page import BedPage
from monitor.desk.bedpage.trend_marks import MarkKind, marks_of
from monitor.desk.link_state import LinkState
from monitor.desk.palette import load_palette
from monitor.desk.people import People
from monitor.desk.session import Session
from monitor.desk.store import Changes
from monitor.desk.tile.moment import Moment
from shared.instant import HOUR, MINUTE, SECOND
from shared.look.palette import Theme
from shared.quantities import Quantity as Q
from tests.helpers.views import NOW, filled, run, tile

#: A wide page, and one so small that point and pattern are tabs.
WIDE, NARROW = (1920, 950), (1280, 620)
DAY, NIGHT = load_palette().day, load_palette().night
CHANGES = tuple(
    ChangeView(quantity=q, onset=NOW - ago * MINUTE, sudden=sudden, up=False, before=a, value=b, at=NOW)
    for q, ago, sudden, a, b in (
        (Q.INLET_PRESSURE, 40, False, -60.0, -97.0),
        (Q.PUMP_FLOW, 30, False, 4.2, 3.6),
        (Q.SPEED_YIELD, 30, False, 1.2, 1.03),
        (Q.MEAN_ARTERIAL_PRESSURE, 1, True, 72.0, 61.0),
    )
)
HINT = HintView(
    id="A",
    title="Drainage limited",
    signs_for=(
        SignView(words="Drain P more negative", quantity=Q.INLET_PRESSURE, value=-97.0, at=NOW - 4 * SECOND),
    ),
    signs_against=(SignView(words="CVP not low"),),
    also=("Outflow obstruction",),
    apart="look along the drainage line",
    since=NOW - 5 * MINUTE,
)
INDEX = DerivedView(
    id="flow_index", label="Flow index", value=2.2, unit="L/min/m²", formula="flow / body surface area",
    inputs=(InputView(label="Flow", value=4.0, unit="L/min", at=NOW - 2 * SECOND),), at=NOW - 2 * SECOND,
)  # fmt: skip
MISSING = DerivedView(
    id="delivery", label="Oxygen delivery", unit="mL/min", formula="content x flow x 10",
    missing="No haemoglobin since 05:10",
)  # fmt: skip
LABS = (
    LabView(
        quantity=Q.HAEMOGLOBIN, value=78.0, at=NOW - 3 * HOUR, previous=DrawView(value=95.0, at=NOW - 9 * HOUR),
        draws=(DrawView(value=95.0, at=NOW - 9 * HOUR), DrawView(value=78.0, at=NOW - 3 * HOUR)),
        due_at=NOW - 31 * MINUTE, overdue=True,
    ),
)  # fmt: skip
LOOKED = LookedView(person="charge", at=NOW - HOUR, shifts=(ShiftView(quantity=Q.PUMP_FLOW, before=4.2, now=3.6),))
ENTRIES = (
    Entry(at=NOW - 2 * HOUR, kind=EntryKind.ORDER, bed="B7", slot=1, text="Speed 3 500"),
    Entry(at=NOW - 50 * MINUTE, kind=EntryKind.ORDER, bed="B7", slot=1, text="Speed 3 600"),
    Entry(at=NOW - 45 * MINUTE, kind=EntryKind.CARE_MARKER, bed="B7", text="Care", until=NOW - 43 * MINUTE),
    Entry(at=NOW - 10 * MINUTE, kind=EntryKind.SEEN, bed="B7", person="charge"),
)
KNOWN = TrendView(quantity=Q.PUMP_FLOW, run_baseline=4.2, run_baseline_from=NOW - HOUR)
MEANING = Meaning(
    bed="B7", slot=1, run_id="run-7", at=NOW, derived=(INDEX, MISSING), labs=LABS, changes=CHANGES, hints=(HINT,),
    looked=LOOKED, trends=(KNOWN,),
)  # fmt: skip


class Stage:
    """A page whose requests are kept and whose hub answers what the test says."""

    def __init__(
        self, qtbot: QtBot, who: str | None = "charge", theme: Theme = DAY, size: tuple[int, int] = WIDE
    ) -> None:
        self.asked: list[Request] = []
        self.store = filled([tile()])
        people = People(self.store)
        if who is not None:
            people.sign_in(who)
            assert people.name == who
        self.session = Session(self.store, self.asked.append)
        answering = Answering(self.session, people, lambda _: None, lambda *_: None, lambda: 0.0)
        self.page = BedPage("B7", self.session, answering, theme, lambda _: None)
        qtbot.addWidget(self.page)
        self.page.resize(*size)
        self.page.show()
        self.show(Changes())

    def show(self, changes: Changes, link: LinkState = LinkState.LIVE) -> None:
        self.page.show_moment(Moment(NOW, link), changes)

    def answer(self, meaning: Meaning | None = MEANING, entries: tuple[Entry, ...] = ()) -> None:
        request = [one for one in self.asked if isinstance(one, AskMeaning)][-1]
        replies = Changes(entries=list(entries), replies=[Meant(request=request.request, meaning=meaning)])
        self.show(replies)

    def press(self, key: int, text: str = "") -> bool:
        return self.page.take_key(QKeyEvent(QEvent.Type.KeyPress, key, Qt.KeyboardModifier.NoModifier, text))


def test_that_the_page_asks_for_the_person_at_the_desk(qtbot: QtBot) -> None:
    asked = [one for one in Stage(qtbot).asked if isinstance(one, AskMeaning)]
    assert [(one.bed, one.slot, one.person) for one in asked] == [("B7", 1, "charge")]
    nobody = [one for one in Stage(qtbot, who=None).asked if isinstance(one, AskMeaning)]
    assert nobody[0].person is None


def test_that_changes_stand_in_order_and_flow_per_speed_is_no_news_beside_flow(qtbot: QtBot) -> None:
    stage = Stage(qtbot)
    assert stage.page.parts.changes.lines.without == ASKED
    stage.answer()
    chips = stage.page.parts.changes.lines.chips
    assert [chip.split(" ", 1)[1] for chip in chips] == [
        "Drain P −60 → −97",
        "Flow 4.2 → 3.6",
        "MAP 72 → 61, at once",
    ]
    stage.answer(MEANING.model_copy(update={"changes": ()}))
    assert stage.page.parts.changes.lines.without == NO_CHANGE


def test_that_what_is_new_to_a_person_opens_first(qtbot: QtBot) -> None:
    stage = Stage(qtbot)
    assert stage.page.parts.deck.key == NUMBERS
    stage.answer(entries=ENTRIES)
    assert stage.page.parts.deck.key == SINCE
    rows = [row.text for row in stage.page.parts.since.rows]
    assert rows == ["Flow 4.2 → 3.6 (medians of 30 min)", "Speed 3 600"]
    stage.press(Qt.Key.Key_7, "7")
    stage.answer()
    assert stage.page.parts.deck.key == NUMBERS, "it does not come back by itself"


def test_that_nothing_new_leaves_the_numbers_in_front(qtbot: QtBot) -> None:
    stage = Stage(qtbot)
    stage.answer(MEANING.model_copy(update={"looked": LookedView(person="charge", at=NOW - MINUTE)}))
    assert stage.page.parts.deck.key == NUMBERS
    assert stage.page.parts.since.without == "Nothing new to Charge 2."


def test_that_nothing_is_called_nothing_new_to_somebody_who_never_looked(qtbot: QtBot) -> None:
    stage = Stage(qtbot)
    stage.answer(MEANING.model_copy(update={"looked": LookedView(person="charge", at=None)}))
    assert stage.page.parts.since.without == "Charge 2 has not looked at this run yet"
    assert stage.page.parts.since.without in stage.page.parts.changes.lines.since


def test_that_nobody_signed_in_is_said(qtbot: QtBot) -> None:
    stage = Stage(qtbot, who=None)
    stage.answer(MEANING.model_copy(update={"looked": None}))
    assert stage.page.parts.changes.lines.since == (NOBODY,)


@pytest.mark.parametrize("size", [WIDE, NARROW], ids=["wide", "narrow"])
@pytest.mark.parametrize("theme", [DAY, NIGHT], ids=["day", "night"])
def test_that_every_tab_opens_by_its_key_and_by_a_click(qtbot: QtBot, size: tuple[int, int], theme: Theme) -> None:
    stage = Stage(qtbot, theme=theme, size=size)
    stage.answer()
    keys = (COMPUTED, SLOPES, SINCE, ORDERS, BLOOD, NUMBERS, *((POINT, PATTERN) if size is NARROW else ()))
    for key in keys:
        assert stage.press(0, key.lower())
        assert stage.page.parts.deck.key == key
        assert stage.page.grab().width() == size[0]
    strip = stage.page.parts.deck.strip
    for key, box in strip._boxes(strip.width()).items():
        at = QPointF(box.center())
        button, none = Qt.MouseButton.LeftButton, Qt.KeyboardModifier.NoModifier
        strip.mousePressEvent(QMouseEvent(QEvent.Type.MouseButtonPress, at, at, button, button, none))
        assert stage.page.parts.deck.key == key


def test_that_point_and_pattern_have_a_column_of_their_own_where_there_is_room(qtbot: QtBot) -> None:
    wide = Stage(qtbot)
    wide.answer()
    assert wide.page.parts.point.isVisible()
    assert not wide.press(0, "j"), "and no tab"
    narrow = Stage(qtbot, size=NARROW)
    narrow.answer()
    assert not narrow.page.parts.point.isVisible()
    narrow.page.resize(*WIDE)
    assert narrow.page.parts.point.isVisible()
    narrow.page.resize(*NARROW)
    assert not narrow.page.parts.point.isVisible()


def test_that_a_computed_value_is_explained_by_arrows(qtbot: QtBot) -> None:
    stage = Stage(qtbot)
    stage.answer()
    stage.press(0, "8")
    assert stage.page.parts.derived.chosen == 0
    assert stage.press(Qt.Key.Key_Down)
    assert stage.page.parts.derived.rows[stage.page.parts.derived.chosen] == MISSING
    assert stage.press(Qt.Key.Key_Down)
    assert stage.page.parts.derived.chosen == 0
    stage.press(0, "7")
    assert not stage.press(Qt.Key.Key_Down), "elsewhere the arrow is the window's"


def test_that_not_live_shows_no_hint_no_computed_value_and_no_change(qtbot: QtBot) -> None:
    stage = Stage(qtbot)
    stage.answer()
    assert stage.page.parts.pattern.hints == (HINT,)
    stage.show(Changes(), LinkState.NOT_LIVE)
    assert not stage.page.parts.pattern.hints
    assert not stage.page.parts.derived.rows
    assert not stage.page.parts.changes.lines.chips
    assert stage.page.parts.changes.lines.without == NOT_LIVE


def test_that_a_bed_entered_by_hand_has_words_of_its_own() -> None:
    meaning = MEANING.model_copy(update={"changes": ()})
    lines = change_lines(meaning, run(), (), "Charge 2", None, by_hand=True)
    assert (lines.without, lines.how, lines.tip) == (NO_CHANGE_BY_SET, HOW_BY_SET, HOW_BY_SET)
    young = meaning.model_copy(update={"trends": ()})
    assert change_lines(young, run(), (), "Charge 2", None, by_hand=True).without == ONE_SET
    assert change_lines(young, run(), (), "Charge 2", None, by_hand=True, stale=True).without == STALE
    assert change_lines(meaning, run(), (), "Charge 2", None).without == NO_CHANGE


def test_that_a_run_without_anything_usual_yet_is_said_to_be_young() -> None:
    meaning = MEANING.model_copy(update={"changes": (), "trends": (TrendView(quantity=Q.PUMP_FLOW),)})
    assert change_lines(meaning, run(), (), "Charge 2", None).without == YOUNG


def test_that_a_blood_value_is_told_with_its_draw_the_one_before_and_what_is_due(qtbot: QtBot) -> None:
    stage = Stage(qtbot)
    stage.answer()
    words = stage.page.parts.labs.second_line(LABS[0])
    assert words.startswith("overdue, was due ")
    assert ", 3 h 00 min old" in words
    assert " · was 95 at " in words
    remarkable = LABS[0].model_copy(update={"notice": "below 80 g/L (common practice)"})
    assert stage.page.parts.labs.second_line(remarkable).startswith("below 80 g/L")


def test_that_an_answer_to_an_older_question_changes_nothing(qtbot: QtBot) -> None:
    stage = Stage(qtbot)
    stage.show(Changes(replies=[Meant(request="page:of-another", meaning=MEANING)]))
    assert stage.page.meaning is None


def looks(stage: Stage) -> list[LookedAt]:
    commands = [one.command for one in stage.asked if isinstance(one, GiveCommand)]
    return [command for command in commands if isinstance(command, LookedAt)]


@pytest.mark.parametrize(("who", "after_s", "expected"), [("charge", 4, 1), ("charge", 1, 0), (None, 4, 0)])
def test_that_leaving_the_page_is_a_look_of_whoever_is_signed_in_and_was_there(
    qtbot: QtBot, who: str | None, after_s: int, expected: int
) -> None:
    stage = Stage(qtbot, who=who)
    stage.page.opened_for = lambda: after_s * SECOND
    stage.page.hide()
    assert len(looks(stage)) == expected


def test_that_marks_know_their_run_their_kind_and_their_time(label: Callable[[str | None], str]) -> None:
    other = replace_slot(ENTRIES[0], 2)
    marks = marks_of((*ENTRIES, other), 1, label)
    assert [(mark.kind, mark.at) for mark in marks] == [
        (MarkKind.ORDER, NOW - 2 * HOUR),
        (MarkKind.ORDER, NOW - 50 * MINUTE),
        (MarkKind.CARE, NOW - 45 * MINUTE),
    ]
    assert marks[2].until == NOW - 43 * MINUTE


def replace_slot(entry: Entry, slot: int) -> Entry:
    return entry.model_copy(update={"slot": slot})


@pytest.fixture
def label() -> Callable[[str | None], str]:
    return lambda name: name or "nobody"


def test_that_an_onset_has_seconds_only_where_the_readings_tell_them_and_a_gap_is_named() -> None:
    change = ChangeView(
        quantity=Q.PUMP_FLOW, onset=NOW, sudden=True, up=False, before=4.2, value=3.6, at=NOW, resolution_ms=1_000
    )
    fine = change_words(change, run(), UTC)
    assert fine.endswith("Flow 4.2 → 3.6, at once")
    assert fine.split(" ")[0].count(":") == 2
    rough = change_words(change.model_copy(update={"resolution_ms": MINUTE}), run(), UTC)
    assert rough.split(" ")[0].count(":") == 1
    gap = change_words(change.model_copy(update={"sudden": False, "after_gap": True}), run(), UTC)
    assert gap.startswith("before ")
    assert ", in a gap: Flow" in gap


def test_that_stale_readings_are_said_to_be_too_old_and_not_to_have_changed_nothing() -> None:
    meaning = MEANING.model_copy(update={"changes": ()})
    lines = change_lines(meaning, run(), (), "Charge 2", None, stale=True)
    assert (lines.without, lines.how) == (STALE, "")
    assert change_lines(meaning, run(), (), "Charge 2", None).how == HOW


def test_that_what_tells_apart_stands_however_many_signs_there_are(qtbot: QtBot) -> None:
    card = HintCard(DAY)
    qtbot.addWidget(card)
    card.resize(330, 300)
    card.show()
    many = tuple(SignView(words=f"Sign number {n}", quantity=Q.PUMP_FLOW, value=3.0, at=NOW) for n in range(30))
    for hint in (HINT, HINT.model_copy(update={"signs_for": many})):
        card.show_hints((hint, HINT), (), NOW, None)
        card.grab()
        said = card.said
        assert "To tell apart: look along the drainage line" in " ".join(said)
        assert "Also fits: Outflow obstruction" in " ".join(said)
        assert sum("more sign" in words for words in said) == (hint is not HINT)


def test_that_a_sign_says_its_age_only_once_it_has_one(qtbot: QtBot) -> None:
    card = HintCard(DAY)
    qtbot.addWidget(card)
    card.resize(330, 400)
    old = SignView(words="Flow down", quantity=Q.PUMP_FLOW, value=3.0, at=NOW - 40 * SECOND)
    card.show_hints((HINT.model_copy(update={"signs_for": (*HINT.signs_for, old)}),), (), NOW, None)
    card.grab()
    said = card.said
    assert "Drain P more negative: −97" in said
    assert "Flow down: 3.0, 40 s old" in said


def test_that_a_flow_which_is_not_what_the_pump_tells_comes_first_and_is_explained_beside_the_computed(
    qtbot: QtBot,
) -> None:
    differs = "Measured 2.0 L/min is not what head says"
    flow = FlowEstimateView(value=4.2, low=4.1, high=4.3, measured=2.0, differs=differs, source="Head")
    meaning = MEANING.model_copy(update={"flow_estimate": flow})
    assert change_lines(meaning, run(), (), "Charge 2", None).chips[0] == differs
    stage = Stage(qtbot)
    stage.answer(meaning)
    assert [row.id for row in stage.page.parts.derived.rows] == ["flow_index", "delivery", "flow_learned"]
