"""What a test may not leave behind: threads, ZeroMQ contexts, active Qt timers and running Qt threads."""

import gc
import threading
from collections.abc import Sequence, Set

import zmq
from PySide6.QtCore import QCoreApplication, QEvent, QThread, QTimer
from shiboken6 import Shiboken

from tests.helpers.births import birthplace, contexts

JOIN_SECONDS = 2.0
"""How long a thread that has been told to end may take."""


class Leaks:
    """What runs now; asked again after a test, it tells what is new."""

    def __init__(self) -> None:
        """Look."""
        self._threads: Set[threading.Thread] = set(threading.enumerate())
        self._contexts: Set[zmq.Context[zmq.Socket[bytes]]] = contexts()
        self._running = _running_in_qt()

    def found(self) -> list[str]:
        """Say what is new and still runs, one line each; what only waits to be collected does not count."""
        if any(self._new()):
            _collect()
        threads, left, running = self._new()
        for thread in threads:
            thread.join(JOIN_SECONDS)
        return [
            *(f"thread {t.name!r}, started at {birthplace(t)}" for t in threads if t.is_alive()),
            *(f"ZeroMQ context with its sockets, made at {birthplace(c)}" for c in left),
            *(f"{type(o).__name__} {o.objectName()!r} of {o.parent()!r}, still active" for o in running),
        ]

    def _new(
        self,
    ) -> tuple[list[threading.Thread], list[zmq.Context[zmq.Socket[bytes]]], list[QTimer | QThread]]:
        threads = [t for t in threading.enumerate() if t not in self._threads]
        left = [c for c in contexts() if c not in self._contexts]
        running = [o for o in _running_in_qt() if not any(o is before for before in self._running)]
        return threads, left, running


def _running_in_qt() -> list[QTimer | QThread]:
    """Give Qt's active timers and running threads, as far as Python holds them; the main thread is none."""
    wrappers: Sequence[object] = Shiboken.getAllValidWrappers()
    timers: list[QTimer | QThread] = [o for o in wrappers if isinstance(o, QTimer) and o.isActive()]
    main = QCoreApplication.instance()
    home = main.thread() if main is not None else None
    return timers + [o for o in wrappers if isinstance(o, QThread) and o is not home and o.isRunning()]


def _collect() -> None:
    """Let go of what nobody holds any more: cycles of Python, and what Qt was told to delete later."""
    gc.collect()
    if QCoreApplication.instance() is not None:
        QCoreApplication.sendPostedEvents(None, QEvent.Type.DeferredDelete.value)
