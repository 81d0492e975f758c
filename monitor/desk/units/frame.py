"""The frame round several units' windows: a band that names all of them, the order of need, one window at a time.

Each unit's window is the one that a review of it alone would be, on its own client, store and session. The frame
adds no word to any hub; what it lists it takes from those windows, and what is answered is answered in them.
"""

from collections.abc import Callable, Sequence

from PySide6.QtCore import Qt, QTimer
from PySide6.QtGui import QColor, QKeyEvent, QMouseEvent, QPalette, QResizeEvent
from PySide6.QtWidgets import QWidget

from monitor.desk.answering import ACT_OF_KEY, Act
from monitor.desk.board import RING_ROOM
from monitor.desk.footer import Footer, FooterFace
from monitor.desk.key_map import KeyMap
from monitor.desk.sound.face import SoundFace, SoundState
from monitor.desk.store import Changes
from monitor.desk.strip import Strip
from monitor.desk.units.band import ALL, UnitsBand, band_height, block_of
from monitor.desk.units.page import UnitsPage
from monitor.desk.units.strip import strip_of
from monitor.desk.units.words import names_of
from monitor.desk.window import CAPTION_S, TICK_MS, DeskWindow
from shared.language.saying import say
from shared.look.sizes import frame_for

#: What is opened in the unit of the line in focus, besides its board (J) and who sits there (U).
_PAGES = frozenset("rlpovxbe")


