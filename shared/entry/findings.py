"""What the checks find in a set: a number that must be typed again, or one that cannot be."""

from dataclasses import dataclass
from enum import StrEnum

from shared.entry.table import EntryField
from shared.entry.units import TypedIn
from shared.language.saying import say, to_say
from shared.language.writing import in_marks
from shared.quantities import CATALOGUE, Quantity


class Reason(StrEnum):
    """Why something was found; each kind has its own sentence."""

    UNREADABLE = "unreadable"
    IMPOSSIBLE = "impossible"
    UNUSUAL = "unusual"
    SIGN = "sign"
    CHANGED = "changed"
    TENFOLD = "tenfold"
    DIGITS = "digits"
    OTHER_UNIT = "other_unit"
    EXCHANGED = "exchanged"
    DROP = "drop"
    RESISTANCE = "resistance"
    FLOW_FOR_SPEED = "flow_for_speed"
    SWEEP_FOR_FLOW = "sweep_for_flow"
    PULSE = "pulse"
    POWER = "power"
    OXYGEN_RATIO = "oxygen_ratio"
    LIMBS = "limbs"
    OLD = "old"


@dataclass(frozen=True, slots=True)
class Finding:
    """One thing that was found.

    Attributes:
        quantity: the field that is to be typed again.
        reason: why.
        refused: it cannot be; otherwise typing the same number again confirms it.
        words: a sentence for whoever types: the number, the unit, the range. `to_do` says what to do about it.
        about: quantities and numbers it was found in; with ``reason`` they are what a person confirms, so that a
            confirmation ends as soon as one of these numbers changes.
        holds: further fields that cannot be sent while it is refused.
        settled_by: another field whose own question, once confirmed, answers this one too.
        then_refused: asked about once; typed again it is refused, since it cannot be.
    """

    quantity: Quantity
    reason: Reason
    refused: bool
    words: str
    about: tuple[tuple[Quantity, float], ...]
    then_refused: bool = False
    holds: tuple[Quantity, ...] = ()
    settled_by: tuple[Quantity, ...] = ()

    @property
    def to_do(self) -> str:
        """Say what to do about it."""
        if self.then_refused:
            return say(ANOTHER_UNIT)
        return say(REFUSED if self.refused else AGAIN)

    @property
    def key(self) -> "Key":
        """What is confirmed when the number is typed again."""
        return (self.quantity, self.reason, self.about)


#: A confirmation: the field, the reason, and the numbers that it was given for.
Key = tuple[Quantity, Reason, tuple[tuple[Quantity, float], ...]]

_ROUNDING = 1e-9
#: What to do about a question, and about a refusal.
AGAIN = to_say("Read it again at the bed and type what stands there; the same number typed again confirms it.")
REFUSED = to_say(
    "It cannot be sent. Read it again at the bed and type what stands there; other fields can be sent."
)
ANOTHER_UNIT = to_say("Nothing is converted. Read it again at the bed and type it in the unit of this field.")


def spoken(quantity: Quantity, value: float, typed_in: TypedIn | None = None) -> str:
    """Write a number with its unit, as few digits as it has: ``4.2 L/min``; a minus is a real one, mains a word.

    ``typed_in``: write it in this unit, to as many digits as are typed.
    """
    if quantity is Quantity.ON_MAINS and value in (0, 1):
        return say("on") if value else say("off")
    unit, shown, places = CATALOGUE[quantity].unit, value, 6
    if typed_in is not None:
        unit, shown, places = typed_in.unit, value / typed_in.factor, typed_in.decimals
    digits = f"{shown:.{places}f}"
    digits = in_marks((digits.rstrip("0").rstrip(".") if "." in digits else digits).replace("-", "\u2212"))
    return f"{digits} {unit}" if unit else digits


def said(one: EntryField, value: float) -> str:
    """Write a number of a field, in the unit that is typed there."""
    return spoken(one.quantity, value, one.typed_in)


def named(label: str, quantity: Quantity, value: float, typed_in: TypedIn | None = None) -> str:
    """Write a number with the words of its field and its unit: ``Flow 4.2 L/min``."""
    return f"{label} {spoken(quantity, value, typed_in)}"


def found(
    one: EntryField, value: float, reason: Reason, why: str, refused: bool = False, *also: tuple[Quantity, float]
) -> Finding:
    """Make a finding about one field; ``why`` follows the number in its sentence."""
    words = ended(f"{named(one.label, one.quantity, value, one.typed_in)} {why}")
    return Finding(one.quantity, reason, refused, words, ((one.quantity, value), *also))


def beyond(value: float, limit: float) -> bool:
    """Tell whether a number is above a limit, as decimal numbers: 4.2 less 3.36 is 0.84 and not more."""
    return value > limit + _ROUNDING


def ended(words: str) -> str:
    """End a sentence."""
    return words if words.endswith((".", "?")) else f"{words}."
