"""When a set was read and when it was typed: two times, always. Rules, ages and trends go by the first."""

from shared.entry.looking import EntryTimes
from shared.instant import HOUR, MINUTE, Instant
from shared.language.saying import say
from shared.language.writing import shortest


def read_at_fault(times: EntryTimes, read_at: Instant, now: Instant, charge: bool = False) -> str:
    """Say why numbers cannot have been read then, or nothing.

    Args:
        charge: the one who types has the charge role, and may go back further.
    """
    ahead = read_at - now
    if ahead > times.ahead_min * MINUTE:
        minutes = -(-ahead // MINUTE)
        return say(
            "The time is {minutes} min ahead of the clock; at most {ahead_min} min is taken for a "
            "clock that goes wrong. Type the time at which the numbers were read.",
            minutes=minutes,
            ahead_min=shortest(times.ahead_min),
        )
    hours = times.back_charge_h if charge else times.back_h
    if -ahead > hours * HOUR:
        more = (
            ""
            if charge
            else say(", the charge nurse up to {back_charge_h} h", back_charge_h=shortest(times.back_charge_h))
        )
        return say(
            "The time is more than {hours} h back. Numbers can be entered up to {hours} h back{more}.",
            hours=shortest(hours),
            more=more,
        )
    return ""


def is_late(times: EntryTimes, read_at: Instant, entered_at: Instant) -> bool:
    """Tell whether a set was entered so long after it was read that it is marked late."""
    return entered_at - read_at > times.late_min * MINUTE


def must_be_read_again(times: EntryTimes, typed_at: Instant, now: Instant) -> bool:
    """Tell whether numbers that were typed but never sent are too old to be sent as they stand."""
    return now - typed_at > times.draft_min * MINUTE
