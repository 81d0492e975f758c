"""The only object that stands in two threads: a deque, and one signal that wakes the window's loop.

Many messages make one wake-up. The signal carries nothing; the window takes what lies in the deque.
"""

from collections import deque

from PySide6.QtCore import QObject, Signal

from monitor.desk.hearing import Heard


class Bridge(QObject):
    """Carries what the reader thread hears into the window's thread. Connect `ready` with a queued connection."""

    ready = Signal()

    def __init__(self, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self._heard: deque[Heard] = deque()
        self._told = False

    def deliver(self, heard: Heard) -> None:
        """Put something in and wake the window once (reader thread)."""
        self._heard.append(heard)
        if not self._told:
            self._told = True
            self.ready.emit()

    def drain(self) -> list[Heard]:
        """Take everything that lies here, oldest first (window's thread)."""
        self._told = False  # first: what comes from now on wakes again, at worst once too often
        taken: list[Heard] = []
        while self._heard:
            taken.append(self._heard.popleft())
        return taken
