"""Whether battery and gas last for a trip that is planned, in words for the form that starts a transport."""

from collections.abc import Sequence

from monitor.analysis.battery import wanted_minutes
from monitor.core.meaning.view import Meaning
from shared.instant import MINUTE, Instant
from shared.language.saying import say, to_say
from shared.language.writing import number

#: What was worked out longer ago than this is no longer said of now.
_FRESH_MS = MINUTE
NOT_KNOWN = to_say("How long the battery lasts is not known.")


def battery_words(meant: Sequence[Meaning | None], trip: float, now: Instant | None) -> str:
    """Say how long the battery should last for ``trip`` minutes, and whether the worst of a bed's runs does."""
    known = [one.power for one in meant if one is not None and now is not None and now - one.at <= _FRESH_MS]
    powers = [power for power in known if power is not None]
    if not powers or len(powers) < len(meant):
        return say(NOT_KNOWN)
    wanted = wanted_minutes(trip, powers[0].times, powers[0].margin)
    want = say("For {trip:.0f} min battery and gas should last {wanted:.0f} min.", trip=trip, wanted=wanted)
    minutes = [power.battery.minutes for power in powers]
    left = [one for one in minutes if one is not None]
    if len(left) < len(powers):
        return f"{want} {say(NOT_KNOWN)}"
    least = min(left)
    most = say("at most ") if any(power.battery.at_most for power in powers) else ""
    if least < wanted:
        return say("{want} Battery {most}{least} min: NOT ready.", want=want, most=most, least=int(least))
    return say(
        "{want} Battery {most}{least} min{most2}.",
        want=want,
        most=most,
        least=int(least),
        most2="" if most else say(": ready"),
    )


def gas_words(meant: Sequence[Meaning | None], trip: float, sweep: float | None) -> str:
    """Say how many litres that takes at the present sweep (L/min); nothing where it cannot be told."""
    powers = [one.power for one in meant if one is not None and one.power is not None]
    if not powers or sweep is None or sweep <= 0.0:
        return ""
    wanted = wanted_minutes(trip, powers[0].times, powers[0].margin)
    return say(
        "{wanted:.0f} min at {sweep} L/min take {wanted2:.0f} L.",
        wanted=wanted,
        sweep=number(sweep, 1),
        wanted2=wanted * sweep,
    )
