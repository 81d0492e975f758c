"""The bed page on a screen of 1366 x 768: what is judged together in one view, nothing cut or overlaid."""

import sys
from collections.abc import Iterator, Mapping
from datetime import UTC
from itertools import combinations, product
from typing import Any

import pytest
from PySide6.QtCore import QRect
from PySide6.QtWidgets import QWidget
from pytestqt.qtbot import QtBot

from monitor.core.commands import Device
from monitor.core.entries import Entry, EntryKind
from monitor.core.grades import Priority
from monitor.core.meaning.hint_view import HintView, SignView
from monitor.core.meaning.labs_view import DrawView, LabView
from monitor.core.meaning.operating_view import Axes, Curve, OperatingView, Place, TrailPart
from monitor.core.meaning.power_view import PowerView, SupplyView
from monitor.core.meaning.trend_view import ChangeView, TrendView
from monitor.core.meaning.view import Meaning
from monitor.core.pages.states import PageState
from monitor.core.view import CallMeView, PageView, RunView, TileView
from monitor.core.wire import AskMeaning, Column, History, Meant, ReadingsDelta
from monitor.desk.bedpage.blood_card import BloodCard
from monitor.desk.bedpage.dense import POINT_LEAST, WHO_LEAST, Wants, dense_room
from monitor.desk.bedpage.figures import Figure
from monitor.desk.bedpage.head import also_words
from monitor.desk.bedpage.layout import LEAST_MEASURED, Shape, shape_of
from monitor.desk.bedpage.meaning_parts import BLOOD, NUMBERS
from monitor.desk.bedpage.page import BedPage
from monitor.desk.bedpage.table import NumbersCard
from monitor.desk.bedpage.trend_key import KEY_H
from monitor.desk.header_face import compose_header
from monitor.desk.history_queue import TRENDS
from monitor.desk.pagespage.face import page_words, short_page_words
from monitor.desk.paint import flow, key_boxes, plates, staff
from monitor.desk.palette import load_palette
from monitor.desk.reviewpage.page import ReviewPage
from monitor.desk.store import Changes
from shared.cautions import LOCAL
from shared.instant import HOUR, MINUTE, SECOND
from shared.look.need import Need
from shared.messages import Origin
from shared.quantities import CATALOGUE
from shared.quantities import Quantity as Q
from shared.support import Support
from tests.helpers.desk import Desk, picture, type_keys
from tests.helpers.drawn import Drawn, Texts, watch_texts
from tests.helpers.painting import coloured
from tests.helpers.views import NOW, alert, episode, filled, holder, ladder, latest, run, tile

