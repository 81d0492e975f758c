"""What derived quantities follow from: fresh readings, draws that are young enough, or why there is none."""

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass

from monitor.core.judging.verdict import fitted
from monitor.core.meaning.derived_view import DerivedView, InputView
from monitor.core.meaning.source import Known, Source
from monitor.core.roster.wall import clock_of, day_of
from monitor.core.state import BedState, RunState
from shared.instant import HOUR, Instant
from shared.language.saying import say, to_say
from shared.quantities import CATALOGUE, Quantity, Scope
from shared.support import label_at

ESTIMATED = to_say("Flow is the console's estimate")


@dataclass(frozen=True, slots=True)
class Gap:
    """Why something is not known now, in words."""

    why: str


Part = InputView | Gap


@dataclass(frozen=True, slots=True, kw_only=True)
class Row:
    """How a derived quantity is written: the fields of `DerivedView` that do not depend on the readings."""

    id: str
    label: str
    unit: str
    decimals: int
    formula: str


@dataclass(frozen=True, slots=True)
class Inputs:
    """One run at the moment of asking."""

    source: Source
    bed: BedState
    run: RunState

    def has(self, quantity: Quantity) -> bool:
        """Tell whether a quantity is fitted here; the patient's own may be fitted to the bed's other run."""
        return any(fitted(run, quantity) for run in self._runs(quantity))

    def reading(self, quantity: Quantity, label: str = "") -> Part:
        """Give the present reading of what is fitted, or why there is none."""
        found = (self.source.settled(self.bed, run, quantity) for run in self._runs(quantity))
        known = next((one for one in found if one is not None), None)
        label = label or label_at(quantity, self.run.description)
        if known is not None:
            return self.input(quantity, known, label)
        lasts = (self.source.last(run, quantity) for run in self._runs(quantity))
        last = max((one.at for one in lasts if one is not None), default=None)
        return self.gap(label, last)

    def drawn(self, quantity: Quantity) -> Part:
        """Give the newest laboratory value that may be used with what is measured now, or why there is none."""
        if self.has(quantity):
            return self.reading(quantity)
        draws = self.draws(quantity)
        hours = self.source.configuration.unit.laboratory.usable(quantity)
        if not draws or self.source.now - draws[-1].at > hours * HOUR:
            return self.gap(CATALOGUE[quantity].label, draws[-1].at if draws else None)
        return self.input(quantity, draws[-1])

    def draws(self, quantity: Quantity) -> list[Known]:
        """Give the draws of a quantity, oldest first."""
        found = [draw for run in self._runs(quantity) for draw in run.draws.get(quantity, ())]
        return [Known(value, at) for at, value in sorted(found)]

    def input(self, quantity: Quantity, known: Known, label: str = "") -> InputView:
        """Put a reading into words."""
        entry = CATALOGUE[quantity]
        return InputView(
            label=label or entry.label, value=known.value, unit=entry.unit, decimals=entry.decimals, at=known.at
        )

    def gap(self, label: str, last: Instant | None) -> Gap:
        """Say that something is not known any more, or was never."""
        return Gap(
            say("no {label} yet", label=label)
            if last is None
            else say("no {label} since {when}", label=label, when=self.when(last))
        )

    def when(self, at: Instant) -> str:
        """Write a time of the wall's clock, with its day where that is not today."""
        zone = self.source.configuration.unit.zone
        days = (day_of(self.source.now, zone) - day_of(at, zone)).days
        day = {0: "", 1: say(" yesterday")}.get(days, say(" {days} days ago", days=days))
        return f"{clock_of(at, zone)}{day}"

    def _runs(self, quantity: Quantity) -> Iterator[RunState]:
        yield self.run
        if CATALOGUE[quantity].scope is Scope.BED:
            yield from (run for run in self.bed.runs.values() if run is not self.run)


def work_out(
    row: Row,
    parts: Sequence[Part],
    compute: Callable[..., float | Gap],
    constants: Sequence[InputView] = (),
    cautions: Sequence[str] = (),
) -> DerivedView:
    """Make a derived quantity: ``compute`` gets the inputs' values in order. The oldest input decides its age."""
    known = tuple(part for part in parts if isinstance(part, InputView))
    gaps = tuple(part for part in parts if isinstance(part, Gap))
    made = gaps[0] if gaps else compute(*(part.value for part in known))
    missing = "; ".join(dict.fromkeys(gap.why for gap in gaps)) if gaps else ""
    if isinstance(made, Gap):
        missing = missing or made.why
    return DerivedView(
        id=row.id,
        label=row.label,
        unit=row.unit,
        decimals=row.decimals,
        formula=row.formula,
        value=None if isinstance(made, Gap) else made,
        inputs=known,
        constants=tuple(constants),
        at=min((part.at for part in known if part.at is not None), default=None),
        caution="; ".join(said for said in cautions if said),
        missing=missing[:1].upper() + missing[1:],
    )
