"""How long something has been going on, by the desk's own monotonic clock."""

from collections.abc import Callable


class Stopwatch:
    """Not running until it is started. ``monotonic`` gives seconds, never going back."""

    def __init__(self, monotonic: Callable[[], float]) -> None:
        self._monotonic = monotonic
        self._began: float | None = None

    def start(self) -> None:
        """Begin, or begin anew."""
        self._began = self._monotonic()

    def invalidate(self) -> None:
        """Run no more."""
        self._began = None

    def is_running(self) -> bool:
        """Tell whether it was started."""
        return self._began is not None

    def elapsed(self) -> int:
        """Give the ms since it was started; 0 where it was not."""
        return round((self._monotonic() - self._began) * 1000) if self._began is not None else 0

    def has_expired(self, ms: int) -> bool:
        """Tell whether it was started so long ago."""
        return self._began is not None and self.elapsed() >= ms
