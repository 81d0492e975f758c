"""The hub's clock: wall time in ms that never goes back, or a demonstration's virtual time.

It runs with the machine's monotonic clock. When the wall is set forward by more than half a second it follows, for
feeds on other machines carry the right time; when the wall is set back it does not, for a ladder must not stand
still. After a restart it is never before the record's last moment.
"""

import logging
import time
from collections.abc import Callable

from shared.errors import ConfigurationError
from shared.instant import MINUTE, SECOND, Instant
from shared.language.saying import say
from shared.virtual import virtual_ms

log = logging.getLogger(__name__)

_FOLLOWED_MS = 500
_BEHIND_MS = 2 * SECOND
_AHEAD_MS = 2 * MINUTE


def wall_ms() -> Instant:
    """Milliseconds since 1970 UTC by the machine's wall clock."""
    return time.time_ns() // 1_000_000


def monotonic_ms() -> Instant:
    """Milliseconds of the machine's monotonic clock."""
    return time.monotonic_ns() // 1_000_000


class HubClock:
    """Gives `now`, the hub's time, and `ticks`, real milliseconds for timers.

    Args:
        speed: how many times faster than the wall it runs.
        start: wall-clock ms at which a demonstration began; virtual and wall time are equal there.
        floor: the last moment in the record; the clock begins there if the wall says less.

    Attributes:
        speed: as given.
        is_demonstration: a start or another speed than the wall's was given, so nothing here is a real patient.
        ticks: real ms for timers.
        jumps: what the wall clock did that people should know of, in words; the hub writes them down.

    Raises:
        ConfigurationError: an impossible speed or start, or a demonstration whose record is ahead of it.
    """

    def __init__(
        self,
        speed: float = 1.0,
        start: Instant | None = None,
        floor: Instant = 0,
        wall: Callable[[], Instant] = wall_ms,
        ticks: Callable[[], Instant] = monotonic_ms,
    ) -> None:
        if not 0.1 <= speed <= 1000:
            raise ConfigurationError(f"--speed {speed:g}: allowed 0.1 to 1000")
        if start is not None and start < 0:
            raise ConfigurationError(f"--start {start}: ms since 1970 UTC, never negative")
        self.speed = speed
        self.is_demonstration = start is not None or speed != 1.0
        self.ticks = ticks
        self._wall = wall
        self._start = wall() if start is None else start
        self._began = ticks()
        self.jumps: list[str] = []
        said = self._said()
        ahead = floor - said
        if ahead > _AHEAD_MS:
            if self.is_demonstration:
                raise ConfigurationError(
                    f"the record goes {ahead / 1000:.0f} s further than this demonstration has come: "
                    "give the --start that it was begun with, or another --record"
                )
            self._tell(
                say(
                    "the record is {ahead:.0f} s ahead of the wall clock: the hub's time goes on from the "
                    "record; is this machine's clock right?",
                    ahead=ahead / 1000,
                )
            )
        self._base = max(said, floor)
        self._is_behind = ahead > _BEHIND_MS

    def now(self) -> Instant:
        """Give the hub's time; it never goes back."""
        since = round((self.ticks() - self._began) * self.speed)
        said = self._said()
        ahead = said - (self._base + since)
        if ahead > _FOLLOWED_MS * self.speed:
            self._tell(
                say("the wall clock was set forward by {ahead:.1f} s: the hub's time follows", ahead=ahead / 1000)
            )
            self._base = said - since
        is_behind = -ahead > _BEHIND_MS * self.speed
        if is_behind and not self._is_behind:
            self._tell(
                say(
                    "the wall clock was set back by {behind:.0f} s: the hub's time goes on as before",
                    behind=-ahead / 1000,
                )
            )
        self._is_behind = is_behind
        return self._base + since

    def real_ms_until(self, instant: Instant) -> int:
        """Give the real ms until the clock shows ``instant``; 0 when that is past."""
        return max(0, round((instant - self.now()) / self.speed + 0.5))

    def _tell(self, words: str) -> None:
        log.warning("%s", words)
        self.jumps.append(words)

    def _said(self) -> Instant:
        return max(0, virtual_ms(self._start, self._wall(), self.speed))
