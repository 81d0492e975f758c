"""A question to the person at the desk: a few choices, each with a key, or something to type. Escape leaves it.

Enter confirms what was typed, and nothing else: where a question has choices alone it does nothing.
"""

from collections.abc import Callable
from dataclasses import dataclass, field, replace

from monitor.desk.typed import NumberField, SecretField, WordsField
from shared.instant import Instant

#: Keys given to choices that name none. Letters only after the digits.
_KEYS = "123456789abcdefghijklmnopqrstuvwxyz"
_DIGITS, _LETTERS = _KEYS[:9], _KEYS[9:]
#: So many choices stand on one page where there is room; the key 0 turns to the next.
PAGE = 24


@dataclass(frozen=True, slots=True)
class Choice:
    """One choice: what is given back, its words, and its key (one is given when it names none).

    ``why_not``: it cannot be chosen, and this is what is said when it is tried.
    """

    value: str
    label: str
    key: str = ""
    why_not: str = ""


class Ticks:
    """What is ticked of a list, each with its time.

    Args:
        now: the hub's time.
        on: values ticked to begin with, ``None`` for the time where it was not said here.
    """

    def __init__(self, now: Callable[[], Instant | None], on: tuple[str, ...] = ()) -> None:
        self._now = now
        self.at: dict[str, Instant | None] = dict.fromkeys(on)

    def turn(self, value: str) -> None:
        """Tick, or take the tick back."""
        if value in self.at:
            del self.at[value]
        else:
            self.at[value] = self._now()


@dataclass(frozen=True, slots=True)
class Question:
    """``answer`` gets the value chosen, or what was typed. ``otherwise``: what is chosen after ``within_s``.

    Attributes:
        number: a number is asked for; choices beside it have letters as keys.
        words: a few words are asked for; choices beside it are by mouse alone.
        secret: a secret is asked for, and never shown.
        ticks: each choice is ticked by its key, and ``0`` answers with nothing.
        find: letters typed narrow the choices to those whose words begin so, and Enter takes the only one left;
            before that the digits are keys.
        keeps: the question stays, with what was typed, while nothing can be sent.
    """

    title: str
    choices: tuple[Choice, ...]
    answer: Callable[[str], None] = field(compare=False)
    note: str = ""
    otherwise: str | None = None
    within_s: float = 0.0
    number: NumberField | None = None
    words: WordsField | None = None
    secret: SecretField | None = None
    ticks: Ticks | None = field(default=None, compare=False)
    find: bool = False
    keeps: bool = False

    def pages(self, typed: str = "", most: int = PAGE) -> list[tuple[Choice, ...]]:
        """Give the choices by page, each with its key; with ``typed``: those that it leaves, without keys.

        ``most``: so many have room on a page.
        """
        if typed:
            left = tuple(replace(choice, key="") for choice in self.choices if begins(choice.label, typed))
            return [left[:most]]
        parts = [self.choices[at : at + most] for at in range(0, len(self.choices), most)] or [()]
        keys = _LETTERS if self.number is not None else _DIGITS if self.find else _KEYS
        return [tuple(_with_keys(part, keys)) for part in parts]


def _with_keys(part: tuple[Choice, ...], keys: str) -> list[Choice]:
    taken = {choice.key for choice in part}
    free = iter([key for key in keys if key not in taken])
    return [choice if choice.key else replace(choice, key=next(free, "")) for choice in part]


def begins(label: str, typed: str) -> bool:
    """Tell whether what is typed begins words of a label, in order: ``nu``, ``n7`` and ``7`` for Nurse 7."""
    words = label.casefold().split()
    left = {typed.casefold().replace(" ", "")}
    for word in words:
        left |= {
            rest[count:] for rest in left for count in range(1, len(rest) + 1) if word.startswith(rest[:count])
        }
    return "" in left
