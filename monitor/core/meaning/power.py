"""Battery and gas of a run, worked out when asked: minutes with their source, and what a trip needs.

Nothing nominal is taken for what is left: cells of unknown age hold less. What is not known is said to be so.
"""

from collections.abc import Iterator
from dataclasses import dataclass

from monitor.analysis.battery import (
    fall_of,
    minutes_as_new,
    minutes_at_load,
    wanted_minutes,
)
from monitor.core.bedside.gas import minutes_left
from monitor.core.bedside.transports import is_away
from monitor.core.judging.battery import OTHER_PACKS, console_since, driven_since
from monitor.core.judging.running import STANDS_BELOW
from monitor.core.judging.verdict import fitted
from monitor.core.meaning.power_view import AtSpeedView, PowerView, SupplyView, TripView
from monitor.core.meaning.source import Known, Source
from monitor.core.state import BedState, RunState
from shared.instant import MINUTE, Instant
from shared.language.saying import say, to_say
from shared.messages import Condition
from shared.pump_profile import PumpProfile
from shared.quantities import Quantity as Q

#: The last stretch over which a fall is measured, and the least of it that is enough, as the shipped rules have it.
STRETCH_MS, AT_LEAST_MS = 5 * MINUTE, MINUTE
#: Speeds above the present one for which the second view is worked out, as shares of it.
_FASTER = (1.1, 1.2)
NOT_KNOWN = to_say("not known")
_POWER = (Q.ON_MAINS, Q.BATTERY_CHARGE, Q.BATTERY_MINUTES)


@dataclass(frozen=True, slots=True)
class _Candidate:
    """Minutes by one way of knowing them."""

    minutes: float
    source: str
    at: Instant


def power_of(source: Source, bed: BedState, run: RunState) -> PowerView | None:
    """Give battery and gas of a run; ``None`` where its console says nothing of either."""
    if not any(fitted(run, quantity) for quantity in _POWER):
        return None
    trips = source.configuration.ladder.trips
    profile = source.configuration.pumps.get(run.description.profile)
    mains = source.last(run, Q.ON_MAINS)
    live = source.fresh(bed, run, Q.ON_MAINS)
    on_mains = None if mains is None or (live is None and mains.value >= 0.5) else mains.value >= 0.5
    battery = _battery(source, bed, run, mains, on_mains, profile)
    gas = _gas(source, bed) if run.description.oxygenator else None
    speed = source.last(run, Q.PUMP_SPEED)
    stands = speed is not None and speed.value < STANDS_BELOW
    view = PowerView(
        on_mains=on_mains,
        battery=battery,
        gas=gas,
        fails_now=_fails_now(on_mains, battery, gas, stands),
        trip=_trip(source, bed, battery, gas, stands),
        times=trips.times,
        margin=trips.margin_min,
    )
    return view.model_copy(update=_by_load(source, bed, run, battery, profile)) if profile is not None else view


def _battery(
    source: Source,
    bed: BedState,
    run: RunState,
    mains: Known | None,
    on_mains: bool | None,
    profile: PumpProfile | None,
) -> SupplyView:
    if on_mains is None:
        return SupplyView(source=say("no reading of mains") if mains is None else say("no fresh reading of mains"))
    ways = _on_mains(source, bed, run, profile) if on_mains else _off_mains(run)
    if not ways:
        return SupplyView(source=say("no minutes shown, no fall measured"))
    if on_mains:
        least = min(ways, key=lambda way: way.minutes)
        return SupplyView(minutes=least.minutes, source=least.source, at=least.at)
    return min((_counted_down(source, bed, way) for way in ways), key=lambda supply: supply.minutes or 0.0)


def _counted_down(source: Source, bed: BedState, way: _Candidate) -> SupplyView:
    """From an old reading the minutes go on falling: then it is at most so many."""
    age_ms = source.now - way.at
    if age_ms < source.stale_after_ms(bed):
        return SupplyView(minutes=way.minutes, source=way.source, at=way.at)
    left = max(0.0, way.minutes - age_ms / MINUTE)
    return SupplyView(minutes=left, at_most=True, source=way.source, at=way.at)


