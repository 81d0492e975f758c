"""Watching a window paint, from outside: an event filter on it, and nothing of it changed.

Qt paints whatever was marked in one pass over the whole window, when the window is sent an update request. An event
posted as that request arrives is taken as soon as the pass is over: its moment is the end of the paint of every
tile in the pass, a little late rather than early.
"""

from collections.abc import Callable

from PySide6.QtCore import QCoreApplication, QEvent, QObject
from PySide6.QtWidgets import QWidget

from monitor.cli.benching.clock import now_ns

_OVER = QEvent.Type(QEvent.registerEventType())


class Painted(QObject):
    """Calls ``over`` with the moment (CLOCK_MONOTONIC, ns) at which a pass over ``window`` has ended."""

    def __init__(self, window: QWidget, over: Callable[[int], None]) -> None:
        super().__init__(window)
        self._window, self._over = window, over
        window.installEventFilter(self)

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:
        """See an update request coming; keep nothing from anybody."""
        if event.type() == QEvent.Type.UpdateRequest:
            QCoreApplication.postEvent(self, QEvent(_OVER))
        return False

    def event(self, event: QEvent) -> bool:
        """Take the moment after the pass."""
        if event.type() == _OVER:
            self._over(now_ns())
            return True
        return super().event(event)
