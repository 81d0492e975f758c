"""Where a process ends: at the n-th point that it passes, in the middle of whatever it does."""


class Killed(BaseException):
    """The process is gone at this point. No wall against defects of ours may hold it up."""


class Fuse:
    """Counts the points that a process passes."""

    def __init__(self) -> None:
        self._left: int | None = None

    def light(self, points: int) -> None:
        """Let the process pass so many points yet."""
        self._left = points

    def out(self) -> None:
        """Let the process live."""
        self._left = None

    @property
    def burns(self) -> bool:
        """Tell whether the process is to end."""
        return self._left is not None

    def point(self) -> None:
        """Pass a point. Raises Killed at the last one."""
        if self._left is None:
            return
        self._left -= 1
        if self._left < 0:
            self._left = None
            raise Killed
