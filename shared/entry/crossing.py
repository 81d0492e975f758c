"""The numbers of one set against each other. Such checks find more than the range of any single number.

Each check is a line of the table `CHECKS`. What is not typed is not checked; nothing is taken from an earlier set
but what was usual.
"""

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, field
from statistics import median

from shared.derived import LEAST_FLOW, derive
from shared.entry.findings import Finding, Reason, beyond, ended, named, spoken
from shared.entry.known import Told
from shared.entry.looking import CrossChecks
from shared.entry.units import TypedIn
from shared.language.saying import say
from shared.language.writing import in_marks, number, shortest
from shared.quantities import Quantity
from shared.quantities import Quantity as Q
from shared.support import Support, label_for

#: Fewer resistances than this say nothing of what is usual.
_LEAST_SETS = 3


@dataclass(frozen=True, slots=True)
class Whole:
    """A set as a whole.

    Attributes:
        values: the numbers typed so far, in catalogue units.
        last: last numbers that still count, of the same run.
        resistances: drop over flow of earlier sets, the newest last.
        support, oxygenator: the run's type, and whether it has one: nothing is named after a part that it lacks.
        typed: what is typed in another unit than the catalogue's.
    """

    checks: CrossChecks
    support: Support
    values: Mapping[Q, float]
    last: Mapping[Q, Told]
    resistances: tuple[float, ...] = ()
    typed: Mapping[Q, TypedIn] = field(default_factory=dict)
    oxygenator: bool = True

    def get(self, *quantities: Q) -> tuple[float, ...] | None:
        """Give these numbers, or ``None`` where one is not typed."""
        if any(quantity not in self.values for quantity in quantities):
            return None
        return tuple(self.values[quantity] for quantity in quantities)


Check = Callable[[Whole], Iterator[Finding]]


def check_set(whole: Whole) -> Iterator[Finding]:
    """Find everything in a set that does not go together."""
    for check in CHECKS:
        yield from check(whole)


def _found(
    whole: Whole,
    at: Q,
    reason: Reason,
    words: str,
    about: tuple[Q, ...],
    refused: bool = False,
    holds: tuple[Q, ...] = (),
    settled_by: tuple[Q, ...] = (),
) -> Finding:
    numbers = tuple((quantity, whole.values[quantity]) for quantity in (at, *about) if quantity in whole.values)
    told = ", ".join(
        named(say(label_for(quantity, whole.support, whole.oxygenator)), quantity, value, whole.typed.get(quantity))
        for quantity, value in numbers
    )
    return Finding(at, reason, refused, ended(f"{told}: {words}"), numbers, holds=holds, settled_by=settled_by)


def _drop(whole: Whole) -> Iterator[Finding]:
    """Pressure drop of the oxygenator: never negative where blood flows, seldom high."""
    derived = dict(derive(whole.values))
    drop = derived.get(Q.OXYGENATOR_PRESSURE_DROP)
    if drop is None:
        return
    checks, flow = whole.checks, whole.values.get(Q.PUMP_FLOW)
    at, about = Q.POST_OXYGENATOR_PRESSURE, (Q.PRE_OXYGENATOR_PRESSURE, Q.PUMP_FLOW)
    shown = say(
        "the pressure {more} by {spoken}",
        more="falls" if drop > 0 else "rises",
        spoken=spoken(Q.OXYGENATOR_PRESSURE_DROP, abs(drop)),
    )
    if drop < 0 and (flow is None or flow >= checks.still_flow):
        words = say("{shown}; it falls wherever blood flows through. Are the two exchanged?", shown=shown)
        refused = drop < checks.drop_refused_below and flow is not None
        yield _found(whole, at, Reason.DROP, words, about, refused, about[:1])
    elif drop > checks.drop_above:
        limit = spoken(Q.OXYGENATOR_PRESSURE_DROP, checks.drop_above)
        yield _found(whole, at, Reason.DROP, say("{shown}, above {limit}", shown=shown, limit=limit), about)
    else:
        yield from _resistance(whole, drop, derived.get(Q.OXYGENATOR_RESISTANCE), flow)


