"""One number against the ranges of its field: what cannot be, what is unusual, a sign that may be lost."""

from collections.abc import Iterator

from shared.entry.findings import Finding, Reason, beyond, found, named, said
from shared.entry.table import EntryField
from shared.entry.typed import Number
from shared.language.saying import say


def check_range(one: EntryField, number: Number, top_speed: float | None = None) -> Iterator[Finding]:
    """Find what is wrong with a number by itself.

    Args:
        top_speed: highest speed of the pump, rpm; only the field of the speed uses it. Without it a speed has no
            soft range.
    """
    value = number.value
    low, high = refused_range(one, top_speed)
    if not low <= value <= high:
        yield _impossible(one, number, low, high)
        return
    if one.sign and value > 0:
        yield found(one, value, Reason.SIGN, _sign_words(number.signed))
        return
    below, above = soft_range(one, top_speed)
    if (below is not None and value < below) or (above is not None and value > above):
        yield found(
            one, value, Reason.UNUSUAL, say("is unusual: {usual_words}", usual_words=usual_words(one, below, above))
        )


def refused_range(one: EntryField, top_speed: float | None) -> tuple[float, float]:
    """Give the lowest and highest number that can be."""
    low, high = one.refused
    if one.of_top_speed is not None and top_speed is not None:
        high = min(high, one.of_top_speed.refused_above * top_speed)
    return low, high


def soft_range(one: EntryField, top_speed: float | None) -> tuple[float | None, float | None]:
    """Give the numbers beyond which a field asks; ``None`` where it does not."""
    if one.of_top_speed is not None and top_speed is not None:
        return one.of_top_speed.soft_below * top_speed, one.of_top_speed.soft_above * top_speed
    return one.soft_below, one.soft_above


def is_known_to_be_so(one: EntryField, value: float, last: float, top_speed: float | None) -> bool:
    """Tell whether an unusual number is no surprise: the last one was unusual likewise, and this is near to it.

    Near is half of what two readings usually differ by, on either side: what is farther is asked about again.
    """
    below, above = soft_range(one, top_speed)
    likewise = (below is not None and max(value, last) < below) or (above is not None and min(value, last) > above)
    return likewise and not beyond(abs(value - last), one.usual(last) / 2)


def usual_words(one: EntryField, below: float | None, above: float | None) -> str:
    """Say what is not asked about: ``most lie within 1.5 to 7 L/min``."""
    if below is not None and above is not None:
        return say("most lie within {split} to {said}", split=said(one, below).split()[0], said=said(one, above))
    if below is not None:
        return say("most are at least {said}", said=said(one, below))
    assert above is not None  # one of them was passed
    return say("most are at most {said}", said=said(one, above))


def _impossible(one: EntryField, number: Number, low: float, high: float) -> Finding:
    bounds = say("possible is {split} to {said}", split=said(one, low).split()[0], said=said(one, high))
    meant = one.plausible_units(number.value)
    asked = next((other for other in meant if other.ask), None)
    if asked is not None:
        words = say(
            "{named} looks like {unit}: {bounds}.",
            named=named(one.label, one.quantity, number.value, one.typed_in),
            unit=asked.unit,
            bounds=bounds,
        )
        about = ((one.quantity, number.value),)
        return Finding(one.quantity, Reason.OTHER_UNIT, False, words, about, then_refused=True)
    unit = say(". Was it read in {unit}?", unit=say(" or ").join(other.unit for other in meant)) if meant else ""
    return found(
        one,
        number.value,
        Reason.IMPOSSIBLE,
        say("cannot be: {bounds}{unit}", bounds=bounds, unit=unit),
        refused=True,
    )


def _sign_words(signed: bool) -> str:
    if signed:
        return say("is above zero; this pressure is usually below zero. Is the sign right?")
    return say("has no sign; this pressure is usually below zero. Was a minus lost? Type it with + or \u2212")
