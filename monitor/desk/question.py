"""A question to the person at the desk: a few choices, each with a key. Escape leaves it; Enter does nothing."""

from collections.abc import Callable
from dataclasses import dataclass, field

#: Keys given to choices that name none. Letters only after the digits.
_KEYS = "123456789abcdefghijklmnopqrstuvwxyz"
#: So many choices stand on one page; the key 0 turns to the next.
PAGE = 24


@dataclass(frozen=True, slots=True)
class Choice:
    """One choice: what is given back, its words, and its key (one is given when it names none)."""

    value: str
    label: str
    key: str = ""


@dataclass(frozen=True, slots=True)
class Question:
    """``answer`` gets the value chosen. ``otherwise``: what is chosen after ``within_s`` without a key."""

    title: str
    choices: tuple[Choice, ...]
    answer: Callable[[str], None] = field(compare=False)
    note: str = ""
    otherwise: str | None = None
    within_s: float = 0.0

    def pages(self) -> list[tuple[Choice, ...]]:
        """Give the choices by page, each with its key."""
        parts = [self.choices[at : at + PAGE] for at in range(0, len(self.choices), PAGE)] or [()]
        return [tuple(_with_keys(part)) for part in parts]


def _with_keys(part: tuple[Choice, ...]) -> list[Choice]:
    taken = {choice.key for choice in part}
    free = iter([key for key in _KEYS if key not in taken])
    return [choice if choice.key else Choice(choice.value, choice.label, next(free)) for choice in part]
