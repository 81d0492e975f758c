"""A clean end: SIGINT and SIGTERM only say that it is time to stop.

A handler that raises is not safe: the interpreter drops an exception inside another callback (an at-fork hook, a
destructor), and the wish to stop with it. A flag is never lost.
"""

import signal
from types import FrameType, TracebackType
from typing import Any, Self


class StopRequested:
    """While entered, SIGINT and SIGTERM set `now` instead of ending the process; the main thread only."""

    def __init__(self) -> None:
        self.now = False
        self._before: dict[signal.Signals, Any] = {}

    def __enter__(self) -> Self:
        for number in (signal.SIGINT, signal.SIGTERM):
            self._before[number] = signal.signal(number, self._heard)
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        for number, handler in self._before.items():
            signal.signal(number, handler)

    def _heard(self, number: int, frame: FrameType | None) -> None:
        self.now = True