class UnitsFrame(QWidget):
    """One window on the screen for all units.

    Args:
        windows: one a unit, in the order of the command line.
        monotonic: seconds.
    """

    def __init__(self, windows: Sequence[DeskWindow], monotonic: Callable[[], float]) -> None:
        super().__init__()
        self.windows = tuple(windows)
        self._monotonic = monotonic
        self._sound = SoundFace(say(SoundState.NO_DEVICE.value))
        self._sound_key: Callable[[str], bool] = lambda _: False
        self._caption: tuple[str, float] = ("", 0.0)
        #: The place of the unit whose window is shown, or `ALL`.
        self.shown = ALL
        theme = windows[0].theme
        self.band = UnitsBand(theme, self)
        self.page = UnitsPage(windows, self.show_unit)
        self.page.setParent(self)
        self.footer = Footer(theme, self)
        self.strip = Strip(theme, self)
        self.keys = KeyMap(theme, self)
        for place, window in enumerate(self.windows):
            window.setParent(self)
            window.hide()
            window.home = "j"
            window.add_page("j", self.show_list)
            window.changed.connect(lambda changes, place=place: self._heard(place, changes))
            window.theme_changed.connect(self.set_theme)
        self.band.chosen.connect(lambda place: self.show_list() if place == ALL else self.show_unit(place))
        self.setWindowTitle("Weirkeeper")
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self._ticker = QTimer(self)
        self._ticker.timeout.connect(self.tick)
        self._dress()

    # -- for others -----------------------------------------------------------------------------------------

    def start(self) -> None:
        """Begin to tick, in every window too."""
        for window in self.windows:
            window.start()
        self._ticker.start(TICK_MS)
        self.tick()

    def show_sound(self, sound: SoundFace) -> None:
        """Show how the sound of this desk stands, in every window."""
        self._sound = sound
        for window in self.windows:
            window.show_sound(sound)

    def show_caption(self, words: str) -> None:
        """Say at the foot, for a while, what a sound means, whichever unit is shown."""
        self._caption = (words, self._monotonic())
        for window in self.windows:
            window.show_caption(words)

    def set_sound_key(self, take: Callable[[str], bool]) -> None:
        """Say who takes the keys Y and N for the start-up check of the sound."""
        self._sound_key = take
        for window in self.windows:
            window.set_sound_key(take)

    def set_theme(self, name: str) -> None:
        """Show ``day`` or ``night`` everywhere."""
        for window in self.windows:
            if window.theme_name != name:
                window.set_theme(name)
        theme = self.windows[0].theme
        for part in (self.band, self.page, self.footer, self.keys):
            part.set_theme(theme)
        self._dress()

    # -- what is shown --------------------------------------------------------------------------------------

    def show_list(self) -> None:
        """Show the order of need over all units, and ask what is new."""
        self.page.ask_anew()
        self._show(ALL)

    def show_unit(self, place: int, bed: str = "") -> None:
        """Show the window of a unit, with the page of a bed or the board."""
        self._show(place)
        if bed:
            self.windows[place].go_to(bed)

    def _show(self, place: int) -> None:
        self.shown = place
        for number, window in enumerate(self.windows):
            window.setVisible(number == place)
            if number != place:
                window.close_page()  # what nobody sees asks nothing, and counts as no look
        for part in (self.page, self.footer):
            part.setVisible(place == ALL)
        self.tick()
        (self if place == ALL else self.windows[place]).setFocus()

    def _heard(self, place: int, changes: Changes) -> None:
        self.page.heard(place, changes)
        self.tick()

    def tick(self) -> None:
        """Show how every unit stands now."""
        names, now = names_of([window.session.store for window in self.windows]), self._monotonic()
        said = [(window.footer.face.told, window.footer.face.told_bold) for window in self.windows]
        blocks = []
        for name, window, (text, bold) in zip(names, self.windows, said, strict=True):
            store = window.session.store
            window.panel.of = window.footer.of = name
            blocks.append(block_of(name, store, window.moment(), store.link.silent(now), text if bold else ""))
        self.band.show_blocks(blocks, self.shown)
        if self.shown != ALL:
            return
        self.page.look()
        told = [(f"{name}: {text}", bold) for name, (text, bold) in zip(names, said, strict=True) if text]
        words, bold = max(told, key=lambda one: one[1], default=("", False))
        if self._caption[0] and now - self._caption[1] < CAPTION_S and not bold:
            words = self._caption[0]
        stores = [window.session.store for window in self.windows]
        simulated = any(store.unit is not None and store.unit.demonstration for store in stores)
        place = self.page.unit_in_focus
        who = f"{names[place]}: {self.windows[place].people.words()}"
        self.footer.show_face(FooterFace(simulated=simulated, told=words, told_bold=bold, trends="", who=who))
        text = "   ".join(filter(None, (self._sound.strip, *map(strip_of, names, self.windows))))
        if self.strip.show_words(text):
            self._lay_out()

    # -- keys -----------------------------------------------------------------------------------------------

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Do what the key means on the list; a window that is shown has its own keys."""
        if self.shown != ALL or self.page.take_key(event):
            return
        for one in self.windows:
            one.answering.signing.used()
        text, place = event.text().lower(), self.page.unit_in_focus
        window = self.windows[place]
        if text == "j":
            self.show_unit(place)
        elif ACT_OF_KEY.get(text) is Act.WHO:
            self.show_unit(place)
            window.answering.signing.who(self.show_list)
        elif text and text in _PAGES:
            self.show_unit(place)
            window.toggle_page(text)
        elif text in ("y", "n"):
            self._sound_key(text)
        elif text == "d":
            self.set_theme("night" if window.theme_name == "day" else "day")
        elif text == "?":
            self.keys.open_map()

    def mousePressEvent(self, event: QMouseEvent) -> None:
        """Take a press just above the foot as one on it."""
        self.footer.take(self.footer.mapFrom(self, event.position()))

    # -- geometry -------------------------------------------------------------------------------------------

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Lay the parts out."""
        super().resizeEvent(event)
        self._lay_out()

    def _lay_out(self) -> None:
        wide, high = self.width(), self.height()
        bottom = high - frame_for(wide, high).footer + RING_ROOM
        band = band_height(wide, high)
        strip = self.strip.height_over(wide)
        top = band + strip
        self.band.setGeometry(0, 0, wide, band)
        self.strip.setGeometry(0, band, wide, strip)
        self.page.setGeometry(0, top, wide, bottom - top)
        self.footer.setGeometry(0, bottom, wide, high - bottom)
        for window in self.windows:
            window.setGeometry(0, band, wide, high - band)

    def _dress(self) -> None:
        theme = self.windows[0].theme
        palette = QPalette(self.palette())
        palette.setColor(QPalette.ColorRole.Window, QColor(theme.ground))
        self.setPalette(palette)
        self.strip.set_theme(theme)
