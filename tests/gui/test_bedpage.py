"""The bed page: what it shows by support type, what it asks for, and that a gap is never bridged."""

from collections.abc import Iterator
from itertools import combinations

import numpy as np
import pytest
from PySide6.QtCore import Qt
from PySide6.QtGui import QKeyEvent
from PySide6.QtWidgets import QWidget
from pytestqt.qtbot import QtBot

from monitor.core.entries import Entry, EntryKind
from monitor.core.entry_words import words_of
from monitor.core.grades import Priority, Rung
from monitor.core.point_marks import BY_HAND, JOIN_MS, PointMark
from monitor.core.view import TileView
from monitor.core.wire import AskEntries, AskHistory, AskMeaning, Column, Entries, History, ReadingsDelta, Request
from monitor.desk.answering import Act, Answering
from monitor.desk.bedpage.figures import LOST, figures_of
from monitor.desk.bedpage.page import BedPage
from monitor.desk.bedpage.panels import panels_of
from monitor.desk.bedpage.past import COLUMNS, WINDOWS, Past, gaps
from monitor.desk.bedpage.responsibility import ResponsibilityCard
from monitor.desk.bedpage.trend_key import Sign
from monitor.desk.link_state import LinkState
from monitor.desk.palette import load_palette
from monitor.desk.people import People
from monitor.desk.session import Session
from monitor.desk.store import Changes, Store
from monitor.desk.tile.moment import Moment
from shared.instant import HOUR, MINUTE, SECOND
from shared.look.palette import Theme
from shared.messages import Origin
from shared.quantities import Quantity as Q
from shared.support import Support
from tests.helpers.desk import picture, read_out
from tests.helpers.painting import grey
from tests.helpers.views import NOW, episode, filled, holder, run, tile

SIZES = [(1920, 950), (1366, 660)]
DAY, NIGHT = load_palette().day, load_palette().night


class Stage:
    """A page over a store that was filled by hand; what the page asks for is kept."""

    def __init__(self, qtbot: QtBot, view: TileView, theme: Theme = DAY, size: tuple[int, int] = SIZES[0]) -> None:
        self.asked: list[Request] = []
        self.seconds = 0.0
        self.store: Store = filled([view])
        self.session = Session(self.store, self.asked.append)
        self.told: list[str] = []
        self.went: list[str] = []
        answering = Answering(
            self.session,
            People(self.store),
            lambda _: None,
            lambda text, _: self.told.append(text),
            lambda: self.seconds,
        )
        self.page = BedPage(view.bed, self.session, answering, theme, self.went.append)
        qtbot.addWidget(self.page)
        self.page.resize(*size)
        self.page.show()
        self.show()

    def show(self, changes: Changes | None = None, link: LinkState = LinkState.LIVE) -> None:
        self.page.show_moment(Moment(NOW, link), changes or Changes())


def column(at: int, value: float) -> Column:
    return Column(at=at, low=value, high=value, last=value)


@pytest.mark.parametrize("size", SIZES)
@pytest.mark.parametrize("theme", [DAY, NIGHT], ids=["day", "night"])
@pytest.mark.parametrize("support", list(Support))
def test_that_every_support_type_has_a_page_at_every_size(
    qtbot: QtBot, support: Support, theme: Theme, size: tuple[int, int]
) -> None:
    stage = Stage(qtbot, tile(runs=(run(support),), episodes=(episode(),)), theme, size)
    image = stage.page.grab().toImage()
    colours = {image.pixel(x, y) for x in range(0, image.width(), 9) for y in range(0, image.height(), 9)}
    assert len(colours) > 8


def test_that_a_bed_without_an_oxygenator_names_none() -> None:
    view = run(Support.LA_AO)
    words = " ".join(panel.title + " ".join(line.label for line in panel.lines) for panel in panels_of(view))
    words += " ".join(
        f.label for f in figures_of(tile(runs=(view,)), view, filled([tile(runs=(view,))]), Moment(NOW))
    )
    assert "oxy" not in words.lower().replace("spo₂", "")
    assert "Sweep" not in words
    assert "SvO₂" not in words
    assert "Outlet P" in words


