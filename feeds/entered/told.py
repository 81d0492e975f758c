"""Beds that the desk names while the form is open, one a line on standard input: ``B6 nurse-6``."""

import os
import sys
from collections.abc import Callable

from PySide6.QtCore import QSocketNotifier

from feeds.entered.window import FormWindow

_AT_ONCE = 4096


class Told:
    """Hears the desk; when the desk is gone the form stays.

    Args:
        to_front: brings the window before the others.
        source: the file to hear; standard input where left out.
    """

    def __init__(self, window: FormWindow, to_front: Callable[[], None], source: int | None = None) -> None:
        self._to_front = to_front
        self._window, self._rest = window, b""
        self._source = sys.stdin.fileno() if source is None else source
        self._notifier = QSocketNotifier(self._source, QSocketNotifier.Type.Read, window)
        self._notifier.activated.connect(self.hear)

    def stop(self) -> None:
        """Hear no more."""
        self._notifier.setEnabled(False)

    def hear(self) -> None:
        """Read what is there, and open the bed that was named last."""
        said = os.read(self._source, _AT_ONCE)
        if not said:
            self.stop()
            return
        *lines, self._rest = (self._rest + said).split(b"\n")
        for line in lines:
            self._open(line.decode(errors="replace").split())

    def _open(self, words: list[str]) -> None:
        folder = self._window.rounds.folder
        seat = folder.seat_at(words[0]) if words else None
        if seat is None:
            if words:
                self._window.no_run_at(words[0])
            return
        named = folder.person(words[1]) if len(words) > 1 else None
        self._window.go_to(seat, named or self._window.rounds.person)
        self._to_front()
