"""One thing that `check` has looked at on this machine, in words."""

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Found:
    """What was found, and what to do where somebody has to look at it.

    Attributes:
        about: one word, at the beginning of its first line.
        lines: what is said, at least one line.
        is_wrong: somebody has to look at it. It is never a fault of the configuration.
    """

    about: str
    lines: tuple[str, ...]
    is_wrong: bool = False
