"""Keys and clicks rest while the live unit takes the window: what was meant for the drill must not answer there."""

from PySide6.QtCore import QTimer
from PySide6.QtGui import QKeyEvent, QMouseEvent
from PySide6.QtWidgets import QWidget

#: So long, in milliseconds: a default chosen here, longer than it takes to see that the picture has changed.
REST_MS = 1500


class Resting(QWidget):
    """Lies over the live window, unseen, and takes what is pressed there; then the focus is the window's."""

    def __init__(self, parent: QWidget) -> None:
        super().__init__(parent)
        self._window: QWidget | None = None
        self._timer = QTimer(self, singleShot=True, interval=REST_MS)
        self._timer.timeout.connect(self.end)
        self.hide()

    def begin(self, over: QWidget) -> None:
        """Lie over a window from now on."""
        self._window = over
        self.setGeometry(over.geometry())
        self.show()
        self.raise_()
        self.setFocus()
        self._timer.start()

    def end(self) -> None:
        """Give the keys to the window."""
        self._timer.stop()
        self.hide()
        if self._window is not None:
            self._window.setFocus()

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Take it, and do nothing."""

    def mousePressEvent(self, event: QMouseEvent) -> None:
        """Take it, and do nothing."""