SCREEN = (1366, 768)
DAY = load_palette().day
TITLES = ("Flow 2.4, limit 2.5", "Drain P −104, limit −100", "Flow 3.5, limit 3.6", "MAP 56, limit 60")
BLOOD_OF = (
    Q.HAEMOGLOBIN, Q.HAEMATOCRIT, Q.POST_OXYGENATOR_PO2, Q.POST_OXYGENATOR_PCO2, Q.LACTATE,
    Q.PLASMA_FREE_HAEMOGLOBIN, Q.LDH, Q.ACT, Q.APTT, Q.ANTI_XA, Q.PLATELETS, Q.FIBRINOGEN, Q.D_DIMER,
)  # fmt: skip
SIGNS = tuple(
    SignView(words=words, quantity=q, value=value, at=NOW - 4 * SECOND)
    for words, q, value in (
        ("Flow down or unsteady", Q.PUMP_FLOW, 2.4),
        ("Pressure drop over the oxygenator unchanged: dP unchanged shows that blood moves", None, None),
        ("Drain P left its usual before flow did", Q.INLET_PRESSURE, -201.0),
        ("Pre-oxy P down", Q.PRE_OXYGENATOR_PRESSURE, 118.0),
        ("Post-oxy P down", Q.POST_OXYGENATOR_PRESSURE, 101.0),
        ("MAP down", Q.MEAN_ARTERIAL_PRESSURE, 56.0),
    )
)
HINT = HintView(
    id="A", title="Drainage limited", signs_for=SIGNS, signs_against=(SignView(words="CVP not low"),),
    also=("Air, or an open drainage side", "One pressure reading alone", "Vasodilated"),
    apart="Look at the drainage line and cannula: kink, clamp, depth mark, line shaking. Look for bleeding; "
    "compare CVP and pulse pressure with before; look at chest and drains. Ask whether the patient coughed or "
    "was turned.",
    since=NOW - 5 * MINUTE,
)  # fmt: skip
LONG_HINT = HINT.model_copy(
    update={"title": "Upper-body oxygen fall with returning ejection (femoral VA)", "also": ("Gas side",)}
)
PLANS = tuple(
    CallMeView(quantity=q, below=below, calls="perfusionist", by="charge", until=NOW + 5 * HOUR, note=note)
    for q, below, note in (
        (Q.PUMP_FLOW, 3.5, "ring before changing anything"),
        (Q.MEAN_ARTERIAL_PRESSURE, 62.0, ""),
        (Q.INLET_PRESSURE, -120.0, "and look at the line"),
    )
)
POINT = OperatingView(
    axes=Axes.HEAD, now=Place(x=2.4, y=319.0, at=NOW), speed=3500.0, words="Head 319, pump's curve 316: 3 above",
    pump=Curve(x=(0.0, 7.0), y=(333.0, 187.0)),
    trail=(TrailPart(begin=NOW - 200 * MINUTE, x=(4.2,) * 200, y=(280.0,) * 200),),
)  # fmt: skip
CHANGED = tuple(
    ChangeView(quantity=q, onset=NOW - 40 * MINUTE, sudden=False, up=False, before=a, value=b, at=NOW)
    for q, a, b in (
        (Q.INLET_PRESSURE, -60.0, -201.0), (Q.PUMP_FLOW, 4.2, 2.4), (Q.PRE_OXYGENATOR_PRESSURE, 220.0, 118.0),
        (Q.POST_OXYGENATOR_PRESSURE, 189.0, 101.0), (Q.MEAN_ARTERIAL_PRESSURE, 72.0, 56.0),
    )
)  # fmt: skip
LONG = "Speed 3 500 to 3 100 rpm, Surgeon 3, written by Charge {}"
VALUES = (78.0, 24.0, 380.0, 38.0, 2.9, 90.0, 520.0, 171.0, 62.0, 0.42, 98.0, 2.1, 4.2)


def labs(draws: int = 1, notices: int = 0) -> tuple[LabView, ...]:
    """Thirteen values, each a fifth higher before."""
    return tuple(
        LabView(
            quantity=q,
            value=value,
            at=NOW - (1 + place % draws) * HOUR,
            previous=DrawView(value=1.2 * value, at=NOW - 12 * HOUR),
            notice="beyond 1 000 (common practice)" if place < notices else "",
        )
        for place, (q, value) in enumerate(zip(BLOOD_OF, VALUES, strict=True))
    )


MEANING = Meaning(
    bed="B7", slot=1, run_id="run-1-VA", at=NOW, labs=labs(), changes=CHANGED, operating=POINT, hints=(HINT,),
    trends=(TrendView(quantity=Q.PUMP_FLOW, run_baseline=4.2, run_baseline_from=NOW - HOUR),),
    power=PowerView(
        battery=SupplyView(minutes=48, source="shown"), fails_now="If mains and wall gas fail now: 48 min / 62 min",
        times=2, margin=15,
    ),
)  # fmt: skip
WORST = episode(
    "Drain P −152, limit −150",
    Priority.HIGH,
    ladder=ladder(4, 5, 34),
    seen_by=("charge",),
    alerts=tuple(alert(title, Priority.HIGH, id=11 + n) for n, title in enumerate(("Drain P −152", *TITLES))),
)
ENTRIES = tuple(
    Entry(at=NOW - n * MINUTE, kind=EntryKind.NOTE, bed="B7", slot=1, text=LONG.format(n)) for n in range(9)
)
AGES = dict.fromkeys((Device.PUMP_HEAD, Device.OXYGENATOR, Device.TUBING), NOW - 3 * 24 * HOUR)


def aged(support: Support = Support.VA, **more: Any) -> RunView:
    return run(support, **more).model_copy(update={"device_since": AGES})


