"""Support runs: one starts blank, ends with its alerts, or moves to another bed with everything that is open."""

from collections.abc import Sequence

from monitor.core.alerts.alert import LISTED, SignalEvent, SignalState, next_signal
from monitor.core.alerts.episodes import end_alert, forget_if_done
from monitor.core.bed_commands import MoveRun
from monitor.core.bedside import events
from monitor.core.bedside.emergency import end_clock
from monitor.core.bedside.orders import watch_targets
from monitor.core.commands import Device, EndRun, StartRun
from monitor.core.entries import EntryKind
from monitor.core.equipment import stock
from monitor.core.handling import Handling, of_alert
from monitor.core.judging import feeds_found
from monitor.core.judging.observing import begin_run_baselines
from monitor.core.judging.outside import stand_from
from monitor.core.judging.plan import plan_anew
from monitor.core.state import AlertState, BedState, RunState
from shared.instant import HOUR, MINUTE
from shared.quantities import CATALOGUE, Quantity
from shared.support import SUPPORT_LABEL, RunDescription, label_at


def begin_run(
    handling: Handling, bed: BedState, description: RunDescription, targets: dict[Quantity, float], by: str = ""
) -> None:
    """Start a run in its slot: blank signals, baselines and rules, and *limits not set* until a target stands."""
    began = description.started_at or handling.now
    run = RunState(description=description, started_at=handling.now)
    for quantity, value in targets.items():
        stand_from(run, quantity, value, 0)
    plan_anew(handling.watch.limits.rules, run, handling.watch.call_me)
    run.devices = {device.value: began for device in _devices(run)}
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
    watch_targets(handling, bed, run)


def start_run(handling: Handling, command: StartRun) -> str | None:
    """Start a run by command. Gives a reason where that cannot be."""
    bed = handling.state.beds.get(command.bed)
    if bed is None:
        return f"there is no bed {command.bed}"
    if command.run.slot in bed.runs:
        return f"a run is open in slot {command.run.slot} of {command.bed}: end it first"
    if not bed.runs and _listed(bed):
        return f"alerts of the last run are still listed at {command.bed}: see them first"
    if (command.run.started_at or 0) > handling.now + MINUTE:
        return "a run does not begin in the future"
    for quantity, value in command.targets.items():
        spec = CATALOGUE[quantity]
        if not spec.admits(value):
            label = label_at(quantity, command.run)
            return f"{label} {value:g} {spec.unit} is not possible: {spec.low:g} to {spec.high:g}"
    refusal = stock.cannot_start_on(handling, command)
    if refusal is not None:
        return refusal
    begin_run(handling, bed, command.run, command.targets, command.person)
    stock.run_started(handling, command)
    feeds_found.settle(handling)
    return None


def end_run(handling: Handling, command: EndRun) -> str | None:
    """End a run: its alerts end and are reviewed in the person's name, and nothing is watched in that slot."""
    bed = handling.state.beds.get(command.bed)
    run = bed.runs.get(command.slot) if bed else None
    if bed is None or run is None:
        return f"no run is open in slot {command.slot} of {command.bed}"
    person = handling.people.get(command.person)
    if person is not None and not person.in_unit:
        return "a run is ended by somebody in the unit"
    last = len(bed.runs) == 1
    gone = [alert for alert in bed.alerts.values() if alert.slot == command.slot or (last and alert.slot is None)]
    _end_seen(handling, bed, gone, command.person)
    del bed.runs[command.slot]
    bed.ended[command.slot] = handling.now
    if last:
        bed.transport, bed.care, bed.emergency_cards = None, [], {}
        events.drop_all(handling, bed)
    end_clock(handling, command, run, handling.now, "Run ended")
    hours = (handling.now - (run.description.started_at or run.started_at)) / HOUR
    handling.write(
        EntryKind.RUN_ENDED,
        command.bed,
        slot=command.slot,
        person=command.person,
        command=command.id,
        text=f"After {hours:.1f} h" + (f": {command.reason}" if command.reason else ""),
    )
    stock.run_ended(handling, bed.label, command.slot, last, person=command.person, command=command.id)
    feeds_found.settle(handling)
    return None


def move_run(handling: Handling, command: MoveRun) -> str | None:
    """Move a bed's runs to an empty bed, with open alerts, episodes, limits, marker and transport."""
    source, target = handling.state.beds.get(command.bed), handling.state.beds.get(command.to)
    if source is None or not source.runs:
        return f"no run is open at {command.bed}"
    if target is None:
        return f"there is no bed {command.to}"
    if target.runs:
        return f"a run is open at {command.to}: a patient moves to an empty bed"
    if _listed(target) or target.episodes:
        return f"alerts of the last run are still listed at {command.to}: see them first"
    by = {"person": command.person, "command": command.id}
    handling.write(
        EntryKind.RUN_MOVED,
        source.label,
        person=command.person,
        command=command.id,
        text=f"Moved to {target.label}",
    )
    _end_seen(handling, source, feeds_found.of_bed(handling, source), command.person)  # of the place: it stays
    source.ended |= dict.fromkeys(source.runs, handling.now)
    target.runs, source.runs = source.runs, {}
    target.alerts, source.alerts = source.alerts, {}
    target.episodes, source.episodes = source.episodes, {}
    target.care, source.care = source.care, []
    target.transport, source.transport = source.transport, None
    target.audio_paused, source.audio_paused = source.audio_paused, None
    target.events, source.events = source.events, {}
    target.emergency_cards, source.emergency_cards = source.emergency_cards, {}
    if target.origin is None:
        target.origin, target.interval_ms = source.origin, source.interval_ms
    for alert in target.alerts.values():
        alert.bed = target.label
    for episode in target.episodes.values():
        episode.bed = target.label
    still = [alert for alert in target.alerts.values() if alert.signal in LISTED]
    along = f" with {len(still)} alerts" if still else ""
    handling.write(EntryKind.RUN_MOVED, target.label, text=f"Moved from {source.label}{along}", **by)
    stock.run_moved(handling, source.label, target.label, **by)
    feeds_found.settle(handling)
    return None


def _end_seen(handling: Handling, bed: BedState, gone: Sequence[AlertState], person: str) -> None:
    """End alerts that go with what somebody does; they are reviewed in that person's name."""
    for alert in gone:
        if alert.present:
            end_alert(handling, alert)
    for alert in gone:
        if alert.signal is SignalState.LATCHED:
            alert.signal = next_signal(alert.signal, SignalEvent.SEEN)
            alert.seen_by.append(person)
            handling.write(EntryKind.REVIEWED, bed.label, **of_alert(alert), person=person)
    for episode in list(bed.episodes.values()):
        forget_if_done(bed, episode)


def _devices(run: RunState) -> tuple[Device, ...]:
    oxygenator = (Device.OXYGENATOR,) if run.description.oxygenator else ()
    return (Device.PUMP_HEAD, *oxygenator, Device.TUBING)


def _listed(bed: BedState) -> bool:
    return any(alert.signal in LISTED for alert in bed.alerts.values())
