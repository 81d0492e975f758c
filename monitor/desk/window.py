"""The desk's window: header, board or bed page, footer, and the keys. It ticks four times a second."""

from collections.abc import Callable
from datetime import tzinfo
from typing import Protocol

from PySide6.QtCore import Qt, QTimer, Signal
from PySide6.QtGui import QColor, QCursor, QKeyEvent, QMouseEvent, QPalette, QResizeEvent
from PySide6.QtWidgets import QWidget

from monitor.core.drill import Drill
from monitor.desk.answering import ACT_OF_KEY, Act, Answering
from monitor.desk.bed_by_number import BedByNumber
from monitor.desk.board import ARROWS, RING_ROOM, Board
from monitor.desk.bridge import Bridge
from monitor.desk.drill.band import TestBand
from monitor.desk.flash import next_edge
from monitor.desk.footer import Footer, FooterFace
from monitor.desk.header import Header
from monitor.desk.idle import COVER_AFTER_S, Idle
from monitor.desk.kept_header import KeptHeader
from monitor.desk.key_map import KeyMap
from monitor.desk.palette import theme_named
from monitor.desk.panel import Panel
from monitor.desk.paper_words import paper_age
from monitor.desk.people import People
from monitor.desk.question import Question
from monitor.desk.rosterpage.flows import RosterFlows
from monitor.desk.rosterpage.words import told_of
from monitor.desk.session import Session
from monitor.desk.sound.face import SoundFace, SoundState
from monitor.desk.store import Changes
from monitor.desk.strip import Strip
from monitor.desk.strip_words import strip_words
from monitor.desk.tile.moment import Moment
from monitor.desk.told import told
from shared.entry.who import Enters, enters
from shared.language.saying import say
from shared.look.palette import Theme
from shared.look.sizes import frame_for

TICK_MS = 250
#: The words of a sound stand for so long at the foot.
CAPTION_S = 8.0
#: After a key or a move of the pointer no tile changes its place for so long.
HELD_S = 3.0


class BedPage(Protocol):
    """What a bed page can do besides being a widget."""

    def show_moment(self, moment: Moment, changes: Changes) -> None:
        """Show the hub's time and what has changed."""

    def take_key(self, event: QKeyEvent) -> bool:
        """Take a key that belongs to the page; false: it is the window's."""

    def set_theme(self, theme: Theme) -> None:
        """Change the colours."""