class Review:
    """A desk of 1366 x 768 on the page of a bed, answered by a hub."""

    def __init__(self, qtbot: QtBot, view: TileView, meaning: Meaning = MEANING, theme: str = "day") -> None:
        store = filled([view], [latest("B7", one.description.slot) for one in view.runs])
        self.desk = Desk(qtbot, store, theme, SCREEN, "perfusionist")
        window = self.desk.window
        window.set_bed_page_factory(
            lambda bed: BedPage(bed, window.session, window.answering, window.theme, window.go_to)
        )
        window.go_to("B7")
        assert isinstance(window.page, BedPage)
        self.page: BedPage = window.page
        asked = [one.request for one in self.desk.sent if isinstance(one, AskMeaning)][-1]
        moment = window.moment()
        assert moment is not None
        self.moment = moment
        self.page.show_moment(
            moment, Changes(entries=list(ENTRIES[::-1]), replies=[Meant(request=asked, meaning=meaning)])
        )

    def read(self, until: Mapping[Q, int] | None = None) -> None:
        """Answer with 200 min of every trend; ``until``: how long ago, in ms, a quantity was last read."""
        page, lost = self.page, until or {}
        series = {
            q: tuple(
                Column(at=at, low=2.0, high=4.0, last=3.3)
                for at in range(NOW - 200 * MINUTE, NOW - lost.get(q, 0), 30 * SECOND)
            )
            for q in (*TRENDS, Q.PRE_OXYGENATOR_PRESSURE)
        }
        history = History(request=page._request, bed="B7", slot=1, width_ms=30_000, series=series)
        page.show_moment(self.moment, Changes(replies=[history]))

    def cards(self) -> dict[str, QWidget]:
        page, parts = self.page, self.page.parts
        return {
            "head": page.head, "changes": parts.changes, "windows": page.windows, "tabs": parts.deck.strip,
            "trends": page.trends, "ages": page.ages, "numbers": parts.numbers, "blood": parts.blood,
            "point": parts.point, "pattern": parts.pattern, "who": page.who, "events": page.events,
            "acts": page.acts,
        }  # fmt: skip

    def heights(self, *less: int) -> Iterator[int]:
        """As it is, and with so much above it: a strip (28 px), or a strip and the band of several units (56)."""
        high = self.page.height()
        for one in (0, *less):
            self.page.resize(self.page.width(), high - one)
            self.page.trends.grab()  # the panels take their places
            self.page._redraw()
            yield one

    def place(self, card: QWidget) -> QRect:
        return QRect(card.mapTo(self.page, card.rect().topLeft()), card.size())


@pytest.fixture
def texts(monkeypatch: pytest.MonkeyPatch) -> Texts:
    bedpage = [module for name, module in sys.modules.items() if name.startswith("monitor.desk.bedpage.")]
    return watch_texts(
        monkeypatch, [m for m in (*bedpage, flow, key_boxes, plates, staff) if hasattr(m, "draw_text")]
    )


def painted(card: QWidget, texts: Texts) -> list[Drawn]:
    texts.drawn.clear()
    card.grab()
    return list(texts.drawn)


@pytest.mark.parametrize("support", list(Support))
def test_that_all_stands_in_one_view_without_a_tab_and_nothing_over_another(qtbot: QtBot, support: Support) -> None:
    shown = Review(qtbot, tile(runs=(aged(support),), episodes=(WORST,)))
    assert shown.page.parts.deck.key == NUMBERS
    cards = shown.cards()
    for _ in shown.heights(28, 56):
        for name, card in cards.items():
            assert card.isVisible(), name
            assert shown.page.rect().contains(shown.place(card)), name
        for (one, first), (two, second) in combinations(cards.items(), 2):
            assert not shown.place(first).intersects(shown.place(second)), (one, two)


STATES: dict[str, tuple[dict[str, Any], dict[str, Any]]] = {
    "low flow": ({"episodes": (WORST,)}, {}),
    "taken": ({"episodes": (episode("Flow 2.4, limit 2.5", Priority.HIGH, holder=holder("intensivist")),)}, {}),
    "quiet": (
        {},
        {"hints": (), "changes": (), "not_judged": ("Recirculation: no saturation before the oxygenator",)},
    ),
    "no blood": ({"episodes": (WORST,)}, {"labs": ()}),
    "blood of three draws, remarkable": ({"episodes": (WORST,)}, {"labs": labs(3, 4)}),
    "stale": ({"stale": True, "judged": 0, "last_reading_at": NOW - 26 * HOUR}, {"hints": ()}),
    "by hand": ({"origin": Origin.ENTERED, "by_hand_note": "hourly"}, {}),
    "two patterns": ({"episodes": (WORST,)}, {"hints": (LONG_HINT, HINT)}),
    "plans": ({"runs": (aged().model_copy(update={"call_me": PLANS}),), "episodes": (WORST,)}, {}),
    "two pumps": ({"runs": (aged(Support.LV_AO, slot=1), aged(Support.RA_PA, slot=2))}, {}),
}


