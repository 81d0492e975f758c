"""Battery and gas in words: minutes with where they are from, and whether they last for a trip. Pure."""

from collections.abc import Iterator
from datetime import tzinfo

from monitor.core.meaning.power_view import PowerView, SupplyView, TripView
from monitor.desk import words
from monitor.desk.bedpage.rows_card import Row
from monitor.desk.paint.text import format_number
from shared.language.saying import say, to_say
from shared.language.writing import shortest

_READY = {True: to_say("lasts"), False: to_say("does NOT last"), None: to_say("is not known to last")}


def power_rows(power: PowerView | None, zone: tzinfo | None) -> tuple[Row, ...]:
    """Give the rows, the line that counts first."""
    return tuple(_rows(power, zone)) if power is not None else ()


def _rows(power: PowerView, zone: tzinfo | None) -> Iterator[Row]:
    if power.fails_now:
        yield Row("", power.fails_now, True)
    if power.trip is not None:
        yield from _trip(power.trip, gas=power.gas is not None)
    mains = {True: say("On mains"), False: say("On battery"), None: say("Mains: not known")}[power.on_mains]
    yield Row("", mains, power.on_mains is not True)
    yield Row("", say("Battery: {supply}", supply=_supply(power.battery, zone)))
    if power.gas is not None:
        yield Row("", say("Gas: {supply}", supply=_supply(power.gas, zone)))
    if power.at_speeds:
        shown = ", ".join(f"{format_number(one.speed, 0)} rpm {one.minutes:.0f} min" for one in power.at_speeds)
        yield Row(
            "", say("Battery if the pump ran faster: {shown} ({load_of})", shown=shown, load_of=power.load_of)
        )
    if power.as_new is not None:
        packs = say("{packs} new packs", packs=power.packs) if power.packs is not None else say("New packs")
        yield Row(
            "",
            say(
                "{packs} would last {as_new:.0f} min from this charge at this load: only to compare",
                packs=packs,
                as_new=power.as_new,
            ),
        )
    rule = say(
        "For a trip each should last {times} times its minutes, and at least {margin} min more",
        times=shortest(power.times),
        margin=shortest(power.margin),
    )
    yield Row("", f"{rule}.")


def _trip(trip: TripView, *, gas: bool) -> Iterator[Row]:
    yield Row(
        "",
        say(
            "Trip: back in {minutes:.0f} min, so {wanted:.0f} min are wanted",
            minutes=trip.minutes,
            wanted=trip.wanted,
        ),
        True,
    )
    yield Row("", say("Battery {ready}", ready=say(_READY[trip.battery])), trip.battery is not True)
    if gas:
        yield Row("", say("Gas {ready}", ready=say(_READY[trip.gas])), trip.gas is not True)


def _supply(supply: SupplyView, zone: tzinfo | None) -> str:
    if supply.minutes is None:
        return say("not known, {source}", source=supply.source) if supply.source else say("not known")
    most = say("at most ") if supply.at_most else ""
    when = f", {words.hhmm(supply.at, zone)}" if supply.at is not None else ""
    return f"{most}{int(supply.minutes)} min, {supply.source}{when}"
