"""Virtual time: what is to happen, in order. In one moment what was put in first happens first."""

import heapq
from collections.abc import Callable

from shared.instant import Instant


class Timeline:
    """``now``: ms since the trial began; it goes from one happening to the next."""

    def __init__(self) -> None:
        self.now: Instant = 0
        self._count = 0
        self._waiting: list[tuple[Instant, int, Callable[[], None]]] = []

    def at(self, when: Instant, happens: Callable[[], None]) -> None:
        """Put something in; what is past happens next."""
        self._count += 1
        heapq.heappush(self._waiting, (max(when, self.now), self._count, happens))

    def after(self, ms: Instant, happens: Callable[[], None]) -> None:
        """Put something in, so long from now."""
        self.at(self.now + ms, happens)

    def run(self, until: Instant) -> None:
        """Let everything happen up to ``until``."""
        while self._waiting and self._waiting[0][0] <= until:
            self.now, _, happens = heapq.heappop(self._waiting)
            happens()
        self.now = until
