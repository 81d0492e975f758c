"""The frame round a desk's window that takes the tour: the window, whole, and a bar under it."""

from collections.abc import Callable

from PySide6.QtCore import Qt, QTimer
from PySide6.QtGui import QColor, QKeyEvent, QPalette, QResizeEvent
from PySide6.QtWidgets import QLabel, QPushButton, QWidget

from monitor.desk.footer import Footer
from monitor.desk.paint.fonts import font, text_width
from monitor.desk.sound.face import SoundFace
from monitor.desk.tour.steps import STEPS, Step
from monitor.desk.window import TICK_MS, DeskWindow
from shared.cautions import SECOND_LOOK
from shared.language.saying import say

_BAR_H, _PAD, _NEXT_W, _END_W, _BUTTON_H = 48, 12, 110, 150, 44
#: So long is a step that was done shown as done, in milliseconds, before the next one.
_DONE_MS = 1500


class TourFrame(QWidget):
    """Shows the steps one after the other; the window keeps every key but F1 and F12.

    Args:
        window: the desk's; when the tour is over it has the whole frame.
    """

    def __init__(self, window: DeskWindow, steps: tuple[Step, ...] = STEPS) -> None:
        super().__init__()
        self.window_, self._steps = window, steps
        self.at = 0
        window.setParent(self)
        self.title, self.says = QLabel(self), QLabel(self)
        self.says.setWordWrap(True)
        self.next = self._button(say("Next · F1"), self.go_on)
        self.end = self._button(say("End the tour · F12"), self.leave)
        self._done = QTimer(self, singleShot=True, interval=_DONE_MS)
        self._done.timeout.connect(self.go_on)
        self._ticker = QTimer(self)
        self._ticker.timeout.connect(self.look)
        window.theme_changed.connect(lambda _: self._dress())
        self.setWindowTitle("Weirkeeper")
        self._dress()
        self._show()

    @property
    def footer(self) -> Footer:
        """The foot of the window."""
        return self.window_.footer

    @property
    def is_over(self) -> bool:
        """Whether the bar is gone."""
        return self.at >= len(self._steps)

    def start(self) -> None:
        """Begin to tick."""
        self.window_.start()
        self._ticker.start(TICK_MS)

    def show_sound(self, sound: SoundFace) -> None:
        """As the window."""
        self.window_.show_sound(sound)

    def show_caption(self, words: str) -> None:
        """As the window."""
        self.window_.show_caption(words)

    def set_sound_key(self, take: Callable[[str], bool]) -> None:
        """As the window."""
        self.window_.set_sound_key(take)

    def look(self) -> None:
        """Go on, after a moment, where the desk shows that the step was done."""
        done = None if self.is_over else self._steps[self.at].done
        if done is not None and not self._done.isActive() and done(self.window_):
            self.title.setText(say("{text}: done", text=self.title.text()))
            self._done.start()

    def go_on(self) -> None:
        """Show the next step, or end."""
        self._done.stop()
        self.at += 1
        self._show()

    def leave(self) -> None:
        """End the tour; the desk goes on."""
        self.at = len(self._steps)
        self._done.stop()
        self._show()

    def _show(self) -> None:
        if self.is_over:
            self._ticker.stop()
        else:
            step = self._steps[self.at]
            self.title.setText(
                say("Tour {at} of {count}\n{title}", at=self.at + 1, count=len(self._steps), title=say(step.title))
            )
            self.says.setText(say(step.says, caution=say(SECOND_LOOK)))
            self.next.setText(say("Done · F1") if self.at + 1 == len(self._steps) else say("Next · F1"))
        for part in (self.title, self.says, self.next, self.end):
            part.setHidden(self.is_over)
        self._lay_out()
        self.window_.setFocus()

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Take what the window has no use for."""
        does = {Qt.Key.Key_F1: self.go_on, Qt.Key.Key_F12: self.leave}.get(Qt.Key(event.key()))
        if does is not None and not self.is_over:
            does()

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Lay the parts out."""
        super().resizeEvent(event)
        self._lay_out()

    def _lay_out(self) -> None:
        wide, bar = self.width(), 0 if self.is_over else _BAR_H
        top = self.height() - bar
        self.window_.setGeometry(0, 0, wide, top)
        title_w = 130
        end_w, next_w = (_wide(one.text(), least) for one, least in ((self.end, _END_W), (self.next, _NEXT_W)))
        buttons_x = wide - _PAD - end_w
        self.title.setGeometry(_PAD, top, title_w, _BAR_H)
        self.end.setGeometry(buttons_x, top + (_BAR_H - _BUTTON_H) // 2, end_w, _BUTTON_H)
        self.next.setGeometry(buttons_x - _PAD - next_w, self.end.y(), next_w, _BUTTON_H)
        says_x = 2 * _PAD + title_w
        self.says.setGeometry(says_x, top, self.next.x() - _PAD - says_x, _BAR_H)

    def _button(self, words: str, does: Callable[[], None]) -> QPushButton:
        button = QPushButton(words, self)
        button.setFocusPolicy(Qt.FocusPolicy.NoFocus)  # the keys are the window's
        button.clicked.connect(does)
        return button

    def _dress(self) -> None:
        theme = self.window_.theme
        palette = QPalette(self.palette())
        palette.setColor(QPalette.ColorRole.Window, QColor(theme.tile))
        self.setPalette(palette)
        self.title.setFont(font(13, True))
        self.says.setFont(font(15))
        self.title.setStyleSheet(f"color: {theme.ink}")
        self.says.setStyleSheet(f"color: {theme.ink}")
        for button in (self.next, self.end):
            button.setFont(font(13, True))
            edge = f"border: 2px solid {theme.ink_2}; border-radius: 4px"
            button.setStyleSheet(f"color: {theme.ink}; background: {theme.ground}; {edge}")


def _wide(words: str, least: int) -> int:
    """Give the width of a button: wider where its words are long in their language."""
    return max(least, round(text_width(words, 13, True)) + 20)
