"""From what a person typed to a number, or to a sentence that says why it is none.

A comma and a point are both the decimal mark, whatever the machine's language; nothing parts thousands. What can be
read in two ways is not read at all. Nothing is rounded, completed or repaired: a number is exactly what was typed.
To refuse badly formed numbers can halve the errors of a factor of ten (Thimbleby and Cairns 2010, J R Soc
Interface, PMC2935596).
"""

import re
from dataclasses import dataclass
from decimal import Decimal

from shared.entry.table import EntryField
from shared.language.saying import say, says
from shared.language.writing import in_marks

LONGEST = 24
_PARTS = re.compile(r"(?P<sign>[+\-\u2212]?)(?P<digits>[0-9.,]*)(?P<rest>.*)", re.DOTALL)
_NUMBER = re.compile(r"(?:0|[1-9][0-9]*)(?:[.,][0-9]+)?")


@dataclass(frozen=True, slots=True)
class Number:
    """A number as it was typed.

    Attributes:
        value: in the catalogue's unit, as a float nearest to what was typed.
        text: the digits as typed, with a point and without sign, unit or spaces: what slips are looked for in.
        signed: a sign was typed.
    """

    value: float
    text: str
    signed: bool = False


@dataclass(frozen=True, slots=True)
class Unreadable:
    """Typed, but no number for this field; ``words`` say why, and what to do."""

    words: str


def read_typed(typed: str, field: EntryField) -> Number | Unreadable | None:
    """Read what stands in a field; ``None`` where it is empty: empty is not zero and not the last value."""
    text = typed.strip()
    if not text:
        return None
    if len(text) > LONGEST:
        return _no(field, say("is too long for a number"))
    found = _PARTS.fullmatch(text)
    assert found is not None  # every part may be empty
    sign, digits, rest = found["sign"], found["digits"], found["rest"].strip()
    if rest and rest != field.typed_unit:
        return _no(field, _of_rest(rest, digits, field))
    wrong = _form(digits) or _too_fine(digits, field)
    if wrong:
        return _no(field, wrong)
    if sign and not field.signed:
        return _no(field, say("is never below zero and takes no sign"))
    plain = digits.replace(",", ".")
    value = float(-Decimal(plain) if sign in ("-", "\u2212") else Decimal(plain))
    return Number(value * field.factor, plain, bool(sign))


def same_number(one: Number, other: Number) -> bool:
    """Tell whether two are one number: 4.2 and 4.20 are."""
    return one.value == other.value


def _no(field: EntryField, wrong: str) -> Unreadable:
    return Unreadable(f"{field.label} {wrong}{'' if wrong.endswith(('?', '.')) else '.'} {how_to_type(field)}")


def how_to_type(field: EntryField) -> str:
    """Say how a number of this field is typed."""
    places, unit = field.typed_decimals, field.typed_unit
    if not places:
        form = say("a whole number")
    else:
        form = says(
            "a number with at most 1 digit after the point",
            "a number with at most {count} digits after the point",
            places,
        )
    return say("Type {form}{unit}.", form=form, unit=say(", in {unit}", unit=unit) if unit else "")


def _of_rest(rest: str, digits: str, field: EntryField) -> str:
    if re.match(r"[\s\u00a0'’]*[0-9]", rest):
        return say("has a space or a mark between its digits: nothing parts thousands here")
    if not digits:
        return say(
            '"{rest}" is not a number.{no_number}',
            rest=rest,
            no_number=f" {field.no_number}" if field.no_number else "",
        )
    unit = field.typed_unit
    return (
        say('is read in {unit}, not in "{rest}"', unit=unit, rest=rest)
        if unit
        else say('has no unit: leave out "{rest}"', rest=rest)
    )


def _form(digits: str) -> str:
    """Say what is wrong with the digits, or nothing."""
    marks = [mark for mark in digits if mark in ".,"]
    if not digits:
        return say("has a sign and no digits")
    if len(marks) > 1:
        return say("has more than one point or comma: nothing parts thousands here")
    if digits[0] in ".,":
        return say("begins with a {named}: begin with 0 if that is meant", named=_named(digits[0]))
    if digits[-1] in ".,":
        return say("ends with a {named}: a digit may be missing", named=_named(digits[-1]))
    if _NUMBER.fullmatch(digits) is None:
        return say("begins with a 0 too many: a point may be missing")
    return ""


def _too_fine(digits: str, field: EntryField) -> str:
    after = re.split("[.,]", digits)
    if len(after) == 1 or len(after[1]) <= field.typed_decimals or _only_in_another(digits, field):
        return ""
    count = len(after[1])
    digits_words = says("1 digit after the point", "{count} digits after the point", count)
    named = f" {field.typed_unit}" if field.typed_unit else ""
    meant = field.plausible_units(float(digits.replace(",", ".")) * field.factor)
    unit = say(": is it read in {unit}?", unit=say(" or ").join(other.unit for other in meant)) if meant else ""
    return say(
        "{number}{named} has {digits_words}, more than this field takes{unit}",
        number=in_marks(digits.replace(",", ".")),
        named=named,
        digits_words=digits_words,
        unit=unit,
    )


def _only_in_another(digits: str, field: EntryField) -> bool:
    """Tell whether this can only have been meant in another unit, and the field asks about that first."""
    value = float(digits.replace(",", ".")) * field.factor
    return value < field.refused[0] and any(other.ask for other in field.other_unit)


def _named(mark: str) -> str:
    return "point" if mark == "." else "comma"