def test_that_the_page_asks_for_the_past_and_the_events_once(qtbot: QtBot) -> None:
    stage = Stage(qtbot, tile())
    stage.show()
    histories = [r for r in stage.asked if isinstance(r, AskHistory)]
    assert len(histories) == 1
    assert histories[0].end - histories[0].begin == WINDOWS["3"]
    assert (histories[0].end - histories[0].begin) // histories[0].width_ms <= COLUMNS
    assert len([r for r in stage.asked if isinstance(r, AskEntries)]) == 1


class Gone:
    """A timer that the test turns."""

    def __init__(self) -> None:
        self.ms = 0

    def is_running(self) -> bool:
        return True

    def start(self) -> None:
        self.ms = 0

    def has_expired(self, ms: int) -> bool:
        return self.ms >= ms


def test_that_over_a_thin_line_what_the_numbers_mean_is_asked_for_less_often_but_at_once_with_an_alert(
    qtbot: QtBot,
) -> None:
    """Six kilobytes each time: every 5 s it would take more of the line than twelve beds."""
    for lean, seconds, asks in ((False, 5, 1), (True, 5, 0), (True, 19, 0), (True, 20, 1)):
        stage = Stage(qtbot, tile())
        stage.session.lean = lean
        gone = Gone()
        stage.page._meant = gone  # type: ignore[assignment]
        before = len([r for r in stage.asked if isinstance(r, AskMeaning)])
        gone.ms = seconds * SECOND
        stage.show()
        assert len([r for r in stage.asked if isinstance(r, AskMeaning)]) - before == asks, (lean, seconds)
    stage.store.tiles["B7"] = tile(episodes=(episode(),))
    gone.ms = 5 * SECOND
    before = len(stage.asked)
    stage.show()
    assert [type(r) for r in stage.asked[before:]] == [AskMeaning], "an alert does not wait"


@pytest.mark.parametrize("lean", [False, True])
def test_that_over_a_thin_line_the_last_of_the_trends_is_asked_for_again_and_joined_to_them(
    qtbot: QtBot, lean: bool
) -> None:
    """Between the readings that a review is told lies a dip of a second: a desk has heard it, a review asks."""
    stage = Stage(qtbot, tile())
    stage.session.lean = lean
    stage.page.show_moment(Moment(NOW + 11 * SECOND), Changes())
    again = [r for r in stage.asked if isinstance(r, AskHistory)][1:]
    assert bool(again) is lean
    for one in again:
        assert one.begin % one.width_ms == 0, "whole columns: half a column has another low"
        assert NOW - MINUTE < one.begin <= NOW
        dip = Column(at=one.begin, low=1.1, high=4.3, last=4.2)
        answer = History(request=one.request, bed="B7", slot=1, width_ms=one.width_ms, series={Q.PUMP_FLOW: (dip,)})
        stage.page.show_moment(Moment(NOW + 12 * SECOND), Changes(replies=[answer]))
        assert np.nanmin(stage.page._past.line(Q.PUMP_FLOW, NOW + 12 * SECOND).low) == 1.1
    stage.page.show_moment(Moment(NOW + 25 * SECOND, LinkState.LATE), Changes())
    assert len([r for r in stage.asked if isinstance(r, AskHistory)]) == 1 + len(again), (
        "a silent line is not asked"
    )
    stage.page.choose_window("1")
    for one in again:
        old = History(request=one.request, bed="B7", slot=1, width_ms=one.width_ms, series={Q.PUMP_FLOW: (dip,)})
        stage.show(Changes(replies=[old]))
        assert np.isnan(stage.page._past.line(Q.PUMP_FLOW, NOW).low).all(), "of another window"


def test_that_a_number_key_shows_another_window_and_asks_for_it(qtbot: QtBot) -> None:
    stage = Stage(qtbot, tile())
    press = QKeyEvent(QKeyEvent.Type.KeyPress, Qt.Key.Key_1, Qt.KeyboardModifier.NoModifier, "1")
    assert stage.page.take_key(press)
    asked = [r for r in stage.asked if isinstance(r, AskHistory)][-1]
    assert asked.end - asked.begin == 15 * MINUTE


def test_that_not_live_takes_the_answers_away_and_the_numbers_too(qtbot: QtBot) -> None:
    stage = Stage(qtbot, tile(episodes=(episode(),)))
    assert all(button.isEnabled() for button in stage.page.who.buttons.values()) == (
        stage.store.link.commands_allowed
    )
    stage.store.link.state = LinkState.NOT_LIVE
    stage.show(link=LinkState.NOT_LIVE)
    assert not any(button.isEnabled() for button in stage.page.who.buttons.values())
    assert {figure.value for figure in stage.page.parts.numbers.figures} == {LOST}


