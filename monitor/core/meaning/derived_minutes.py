"""Minutes: how many were outside target in this shift, of how many that could be judged; what a cylinder holds."""

from collections.abc import Iterator

from monitor.analysis.quarters import QUARTER, Quarters
from monitor.core.bedside.gas import LEAST_SWEEP, minutes_left
from monitor.core.judging.outside import COUNTED_OF, Outside, band_of
from monitor.core.judging.verdict import fitted
from monitor.core.meaning.derived_view import DerivedView, InputView
from monitor.core.meaning.inputs import Gap, Inputs, Part, Row, work_out
from shared.instant import HOUR, MINUTE, Instant
from shared.language.saying import say, to_say
from shared.language.writing import number
from shared.quantities import CATALOGUE

_DAY = 24 * HOUR
_LABELS = {
    Outside.FLOW: to_say("Flow outside target"),
    Outside.MAP: to_say("MAP outside target"),
    Outside.SPO2: to_say("SpO₂ below target"),
    Outside.INLET: to_say("Drain P low"),
    Outside.INLET_DEEP: to_say("Drain P very low, 24 h"),
}


def minute_rows(here: Inputs) -> Iterator[DerivedView]:
    """Give the minutes of this shift outside each target that stands, and of a cylinder where one is in use."""
    yield from _cylinder(here)
    for what in Outside:
        if fitted(here.run, COUNTED_OF[what]):
            yield from _outside(here, what)


def _outside(here: Inputs, what: Outside) -> Iterator[DerivedView]:
    band = band_of(here.source.configuration.unit.outside_target, here.run, what)
    if band is None:
        return
    entry = CATALOGUE[COUNTED_OF[what]]
    begin = _begin(here, what is Outside.INLET_DEEP)
    judged, outside = here.run.outside.get(what.value, Quarters()).since(begin)
    whole = max(judged, here.source.now // MINUTE - -(-begin // MINUTE))
    low, high = band
    beyond = say("below {low}", low=number(low, entry.decimals))
    if high < float("inf"):
        beyond = say("outside {low} to {high}", low=number(low, entry.decimals), high=number(high, entry.decimals))
    row = Row(
        id=f"minutes_{what.value}",
        label=_LABELS[what],
        unit="min",
        decimals=0,
        formula=say(
            "minutes since {when} whose median was {replace} {unit}",
            when=here.when(begin),
            replace=beyond.replace("-", "−"),
            unit=entry.unit,
        ),
    )
    minutes = here.run.minutes.get(COUNTED_OF[what])
    last = (minutes.numbers[-1] + 1) * MINUTE if minutes is not None and minutes.numbers else None
    parts: list[Part] = [_count(say("Judged"), judged, last), _count(say("Not judged"), whole - judged)]
    if not judged:
        parts.append(Gap(say("no minute could be judged since {when}", when=here.when(begin))))
    caution = (
        say("{whole} of {whole2} min could not be judged", whole=whole - judged, whole2=whole)
        if judged < whole
        else ""
    )
    yield work_out(row, parts, lambda *_: float(outside), cautions=(caution,))


def _count(label: str, minutes: int, at: Instant | None = None) -> InputView:
    return InputView(label=label, value=minutes, unit="min", decimals=0, at=at)


def _begin(here: Inputs, day: bool) -> Instant:
    """Give since when it is counted: the shift or the last day, from a whole quarter on, never before the run."""
    now = here.source.now
    shift = here.source.shift_began
    wanted = now - _DAY if day or shift is None else max(shift, now - _DAY)
    return max(-(-wanted // QUARTER) * QUARTER, here.run.started_at)


def _cylinder(here: Inputs) -> Iterator[DerivedView]:
    transport = here.bed.transport
    cylinder = transport.cylinder if transport is not None and transport.ended_at is None else None
    if cylinder is None or not here.run.description.oxygenator:
        return
    row = Row(
        id="cylinder_minutes", label=say("Cylinder lasts"), unit="min", decimals=0, formula=say("litres ÷ sweep")
    )
    sweep: Part = Gap(say("the sweep is not known"))
    if cylinder.sweep is not None and cylinder.sweep >= LEAST_SWEEP:
        sweep = InputView(label=say("Last known sweep"), value=cylinder.sweep, unit="L/min", decimals=1)
    litres = InputView(label=say("Cylinder"), value=cylinder.litres, unit="L", decimals=0, at=cylinder.at)
    left = minutes_left(cylinder, here.source.now)
    yield work_out(row, (litres, sweep), lambda *_: left or 0.0, cautions=(say("Less what it used since then"),))
