"""The page of one bed: it gathers the parts, fetches the past, and keeps them up with what the hub says."""

import math
import uuid
from collections.abc import Callable

from PySide6.QtCore import QRect, Qt
from PySide6.QtGui import QHideEvent, QKeyEvent, QPalette, QResizeEvent
from PySide6.QtWidgets import QWidget

from monitor.core.bed_commands import LookedAt
from monitor.core.grades import Priority
from monitor.core.meaning.view import Meaning
from monitor.core.point_marks import JOIN_MS
from monitor.core.view import RunView, TileView
from monitor.core.wire import AskEntries, AskHistory, AskMeaning, Entries, GiveCommand, History, Meant
from monitor.desk.answering import ACT_OF_KEY, Act, Answering
from monitor.desk.bedpage import dense, layout, narrow, slim
from monitor.desk.bedpage.acts_bar import ActsBar
from monitor.desk.bedpage.ages_card import AgesCard, ages_lines
from monitor.desk.bedpage.card import Card
from monitor.desk.bedpage.covers import Covers
from monitor.desk.bedpage.events import EventsCard
from monitor.desk.bedpage.figures import BESIDES, figures_of
from monitor.desk.bedpage.head import Head, head_face
from monitor.desk.bedpage.layout import Shape
from monitor.desk.bedpage.meaning_parts import EVENTS, STANDS, TRENDS, MeaningParts
from monitor.desk.bedpage.panels import panels_of, quantities_of
from monitor.desk.bedpage.past import WINDOWS, Past
from monitor.desk.bedpage.responsibility import ResponsibilityCard
from monitor.desk.bedpage.rows_card import Row
from monitor.desk.bedpage.standing_card import StandingCard
from monitor.desk.bedpage.trend_marks import marks_of
from monitor.desk.bedpage.trend_tab import TrendTab
from monitor.desk.bedpage.trends import TrendPicture, Trends
from monitor.desk.bedpage.windows import WindowsCard
from monitor.desk.device_words import device_lines, told_ages
from monitor.desk.link_state import LinkState
from monitor.desk.menu.table import paths_of
from monitor.desk.need import leading
from monitor.desk.palette import qcolor
from monitor.desk.session import Session
from monitor.desk.standing import Line, standing_lines
from monitor.desk.stopwatch import Stopwatch
from monitor.desk.store import Changes, Store
from monitor.desk.tile.compose import compose
from monitor.desk.tile.moment import Moment
from monitor.desk.tile.need_words import staff_picture
from monitor.desk.tile.numbers import Numbers
from monitor.desk.veil import Veil
from shared.instant import SECOND, Instant
from shared.language.saying import say
from shared.look.palette import Theme
from shared.messages import Origin
from shared.quantities import Quantity

#: In real time, not the hub's: a demonstration's clock may run fast, and keys must not wait for drawing.
_DRAW_EVERY_MS = 1_000
_ENTRIES = 300
#: So many of the last events stand on a dense page whatever else does.
_EVENTS = 5
#: Who had a page open for less than this has not looked.
_LOOKED_AFTER_MS = 3_000
#: What was read late (a feed resends what was lost) comes with the history: it is asked for again this often.
_ASK_AGAIN_MS = 60_000
#: In real time: entries that are not answered for are asked for again.
_LOST_MS = 5_000
#: Over a thin line the last of it is asked for this often: between the readings that are told lie others.
_ASK_LAST_MS = 10_000
#: In real time too: what the numbers mean is worked out anew when it is asked for.
_MEANING_EVERY_MS = 5_000
#: Over a thin line: a 24 h trend has up to 30 kB, what the numbers mean 6 kB. A change of alerts does not wait.
_ASK_AGAIN_LEAN_MS, _MEANING_LEAN_MS = 300_000, 20_000
#: The window that a page opens with: what was read lately; of a bed entered by hand, its last rounds.
_USUAL_WINDOW, _WINDOW_BY_HAND = "3", "4"
_STEPS = {Qt.Key.Key_Left: -1, Qt.Key.Key_Right: 1}
_UP_DOWN = {Qt.Key.Key_Up: -1, Qt.Key.Key_Down: 1}
_PAGES = {Qt.Key.Key_PageUp: -1, Qt.Key.Key_PageDown: 1}