@pytest.mark.parametrize("state", STATES)
def test_that_no_text_is_cut_too_small_or_over_another(qtbot: QtBot, texts: Texts, state: str) -> None:
    """Smallest text: 11 px, in a rung 10.5 (the sizes of `shared/look/sizes.py`)."""
    view, means = STATES[state]
    shown = Review(qtbot, tile(**({"runs": (aged(days=121),)} | view)), MEANING.model_copy(update=means))
    for less, (name, card) in product(
        shown.heights(28, 56),
        {**shown.cards(), "ends": shown.page.trends.ends, "standing": shown.page.standing}.items(),
    ):
        drawn = painted(card, texts)
        for one in drawn:
            assert one.left >= 0, (less, name, one)
            assert one.right <= card.width() + 0.5, (less, name, one)
            assert one.top >= 0, (less, name, one)
            assert one.bottom <= card.height(), (less, name, one)
            assert one.px >= (10.5 if name == "who" else 11.0), (less, name, one)
        for one, two in combinations(drawn, 2):
            assert not one.meets(two), (less, name, one, two)
        if name == "ends":
            for row in shown.page.trends.ends.rows:
                assert row.spec.label.removeprefix("Oxy ") in texts.said(), "the whole name of a line"


def test_that_numbers_blood_devices_signs_and_who_is_called_are_all_said(qtbot: QtBot, texts: Texts) -> None:
    shown = Review(qtbot, tile(runs=(aged(),), episodes=(WORST,)))
    parts = shown.page.parts
    painted(parts.numbers, texts)
    for figure in parts.numbers.figures:
        assert figure.label in texts.said()
        assert figure.limit in texts.said()
    assert "target 4.2  ≥ 3.6" in texts.said(), "the target beside the number"
    painted(parts.blood, texts)
    for quantity in BLOOD_OF:
        assert CATALOGUE[quantity].label in texts.said()
    assert "1 h 00 min old" in texts.said()
    painted(parts.pattern, texts)
    for words in ("Possible: Drainage limited", "Flow down or unsteady: 2.4", "Also fits:", "To tell apart:"):
        assert words in texts.said()
    assert "Possible pattern. Check at the bed." in texts.said()
    painted(shown.page.who, texts)
    assert "Surgeon" in texts.said()
    assert "Charge 2 · 4410" in texts.said(), "whoever looks from elsewhere telephones"
    painted(shown.page.ages, texts)
    assert "Pump head 3 d · Oxygenator 3 d · Tubing 3 d" in texts.said()
    assert "48 min / 62 min" in texts.said()
    assert LOCAL in texts.said()
    painted(shown.page.head, texts)
    assert "Episode of 5: with Flow 2.4, limit 2.5" in texts.said()
    painted(parts.changes, texts)
    assert "MAP 72 → 56" in texts.said(), "all five that changed"


def test_that_the_last_five_events_stand_whole_on_two_lines_each(qtbot: QtBot, texts: Texts) -> None:
    shown = Review(qtbot, tile(runs=(aged(),), episodes=(WORST,)))
    for _ in shown.heights(28):
        painted(shown.page.events, texts)
        for entry in ENTRIES[:5]:
            assert str(entry.text) in texts.said()


