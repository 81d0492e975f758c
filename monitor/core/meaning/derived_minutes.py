"""Minutes: how many were outside target in this shift, of how many that could be judged; what a cylinder holds."""

from collections.abc import Iterator

from monitor.analysis.quarters import QUARTER, Quarters
from monitor.core.bedside.gas import LEAST_SWEEP, minutes_left
from monitor.core.judging.outside import COUNTED_OF, Outside, band_of
from monitor.core.judging.verdict import fitted
from monitor.core.meaning.derived_view import DerivedView, InputView
from monitor.core.meaning.inputs import Gap, Inputs, Part, Row, work_out
from shared.instant import HOUR, MINUTE, Instant
from shared.quantities import CATALOGUE

_DAY = 24 * HOUR
_LABELS = {
    Outside.FLOW: "Flow outside target",
    Outside.MAP: "MAP outside target",
    Outside.SPO2: "SpO₂ below target",
    Outside.INLET: "Drain P low",
    Outside.INLET_DEEP: "Drain P very low, 24 h",
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
    beyond = f"below {low:.{entry.decimals}f}"
    if high < float("inf"):
        beyond = f"outside {low:.{entry.decimals}f} to {high:.{entry.decimals}f}"
    row = Row(
        id=f"minutes_{what.value}",
        label=_LABELS[what],
        unit="min",
        decimals=0,
        formula=f"minutes since {here.when(begin)} whose median was {beyond.replace('-', '−')} {entry.unit}",
    )
    minutes = here.run.minutes.get(COUNTED_OF[what])
    last = (minutes.numbers[-1] + 1) * MINUTE if minutes is not None and minutes.numbers else None
    parts: list[Part] = [_count("Judged", judged, last), _count("Not judged", whole - judged)]
    if not judged:
        parts.append(Gap(f"no minute could be judged since {here.when(begin)}"))
    caution = f"{whole - judged} of {whole} min could not be judged" if judged < whole else ""
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
    row = Row(id="cylinder_minutes", label="Cylinder lasts", unit="min", decimals=0, formula="litres ÷ sweep")
    sweep: Part = Gap("the sweep is not known")
    if cylinder.sweep is not None and cylinder.sweep >= LEAST_SWEEP:
        sweep = InputView(label="Last known sweep", value=cylinder.sweep, unit="L/min", decimals=1)
    litres = InputView(label="Cylinder", value=cylinder.litres, unit="L", decimals=0, at=cylinder.at)
    left = minutes_left(cylinder, here.source.now)
    yield work_out(row, (litres, sweep), lambda *_: left or 0.0, cautions=("Less what it used since then",))