def test_that_no_answer_has_the_focus_by_itself(qtbot: QtBot) -> None:
    stage = Stage(qtbot, tile(episodes=(episode(priority=Priority.HIGH),)))
    for button in stage.page.who.buttons.values():
        assert not button.hasFocus()
        assert not button.isDefault()
        assert not button.autoDefault()
    assert set(stage.page.who.buttons) == {Act.SEEN, Act.TAKE, Act.PASS_ON, Act.BY_PHONE}


def test_that_answering_buttons_are_twenty_millimetres_high_on_a_large_page(qtbot: QtBot) -> None:
    """72 px at 0.277 mm; gloved touch: Chen 2013, Appl Ergon 44:297, plateau at about 20 mm."""
    stage = Stage(qtbot, tile(episodes=(episode(),)))
    stage.page.grab()
    assert all(button.height() >= 72 for button in stage.page.who.buttons.values())


def test_that_who_has_it_stays_where_large_text_and_a_strip_leave_little_room(qtbot: QtBot) -> None:
    card = ResponsibilityCard(DAY, lambda _: None, "B7")
    qtbot.addWidget(card)
    card.slim = True
    card.show()
    for high in (132, 147, 164, 220):
        card.resize(272, high)
        card.lay_out()
        shown = [button.geometry() for button in (*card.buttons.values(), card.more)]
        assert card.more.isVisible(), "all can be written down by a button"
        assert card.plate.height() >= 28, "room for two lines of who has it"
        for one, two in combinations([card.plate.toRect(), *shown], 2):
            assert not one.intersects(two)
        assert all(card.rect().contains(place) for place in shown)


def test_that_parts_do_not_overlap(qtbot: QtBot) -> None:
    for size in SIZES:
        stage = Stage(qtbot, tile(episodes=(episode(holder=holder()),)), size=size)
        parts: list[QWidget] = [
            stage.page.head,
            stage.page.windows,
            stage.page.trends,
            stage.page.parts.changes,
            stage.page.parts.deck,
            stage.page.who,
            stage.page.events,
        ]
        for place, one in enumerate(parts):
            assert stage.page.rect().contains(one.geometry())
            for other in parts[place + 1 :]:
                assert not one.geometry().intersects(other.geometry())


def test_that_a_gap_is_told_and_holds_no_value() -> None:
    past = Past(WINDOWS["1"])
    end = NOW // past.width_ms * past.width_ms
    times = [end - n * SECOND for n in range(800, 0, -1) if not 300 <= n < 500]
    past.merge({Q.PUMP_FLOW: tuple(column(at, 4.2) for at in times)})
    line = past.line(Q.PUMP_FLOW, NOW)
    found = gaps(line, 45 * SECOND)
    assert len(found) == 1
    begin, finish = found[0]
    assert finish - begin == pytest.approx(200 * SECOND, abs=2 * past.width_ms)
    inside = (line.at >= begin) & (line.at < finish)
    assert np.isnan(line.last[inside]).all()


def test_that_the_page_draws_sets_as_they_came_in_and_says_what_its_signs_mean(qtbot: QtBot) -> None:
    """Of a bed without a feed: late, corrected and doubtful sets; once one is struck, the past is asked anew."""
    stage = Stage(qtbot, tile(origin=Origin.ENTERED))
    page, marks = stage.page, dict.fromkeys(range(4), BY_HAND)
    marks |= {1: BY_HAND | {PointMark.LATE}, 2: BY_HAND | {PointMark.CORRECTED}, 3: BY_HAND | {PointMark.DOUBTFUL}}
    every = (Q.PUMP_FLOW, Q.PRE_OXYGENATOR_PRESSURE, Q.POST_OXYGENATOR_PRESSURE)
    series = {
        quantity: tuple(
            column(NOW - (200 - 50 * n) * MINUTE, value).model_copy(update={"marks": marks[n]}) for n in marks
        )
        for quantity, value in zip(every, (4.2, 220.0, 190.0), strict=True)
    }
    answer = History(request=page._request, bed="B7", slot=1, width_ms=30_000, series=series)
    stage.show(Changes(replies=[answer]))
    line = page._past.line(Q.PUMP_FLOW, NOW)
    assert [dot.marks for dot in line.dots] == list(marks.values())
    assert np.isnan(line.last).all(), "no line is made of sets"
    assert page.trends.key.signs == (Sign.HAND, Sign.LATE, Sign.CORRECTED, Sign.DOUBTFUL, Sign.GAP)
    assert [dot.marks for dot in page._past.resistance(NOW).dots] == list(marks.values())[:3]
    assert gaps(line, JOIN_MS) == []
    read = ReadingsDelta(boot="b", seq=5, bed="B7", slot=1, read_at=NOW, values={Q.PUMP_FLOW: 3.9}, by_hand=True)
    stage.show(Changes(read=[read]))
    assert page._past.line(Q.PUMP_FLOW, NOW).dots[-1].value == 3.9
    before = page._request
    stage.show(Changes(past=True))
    assert page._request != before
    assert page._past.line(Q.PUMP_FLOW, NOW).dots == ()


