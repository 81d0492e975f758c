"""What is typed in answer to a question: a number of a quantity, or a few words. Pure; nothing is silently mended.

A point and a comma both stand for the decimal; whatever else could be read in two ways is refused in words: two
separators, thousands separators, a point with no digit on one side, a zero in front (slips out by ten come so).
"""

import re
from dataclasses import dataclass

from monitor.desk.paint.text import format_number
from shared.language.saying import say, to_say
from shared.quantities import CATALOGUE, Quantity

MOST_WORDS = 120
WORDS_CAUTION = to_say("No names of patients, no dates of birth.")

_SECRET = re.compile(r"[0-9]{4,12}")
_NUMBER = re.compile(r"-?(0|[1-9][0-9]*)([.,][0-9]+)?")


@dataclass(frozen=True, slots=True)
class NumberField:
    """A number that is asked for.

    Attributes:
        label, unit: as a person writes them.
        low, high: the hard range; with ``above_low`` the low end itself is refused.
        decimals: usual digits after the point; one more may be typed, none where this is 0.
        standing: what stands now, in grey beside the field and never in it; ``default``: what stands without.
        standing_words: what ``standing`` is: "now", "target", "own limit".
    """

    label: str
    unit: str
    low: float
    high: float
    decimals: int = 0
    signed: bool = False
    standing: float | None = None
    default: float | None = None
    standing_words: str = "now"
    above_low: bool = False

    def write(self, value: float) -> str:
        """Write a value of this field; a second decimal only where the value has one."""
        digits = self.decimals
        if digits and abs(value * 10**digits - round(value * 10**digits)) > 1e-6:
            digits += 1
        return format_number(value, digits)

    @property
    def allowed(self) -> str:
        """The range in words: ``0 to 12 000 rpm``."""
        low = say("above {write}", write=self.write(self.low)) if self.above_low else self.write(self.low)
        return say("{low} to {write} {unit}", low=low, write=self.write(self.high), unit=self.unit).rstrip()

    @property
    def beside(self) -> str:
        """What stands in grey beside the field."""
        parts = []
        if self.standing is not None:
            parts.append(f"{self.standing_words} {self.write(self.standing)}")
        if self.default is not None:
            parts.append(say("default {write}", write=self.write(self.default)))
        return " · ".join(parts)

    def change(self, value: float) -> str:
        """The difference to what stands, or to the default where nothing does; empty where neither is known."""
        known = self.standing if self.standing is not None else self.default
        if known is None:
            return ""
        sign = "+" if value >= known else ""
        against = self.standing_words if self.standing is not None else say("default")
        other_sign = say(". Other sign than before: is it meant?") if value * known < 0 else ""
        return say(
            "{sign}{write} against {against}{other_sign}",
            sign=sign,
            write=self.write(value - known),
            against=against,
            other_sign=other_sign,
        )


@dataclass(frozen=True, slots=True)
class WordsField:
    """A few words that are asked for, at most `MOST_WORDS` characters."""

    label: str


@dataclass(frozen=True, slots=True)
class SecretField:
    """Digits that are asked for and never shown."""

    label: str
    decimals: int = 0
    signed: bool = False


@dataclass(frozen=True, slots=True)
class Refused:
    """Why what was typed is not taken, in words for the person."""

    why: str


def number_field(quantity: Quantity, **fields: float | str | None) -> NumberField:
    """Give the field of a quantity, its range from the catalogue. Other fields as in `NumberField`."""
    spec = CATALOGUE[quantity]
    made = NumberField(say(spec.label), spec.unit, spec.low, spec.high, spec.decimals, spec.signed)
    return replace_fields(made, **fields)


def replace_fields(field: NumberField, **fields: float | str | None) -> NumberField:
    """Give a field with some of its attributes changed."""
    stands = {name: getattr(field, name) for name in NumberField.__slots__}
    return NumberField(**(stands | fields))


def read_number(text: str, field: NumberField) -> float | Refused | None:
    """Read a number: the value, why it is refused, or ``None`` for an empty field."""
    text = text.strip().replace("−", "-")
    if not text:
        return None
    if text == "-":
        return Refused(say("Minus alone is no number."))
    bad = _unreadable(text, field)
    if bad:
        return Refused(bad)
    value = float(text.replace(",", "."))
    if value < field.low or value > field.high or (field.above_low and value == field.low):
        return Refused(say("Not possible: {allowed}.", allowed=field.allowed))
    return value


def read_words(text: str) -> str | Refused | None:
    """Read a few words: what was typed without spaces at the ends, why not, or ``None`` for an empty field."""
    text = " ".join(text.split())
    if len(text) > MOST_WORDS:
        return Refused(say("Too long: at most {most_words} characters.", most_words=MOST_WORDS))
    return text or None


def toggled_minus(text: str) -> str:
    """Give the text with its minus set or taken away."""
    return text[1:] if text.startswith(("-", "−")) else f"-{text}"


def _unreadable(text: str, field: NumberField) -> str:
    marks = sum(text.count(mark) for mark in ".,")
    if any(character in " '’_\u00a0\u2009\u202f" for character in text) or marks > 1:
        return say("One decimal point or comma, no separators between thousands.")
    if re.search(r"[^0-9.,-]", text):
        return say("Digits only, with one decimal point or comma.")
    if text.startswith("-") and not field.signed:
        return say("{label} is never below zero.", label=say(field.label))
    if re.match(r"-?[.,]|.*[.,]$", text):
        return say("A digit on both sides of the point: 0.5, not .5 or 5.")
    if re.match(r"-?0[0-9]", text):
        return say("No zero in front of a number.")
    if not _NUMBER.fullmatch(text):
        return say("Digits only, with one decimal point or comma.")
    after = len(text) - 1 - max(text.find("."), text.find(",")) if marks else 0
    if after and not field.decimals:
        return say(
            "{label} is typed in whole {value}, without separators.",
            label=say(field.label),
            value=field.unit or say("numbers"),
        )
    if after > field.decimals + 1:
        return say("At most {decimals} digits after the point.", decimals=field.decimals + 1)
    return ""


def read_secret(text: str) -> str | Refused | None:
    """Give a secret as typed, why it is none, or ``None`` where nothing is typed."""
    if not text:
        return None
    return text if _SECRET.fullmatch(text) else Refused(say("A secret is 4 to 12 digits."))
