"""The meaning of one run, gathered from the modules beside this one."""

from monitor.core.meaning.changes import changes_of
from monitor.core.meaning.changes_by_set import changes_by_set
from monitor.core.meaning.current import current_of
from monitor.core.meaning.derived import derived_of
from monitor.core.meaning.flow import flow_estimate_of
from monitor.core.meaning.hints import hints_of
from monitor.core.meaning.labs import labs_of
from monitor.core.meaning.looked import looked_of
from monitor.core.meaning.operating import operating_of
from monitor.core.meaning.order_effects import order_effects_of
from monitor.core.meaning.power import power_of
from monitor.core.meaning.source import Source
from monitor.core.meaning.trends import trends_of
from monitor.core.meaning.view import Meaning
from monitor.core.state import BedState, RunState


def meaning_of(source: Source, bed: BedState, run: RunState, person: str | None = None) -> Meaning:
    """Give what the readings of a run mean now, and to ``person``: what has changed since they looked."""
    hints, not_judged = hints_of(source, bed, run)
    return Meaning(
        bed=bed.label,
        slot=run.description.slot,
        run_id=run.description.run_id,
        at=source.now,
        derived=derived_of(source, bed, run),
        labs=labs_of(source, bed, run),
        flow_estimate=flow_estimate_of(source, bed, run),
        current=current_of(source, bed, run),
        operating=operating_of(source, bed, run),
        order_effects=order_effects_of(source, bed, run),
        power=power_of(source, bed, run),
        trends=trends_of(source, bed, run),
        changes=changes_by_set(source, bed, run) if bed.by_sets else changes_of(source, bed, run),
        looked=looked_of(source, bed, run, person),
        hints=hints,
        not_judged=not_judged,
    )
