"""What happens at a bed besides alerts: runs start and end, orders and targets are written down."""

from monitor.core.commands import CallHelp, CareMarker, Device, EndRun, Exchange, Order, SetTarget, StartRun
from monitor.core.entries import EntryKind
from monitor.core.episodes import Onset, end_alert, raise_alert
from monitor.core.grades import Role
from monitor.core.handling import Handling
from monitor.core.judging.plan import plan_of
from monitor.core.observing import begin_order_baselines, begin_run_baselines
from monitor.core.rules import HelpRule
from monitor.core.state import BedState, RuleState, RunState
from shared.instant import HOUR, MINUTE
from shared.quantities import CATALOGUE, Quantity
from shared.support import SUPPORT_LABEL, RunDescription

_PRESSURES = frozenset(
    {
        Quantity.INLET_PRESSURE,
        Quantity.PRE_OXYGENATOR_PRESSURE,
        Quantity.POST_OXYGENATOR_PRESSURE,
    }
)
_RESISTANCE = frozenset({Quantity.OXYGENATOR_PRESSURE_DROP, Quantity.OXYGENATOR_RESISTANCE})
_DRIVE = frozenset({Quantity.PUMP_SPEED, Quantity.PUMP_FLOW, Quantity.SPEED_YIELD, Quantity.MOTOR_CURRENT})

#: Which of a run's baselines a device has made (common practice, no source).
MADE_BY = {
    Device.PUMP_HEAD: _DRIVE | _PRESSURES,
    Device.OXYGENATOR: _RESISTANCE | _PRESSURES,
    Device.TUBING: _DRIVE | _PRESSURES,
    Device.CONSOLE: frozenset[Quantity](),
}

_HELP_WORDS = {
    "air": "Air in the circuit",
    "line_out": "Cannula or line out",
    "bleeding": "Bleeding from the circuit",
    "pump_noise": "Pump noise or shaking",
    "gas_lost": "Gas lost",
    "other": "Help needed",
}


def begin_run(
    handling: Handling, bed: BedState, description: RunDescription, targets: dict[Quantity, float], by: str = ""
) -> None:
    """Start a run in its slot: blank signals, baselines and rules."""
    run = RunState(description=description, started_at=handling.now, targets=dict(targets))
    run.plan = plan_of(handling.watch.limits.rules, run)
    run.rules = {planned.rule.id: RuleState() for planned in run.plan}
    begin_run_baselines(handling.watch, run, handling.now)
    bed.runs[description.slot] = run
    label = SUPPORT_LABEL[description.support]
    handling.write(
        EntryKind.RUN_STARTED,
        bed.label,
        slot=description.slot,
        person=by or None,
        text=f"{label}, run {description.run_id}",
    )


def start_run(handling: Handling, command: StartRun) -> str | None:
    """Start a run by command. Gives a reason where that cannot be."""
    bed = handling.state.beds.get(command.bed)
    if bed is None:
        return f"there is no bed {command.bed}"
    if command.run.slot in bed.runs:
        return f"a run is open in slot {command.run.slot} of {command.bed}: end it first"
    begin_run(handling, bed, command.run, command.targets, command.person)
    return None


def end_run(handling: Handling, command: EndRun) -> str | None:
    """End a run: its open alerts end, and nothing is watched in that slot any more."""
    bed = handling.state.beds.get(command.bed)
    run = bed.runs.get(command.slot) if bed else None
    if bed is None or run is None:
        return f"no run is open in slot {command.slot} of {command.bed}"
    for alert in [a for a in bed.alerts.values() if a.slot == command.slot and a.present]:
        end_alert(handling, alert)
    del bed.runs[command.slot]
    handling.write(
        EntryKind.RUN_ENDED,
        command.bed,
        slot=command.slot,
        person=command.person,
        command=command.id,
        text=command.reason,
    )
    return None