def test_that_a_lost_sensor_is_no_number_of_now_anywhere_and_its_panel_stays(qtbot: QtBot, texts: Texts) -> None:
    """The console goes on, its flow does not: 10 min old here, and what is computed with it is lost."""
    view = tile(runs=(aged(),), episodes=(WORST,))
    shown = Review(qtbot, view)
    page = shown.page
    read = page._session.store.readings._latest["B7", 1]
    read[Q.PUMP_FLOW] = read[Q.PUMP_FLOW]._replace(read_at=NOW - 10 * MINUTE, value=3.3)
    for _ in range(3):
        shown.read({Q.PUMP_FLOW: 10 * MINUTE})
        assert len(page.trends.plots) == 5, "no panel comes and goes"
    ends = {row.spec.quantity: row.value for row in page.trends.ends.rows}
    assert ends[Q.PUMP_FLOW] is None
    assert ends[Q.OXYGENATOR_RESISTANCE] is None
    assert ends[Q.INLET_PRESSURE] == 3.3
    page.choose_window("6")  # 72 h: in columns of nine minutes there is no gap yet
    values, at = {Q.PUMP_FLOW: 3.3}, NOW - 10 * MINUTE
    told = ReadingsDelta(boot="b", seq=9, bed="B7", slot=1, read_at=at, values=values)
    page.show_moment(shown.moment, Changes(read=[told]))
    page._redraw()
    assert {row.spec.quantity: row.value for row in page.trends.ends.rows}[Q.PUMP_FLOW] is None
    painted(page.parts.numbers, texts)
    assert "3.3, 10 min old" in texts.said()


def test_that_blood_that_has_no_room_is_named_or_counted_and_all_of_it_stands_under_its_tab(
    qtbot: QtBot, texts: Texts
) -> None:
    card = BloodCard(DAY)
    qtbot.addWidget(card)
    for high, expected in ((400, ""), (80, "10 more: key B")):
        card.resize(290, high)
        card.show_labs(labs(), NOW, UTC, live=True)
        painted(card, texts)
        assert ("key B" in texts.said()) == bool(expected)
        assert expected in texts.said()
    shown = Review(qtbot, tile(runs=(aged(),)))
    assert shown.page.parts.deck.choose(BLOOD)
    assert shown.page.parts.labs.isVisible()
    assert not shown.page.parts.blood.isVisible()
    assert shown.page.parts.point.isVisible()


def test_that_while_not_live_blood_says_when_it_was_drawn_and_no_age(qtbot: QtBot, texts: Texts) -> None:
    card = BloodCard(DAY)
    qtbot.addWidget(card)
    card.resize(290, 200)
    card.show_labs(labs(), NOW, UTC, live=False)
    painted(card, texts)
    assert "Drawn 13:32" in texts.said()
    assert "old" not in texts.said()


def test_that_places_never_overlap_whatever_is_wanted() -> None:
    wanted = (0, 60, 700)
    for wide, high, *wants in product(
        (1340, 1366, 1600, 1699), (620, 650, 678, 900), wanted, (40, 90), wanted, wanted
    ):
        room = dense_room(wide, high, Wants(*wants))
        assert shape_of(wide, high) is Shape.DENSE
        names = ("head", "changes", "windows", "tabs", "trends", "standing", "ages", "deck", "point", "pattern",
                 "who", "events", "acts")  # fmt: skip
        places = [getattr(room, name) for name in names if not getattr(room, name).isEmpty()]
        for one in places:
            assert QRect(0, 0, wide, high).contains(one)
        for one, two in combinations(places, 2):
            assert not one.intersects(two)
        assert room.trends.height() >= LEAST_MEASURED + KEY_H
        assert room.point.height() >= POINT_LEAST
        assert room.who.height() >= WHO_LEAST


def test_that_a_number_says_its_age_and_its_limit_and_all_rows_stand_at_any_height(
    qtbot: QtBot, texts: Texts
) -> None:
    card = NumbersCard(DAY)
    qtbot.addWidget(card)
    card.dense = True
    card.show_figures(
        tuple(Figure(f"N{n}", "4.2", "L/min", "", "≥ 3.6", "by hand", "57 min old") for n in range(18)), ""
    )
    for high in range(round(card.least()), 420, 7):
        card.resize(286, high)
        painted(card, texts)
        assert texts.said().count("≥ 3.6 · 57 min") == 18, high
        assert "more" not in texts.said()
    card.resize(286, round(card.least()) - 20)
    painted(card, texts)
    assert "1 to 15 of 18: up, down" in texts.said()
    card.step(1)
    painted(card, texts)
    assert "N15" in texts.said()
    assert "16 to 18 of 18" in texts.said()