def _resistance(whole: Whole, drop: float, resistance: float | None, flow: float | None) -> Iterator[Finding]:
    """Drop over flow against what was usual at this oxygenator."""
    kept = whole.resistances[-whole.checks.resistance_sets :]
    if resistance is None or flow is None or len(kept) < _LEAST_SETS:
        return
    usual = median(kept)
    least = usual * flow + whole.checks.resistance_least
    if resistance > usual * (1 + whole.checks.resistance_share) and drop > least:
        words = say(
            "the pressure falls by {resistance} mmHg for each L/min, usual here is {usual}; "
            "{resistance_percent:.0f} % more is asked about",
            resistance=number(resistance, 1),
            usual=number(usual, 1),
            resistance_percent=100 * whole.checks.resistance_share,
        )
        about = (Q.PRE_OXYGENATOR_PRESSURE, Q.PUMP_FLOW)
        yield _found(whole, Q.POST_OXYGENATOR_PRESSURE, Reason.RESISTANCE, words, about)


def _flow_for_speed(whole: Whole) -> Iterator[Finding]:
    """Flow against what this speed gave before; no flow forward is expected of a pump that stands."""
    typed = whole.get(Q.PUMP_FLOW, Q.PUMP_SPEED)
    if typed is None:
        return
    flow, speed = typed
    before = {quantity: told.value for quantity, told in whole.last.items()}
    last_yield = dict(derive(before)).get(Q.SPEED_YIELD)
    if last_yield is None:
        return
    expected = max(last_yield, 0.0) * speed / 1000
    apart = max(whole.checks.yield_share * expected, whole.checks.yield_least)
    if beyond(abs(max(flow, 0.0) - expected), apart):
        words = say(
            "at this speed the last set would give {expected} L/min; more than {yield_percent:.0f} % "
            "apart is asked about",
            expected=number(expected, 1),
            yield_percent=100 * whole.checks.yield_share,
        )
        yield _found(whole, Q.PUMP_FLOW, Reason.FLOW_FOR_SPEED, words, (Q.PUMP_SPEED,))


def _sweep_for_flow(whole: Whole) -> Iterator[Finding]:
    """Sweep gas for each litre of flow; gas that is off is asked about by its range alone."""
    typed = whole.get(Q.SWEEP_GAS_FLOW, Q.PUMP_FLOW)
    if typed is None or typed[0] <= 0 or typed[1] < LEAST_FLOW:
        return
    ratio = typed[0] / typed[1]
    low, high = whole.checks.sweep_low, whole.checks.sweep_high
    if beyond(low, ratio) or beyond(ratio, high):
        words = say(
            "{ratio} L of gas for each L of blood, usual is {low} to {high}",
            ratio=in_marks(f"{ratio:.2g}"),
            low=shortest(low),
            high=shortest(high),
        )
        flow = (Q.PUMP_FLOW,)
        yield _found(whole, Q.SWEEP_GAS_FLOW, Reason.SWEEP_FOR_FLOW, words, flow, settled_by=flow)


def _pulse(whole: Whole) -> Iterator[Finding]:
    """Systolic above diastolic, the mean between them."""
    typed = whole.get(Q.SYSTOLIC_PRESSURE, Q.DIASTOLIC_PRESSURE)
    if typed is None:
        return
    systolic, diastolic = typed
    both = (Q.SYSTOLIC_PRESSURE, Q.DIASTOLIC_PRESSURE)
    if systolic < diastolic:
        words = say("the systolic is below the diastolic. Are the two exchanged?")
        yield _found(whole, both[1], Reason.PULSE, words, both[:1], True, both[:1])
        return
    if whole.support is Support.VA and systolic - diastolic < whole.checks.pulse_low:
        words = say(
            "a pulse pressure of {systolic} mmHg, below {pulse_low}",
            systolic=shortest(systolic - diastolic),
            pulse_low=shortest(whole.checks.pulse_low),
        )
        yield _found(whole, both[1], Reason.PULSE, words, both[:1])
    mean = whole.values.get(Q.MEAN_ARTERIAL_PRESSURE)
    if mean is None:
        return
    slack = whole.checks.mean_slack
    same = mean == systolic and systolic - diastolic >= whole.checks.pulse_low
    if same or not diastolic - slack <= mean <= systolic + slack:
        words = say("the mean is not between diastolic and systolic. Was another one typed?")
        yield _found(whole, Q.MEAN_ARTERIAL_PRESSURE, Reason.PULSE, words, both)


