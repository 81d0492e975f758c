"""What follows from the readings of one run, in the order of the page. What makes no sense is absent.

That is decided by support type and fitted sensors. Absent, too, is what was never entered. What is lost or too old
has no value, and says why.
"""

from monitor.core.meaning.derived_draws import draw_rows
from monitor.core.meaning.derived_flow import flow_rows, size_of
from monitor.core.meaning.derived_minutes import minute_rows
from monitor.core.meaning.derived_oxygen import oxygen_rows
from monitor.core.meaning.derived_view import DerivedView
from monitor.core.meaning.inputs import Inputs
from monitor.core.meaning.source import Source
from monitor.core.state import BedState, RunState


def derived_of(source: Source, bed: BedState, run: RunState) -> tuple[DerivedView, ...]:
    """Give the derived quantities of a run now."""
    here = Inputs(source, bed, run)
    size = size_of(here)
    return (*flow_rows(here, size), *oxygen_rows(here, size), *draw_rows(here), *minute_rows(here), size)