def order(handling: Handling, command: Order) -> str | None:
    """Write an order down: the baseline since the last order begins anew, the run's own does not."""
    found = _run_for(handling, command)
    if isinstance(found, str):
        return found
    found.orders = [moment for moment in found.orders if moment > handling.now - 72 * HOUR] + [handling.now]
    begin_order_baselines(handling.watch, found, handling.now)
    if command.quantity is Quantity.PUMP_FLOW:
        found.targets[Quantity.PUMP_FLOW] = command.value
    by = f", by {command.prescriber}" if command.prescriber else ""
    _write_value(handling, command, EntryKind.ORDER, "Order", by)
    return None


def set_target(handling: Handling, command: SetTarget) -> str | None:
    """Set a run's target for a quantity."""
    found = _run_for(handling, command)
    if isinstance(found, str):
        return found
    found.targets[command.quantity] = command.value
    _write_value(handling, command, EntryKind.TARGET, "Target", "")
    return None


def _run_for(handling: Handling, command: Order | SetTarget) -> RunState | str:
    """Give the run that a command names, or the reason why its value cannot stand."""
    bed = handling.state.beds.get(command.bed)
    run = bed.runs.get(command.slot) if bed else None
    if run is None:
        return f"no run is open in slot {command.slot} of {command.bed}"
    spec = CATALOGUE[command.quantity]
    if not spec.admits(command.value):
        return f"{spec.label} {command.value:g} {spec.unit} is not possible: {spec.low:g} to {spec.high:g}"
    return run


def _write_value(handling: Handling, command: Order | SetTarget, kind: EntryKind, word: str, by: str) -> None:
    spec = CATALOGUE[command.quantity]
    handling.write(
        kind,
        command.bed,
        slot=command.slot,
        person=command.person,
        command=command.id,
        value=command.value,
        text=f"{word}: {spec.label} {command.value:g} {spec.unit}".rstrip() + by,
    )


def call_help(handling: Handling, command: CallHelp) -> str | None:
    """Call help by hand: high, circuit-critical, everybody at once; no reading clears it."""
    if command.bed not in handling.state.beds:
        return f"there is no bed {command.bed}"
    rule = next((r for r in handling.rules.values() if isinstance(r, HelpRule)), None)
    if rule is None:
        return "this unit's limits have no rule for help called by hand"
    title = _HELP_WORDS[command.what.value]
    raise_alert(handling, Onset(rule, command.bed, None, title=f"Help called: {title.lower()}"))
    return None


def mark_care(handling: Handling, command: CareMarker) -> str | None:
    """Begin a care marker: it ends by itself, and lengthens no high."""
    bed = handling.state.beds.get(command.bed)
    if bed is None:
        return f"there is no bed {command.bed}"
    lately = [span for span in bed.care if span[0] > handling.now - HOUR]
    person = handling.people.get(command.person)
    may_more = person is not None and person.role is Role.CHARGE_NURSE
    if len(lately) >= handling.ladder.care.an_hour and not may_more:
        return f"{len(lately)} care markers within the hour: the charge nurse starts the next"
    until = handling.now + command.minutes * MINUTE
    bed.care = [*lately, (handling.now, until)]
    handling.write(
        EntryKind.CARE_MARKER,
        command.bed,
        person=command.person,
        command=command.id,
        until=until,
        text=f"{command.what or 'Care'}, {command.minutes} min",
    )
    return None


def exchange(handling: Handling, command: Exchange) -> str | None:
    """Write an exchange down: the run's baselines that the device made begin anew, a console's do not."""
    bed = handling.state.beds.get(command.bed)
    run = bed.runs.get(command.slot) if bed else None
    if run is None:
        return f"no run is open in slot {command.slot} of {command.bed}"
    begin_run_baselines(handling.watch, run, handling.now, MADE_BY[command.device])
    device = command.device.value.replace("_", " ")
    handling.write(
        EntryKind.EXCHANGE,
        command.bed,
        slot=command.slot,
        person=command.person,
        command=command.id,
        text=f"Exchanged: {device}" + (f", {command.reason}" if command.reason else ""),
    )
    return None
