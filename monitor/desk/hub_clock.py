"""The hub's time as a desk knows it: the last time heard, and the seconds since, at the hub's own pace."""

from dataclasses import dataclass

from shared.instant import Instant, ms

#: Without a word from the hub the clock runs on for this long and then stops: its time is no longer known.
RUNS_ON_S = 3.0


@dataclass(slots=True)
class HubClock:
    """Hub time from beats. ``speed``: how many times faster than the wall the hub's clock runs."""

    speed: float = 1.0
    _hub: Instant | None = None
    _heard: float = 0.0
    _shown: Instant = 0

    def hear(self, hub_time: Instant, monotonic: float, anew: bool = False) -> None:
        """Take a hub time that was heard at ``monotonic`` seconds. ``anew``: the clock may go back."""
        self._hub, self._heard = hub_time, monotonic
        if anew:
            self._shown = hub_time

    @property
    def last_word(self) -> Instant:
        """The hub's time when it was last heard; 0 before the first word."""
        return self._hub or 0

    def now(self, monotonic: float) -> Instant | None:
        """Give the hub's time in ms, or ``None`` before the first word. It never goes back."""
        if self._hub is None:
            return None
        elapsed = min(max(monotonic - self._heard, 0.0), RUNS_ON_S)
        self._shown = max(self._shown, self._hub + ms(elapsed * self.speed))
        return self._shown