def _off_mains(run: RunState) -> list[_Candidate]:
    """Give the minutes by the console, by the last minutes' fall, and by that of the whole time on battery.

    No fall counts that was measured while the pump stood still, or of other packs.
    """
    found: list[_Candidate] = []
    shown = run.signals.get(Q.BATTERY_MINUTES)
    if shown:
        found.append(_Candidate(shown.last, say("shown by the console"), shown.last_at))
    charge, off_since = run.signals.get(Q.BATTERY_CHARGE), run.signals[Q.ON_MAINS].changed_at
    if not charge:
        return found
    begin = driven_since(run, max(charge.last_at - STRETCH_MS, off_since))
    falls = {
        say("measured fall of the charge, last minutes"): fall_of(charge.since(begin - 1), AT_LEAST_MS),
        say("measured fall of the charge, whole time on battery"): _fall_over(run, off_since, charge.last_at),
    }
    found += [_Candidate(charge.last / fall, words, charge.last_at) for words, fall in falls.items() if fall]
    return found


def _on_mains(source: Source, bed: BedState, run: RunState, profile: PumpProfile | None) -> list[_Candidate]:
    """Give the minutes by the console, and by the fall when it last ran on its battery, at the load of now."""
    found: list[_Candidate] = []
    shown = source.fresh(bed, run, Q.BATTERY_MINUTES)
    if shown is not None:
        found.append(_Candidate(shown.value, say("shown by the console on mains"), shown.at))
    charge, stretch = source.fresh(bed, run, Q.BATTERY_CHARGE), _last_on_battery(run)
    if charge is None or stretch is None:
        return found
    begin, end = stretch
    fall = _fall_over(run, begin, end)
    if fall:
        fall *= max(1.0, _load_since(run, begin, end, profile))
        found.append(_Candidate(charge.value / fall, say("fall measured when last on battery"), end))
    return found


def _fall_over(run: RunState, begin: Instant, end: Instant) -> float | None:
    """Give the fall by closed minutes: the steepest of the stretches of one driving; ``None`` as `fall_of`."""
    falls = (fall_of(stretch, AT_LEAST_MS) for stretch in _driven(run, max(begin, console_since(run)), end))
    return max((fall for fall in falls if fall is not None), default=None)


def _driven(run: RunState, begin: Instant, end: Instant) -> Iterator[list[tuple[Instant, float]]]:
    """Give the minutes' charge in stretches in which the same packs drove the pump; of an unread speed it ran."""
    charge, speed = run.minutes.get(Q.BATTERY_CHARGE), run.minutes.get(Q.PUMP_SPEED)
    stood = {at for at, rpm in speed.since(begin) if rpm < STANDS_BELOW} if speed else set()
    stretch: list[tuple[Instant, float]] = []
    for at, value in charge.since(begin) if charge else ():
        if at > end:
            break
        if at in stood or (stretch and value >= stretch[-1][1] + OTHER_PACKS):
            yield stretch
            stretch = []
        if at not in stood:
            stretch.append((at, value))
    yield stretch


def _last_on_battery(run: RunState) -> tuple[Instant, Instant] | None:
    """Give begin and end of the last minutes in a row on battery, among those that are kept."""
    off = [at for at, mains in run.minutes[Q.ON_MAINS].since(0) if mains < 0.5] if Q.ON_MAINS in run.minutes else []
    if not off:
        return None
    begin = off[-1]
    for at in reversed(off):
        if begin - at > MINUTE:
            break
        begin = at
    return begin - MINUTE // 2, off[-1] + MINUTE // 2


def _load_since(run: RunState, begin: Instant, end: Instant, profile: PumpProfile | None) -> float:
    """Give the load of now as a share of that of a stretch; 1 where speeds or load are not known."""
    speeds, now = run.minutes.get(Q.PUMP_SPEED), run.signals.get(Q.PUMP_SPEED)
    then = [rpm for at, rpm in speeds.since(begin) if at <= end and rpm >= STANDS_BELOW] if speeds else []
    if profile is None or not now or not then:
        return 1.0
    return profile.battery_load(now.last) / profile.battery_load(sum(then) / len(then))