class BedPage(QWidget):
    """One bed in full.

    Args:
        go: opens the page of another bed.
    """

    def __init__(
        self, bed: str, session: Session, answering: Answering, theme: Theme, go: Callable[[str], None]
    ) -> None:
        super().__init__()
        self.bed = bed
        self._session = session
        self._answering = answering
        self._theme = theme
        self._go = go
        self._slot = 0
        tile = session.store.tiles.get(bed)
        opens_with = _WINDOW_BY_HAND if tile is not None and tile.origin is Origin.ENTERED else _USUAL_WINDOW
        self._past = Past(WINDOWS[opens_with])
        self._request = self._last_request = ""
        self._entries_request = ""
        self._meaning_request = ""
        self._entries_asked = Stopwatch(answering.monotonic)
        self.meaning: Meaning | None = None
        self._meant = Stopwatch(answering.monotonic)
        #: The bed's alerts when that was last asked.
        self._meant_with: tuple[int, ...] = ()
        self._drawn = Stopwatch(answering.monotonic)
        opened = Stopwatch(answering.monotonic)
        opened.start()
        #: How long the page has been open, in ms.
        self.opened_for: Callable[[], int] = opened.elapsed
        self._asked_at = self._asked_last_at = 0
        self.head = Head(theme)
        self.windows = WindowsCard(theme, opens_with, self.choose_window)
        self.trends = Trends(theme)
        self.parts = MeaningParts(theme, session.store.label)
        self.who = ResponsibilityCard(theme, self._act, bed)
        self.events = EventsCard(theme, session.store.label)
        self.parts.deck.add(EVENTS, say("Events"), self.events)
        self.trend_tab = TrendTab(theme, self.windows, self.trends, self._redraw)
        self.parts.add_trends(self.trend_tab)
        self.standing = StandingCard(theme)
        self.parts.deck.add(STANDS, say("Stands"), self.standing)
        self.ages = AgesCard(theme)
        self._wants = dense.Wants(0, 0, 0, 0)
        self.acts = ActsBar(theme, lambda item: answering.write_down(bed, item))
        parts = self.parts
        for part in (*self._cards(), parts.changes, parts.deck, parts.point, parts.pattern, self.trends):
            part.setParent(self)
        self.covers = Covers(theme, self)
        self.veil = Veil(theme, self)
        self.trends.read_out.connect(lambda _: self._redraw())
        self._moment: Moment | None = None
        self._dress()

    # -- what the window tells ------------------------------------------------------------------------------

    def show_moment(self, moment: Moment, changes: Changes) -> None:
        """Show the bed as it stands; take what has come for it."""
        self._moment = moment
        self.veil.lay(moment.veiled)
        tile = self._session.store.tiles.get(self.bed)
        if tile is None:
            return
        if changes.snapshot or not self._entries_request or self._entries_asked.has_expired(_LOST_MS):
            self._ask_entries()  # what was written before a snapshot was perhaps never told here
        self._past.by_hand = tile.origin is Origin.ENTERED
        if changes.past:
            self._past = self._past.blank()
        again = _ASK_AGAIN_LEAN_MS if self._session.lean else _ASK_AGAIN_MS
        if changes.snapshot or changes.past or moment.now - self._asked_at >= again:
            self._ask_past()
        elif self._session.lean and moment.now - self._asked_last_at >= _ASK_LAST_MS:
            self._ask_last()
        if self._meaning_is_due(tile):
            self._ask_meaning()
        self._take(changes)
        store = self._session.store
        self.head.show_face(head_face(compose(tile, store, moment), tile, store, moment))
        self.who.show_need(leading(tile), staff_picture(tile, moment), store, moment, store.link.commands_allowed)
        self.acts.show_paths(paths_of(tile), store.link.commands_allowed)
        ages_apart = self._shape is Shape.DENSE
        other = self.standing.show_lines(_stands(tile, store, moment, ages_apart=ages_apart))
        run = self._run(tile)
        if run is not None:
            foot, besides = self._foot(tile, moment), BESIDES if ages_apart else frozenset[Quantity]()
            figures = figures_of(tile, run, store, moment, besides=besides)
            self.parts.numbers.show_figures(figures, "" if ages_apart else foot)
            self.ages.show_lines(ages_lines(run, moment, foot))
            rows = tuple(Row("", line.text, line.bold) for line in device_lines(tile, run, store, moment))
            self.parts.devices.show_rows(rows, "")
            self._show_meaning(tile, run, moment)
        if other or (self._shape is Shape.DENSE and self._wanted() != self._wants):
            self._lay_out()
        if changes.replies or not self._drawn.is_running() or self._drawn.has_expired(_DRAW_EVERY_MS):
            self._redraw()

    def set_idle(self, idle: bool) -> None:
        """Cover what is private while nobody is at the desk, unless the bed has a high alert."""
        tile = self._session.store.tiles.get(self.bed)
        is_high = tile is not None and any(one.priority is Priority.HIGH and not one.over for one in tile.episodes)
        self.covers.show(idle and not is_high)

    def set_theme(self, theme: Theme) -> None:
        """Show in another theme."""
        self._theme = theme
        self.covers.set_theme(theme)
        self.veil.set_theme(theme)
        for part in self._cards():
            part.set_theme(theme)
        self.parts.set_theme(theme)
        self.trends.set_theme(theme)
        self.trend_tab.turner.set_theme(theme)
        self._dress()
        self._redraw()

    def take_key(self, event: QKeyEvent) -> bool:
        """Take a key that belongs to this page; false: it is the window's."""
        key, text = event.key(), event.text()
        if text in WINDOWS:
            self.choose_window(text)
        elif key in _STEPS:
            self.trends.step(_STEPS[Qt.Key(key)], self._past)
        elif key == Qt.Key.Key_Home:
            self.trends.away()
        elif key in _PAGES:
            beds = self._session.store.beds()
            if self.bed in beds:
                self._go(beds[(beds.index(self.bed) + _PAGES[Qt.Key(key)]) % len(beds)])
        elif (key in _UP_DOWN and self.parts.step(_UP_DOWN[Qt.Key(key)])) or (
            text and self.parts.deck.choose(text.upper())
        ):
            self._redraw()
        elif text.lower() == "p":
            self._other_pump()
        elif text.lower() in ACT_OF_KEY:
            self._act(ACT_OF_KEY[text.lower()])
        else:
            return False
        return True

    def choose_window(self, key: str) -> None:
        """Show another stretch of time, by its key."""
        self._past = Past(WINDOWS[key])
        self.windows.choose(key)
        self.parts.deck.choose(TRENDS)
        self.trends.away()
        self._ask_past()

    # -- the past -------------------------------------------------------------------------------------------

    def _ask_past(self) -> None:
        tile = self._session.store.tiles.get(self.bed)
        run = self._run(tile) if tile is not None else None
        if run is None or self._moment is None:
            return
        now = self._asked_at = self._asked_last_at = self._moment.now
        self._request, self._last_request = f"page:{uuid.uuid4().hex[:16]}", ""
        self._session.ask(self._history(self._request, run, max(0, now - self._past.window_ms), now))

    def _ask_last(self) -> None:
        """Ask for what was read since it was last asked for, with the column in which that begins."""
        tile = self._session.store.tiles.get(self.bed)
        run = self._run(tile) if tile is not None else None
        if run is None or self._moment is None or self._moment.link is not LinkState.LIVE:
            return
        begin, width = self._asked_last_at - _ASK_LAST_MS, self._past.width_ms
        now = self._asked_last_at = self._moment.now
        self._last_request = f"page:{uuid.uuid4().hex[:16]}"
        self._session.ask(self._history(self._last_request, run, begin // width * width, now))

    def _history(self, request: str, run: RunView, begin: Instant, end: Instant) -> AskHistory:
        return AskHistory(
            request=request,
            bed=self.bed,
            slot=run.description.slot,
            quantities=quantities_of(panels_of(run)),
            begin=begin,
            end=end,
            width_ms=self._past.width_ms,
        )

    def _ask_entries(self) -> None:
        self._entries_asked.start()
        self._entries_request = f"page:{uuid.uuid4().hex[:16]}"
        self._session.ask(AskEntries(request=self._entries_request, bed=self.bed, most=_ENTRIES))

    def _meaning_is_due(self, tile: TileView) -> bool:
        if not self._meant.is_running():
            return True
        waits = self._session.lean and _alerts_of(tile) == self._meant_with
        return self._meant.has_expired(_MEANING_LEAN_MS if waits else _MEANING_EVERY_MS)

    def _ask_meaning(self) -> None:
        self._meant.start()
        tile = self._session.store.tiles.get(self.bed)
        run = self._run(tile) if tile is not None else None
        if run is None or tile is None:
            self.meaning = None
            return
        self._meant_with = _alerts_of(tile)
        self._meaning_request = f"page:{uuid.uuid4().hex[:16]}"
        person = self._answering.person
        self._session.ask(
            AskMeaning(request=self._meaning_request, bed=self.bed, slot=run.description.slot, person=person)
        )

    def _take(self, changes: Changes) -> None:
        for reply in changes.replies:
            if isinstance(reply, History) and reply.request in (self._request, self._last_request):
                self._past.merge(reply.series)
            elif isinstance(reply, Entries) and reply.request == self._entries_request:
                self._entries_asked.invalidate()
                self.events.begin(reply.entries)
            elif isinstance(reply, Meant) and reply.request == self._meaning_request:
                self.meaning = reply.meaning
        for entry in changes.entries:
            if entry.bed == self.bed:
                self.events.add(entry)
        tile = self._session.store.tiles.get(self.bed)
        run = self._run(tile) if tile is not None else None
        for delta in changes.read:
            if run is not None and (delta.bed, delta.slot) == (self.bed, run.description.slot):
                self._past.take(delta)

    def _foot(self, tile: TileView, moment: Moment) -> str:
        """Say below the numbers how long battery and gas would last, and that there is another pump."""
        power = self.meaning.power if self.meaning is not None and not moment.veiled else None
        other = say("{count} pumps: key P shows the other", count=len(tile.runs)) if len(tile.runs) > 1 else ""
        return " · ".join(part for part in (other, power.fails_now if power is not None else "") if part)

    def _show_meaning(self, tile: TileView, run: RunView, moment: Moment) -> None:
        self.parts.show(
            self.meaning,
            run,
            self.events.entries,
            self._answering.person,
            moment.zone,
            live=not moment.veiled,
            by_hand=tile.origin is Origin.ENTERED,
            stale=tile.stale,
        )

    # -- drawing --------------------------------------------------------------------------------------------

    def _redraw(self) -> None:
        tile = self._session.store.tiles.get(self.bed)
        run = self._run(tile) if tile is not None else None
        if tile is None or run is None or self._moment is None:
            return
        self._drawn.start()
        by_hand = tile.origin is Origin.ENTERED
        looked = self.meaning.looked if self.meaning is not None else None
        interval = round(tile.interval_s * SECOND)
        high = self._shape is Shape.SLIM or self.trends.room >= layout.LEAST_TRENDS
        picture = TrendPicture(
            panels=self.trend_tab.chosen(panels_of(run, high, close=self._shape is not Shape.WIDE)),
            run=run,
            now=self._moment.now,
            by_hand=by_hand,
            least_gap_ms=JOIN_MS if by_hand else max(3 * interval, 45 * SECOND, 2 * self._past.width_ms),
            live=not tile.stale and not self._moment.veiled,
            marks=marks_of(self.events.entries, run.description.slot, self._session.store.label),
            looked_at=looked.at if looked is not None else None,
            zone=self._moment.zone,
            stale=self._stale(tile, run, self._moment),
        )
        self.events.set_zone(self._moment.zone)
        self.trends.draw(self._past, picture)

    def _stale(self, tile: TileView, run: RunView, moment: Moment) -> frozenset[Quantity]:
        """Give what of the trends the numbers show as lost."""
        newest = {
            quantity: self._session.store.readings.latest(self.bed, run.description.slot, quantity)
            for quantity in quantities_of(panels_of(run))
        }
        old = moment.second - round(tile.stale_after_s * SECOND)
        return frozenset(quantity for quantity, one in newest.items() if one is None or one.read_at <= old)

    def _run(self, tile: TileView) -> RunView | None:
        if not tile.runs:
            return None
        return tile.runs[self._slot % len(tile.runs)]

    def _other_pump(self) -> None:
        tile = self._session.store.tiles.get(self.bed)
        if tile is not None and len(tile.runs) > 1:
            self._slot += 1
            self._past = self._past.blank()
            self.meaning = None
            self._ask_past()
            self._ask_meaning()
            if self._moment is not None:
                self.show_moment(self._moment, Changes())

    def _act(self, act: Act) -> None:
        self._answering.act(act, self.bed)

    # -- geometry -------------------------------------------------------------------------------------------

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Lay the parts out."""
        super().resizeEvent(event)
        self._lay_out()

    def hideEvent(self, event: QHideEvent) -> None:
        """Leave: whoever is signed in has looked at this bed."""
        super().hideEvent(event)
        person = self._answering.person
        looked = self.opened_for() >= _LOOKED_AFTER_MS
        if person is not None and looked and self._session.store.link.commands_allowed:
            look = LookedAt(id=uuid.uuid4().hex, person=person, bed=self.bed)
            self._session.ask(GiveCommand(command=look, session=self._session.token))

    def _lay_out(self) -> None:
        wide, high = self.width(), self.height()
        is_slim, close = self._shape is Shape.SLIM, self._shape in layout.CLOSE
        self.who.slim = self.head.slim = is_slim
        for part in (self.head, self.windows, self.standing, self.who, self.events):
            part.dense = close
        self.trends.set_dense(close)
        self.parts.offer(self._shape)
        room = self._room(wide, high)
        for widget, place in (
            (self.head, room.head),
            (self.parts.changes, room.changes),
            (self.ages, room.ages),
            (self.parts.deck, room.deck),
            (self.who, room.who),
            (self.acts, room.acts),
        ):
            widget.setGeometry(place)
        if is_slim:
            self.trend_tab.hold()
        else:
            self._stand_apart(self.windows, room.windows)
            self._stand_apart(self.trends, room.trends)
            self._stand_apart(self.standing, room.standing)
            self.standing.setVisible(not room.standing.isEmpty())
        if room.shape not in (Shape.NARROW, Shape.SLIM):
            self._stand_apart(self.events, room.events)
        self.ages.setVisible(not room.ages.isEmpty())
        self.acts.setVisible(not room.acts.isEmpty())
        self.acts.lay_out()
        if not room.tabs.isEmpty():
            self.parts.deck.strip.setGeometry(room.tabs)
        if room.shape in (Shape.WIDE, Shape.DENSE):
            self._stand_apart(self.parts.point, room.point)
            self._stand_apart(self.parts.pattern, room.pattern)
        self.covers.lay_out(room)

    def _stand_apart(self, card: QWidget, place: QRect) -> None:
        """Let a card that is a tab on other pages stand by itself."""
        card.setParent(self)
        card.setGeometry(place)
        card.show()

    @property
    def _shape(self) -> Shape:
        return layout.shape_of(self.width(), self.height())

    def _room(self, wide: int, high: int) -> layout.Room:
        if self._shape is Shape.DENSE:
            self._wants = self._wanted()
            return dense.dense_room(wide, high, self._wants)
        if self._shape is Shape.SLIM:
            return slim.slim_room(wide, high)
        if self._shape is Shape.NARROW:
            return narrow.narrow_room(
                wide, high, math.ceil(self.standing.wanted(narrow.trends_width(wide), titled=False))
            )
        most = layout.most_for_standing(high)
        wanted = self.standing.wanted(layout.left_width(wide), titled=most >= layout.TITLED)
        return layout.room_of(wide, high, min(round(wanted), most))

    def _wanted(self) -> dense.Wants:
        """Say what the cards of a dense page need for what they show now."""
        columns = dense.columns_of(self.width())
        heights = (
            self.standing.wanted(columns.trends, titled=False),
            self.ages.wanted(columns.trends),
            self.parts.pattern.wanted(columns.meaning),
            self.events.wanted(columns.people, _EVENTS),
        )
        return dense.Wants(*(math.ceil(one) for one in heights))

    def _cards(self) -> tuple[Card, ...]:
        return (self.head, self.windows, self.standing, self.ages, self.who, self.events, self.acts)

    def _dress(self) -> None:
        palette = QPalette(self.palette())
        palette.setColor(QPalette.ColorRole.Window, qcolor(self._theme.ground))
        self.setPalette(palette)
        self.setAutoFillBackground(True)


def _alerts_of(tile: TileView) -> tuple[int, ...]:
    return tuple(alert.id for episode in tile.episodes for alert in episode.alerts)


def _stands(tile: TileView, store: Store, moment: Moment, *, ages_apart: bool) -> tuple[Line, ...]:
    """``ages_apart``: the page says elsewhere which device is due."""
    told = tuple(told_ages(tile, moment))
    if ages_apart and len(tile.runs) == 1:  # of another pump they stand nowhere else
        told = tuple(line for line in told if line.bold)
    return (*standing_lines(tile, store, moment, _battery(tile, store, moment)), *told)


def _battery(tile: TileView, store: Store, moment: Moment) -> str:
    """The minutes of the battery in words, where the bed lives on it."""
    power = Numbers(tile, store, moment).power() if tile.runs else None
    return (
        say("battery {words}", words=power.words)
        if power is not None and power.on_mains is False and power.words
        else ""
    )
