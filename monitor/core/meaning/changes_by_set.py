"""What changed at a run whose sets are entered by hand: for each quantity the first set that shows it.

Against the bed's own baseline, that of the last order once it stands, else that of the run; without one nothing is
told. One reading is no median: it counts where it is further away than the least change worth telling, from the
first set that shows it until the newest. How it came between two sets nobody knows.
"""

from collections.abc import Iterator

from monitor.core.judging.sets import first_away, readings
from monitor.core.meaning.changes import is_told, reference_of
from monitor.core.meaning.sizes import LEAST, least_change
from monitor.core.meaning.source import Source
from monitor.core.meaning.trend_view import ChangeView
from monitor.core.state import BedState, RunState
from shared.quantities import CATALOGUE, Quantity


def changes_by_set(source: Source, bed: BedState, run: RunState) -> tuple[ChangeView, ...]:
    """Give what changed and still stands in the newest set, in order of the sets that showed it first."""
    found = (one for quantity in LEAST for one in _change(source, bed, run, quantity))
    return tuple(sorted(found, key=lambda change: change.onset))


def _change(source: Source, bed: BedState, run: RunState, quantity: Quantity) -> Iterator[ChangeView]:
    reference = reference_of(run, quantity)
    if reference.value is None or not is_told(source, bed, run, quantity):
        return
    sets = readings(run, quantity)
    began = first_away(sets, reference.value, least_change(quantity))
    if began is None:
        return
    place = next(place for place, (at, _) in enumerate(sets) if at == began.at)
    signal = run.signals[quantity]
    yield ChangeView(
        quantity=quantity,
        onset=began.at,
        sudden=False,
        up=signal.last > reference.value,
        before=sets[place - 1][1] if place else reference.value,
        value=signal.last,
        at=signal.last_at,
        unit=CATALOGUE[quantity].unit,
        resolution_ms=began.resolution_ms,
        by_set=True,
        usual=reference.value,
        against=reference.against,
    )