def _gas(source: Source, bed: BedState) -> SupplyView:
    transport = bed.transport
    if transport is None or transport.ended_at is not None or transport.cylinder is None:
        return SupplyView(source=say("no cylinder is written down"))
    cylinder = transport.cylinder
    minutes = minutes_left(cylinder, source.now)
    if minutes is None:
        return SupplyView(source=say("no sweep is known"), at=cylinder.at)
    return SupplyView(minutes=minutes, source=say("cylinder at the last known sweep"), at=cylinder.at)


def _fails_now(on_mains: bool | None, battery: SupplyView, gas: SupplyView | None, stands: bool) -> str:
    """The one line of minutes: battery first, gas second. Minutes of a pump that stands still say so."""
    lasts = _said(battery)
    if stands and battery.minutes is not None:
        lasts = say("{minutes} with the pump standing", minutes=lasts)
    if on_mains is False:
        return say("On battery: {said}", said=lasts) + (
            say(" / gas {said}", said=_said(gas)) if gas is not None else ""
        )
    if gas is None:
        return say("If mains fail now: {said}", said=lasts)
    return say("If mains and wall gas fail now: {said} / {said2}", said=lasts, said2=_said(gas))


def _said(supply: SupplyView) -> str:
    """Whole minutes, rounded down: never more than there are; from two hours on with hours."""
    if supply.minutes is None:
        return NOT_KNOWN
    hours, minutes = divmod(int(supply.minutes), 60)
    long = f"{hours} h {minutes:02} min" if hours >= 2 else f"{int(supply.minutes)} min"
    return say("at most {long}", long=long) if supply.at_most else long


def _trip(
    source: Source, bed: BedState, battery: SupplyView, gas: SupplyView | None, stands: bool
) -> TripView | None:
    if bed.transport is None or not is_away(bed):
        return None
    trips = source.configuration.ladder.trips
    minutes = max(0.0, (bed.transport.back - source.now) / MINUTE)
    wanted = wanted_minutes(minutes, trips.times, trips.margin_min)
    return TripView(
        minutes=minutes,
        wanted=wanted,
        battery=_lasts(battery.model_copy(update={"at_most": battery.at_most or stands}), wanted),
        gas=_lasts(gas, wanted) if gas is not None else None,
    )


def _lasts(supply: SupplyView, wanted: float) -> bool | None:
    """Tell whether a supply lasts long enough; a figure that is at most so much can only deny it."""
    if supply.minutes is None:
        return None
    enough = supply.minutes >= wanted
    return None if enough and supply.at_most else enough


def _by_load(
    source: Source, bed: BedState, run: RunState, battery: SupplyView, profile: PumpProfile
) -> dict[str, object]:
    """Give the second view: what higher speeds would leave, by the load of the pump's profile."""
    speed = source.fresh(bed, run, Q.PUMP_SPEED)
    if speed is None or speed.value <= 0.0:
        return {}
    now = profile.battery_load(speed.value)
    more: dict[str, object] = {"load_of": say("load of the pump {name}", name=profile.name)}
    charge = source.fresh(bed, run, Q.BATTERY_CHARGE)
    if charge is not None and Condition.PACKS_OUT not in run.conditions:
        more["packs"] = profile.packs
        more["as_new"] = minutes_as_new(charge.value, profile.packs, profile.pack_energy, profile.usable_share, now)
    if battery.minutes is None:
        return more
    faster = [profile.nearest_speed(share * speed.value) for share in _FASTER]
    more["at_speeds"] = tuple(
        AtSpeedView(speed=one, minutes=minutes_at_load(battery.minutes, now, profile.battery_load(one)))
        for one in dict.fromkeys(faster)
        if one > speed.value
    )
    return more
