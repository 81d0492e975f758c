"""One number against the last one of its field: too large a change, or a slip that would fit the last number.

A slip is asked about where the number differs from the last one by more than two rounds usually do, and the number
that the slip would have been made from fits better. What lies within the usual difference cannot be told from a
genuine reading, whatever made it.
"""

from collections.abc import Iterator, Mapping
from itertools import pairwise
from math import copysign
from typing import NamedTuple

from shared.entry.findings import Finding, Reason, beyond, found, said
from shared.entry.known import Told
from shared.entry.table import EntryField
from shared.entry.typed import Number
from shared.instant import MINUTE, Instant
from shared.language.saying import say
from shared.quantities import Quantity

#: How many times the usual difference the number that was meant may lie from the last one.
NEAR = 1.5
_IN_HOURS_FROM = 120


class Meant(NamedTuple):
    """What a number may have been meant as, and in which words."""

    reason: Reason
    value: float
    words: str


def check_change(
    one: EntryField, number: Number, told: Told, read_at: Instant, ordered: frozenset[Quantity] = frozenset()
) -> Iterator[Finding]:
    """Find a change that is asked about whatever made it, unless an order explains it."""
    limit = one.asks_beyond(told.value)
    change = number.value - told.value
    if limit is None or not beyond(abs(change), limit) or (one.ordered and one.quantity in ordered):
        return
    order = say(" without an order") if one.ordered else ""
    why = say(
        "is {by} than {last}{order}; more than {said}",
        by=_by(one, change),
        last=_last(one, told, read_at),
        order=order,
        said=said(one, limit),
    )
    yield found(
        one, number.value, Reason.CHANGED, say("{why} is asked about", why=why), False, (one.quantity, told.value)
    )


def check_slip(
    one: EntryField, number: Number, told: Told, read_at: Instant, others: Mapping[Quantity, Told]
) -> Iterator[Finding]:
    """Find the slip that explains a number best, if one does.

    Args:
        others: last numbers of other fields, for what is easily exchanged.
    """
    usual, change = one.usual(told.value), abs(number.value - told.value)
    if not beyond(change, usual):
        return
    near = min(NEAR * usual, change)  # it must fit better than what was typed
    best = min(meanings(one, number), key=lambda meant: abs(meant.value - told.value))
    if abs(best.value - told.value) < near:
        why = say("{words}: that would fit {last}", words=best.words, last=_last(one, told, read_at))
        yield found(one, number.value, best.reason, why, False, (one.quantity, told.value))
    else:
        yield from _exchanged(one, number, told, read_at, others)


def meanings(one: EntryField, number: Number) -> Iterator[Meant]:
    """Give what a number may have been meant as: tenfold, two digits exchanged, another unit, a sign lost."""
    value = number.value
    yield Meant(Reason.TENFOLD, value * 10, say("may be ten times too little"))
    yield Meant(Reason.TENFOLD, value / 10, say("may be ten times too much"))
    for text in exchanged_digits(number.text):
        yield Meant(Reason.DIGITS, copysign(float(text) * one.factor, value), say("may have two digits exchanged"))
    for other in one.other_unit:
        yield Meant(
            Reason.OTHER_UNIT,
            value * other.factor + other.offset,
            say("may have been read in {unit}", unit=other.unit),
        )
    if one.signed:
        yield Meant(Reason.SIGN, -value, say("may have the wrong sign"))


def exchanged_digits(text: str) -> Iterator[str]:
    """Give a number's text with each two neighbouring digits exchanged, the point left where it is."""
    places = [place for place, sign in enumerate(text) if sign != "."]
    for first, second in pairwise(places):
        if text[first] != text[second]:
            letters = list(text)
            letters[first], letters[second] = letters[second], letters[first]
            yield "".join(letters)


def _exchanged(
    one: EntryField, number: Number, told: Told, read_at: Instant, others: Mapping[Quantity, Told]
) -> Iterator[Finding]:
    other = one.swapped_with
    if other is None or other not in others:
        return
    theirs = others[other]
    if not beyond(abs(number.value - theirs.value), one.usual(theirs.value)):
        label = one.label_of(other)
        why = say(
            "is far from {last}, and near the last {label}. Are the two exchanged?",
            last=_last(one, told, read_at),
            label=label,
        )
        yield found(one, number.value, Reason.EXCHANGED, why, False, (one.quantity, told.value))


def _by(one: EntryField, change: float) -> str:
    return f"{said(one, abs(change))} {'more' if change > 0 else 'less'}"


def _last(one: EntryField, told: Told, read_at: Instant) -> str:
    """Name the last number with its age."""
    minutes = (read_at - told.read_at) // MINUTE
    when = "before" if minutes >= 0 else "after"
    return say("the last, {said} {span} {when}", said=said(one, told.value), span=_span(abs(minutes)), when=when)


def _span(minutes: int) -> str:
    """Write a span: minutes up to two hours, then hours and minutes."""
    if minutes < _IN_HOURS_FROM:
        return f"{minutes} min"
    hours, rest = divmod(minutes, 60)
    return f"{hours} h {rest} min" if rest else f"{hours} h"
