"""Who looked at a bed, when, and what was usual there at that moment: the next look begins from it."""

from statistics import median

from monitor.core.bed_commands import LookedAt
from monitor.core.entries import EntryKind
from monitor.core.handling import Handling
from monitor.core.judging.sets import overdue_ms, readings
from monitor.core.state import BedState, Look, RunState
from shared.instant import MINUTE, Instant
from shared.quantities import Quantity as Q

#: What is compared with the last look, as the median of this long.
COMPARED = (Q.PUMP_SPEED, Q.PUMP_FLOW, Q.INLET_PRESSURE, Q.OXYGENATOR_RESISTANCE, Q.MEAN_ARTERIAL_PRESSURE)
SPAN_MS = 30 * MINUTE


def looked_at(handling: Handling, command: LookedAt) -> str | None:
    """Write down that a person has looked at a bed."""
    bed = handling.state.beds.get(command.bed)
    if bed is None:
        return f"there is no bed {command.bed}"
    usual = {slot: usual_of(bed, run, handling.now, overdue_ms(handling.rules)) for slot, run in bed.runs.items()}
    runs = {slot: run.description.run_id for slot, run in bed.runs.items()}
    bed.looks[command.person] = Look(handling.now, runs, usual)
    handling.write(EntryKind.LOOKED, command.bed, person=command.person, command=command.id)
    return None


def usual_of(bed: BedState, run: RunState, now: Instant, set_ms: int) -> dict[Q, float]:
    """Give the medians of a run's last half hour; a quantity that was not read in it has none.

    Where sets are entered by hand: the newest reading, unless it is ``set_ms`` old.
    """
    found: dict[Q, float] = {}
    for quantity in COMPARED:
        minutes = run.minutes.get(quantity)
        if bed.by_sets:
            values = [value for at, value in readings(run, quantity)[-1:] if now - at < set_ms]
        else:
            values = [value for _, value in minutes.since(now - SPAN_MS)] if minutes is not None else []
        if values:
            found[quantity] = median(values)
    return found
