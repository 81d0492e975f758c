"""The frame round a live window that lets people practise: the live unit first, a drill only where it wants nobody.

The drill has a window of its own, on its own hub, store, session and sign-in; neither window knows the other, and
keys go to the one that is shown. Nothing of a drill is told to the live hub.
"""

from collections.abc import Callable, Sequence

from PySide6.QtCore import Qt, QTimer
from PySide6.QtGui import QColor, QKeyEvent, QPalette, QResizeEvent
from PySide6.QtWidgets import QWidget

from monitor.core.drill import Drill
from monitor.desk.drill.band import TestBand
from monitor.desk.drill.done_page import WAITING, DonePage
from monitor.desk.drill.given import DrillRuns
from monitor.desk.drill.live import live_call
from monitor.desk.drill.live_line import LiveLine
from monitor.desk.drill.offer import Offer
from monitor.desk.drill.resting import Resting
from monitor.desk.drill.state import DrillEvent, DrillState, Standing
from monitor.desk.drill.words import gone_words, line_words
from monitor.desk.footer import Footer
from monitor.desk.palette import theme_named
from monitor.desk.session import Session
from monitor.desk.sound.face import SoundFace
from monitor.desk.store import Changes
from monitor.desk.strip import Strip
from monitor.desk.unit_desk import HubGiven, UnitDesk
from monitor.desk.window import CAPTION_S, TICK_MS, DeskWindow
from shared.cautions import SECOND_LOOK
from shared.errors import WeirkeeperError
from shared.language.saying import say, to_say
from shared.look.palette import Theme

#: What a drill's header says of sound: whatever sounds at this desk is live.
NO_SOUND = to_say("No sound in a drill")
NO_ROUNDS = to_say("No rounds are typed in a drill: its beds are read by a simulated feed.")
_S, _E = DrillState, DrillEvent