@pytest.mark.parametrize("size", [(1366, 678), (1920, 950), (1280, 620)], ids=["dense", "wide", "tabbed"])
def test_that_what_became_of_a_page_is_said_whole_on_every_rung(
    qtbot: QtBot, texts: Texts, size: tuple[int, int]
) -> None:
    shown = Review(qtbot, tile(runs=(aged(),), episodes=(WORST,)))
    store, card = shown.desk.store, shown.page.who
    assert store.unit is not None
    for state in PageState:
        pages = tuple(
            PageView(
                number=n,
                at=NOW,
                bed="B7",
                episode=5,
                rung=n,
                person="charge",
                text="t",
                state=state,
                changed_at=NOW,
            )
            for n in range(1, 6)
        )
        store.unit = store.unit.model_copy(update={"pages": pages})
        shown.page.resize(*size)
        shown.page.show_moment(shown.moment, Changes())
        drawn = painted(card, texts)
        short = f"page {short_page_words(pages[0], shown.moment)}"
        long = f"page {page_words(pages[0], shown.moment)}"
        if state is not PageState.DESKS_ONLY:
            assert texts.said().count(short) + texts.said().count(long) * (long != short) >= 4, state
        assert all(one.right <= card.width() for one in drawn)
        assert not any(one.meets(two) for one, two in combinations(drawn, 2))


def test_that_a_device_that_is_due_is_said_once_and_in_bold(qtbot: QtBot, texts: Texts) -> None:
    due = aged().model_copy(update={"device_due": {Device.OXYGENATOR: NOW - HOUR}})
    shown = Review(qtbot, tile(runs=(due,)))
    assert next(line.text.replace("\u00a0", " ") for line in shown.page.ages.lines if line.bold) == (
        "Pump head 3 d · Oxygenator 3 d, due · Tubing 3 d"
    )
    assert not shown.page.standing.lines
    shown.page.resize(1920, 950)
    shown.page.show_moment(shown.moment, Changes())
    (line,) = shown.page.standing.lines
    assert line.text.startswith("In use for longer than the unit set: oxygenator")


def test_that_what_joined_an_episode_is_told_as_far_as_there_is_room_and_the_rest_counted() -> None:
    assert also_words((), 500) == ""
    assert also_words(TITLES, 2_000).endswith("MAP 56, limit 60")
    assert also_words(TITLES, 330) == "Episode of 5: with Flow 2.4, limit 2.5 and 3 more"
    assert also_words(TITLES, 100) == "Episode of 5"


@pytest.mark.parametrize(("opens", "theme"), [("j", "night"), ("bed", "day")])
def test_that_the_veil_of_not_live_lies_on_the_review_and_on_a_bed_and_is_gone_with_a_new_picture(
    qtbot: QtBot, texts: Texts, theme: str, opens: str
) -> None:
    shown = Review(qtbot, tile(runs=(aged(),), episodes=(WORST,)), theme=theme)
    desk, window = shown.desk, shown.desk.window
    window.add_page("j", lambda: ReviewPage(window))
    if opens == "j":
        type_keys(window, "j")
    page = window.page
    assert isinstance(page, BedPage | ReviewPage)
    assert not page.veil.isVisible()
    desk.at(16.0)
    assert page.veil.isVisible()
    assert page.veil.geometry() == page.rect()
    lost = picture(page)
    for need in Need:
        assert not coloured(lost, getattr(load_palette(), theme).priority[need], 1).any(), need
    page.resize(page.width(), page.height() - 28)
    assert page.veil.geometry() == page.rect()
    banner = compose_header(desk.store, window.moment(), 16.0).banner
    assert banner is not None
    assert banner.title == "Not live since 14:32:51"
    assert "Perfusionist 1 · 4477" in banner.phones
    type_keys(window, "s")
    assert not desk.commands()
    desk.store.link.hear(16.5, snapshot=True)
    window.take(Changes(unit=True, snapshot=True))
    assert not page.veil.isVisible()


def test_that_nothing_on_a_bed_counts_on_or_claims_to_be_of_now_while_not_live(qtbot: QtBot, texts: Texts) -> None:
    shown = Review(qtbot, tile(runs=(aged(),), episodes=(WORST,)))
    page = shown.page
    said = []
    for seconds in (16.0, 47.0):
        shown.desk.at(seconds)
        for card in (page.who, page.head, page.parts.pattern):
            painted(card, texts)
            said.append(texts.said())
    assert said[:3] == said[3:], "nothing counts"
    assert "as it stood" in said[0]
    assert "Nobody had it" in said[0]
    assert "was to be called next" in said[0]
    assert "as it stood at 14:32:51" in said[1]
    assert "judged" not in said[1]
    assert "Not live: no pattern can be suggested here." in said[2]
