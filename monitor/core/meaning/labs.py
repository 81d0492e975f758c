"""The laboratory strip of a run: what was drawn when, what is due, and what is remarkable."""

from monitor.core.laboratory import LABORATORY, Laboratory
from monitor.core.meaning.inputs import Inputs
from monitor.core.meaning.labs_view import DrawView, LabView
from monitor.core.meaning.source import Source
from monitor.core.state import BedState, RunState
from shared.instant import HOUR, MINUTE, Instant
from shared.language.saying import say
from shared.language.writing import shortest
from shared.quantities import CATALOGUE, Quantity

#: How many draws of a quantity a strip shows.
SHOWN = 12


def labs_of(source: Source, bed: BedState, run: RunState) -> tuple[LabView, ...]:
    """Give every quantity that was ever drawn, in the order of the page."""
    here = Inputs(source, bed, run)
    settings = source.configuration.unit.laboratory
    return tuple(_lab(settings, here, quantity) for quantity in LABORATORY if here.draws(quantity))


def _lab(settings: Laboratory, here: Inputs, quantity: Quantity) -> LabView:
    draws = tuple(DrawView(value=known.value, at=known.at) for known in here.draws(quantity)[-SHOWN:])
    newest = draws[-1]
    due = _due(settings, quantity, newest.at)
    return LabView(
        quantity=quantity,
        value=newest.value,
        at=newest.at,
        previous=draws[-2] if len(draws) > 1 else None,
        draws=draws,
        due_at=due,
        overdue=due is not None and here.source.now >= due + round(settings.overdue_min * MINUTE),
        notice=_notice(settings, quantity, newest.value),
    )


def _due(settings: Laboratory, quantity: Quantity, drawn: Instant) -> Instant | None:
    hours = settings.every_h.get(quantity)
    return None if hours is None else drawn + round(hours * HOUR)


def _notice(settings: Laboratory, quantity: Quantity, value: float) -> str:
    above, below = settings.notice_above.get(quantity), settings.notice_below.get(quantity)
    unit = CATALOGUE[quantity].unit
    if above is not None and value > above:
        return say(
            "above {above} {unit} ({notice_mark})",
            above=shortest(above),
            unit=unit,
            notice_mark=settings.notice_mark,
        )
    if below is not None and value < below:
        return say(
            "below {below} {unit} ({notice_mark})",
            below=shortest(below),
            unit=unit,
            notice_mark=settings.notice_mark,
        )
    return ""
