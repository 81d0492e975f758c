"""Battery and gas in words: minutes with where they are from, and whether they last for a trip. Pure."""

from collections.abc import Iterator
from datetime import tzinfo

from monitor.core.meaning.power_view import PowerView, SupplyView, TripView
from monitor.desk import words
from monitor.desk.bedpage.rows_card import Row
from monitor.desk.paint.text import format_number

_READY = {True: "lasts", False: "does NOT last", None: "is not known to last"}


def power_rows(power: PowerView | None, zone: tzinfo | None) -> tuple[Row, ...]:
    """Give the rows, the line that counts first."""
    return tuple(_rows(power, zone)) if power is not None else ()


def _rows(power: PowerView, zone: tzinfo | None) -> Iterator[Row]:
    if power.fails_now:
        yield Row("", power.fails_now, True)
    if power.trip is not None:
        yield from _trip(power.trip, gas=power.gas is not None)
    mains = {True: "On mains", False: "On battery", None: "Mains: not known"}[power.on_mains]
    yield Row("", mains, power.on_mains is not True)
    yield Row("", f"Battery: {_supply(power.battery, zone)}")
    if power.gas is not None:
        yield Row("", f"Gas: {_supply(power.gas, zone)}")
    if power.at_speeds:
        shown = ", ".join(f"{format_number(one.speed, 0)} rpm {one.minutes:.0f} min" for one in power.at_speeds)
        yield Row("", f"Battery if the pump ran faster: {shown} ({power.load_of})")
    if power.as_new is not None:
        packs = f"{power.packs} new packs" if power.packs is not None else "New packs"
        yield Row("", f"{packs} would last {power.as_new:.0f} min from this charge at this load: only to compare")
    rule = f"For a trip each should last {power.times:g} times its minutes, and at least {power.margin:g} min more"
    yield Row("", f"{rule}.")


def _trip(trip: TripView, *, gas: bool) -> Iterator[Row]:
    yield Row("", f"Trip: back in {trip.minutes:.0f} min, so {trip.wanted:.0f} min are wanted", True)
    yield Row("", f"Battery {_READY[trip.battery]}", trip.battery is not True)
    if gas:
        yield Row("", f"Gas {_READY[trip.gas]}", trip.gas is not True)


def _supply(supply: SupplyView, zone: tzinfo | None) -> str:
    if supply.minutes is None:
        return f"not known, {supply.source}" if supply.source else "not known"
    most = "at most " if supply.at_most else ""
    when = f", {words.hhmm(supply.at, zone)}" if supply.at is not None else ""
    return f"{most}{int(supply.minutes)} min, {supply.source}{when}"
