"""How long nobody has used this desk: neither key nor button nor pointer."""

from collections.abc import Callable

Place = tuple[int, int]
#: A bed's page is covered after so long, at the desk, and where a desk is used elsewhere (defaults chosen here).
COVER_AFTER_S, COVER_REVIEW_AFTER_S = 120.0, 300.0


class Idle:
    """Counts seconds since the desk was last used. ``monotonic``: seconds."""

    def __init__(self, monotonic: Callable[[], float]) -> None:
        self._monotonic = monotonic
        self._used = monotonic()
        self._pointer: Place | None = None

    @property
    def seconds(self) -> float:
        """Since the last use."""
        return self._monotonic() - self._used

    def used(self) -> None:
        """Note a key or a button."""
        self._used = self._monotonic()

    def heed(self, pointer: Place) -> None:
        """Note where the pointer is: when it has moved, the desk was used."""
        if self._pointer is not None and pointer != self._pointer:
            self.used()
        self._pointer = pointer