def test_that_a_spike_survives_the_widest_window() -> None:
    past = Past(WINDOWS["6"])
    for minute in range(0, 72 * 60, 5):
        past.add(Q.PUMP_FLOW, NOW - minute * MINUTE, 4.2)
    past.add(Q.PUMP_FLOW, NOW - 30 * HOUR + SECOND, 0.4)
    assert np.nanmin(past.line(Q.PUMP_FLOW, NOW).low) == 0.4


def test_that_resistance_is_computed_only_where_blood_flows() -> None:
    past = Past(WINDOWS["1"])
    past.add(Q.PRE_OXYGENATOR_PRESSURE, NOW, 220)
    past.add(Q.POST_OXYGENATOR_PRESSURE, NOW, 190)
    past.add(Q.PUMP_FLOW, NOW, 4.2)
    assert past.resistance(NOW).last[-1] == pytest.approx(30 / 4.2)
    past.add(Q.PUMP_FLOW, NOW + 1, 0.0)
    assert np.isnan(past.resistance(NOW + 1).last[-1])
    past.add(Q.PUMP_FLOW, NOW + 2, -1.3)
    assert np.isnan(past.resistance(NOW + 2).last[-1]), "nothing is said of blood that runs back, as at the hub"


def test_that_the_table_has_no_resistance_of_blood_that_runs_back() -> None:
    view = run()
    bed = tile("B7", runs=(view,))
    store = filled([bed])
    for place, (flow, there) in enumerate(((4.0, True), (0.0, False), (-1.3, False))):
        values = {Q.PRE_OXYGENATOR_PRESSURE: 27.0, Q.POST_OXYGENATOR_PRESSURE: 33.0, Q.PUMP_FLOW: flow}
        store.readings.take(ReadingsDelta(boot="b", seq=1, bed="B7", slot=1, read_at=NOW + place, values=values))
        found = {one.label: one.value for one in figures_of(bed, view, store, Moment(NOW))}
        assert (found["Oxy ΔP / flow"] != LOST) is there, flow


def test_that_the_crosshair_steps_by_key_and_goes_home(qtbot: QtBot) -> None:
    stage = Stage(qtbot, tile())
    past = Past(WINDOWS["3"])
    for minute in range(240):
        past.add(Q.PUMP_FLOW, NOW - minute * MINUTE, 4.0 + minute / 1000)
    stage.page.trends.step(-1, past)
    stage.page.trends.step(-10, past)
    assert stage.page.trends.ends.at
    stage.page.trends.away()
    stage.show(Changes())
    stage.page.trends.draw(past, stage.page.trends._picture)  # type: ignore[arg-type]
    assert stage.page.trends.ends.at == ""


def entries() -> Iterator[Entry]:
    for kind in EntryKind:
        yield Entry(at=NOW, kind=kind, bed="B7", rung=Rung.CHARGE, person="charge", rule="flow_low",
                    priority=Priority.MEDIUM, text="Words", where="going")  # fmt: skip


def test_that_every_entry_has_words_or_says_nothing_at_all() -> None:
    silent = {EntryKind.EPISODE_CLOSED, EntryKind.BASELINE, EntryKind.STANDS, EntryKind.LOOKED}
    for entry in entries():
        words = words_of(entry, lambda name: name or "nobody")
        assert bool(words) != (entry.kind in silent), entry.kind
        assert "None" not in words
        assert "_" not in words


