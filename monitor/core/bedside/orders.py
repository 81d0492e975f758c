"""Orders and targets: what was ordered and carried out at a bed, and what a run is meant to have.

An order begins the baseline since the last order anew, never the run's own. While a run has no target for its flow,
*limits not set* stands at the bed.
"""

from monitor.core.alerts.episodes import Onset, end_alert, raise_alert
from monitor.core.bedside.effects import keep_order
from monitor.core.bedside.possible import not_possible
from monitor.core.commands import Order, SetTarget
from monitor.core.entries import EntryKind
from monitor.core.handling import Handling
from monitor.core.judging.observing import begin_order_baselines
from monitor.core.judging.outside import stand_from
from monitor.core.judging.verdict import fitted
from monitor.core.own_rules import LIMITS_NOT_SET
from monitor.core.state import BedState, RunState
from shared.instant import HOUR
from shared.language.saying import say
from shared.quantities import CATALOGUE, Quantity
from shared.support import label_at


def order(handling: Handling, command: Order) -> str | None:
    """Write an order down: the baseline since the last order begins anew, the run's own does not."""
    found = _run_for(handling, command)
    if isinstance(found, str):
        return found
    found.orders = [moment for moment in found.orders if moment > handling.now - 72 * HOUR] + [handling.now]
    keep_order(handling.state.beds[command.bed], found, command, handling.now)
    begin_order_baselines(handling.watch, found, handling.now)
    if command.quantity is Quantity.PUMP_FLOW:
        stand_from(found, Quantity.PUMP_FLOW, command.value, handling.now)
        watch_targets(handling, handling.state.beds[command.bed], found)
    by = say(", by {prescriber}", prescriber=command.prescriber) if command.prescriber else ""
    _write_value(handling, found, command, EntryKind.ORDER, by)
    return None


def set_target(handling: Handling, command: SetTarget) -> str | None:
    """Set a run's target for a quantity."""
    found = _run_for(handling, command)
    if isinstance(found, str):
        return found
    stand_from(found, command.quantity, command.value, handling.now)
    watch_targets(handling, handling.state.beds[command.bed], found)
    _write_value(handling, found, command, EntryKind.TARGET, "")
    return None


def _run_for(handling: Handling, command: Order | SetTarget) -> RunState | str:
    """Give the run that a command names, or the reason why its value cannot stand."""
    bed = handling.state.beds.get(command.bed)
    run = bed.runs.get(command.slot) if bed else None
    if run is None:
        return say("no run is open at {bed}, pump {slot}", slot=command.slot, bed=command.bed)
    return not_possible(command.quantity, command.value, run.description) or run


def _write_value(handling: Handling, run: RunState, command: Order | SetTarget, kind: EntryKind, by: str) -> None:
    word = say("Order") if kind is EntryKind.ORDER else say("Target")
    spec = CATALOGUE[command.quantity]
    handling.write(
        kind,
        command.bed,
        slot=command.slot,
        person=command.person,
        command=command.id,
        value=command.value,
        text=f"{word}: {label_at(command.quantity, run.description)} {command.value:g} {spec.unit}".rstrip() + by,
    )


def watch_targets(handling: Handling, bed: BedState, run: RunState) -> None:
    """Say that limits are not set while a run has no target for its flow; take it back once it has."""
    missing = fitted(run, Quantity.PUMP_FLOW) and Quantity.PUMP_FLOW not in run.targets
    if missing and run.unset_alert is None:
        run.unset_alert = raise_alert(handling, Onset(LIMITS_NOT_SET, bed.label, run.description.slot)).id
    elif not missing and run.unset_alert is not None:
        alert, run.unset_alert = bed.alerts[run.unset_alert], None
        end_alert(handling, alert)