class DrillFrame(QWidget):
    """One window on the screen: the live desk's, a drill's, or what was done in it.

    Args:
        live: the window of the unit's own desk; ``None``: nobody is watched here, and the drill has the whole room.
        runs: puts drills together.
        monotonic: seconds.
        open_desk: makes the desk of a drill at its hub, in a theme.
    """

    def __init__(
        self,
        live: DeskWindow | None,
        runs: DrillRuns,
        monotonic: Callable[[], float],
        open_desk: Callable[[HubGiven, str], UnitDesk],
        theme: str = "day",
    ) -> None:
        super().__init__()
        self.live, self._runs, self._monotonic, self._open_desk = live, runs, monotonic, open_desk
        self._theme_name = theme if live is None else live.theme_name
        self.standing = Standing()
        self.drill: UnitDesk | None = None
        self._of: Drill | None = None
        self._gone, self._is_asked = "", False
        self._caption: tuple[str, float] = ("", 0.0)
        self.strip = Strip(self.theme, self)
        self.line, self.band = LiveLine(self.theme, self), TestBand(self.theme, self)
        self.done, self.resting = DonePage(self.theme, self), Resting(self)
        self.offer = Offer(live, runs, self._begin) if live is not None else None
        self.line.pressed.connect(self._look_at_live)
        if live is not None:
            live.setParent(self)
            live.changed.connect(self._heard)
            live.theme_changed.connect(self.set_theme)
        self._ticker = QTimer(self)
        self._ticker.timeout.connect(self.tick)
        self.setWindowTitle("Weirkeeper")
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self._dress()
        self._show()

    @property
    def theme(self) -> Theme:
        """The colours that are shown."""
        return theme_named(self._theme_name)

    # -- for others -----------------------------------------------------------------------------------------

    @property
    def state(self) -> DrillState:
        """How a drill stands here."""
        return self.standing.state

    @property
    def footer(self) -> Footer:
        """The foot of the desk that is always there."""
        window = self.live if self.live is not None else self.drill.window if self.drill is not None else None
        return window.footer if window is not None else Footer(self.theme, self)

    @property
    def session(self) -> Session | None:
        """The session of the desk that is shown; none before a drill has begun where nobody is watched."""
        if self.live is not None:
            return self.live.session
        return self.drill.session if self.drill is not None else None

    def start(self) -> None:
        """Begin to tick; where nobody is watched the drill begins at once."""
        if self.live is not None:
            self.live.start()
        self._ticker.start(TICK_MS)
        self.tick()

    def begin_when_heard(self, course: str) -> None:
        """Offer a drill once the live unit is heard; where nobody is watched begin it now.

        Raises:
            WeirkeeperError, OSError: it cannot begin.
        """
        if self.live is not None:
            self._is_asked = True
            return
        self.standing.turn(_E.ASKED)
        self._open(course, ())

    def show_sound(self, sound: SoundFace) -> None:
        """Show how the sound of this desk stands, which is that of the live unit alone."""
        if self.live is not None:
            self.live.show_sound(sound)

    def show_caption(self, words: str) -> None:
        """Say what a sound means: at the foot of the live window, and in the line while that is not seen."""
        self._caption = (words, self._monotonic())
        if self.live is not None:
            self.live.show_caption(words)

    def set_sound_key(self, take: Callable[[str], bool]) -> None:
        """Say who takes the keys of the sound's check."""
        if self.live is not None:
            self.live.set_sound_key(take)

    def set_theme(self, name: str) -> None:
        """Show ``day`` or ``night`` everywhere."""
        self._theme_name = name
        windows = [self.live, self.drill.window if self.drill is not None else None]
        for window in windows:
            if window is not None and window.theme_name != name:
                window.set_theme(name)
        for part in (self.line, self.band, self.done):
            part.set_theme(self.theme)
        self._dress()

    def leave(self) -> None:
        """End a drill that is there, as the desk is closed."""
        if self.state in (_S.RUNNING, _S.ASIDE):
            self._turn(_E.STOPPED, say("the desk was closed"))

    # -- what happens ---------------------------------------------------------------------------------------

    def calls(self) -> str:
        """Say why the live unit wants the desk now; empty: it does not."""
        return "" if self.live is None else live_call(self.live.session.store, self.live.moment())

    def _heard(self, changes: Changes) -> None:
        if changes.views or changes.snapshot or changes.unit:
            self.tick()

    def tick(self) -> None:
        """Look at the live unit first, then at the drill."""
        calls = self.calls()
        if self._is_asked and self.live is not None and self.live.moment() is not None:
            self._is_asked = False
            self._ask()
        if calls and self.state in (_S.OFFERED, _S.RUNNING, _S.ENDED):
            self._turn(_E.LIVE_CALLS, calls)
        if self.state in (_S.RUNNING, _S.ASIDE) and (gone := self._runs.gone()):
            store = self.drill.session.store if self.drill is not None else None
            at = store.now(self._monotonic()) if store is not None else None
            self._gone = gone_words(gone, at, self.live is not None)
            self._turn(_E.FAILED, self._gone)
        if self.state is _S.OFFERED and self.offer is not None and not self.offer.is_asking:
            self._turn(_E.LEFT, say("nobody begins it"))
        if self.state is _S.ENDED:
            self.done.show_lines(self._lines())
        if self.live is not None and self.state is not _S.NONE:
            step = self.offer.step if self.offer is not None else ""
            said = line_words(self.state, self.standing.why, calls, not self.resting.isHidden(), step)
            heard = self._caption[0] if self._monotonic() - self._caption[1] < CAPTION_S else ""
            is_hidden = not self.live.isVisible()
            self.line.show_live(self.live, self._monotonic(), (heard, *said) if heard and is_hidden else said)
            self._show_strip(self.live.strip.text() if is_hidden else "")

    def _show_strip(self, text: str) -> None:
        """Show what the live window has on its strip, while it is not seen."""
        if self.strip.show_words(text):
            self._lay_out()

    def _lines(self) -> Sequence[str]:
        lines = self._runs.done()
        found = [say(WAITING), say(SECOND_LOOK)] if lines is None else list(lines)
        return [self._gone, "", *found] if self._gone else found

    def _turn(self, event: DrillEvent, why: str = "") -> None:
        before = self.state
        if not self.standing.turn(event, why):
            return
        if self.state is not before and (before in (_S.RUNNING, _S.ASIDE) or self.state is _S.RUNNING):
            self._runs.note(self.state, why)
        if self.state is _S.ENDED:
            self._close_drill()
            self._runs.end()
        if before is _S.OFFERED and self.offer is not None and self.state is not _S.RUNNING:
            self.offer.leave()
        self._show()
        if self.state is _S.ASIDE and self.live is not None:
            self.resting.begin(self.live)
        elif self.state is _S.NONE and event is _E.LIVE_CALLS and self.live is not None:
            self.live.say(say("No drill: {why}", why=why) if before is _S.OFFERED else self._runs.kept(), True)

    # -- beginning and ending -------------------------------------------------------------------------------

    def _ask(self) -> None:
        assert self.live is not None
        assert self.offer is not None
        if calls := self.calls():
            self.live.say(say("No drill now: {calls}", calls=calls), True)
        elif self.live.panel.question is None:
            self._turn(_E.ASKED)
            self.offer.ask()
            self.tick()

    def _begin(self, course: str, people: Sequence[str]) -> None:
        """Two people of the unit say so. What goes wrong is told, and the watch goes on."""
        assert self.live is not None
        self.live.answering.signing.leave()  # whoever practises does not answer live under that name
        try:
            self._open(course, people)
        except (WeirkeeperError, OSError) as error:
            self._turn(_E.LEFT, say("it could not begin"))
            self.live.say(say("The drill could not begin: {error}", error=error), True)

    def _open(self, course: str, people: Sequence[str]) -> None:
        hub = self._runs.begin(course, people)
        self._of, self._gone = hub.drill, ""
        self.drill = desk = self._open_desk(hub, self._theme_name)
        desk.window.setParent(self)
        desk.window.show_sound(SoundFace(say(NO_SOUND)))
        desk.window.set_entry_form(lambda bed, person: say(NO_ROUNDS))
        desk.window.theme_changed.connect(self.set_theme)
        desk.client.start()
        desk.window.start()
        self._turn(_E.AGREED)

    def _close_drill(self) -> None:
        desk, self.drill = self.drill, None
        if desk is not None:
            desk.window.close_page()
            desk.window.hide()
            desk.client.stop()
            desk.window.deleteLater()

    # -- keys -----------------------------------------------------------------------------------------------

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Take what the window that is shown has no use for."""
        key = Qt.Key(event.key())
        if key == Qt.Key.Key_F9:
            self._go_on()
        elif key == Qt.Key.Key_F10:
            self._turn(_E.STOPPED, say("people ended it"))
            self.tick()
        elif key == Qt.Key.Key_Escape and self.state is _S.ENDED:
            self._go_on()

    def _go_on(self) -> None:
        if self.state is _S.NONE and self.live is not None:
            self._ask()
        elif self.state is _S.OFFERED:
            self._turn(_E.LEFT, say("nobody begins it"))
        elif self.state is _S.RUNNING:
            self._look_at_live()
        elif self.state is _S.ASIDE and not self.calls():
            self._turn(_E.BACK)
        elif self.state is _S.ENDED and self.live is not None:
            self._turn(_E.CLOSED)
        elif self.state is _S.ENDED:
            self.close()
        self.tick()

    def _look_at_live(self) -> None:
        if self.state is _S.RUNNING and self.live is not None:
            self._turn(_E.LOOKED, say("people look at the live board"))
            self.tick()

    # -- geometry -------------------------------------------------------------------------------------------

    def _show(self) -> None:
        """Show the one window whose keys these are; a page that nobody sees asks nothing, and counts as no look."""
        window = self.drill.window if self.drill is not None else None
        is_live = self.state in (_S.NONE, _S.OFFERED, _S.ASIDE)
        for shown, one in ((is_live, self.live), (not is_live, window)):
            if one is not None:
                one.setVisible(shown)
                if not shown:
                    one.close_page()
        self.resting.end()
        self._show_strip("")
        self.line.setVisible(self.live is not None and self.state is not _S.NONE)
        self.band.show_drill(self._of if self.state is _S.ENDED else None)
        self.done.setVisible(self.state is _S.ENDED)
        self._lay_out()
        shown_now = self.done if self.state is _S.ENDED else self.live if is_live else window
        (shown_now or self).setFocus()

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Lay the parts out."""
        super().resizeEvent(event)
        self._lay_out()

    def _lay_out(self) -> None:
        wide, high = self.width(), self.height()
        top = 0 if self.line.isHidden() else self.line.height_over(wide, high)
        self.line.setGeometry(0, 0, wide, top)
        strip = self.strip.height_over(wide)
        self.strip.setGeometry(0, top, wide, strip)
        top += strip
        band = self.band.height_over(wide, high)
        self.band.setGeometry(0, top, wide, band)
        self.done.setGeometry(0, top + band, wide, high - top - band)
        for window in (self.live, self.drill.window if self.drill is not None else None):
            if window is not None:
                window.setGeometry(0, top, wide, high - top)
        if not self.resting.isHidden() and self.live is not None:
            self.resting.setGeometry(self.live.geometry())

    def _dress(self) -> None:
        palette = QPalette(self.palette())
        palette.setColor(QPalette.ColorRole.Window, QColor(self.theme.ground))
        self.setPalette(palette)
        self.strip.set_theme(self.theme)