def test_that_new_entries_stand_above_the_older_ones(qtbot: QtBot) -> None:
    stage = Stage(qtbot, tile())
    first = Entry(at=NOW - MINUTE, kind=EntryKind.CALLED, bed="B7", rung=1, person="nurse-7")
    second = Entry(at=NOW, kind=EntryKind.SEEN, bed="B7", person="charge")
    other = Entry(at=NOW, kind=EntryKind.SEEN, bed="B8", person="charge")
    changes = Changes()
    changes.entries += [first, second, other]
    stage.show(changes)
    assert [entry.kind for entry in stage.page.events.entries] == [EntryKind.SEEN, EntryKind.CALLED]


def test_that_after_a_snapshot_the_page_asks_for_what_it_was_not_told_and_puts_it_where_it_belongs(
    qtbot: QtBot,
) -> None:
    """A line was cut: what was written meanwhile came to nobody here, and a list without it would be untrue."""
    stage = Stage(qtbot, tile())
    called, taken, over, seen = (
        Entry(at=NOW + n * MINUTE, kind=kind, bed="B7", rung=Rung.CHARGE, person="charge")
        for n, kind in enumerate((EntryKind.CALLED, EntryKind.TAKEN, EntryKind.CLEARED, EntryKind.SEEN))
    )
    stage.show(Changes(entries=[called]))
    stage.show(Changes(snapshot=True))
    asked = [request for request in stage.asked if isinstance(request, AskEntries)]
    assert len(asked) == 2
    assert len([request for request in stage.asked if isinstance(request, AskHistory)]) == 2
    stage.show(Changes(entries=[seen]))
    stage.show(Changes(replies=[Entries(request=asked[-1].request, bed="B7", entries=(over, taken))]))
    assert stage.page.events.entries == [seen, over, taken], "and nothing older above them"


def test_that_entries_that_nobody_answered_for_are_asked_for_again(qtbot: QtBot) -> None:
    stage = Stage(qtbot, tile())
    for stage.seconds in (1.0, 4.9, 5.0, 6.0):
        stage.show()
    asked = [request for request in stage.asked if isinstance(request, AskEntries)]
    assert len(asked) == 2
    stage.show(Changes(replies=[Entries(request=asked[-1].request, bed="B7", entries=())]))
    stage.seconds = 60.0
    stage.show()
    assert len([request for request in stage.asked if isinstance(request, AskEntries)]) == 2


def test_that_drawing_keeps_to_real_time_however_fast_the_hubs_clock_runs(qtbot: QtBot) -> None:
    """A fast demonstration must not keep the keys waiting: one drawing serves a burst of hub seconds."""
    stage = Stage(qtbot, tile())
    drawn: set[int] = set()
    for second in range(20):
        stage.page.show_moment(Moment(NOW + second * SECOND), Changes())
        picture = stage.page.trends._picture
        assert picture is not None
        drawn.add(picture.now)
    assert len(drawn) <= 2


@pytest.mark.parametrize("theme", [DAY, NIGHT], ids=["day", "night"])
def test_that_a_number_in_doubt_is_marked_in_the_table_and_said(qtbot: QtBot, theme: Theme) -> None:
    stage = Stage(qtbot, tile(), theme)
    page, pictures = stage.page, []
    for number, mark in enumerate((None, PointMark.DOUBTFUL, PointMark.UNCHECKED)):
        marks: dict[Q, frozenset[PointMark]] = {Q.PRE_OXYGENATOR_PRESSURE: frozenset({mark} if mark else ())}
        read = dict.fromkeys((Q.PRE_OXYGENATOR_PRESSURE, Q.POST_OXYGENATOR_PRESSURE), 200.0)
        delta = ReadingsDelta(
            boot="b", seq=5, bed="B7", slot=1, read_at=NOW - SECOND + number + 1, values=read, marks=marks
        )
        stage.store.readings.take(delta)
        stage.show(Changes(read=[delta]))
        kinds = {figure.label: figure.kind for figure in page.parts.numbers.figures}
        said = read_out(page.parts.numbers).description
        assert f"Pre-oxy P 200 {f'{mark} ' if mark else ''}mmHg" in said
        assert kinds["Oxy ΔP"] == (f"{mark} · computed" if mark else "computed")
        pictures.append(grey(picture(page.parts.numbers)))
    for one, two in combinations(pictures, 2):
        assert (np.abs(one - two) > 0.1).sum() > 12
