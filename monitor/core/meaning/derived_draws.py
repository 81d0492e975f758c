"""What two draws of one laboratory value say together: how lactate clears, how free haemoglobin moves."""

from collections.abc import Iterator

from monitor.core.meaning.derived_view import DerivedView
from monitor.core.meaning.inputs import Gap, Inputs, Part, Row, work_out
from monitor.core.meaning.source import Known
from shared.instant import HOUR
from shared.language.saying import say
from shared.language.writing import number, shortest
from shared.physics import haemolysis, lactate
from shared.quantities import CATALOGUE
from shared.quantities import Quantity as Q

#: Two draws nearer to each other tell little; older ones than a day are history.
LEAST_APART_MS, OLD_MS = HOUR, 24 * HOUR
#: The stretches that are looked back over: clearance within 6 h (Nguyen 2004), doubling within 24 h.
CLEARED_WITHIN_MS, DOUBLED_WITHIN_MS = 6 * HOUR, 24 * HOUR
#: Lactate below this is as wanted: what it clears from there says little (common practice, no source).
WANTED_LACTATE = 2.0


def draw_rows(here: Inputs) -> Iterator[DerivedView]:
    """Give what follows from two draws, where there has been one."""
    if here.draws(Q.LACTATE):
        yield _clearance(here)
    if here.draws(Q.PLASMA_FREE_HAEMOGLOBIN):
        yield _free_haemoglobin(here)


def _clearance(here: Inputs) -> DerivedView:
    row = Row(
        id="lactate_clearance",
        label=say("Lactate clearance"),
        unit="%",
        decimals=0,
        formula=say("(first − last) ÷ first"),
    )
    parts, hours = _pair(here, Q.LACTATE, CLEARED_WITHIN_MS)
    caution = ""
    if hours:
        first, last = (part.value for part in parts if not isinstance(part, Gap))
        rising = say("; it rises") if last > first else ""
        low = (
            say("; it was already below {wanted_lactate} mmol/L", wanted_lactate=shortest(WANTED_LACTATE))
            if first < WANTED_LACTATE
            else ""
        )
        caution = say("Over {hours} h{rising}{low}", hours=number(hours, 1), rising=rising, low=low)
    return work_out(row, parts, _cleared, cautions=(caution,))


def _free_haemoglobin(here: Inputs) -> DerivedView:
    row = Row(
        id="free_haemoglobin_trend",
        label=say("pfHb a day"),
        unit="mg/L/d",
        decimals=0,
        formula=say("(last − first) ÷ days"),
    )
    quantity = Q.PLASMA_FREE_HAEMOGLOBIN
    parts, hours = _pair(here, quantity, DOUBLED_WITHIN_MS)
    cautions = (say("Over {hours} h", hours=number(hours, 1)), _doubled(here, quantity)) if hours else ()

    def change(first: float, last: float) -> float:
        return haemolysis.change_per_day(first, last, hours)

    return work_out(row, parts, change, cautions=cautions)


def _pair(here: Inputs, quantity: Q, within_ms: int) -> tuple[tuple[Part, ...], float]:
    """Give the last draw and the one to compare it with, oldest first, and the hours between them (0: none).

    Compared with is the oldest draw of the stretch before the last one, or else the newest before that.
    """
    label, draws = CATALOGUE[quantity].label, here.draws(quantity)
    last = draws[-1]
    if here.source.now - last.at > OLD_MS:
        return (here.gap(label, last.at),), 0.0
    before = [draw for draw in draws if last.at - draw.at >= LEAST_APART_MS]
    if not before:
        return (Gap(say("only one draw of {label} yet, at {when}", label=label, when=here.when(last.at))),), 0.0
    first = next((draw for draw in before if last.at - draw.at <= within_ms), before[-1])
    parts = (
        here.input(quantity, first, say("{label}, first", label=label)),
        here.input(quantity, last, say("{label}, last", label=label)),
    )
    return parts, (last.at - first.at) / HOUR


def _doubled(here: Inputs, quantity: Q) -> str:
    """Say that a value has at least doubled within a day, from which draw."""
    draws = here.draws(quantity)
    last = draws[-1]
    lower = [
        draw for draw in draws if 0 < last.at - draw.at <= DOUBLED_WITHIN_MS and 0 < 2 * draw.value <= last.value
    ]
    if not lower:
        return ""
    first: Known = lower[-1]
    return say(
        "At least doubled since {when}: {value} to {value2} mg/L",
        when=here.when(first.at),
        value=shortest(first.value),
        value2=shortest(last.value),
    )


def _cleared(first: float, last: float) -> float | Gap:
    return 100 * lactate.clearance(first, last) if first > 0 else Gap(say("lactate was 0: nothing to clear"))