class DeskWindow(QWidget):
    """The whole desk on one screen.

    Args:
        session: the store and the way to the hub.
        bridge: where the reader thread leaves what it heard; ``None`` in a test that feeds the store itself.
        monotonic: seconds.
        zone: where written clock times are; ``None``: that of this machine.
        cover_after_s: a bed's page is covered after so long without a key or a pointer.

    Signals:
        open_bed: the page of a bed was asked for.
        changed: what a batch from the hub has changed, for the sound and for pages.
        theme_changed: day or night was chosen.
    """

    open_bed = Signal(str)
    changed = Signal(object)
    theme_changed = Signal(str)

    def __init__(
        self,
        session: Session,
        bridge: Bridge | None,
        monotonic: Callable[[], float],
        theme: str = "day",
        zone: tzinfo | None = None,
        cover_after_s: float = COVER_AFTER_S,
    ) -> None:
        super().__init__()
        self.session = session
        self.people = People(session.store)
        self._bridge = bridge
        self.monotonic = monotonic
        self._zone = zone
        self.idle = Idle(monotonic)
        self._cover_after_s = cover_after_s
        self.theme_name, self._theme = theme, theme_named(theme)
        self._sound = SoundFace(say(SoundState.NO_DEVICE.value))
        self._sound_key: Callable[[str], bool] = lambda _: False
        self._open_form: Callable[[str, str | None], str] | None = None
        self._caption: tuple[str, float] = ("", 0.0)
        self._remark: tuple[str, bool, float] = ("", False, 0.0)
        self._second: int | None = None
        self._header = KeptHeader(session.store)
        self._far, self._numbers = False, BedByNumber()
        self._factory: Callable[[str], QWidget] | None = None
        self._pages: dict[str, Callable[[], QWidget | None]] = {}
        #: The key of the page that is shown; the bed whose page is, or from whose page it was opened.
        self._page_key, self._page_bed = "", ""
        #: The key of the page that a bed's page goes back to; empty: the board.
        self.home = ""
        self.page: QWidget | None = None
        self.test = TestBand(self._theme, self)
        self.header = Header(self._theme, self)
        self.board = Board(session.store, self._theme, self)
        self.footer = Footer(self._theme, self)
        self.strip = Strip(self._theme, self)
        self.panel = Panel(self._theme, self, lambda: self.session.store.link.commands_allowed, zone)
        self.keys = KeyMap(self._theme, self)
        self.answering = Answering(session, self.people, self._ask, self.say, monotonic, zone, self._is_asking)
        self.roster = RosterFlows(session, self.people, self._ask, self.say, monotonic, self.answering.signing.who)
        self._connect()
        self._dress()

    def _connect(self) -> None:
        self.setWindowTitle("Weirkeeper")
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.panel.used.connect(self.answering.signing.used)
        self.panel.used.connect(self._used)
        self.board.in_use = lambda: self.idle.seconds < HELD_S
        self.board.answer.connect(lambda bed: self.answering.act(Act.PANEL, bed))
        self.header.chosen.connect(self.board.set_focus_bed)
        self._flash = QTimer(self)
        self._flash.setSingleShot(True)
        self._flash.setTimerType(Qt.TimerType.PreciseTimer)
        self._flash.timeout.connect(self._flash_now)
        self._ticker = QTimer(self)
        self._ticker.timeout.connect(self.tick)
        if self._bridge is not None:
            self._bridge.ready.connect(self.take_heard, Qt.ConnectionType.QueuedConnection)

    # -- for others -----------------------------------------------------------------------------------------

    def start(self) -> None:
        """Begin to tick."""
        self._ticker.start(TICK_MS)
        self.tick()

    def set_bed_page_factory(self, factory: Callable[[str], QWidget]) -> None:
        """Say how the page of a bed is made. The widget may have the methods of `BedPage`."""
        self._factory = factory

    def add_page(self, key: str, factory: Callable[[], QWidget | None]) -> None:
        """Say which page, of no bed, a key opens and closes: like `BedPage`; ``None``: it is shown elsewhere."""
        self._pages[key] = factory

    @property
    def theme(self) -> Theme:
        """The colours that are shown."""
        return self._theme

    def go_to(self, bed: str) -> None:
        """Open the page of a bed and put the focus there, for when the page is left."""
        self.board.set_focus_bed(bed)
        self.open_page(bed)

    def show_sound(self, sound: SoundFace) -> None:
        """Show how the sound stands, in the header and on the strip."""
        if sound != self._sound:
            self._sound = sound
            self._show_bars(self.moment())

    def show_caption(self, words: str) -> None:
        """Say at the foot, for a while, what a sound means. What was just answered and must be read goes first."""
        self._caption = (words, self.monotonic())
        self._show_bars(self.moment())

    def set_sound_key(self, take: Callable[[str], bool]) -> None:
        """Say who takes the keys Y and N for the start-up check of the sound; false: the key was not for it."""
        self._sound_key = take

    def set_entry_form(self, open_form: Callable[[str, str | None], str]) -> None:
        """Say how the entry form is opened for a bed and a person; it gives what is said of it."""
        self._open_form = open_form

    def show_drill(self, drill: Drill | None) -> None:
        """Lay the band of a drill over everything here, or take it away."""
        if self.test.show_drill(drill):
            self._lay_out()

    def set_still(self, still: bool) -> None:
        """Reduce motion."""
        self.board.set_still(still)

    def set_theme(self, name: str) -> None:
        """Show ``day`` or ``night``."""
        self.theme_name, self._theme = name, theme_named(name)
        for part in (self.test, self.header, self.board, self.footer, self.panel, self.keys):
            part.set_theme(self._theme)
        if self.page is not None and hasattr(self.page, "set_theme"):
            self.page.set_theme(self._theme)
        self._dress()
        self.theme_changed.emit(name)

    def moment(self) -> Moment | None:
        """Give the hub's time and the link's state; ``None`` before the hub's first word."""
        now, link = self.session.store.now(self.monotonic()), self.session.store.link.state
        return None if now is None else Moment(now, link, self._zone)

    # -- time and news --------------------------------------------------------------------------------------

    def take_heard(self) -> None:
        """Take what the reader thread left, and show what it changed."""
        if self._bridge is not None and (heard := self._bridge.drain()):
            self.take(self.session.take(heard, self.monotonic()))

    def take(self, changes: Changes) -> None:
        """Show what has changed."""
        moment = self.moment()
        if moment is None:
            return
        if changes.unit or changes.beds:  # of a snapshot all is new
            self.board.show_moment(moment, None if changes.unit else changes.beds)
        if changes.sparks:
            self.board.refresh(changes.beds)
        self.answering.signing.heed(changes)
        if changes.views or changes.commands or changes.replies:  # readings alone: with the next tick
            self._show_bars(moment)
        if changes.commands:
            self.answering.beyond.heed()
        self._show_page(moment, changes)
        if changes.views or changes.unit:  # a reading alone begins no flash and ends none
            self._flash_now()
        self.changed.emit(changes)

    def tick(self) -> None:
        """Let time pass: four times a second; whatever counts moves once a second."""
        self.take_heard()  # what lies here was heard, however long this window was held up: that is no silence
        changes = self.session.tick(self.monotonic())
        moment, anew = self.moment(), changes.unit or changes.commands
        second = None if moment is None else moment.second
        if second != self._second or anew:
            self._second = second
            if moment is not None:
                (self.board.show_moment if anew else self.board.let_pass)(moment)
                self._show_page(moment, changes)
            self._flash_now()
            if changes.unit:
                self.changed.emit(changes)
        self.answering.signing.tick()
        self.idle.heed((QCursor.pos().x(), QCursor.pos().y()))
        self._cover()
        self.panel.show_live(self.session.store.link.commands_allowed)
        self._show_bars(moment, anew=anew)

    def _used(self) -> None:
        self.idle.used()
        self._cover()

    def _cover(self) -> None:
        """Cover what is private of a bed's page while nobody is here; the board itself never blanks."""
        if self.page is not None and hasattr(self.page, "set_idle"):
            self.page.set_idle(self.idle.seconds >= self._cover_after_s)

    def _show_bars(self, moment: Moment | None, *, anew: bool = True) -> None:
        store, now = self.session.store, self.monotonic()
        self.header.show_face(self._header.face(moment, store.link.silent(now), self._sound, anew=anew))
        said, bold = told(store.commands.last(), now, self._zone, store.tiles)
        last = store.commands.last()
        is_newest = last is None or last.moved <= self._remark[2]  # what has become of an answer since goes first
        if self._remark[0] and is_newest and now - self._remark[2] < 6:
            said, bold = self._remark[:2]
        waits = list(told_of(store, moment)) if moment is not None and not said else []
        if waits:
            more = say(" · and {count} more: R", count=len(waits) - 1) if len(waits) > 1 else ""
            said, bold = f"{waits[0].left}{more}", waits[0].bold
        if not said and now - self._caption[1] < CAPTION_S:
            said = self._caption[0]
        if (unit := store.unit) is not None:
            self.show_drill(unit.drill)
        on_board = self.page is None  # what of the beds is shown, and how far back, is not said over another page
        face = FooterFace(
            simulated=unit is not None and unit.demonstration,
            told=said,
            told_bold=bold,
            pages=self.board.page_words() if on_board else "",
            pages_bold=on_board and self.board.hides_needs(),
            trends=self.board.trend_words() if on_board else "",
            who=self.people.words(),
            paper=paper_age(store, moment.now if moment is not None else None),
        )
        self.footer.show_face(face)
        self._show_strip()

    def _show_strip(self) -> None:
        store = self.session.store
        now, beyond = store.now(self.monotonic()), self.answering.beyond.strip()
        if self.strip.show_words(strip_words(store, now, self._zone, self._sound, beyond)):
            self._lay_out()

    def _show_page(self, moment: Moment, changes: Changes) -> None:
        if self.page is not None and hasattr(self.page, "show_moment"):
            self.page.show_moment(moment, changes)

    def _flash_now(self) -> None:
        """Show the phase of the flash; wake at the next edge only when something flashes."""
        store = self.session.store
        now = store.now(self.monotonic())
        if now is None:
            return
        phase = int(now / max(store.clock.speed, 1e-6))
        left = next_edge(self.board.show_phase(phase), phase)
        if left is None:
            self._flash.stop()
        else:
            self._flash.start(max(10, left))

    def _is_asking(self) -> bool:
        return self.panel.question is not None

    def _ask(self, question: Question) -> None:
        board = self.board
        self.panel.stand_beside(board.place_of(board.focus_bed).translated(board.pos()), board.y())
        self.panel.ask(question)

    def say(self, remark: str, bold: bool) -> None:
        """Say something at the foot for a while; ``bold``: somebody must act on it."""
        self._remark = (remark, bold, self.monotonic())
        self._show_bars(self.moment())

    # -- keys -----------------------------------------------------------------------------------------------

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Do what the key means; in the far layer any key only returns."""
        self.answering.signing.used()
        self._used()
        if self._far:
            self.set_far(False)
            return
        if self.panel.question is not None:  # a click beside it took the focus away: what is asked comes first
            self.panel.take_focus()
            self.panel.keyPressEvent(event)
            return
        if self.page is not None and hasattr(self.page, "take_key") and self.page.take_key(event):
            return
        key, text = event.key(), event.text().lower()
        if key in ARROWS and self.page is None:
            self.board.move_focus(*ARROWS[Qt.Key(key)])
        elif key in (Qt.Key.Key_PageDown, Qt.Key.Key_PageUp) and self.page is None:
            self.board.turn_page(1 if key == Qt.Key.Key_PageDown else -1)
            self._refresh_all()
        elif key in (Qt.Key.Key_Return, Qt.Key.Key_Enter):
            self.open_page(self.board.focus_bed)
        elif key == Qt.Key.Key_Escape:
            self._back()
        elif self._is_of_sound(text) and self._sound_key(text):
            pass
        elif text == "i":
            self.enter_round(self.board.focus_bed)
        elif text in ACT_OF_KEY:
            self.answering.act(ACT_OF_KEY[text], self.board.focus_bed)
        elif text.isdigit() and self.page is None:
            bed = self._numbers.digit(text, self.session.store.beds(), self.monotonic())
            if bed:
                self.board.set_focus_bed(bed)
                self._refresh_all()
        elif text in self._pages:
            self.toggle_page(text)
        elif text == "d":
            self.set_theme("night" if self.theme_name == "day" else "day")
        elif text == "f" and self.page is None:
            self.set_far(True)
        elif text == "?":
            self.keys.open_map()
            self.test.raise_()  # nothing lies over it
        else:
            super().keyPressEvent(event)

    def enter_round(self, bed: str) -> None:
        """Open the entry form for a bed, as whoever sits here, if they enter readings."""
        if self._open_form is None:
            self.say(say("The entry form is not opened from this desk: ./weirkeeper feeds enter"), True)
        elif not bed:
            self.say(say("Choose a bed first: its number, or the arrows."), True)
        else:
            person = self.session.store.person(self.people.name) if self.people.name else None
            may = person is not None and enters({person.role}) is not Enters.NOWHERE
            self.say(self._open_form(bed, person.name if person is not None and may else None), False)

    def _is_of_sound(self, key: str) -> bool:
        """Y is the sound's own key. N passes a need on, and answers the sound's check only where there is none."""
        return key == "y" or (key == "n" and self.answering.episode(self.board.focus_bed) is None)

    def mousePressEvent(self, event: QMouseEvent) -> None:
        """A click beside the tiles ends the far layer, is the foot's, or takes the focus; a page's bed keeps it."""
        self.answering.signing.used()
        self._used()
        if self._far:
            self.set_far(False)
        elif not self.footer.take(self.footer.mapFrom(self, event.position())) and self.page is None:
            self.board.set_focus_bed("")

    def set_far(self, far: bool) -> None:
        """Show the layer for reading across the room, or return."""
        self._far = far
        self.board.set_far(far)

    def open_page(self, bed: str) -> None:
        """Open the page of a bed."""
        if not bed:
            return
        self.idle.used()
        self.open_bed.emit(bed)
        if self._factory is not None:
            self._show_instead(self._factory(bed))
            self._page_bed = bed

    def toggle_page(self, key: str) -> None:
        """Open the page that belongs to a key, or go back from it."""
        if self._page_key == key:
            self._back()
        elif (page := self._pages[key]()) is not None:
            from_bed = self._page_bed
            self._show_instead(page)
            self._page_key, self._page_bed = key, from_bed

    def _show_instead(self, page: QWidget) -> None:
        self.close_page()
        self.page = page
        self.page.setParent(self)
        self.board.hide()
        self._lay_out()
        self.page.show()
        self._refresh_all()

    def _back(self) -> None:
        if self._page_key and self._page_bed:
            self.open_page(self._page_bed)
        elif self.page is not None:
            of_bed = not self._page_key
            self.close_page()
            self._refresh_all()
            if of_bed and self.home:
                self.toggle_page(self.home)
        else:
            self.board.set_focus_bed("")

    def close_page(self) -> None:
        """Show the board in place of a page."""
        if self.page is not None:
            self.page.hide()
            self.page.deleteLater()
            self.page = None
            self._page_key = self._page_bed = ""
            self.board.show()
            self.setFocus()

    def _refresh_all(self) -> None:
        moment = self.moment()
        if moment is not None:
            self.board.show_moment(moment)
            self._show_page(moment, Changes())
        self._show_bars(moment)
        self._flash_now()

    # -- geometry -------------------------------------------------------------------------------------------

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Lay the parts out."""
        super().resizeEvent(event)
        self._lay_out()
        self._refresh_all()

    def _lay_out(self) -> None:
        wide, high = self.width(), self.height()
        band = self.test.height_over(wide, high)
        frame = frame_for(wide, high - band)
        top = band + frame.header - RING_ROOM
        bottom = high - frame.footer + RING_ROOM
        strip = self.strip.height_over(wide)
        self.test.setGeometry(0, 0, wide, band)
        self.header.setGeometry(0, band, wide, top - band)
        self.strip.setGeometry(0, top, wide, strip)
        self.board.setGeometry(0, top + strip, wide, bottom - top - strip)
        if self.page is not None:
            self.page.setGeometry(0, top + strip, wide, bottom - top - strip)
        self.footer.setGeometry(0, bottom, wide, high - bottom)

    def _dress(self) -> None:
        palette = QPalette(self.palette())
        palette.setColor(QPalette.ColorRole.Window, QColor(self._theme.ground))
        self.setPalette(palette)
        self.strip.set_theme(self._theme)