def _lung_arteries(whole: Whole) -> Iterator[Finding]:
    """Mean pressure in the lung's arteries, never below their diastolic."""
    typed = whole.get(Q.PA_MEAN_PRESSURE, Q.PA_DIASTOLIC_PRESSURE)
    if typed is not None and typed[0] < typed[1]:
        words = say("the mean is below the diastolic. Are the two exchanged?")
        yield _found(whole, Q.PA_DIASTOLIC_PRESSURE, Reason.PULSE, words, (Q.PA_MEAN_PRESSURE,))


def _power(whole: Whole) -> Iterator[Finding]:
    """Mains or battery against the charge: it does not rise on battery, and does not fall on mains."""
    typed, before = whole.get(Q.ON_MAINS, Q.BATTERY_CHARGE), whole.last.get(Q.BATTERY_CHARGE)
    if typed is None or before is None:
        return
    mains, charge = typed
    if mains and charge < before.value - whole.checks.charge_fall:
        words = say(
            "the charge was {spoken}; it does not fall on mains. Is it on mains?",
            spoken=spoken(Q.BATTERY_CHARGE, before.value),
        )
        yield _found(whole, Q.BATTERY_CHARGE, Reason.POWER, words, (Q.ON_MAINS,))
    elif not mains and charge > before.value:
        words = say(
            "the charge was {spoken}; it does not rise on battery", spoken=spoken(Q.BATTERY_CHARGE, before.value)
        )
        yield _found(whole, Q.BATTERY_CHARGE, Reason.POWER, words, (Q.ON_MAINS,))


def _oxygen_ratio(whole: Whole) -> Iterator[Finding]:
    """Oxygen after the oxygenator against the oxygen in the gas."""
    typed = whole.get(Q.POST_OXYGENATOR_PO2, Q.FDO2)
    if typed is None:
        return
    ratio = typed[0] / (typed[1] / 100)
    low, at = whole.checks.oxygen_ratio_below, Q.POST_OXYGENATOR_PO2
    if ratio < low:
        unit = whole.typed.get(at)
        shown, limit = spoken(at, round(ratio), unit), spoken(at, low, unit).split()[0]
        words = say(
            "{shown} for each whole share of oxygen in the gas, below {limit}. Is the unit right?",
            shown=shown,
            limit=limit,
        )
        yield _found(whole, Q.POST_OXYGENATOR_PO2, Reason.OXYGEN_RATIO, words, (Q.FDO2,))


def _limbs(whole: Whole) -> Iterator[Finding]:
    """Left and right limb against each other."""
    typed = whole.get(Q.LIMB_NIRS_LEFT, Q.LIMB_NIRS_RIGHT)
    if typed is not None and abs(typed[0] - typed[1]) > whole.checks.limb_difference:
        words = say(
            "left and right differ by {spoken}", spoken=spoken(Quantity.LIMB_NIRS_LEFT, abs(typed[0] - typed[1]))
        )
        yield _found(whole, Q.LIMB_NIRS_RIGHT, Reason.LIMBS, words, (Q.LIMB_NIRS_LEFT,))


#: Every check of a set, in the order in which findings are told.
CHECKS: tuple[Check, ...] = (
    _drop,
    _flow_for_speed,
    _sweep_for_flow,
    _power,
    _pulse,
    _lung_arteries,
    _oxygen_ratio,
    _limbs,
)
