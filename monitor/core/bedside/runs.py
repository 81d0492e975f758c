"""Support runs: one starts blank, ends with its alerts, or moves to another bed with everything that is open."""

from collections.abc import Sequence

from monitor.core.alerts.alert import LISTED, SignalEvent, SignalState, next_signal
from monitor.core.alerts.episodes import end_alert, forget_if_done
from monitor.core.bed_commands import MoveRun
from monitor.core.bedside import events
from monitor.core.bedside.emergency import end_clock
from monitor.core.bedside.orders import watch_targets
from monitor.core.bedside.possible import not_possible
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
from shared.language.saying import say
from shared.quantities import Quantity
from shared.support import SUPPORT_LABEL, RunDescription


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
        text=say("{label}, run {run_id}", label=label, run_id=description.run_id),
    )
    watch_targets(handling, bed, run)


def start_run(handling: Handling, command: StartRun) -> str | None:
    """Start a run by command. Gives a reason where that cannot be."""
    bed = handling.state.beds.get(command.bed)
    if bed is None:
        return say("there is no bed {bed}", bed=command.bed)
    if command.run.slot in bed.runs:
        return say("a run is open at {bed}, pump {slot}: end it first", slot=command.run.slot, bed=command.bed)
    if not bed.runs and _listed(bed):
        return say("alerts of the last run are still listed at {bed}: see them first", bed=command.bed)
    if (command.run.started_at or 0) > handling.now + MINUTE:
        return say("a run does not begin in the future")
    for quantity, value in command.targets.items():
        refusal = not_possible(quantity, value, command.run)
        if refusal is not None:
            return refusal
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
        return say("no run is open at {bed}, pump {slot}", slot=command.slot, bed=command.bed)
    person = handling.people.get(command.person)
    if person is not None and not person.in_unit:
        return say("a run is ended by somebody in the unit")
    last = len(bed.runs) == 1
    gone = [alert for alert in bed.alerts.values() if alert.slot == command.slot or (last and alert.slot is None)]
    _end_seen(handling, bed, gone, command.person)
    del bed.runs[command.slot]
    bed.ended[command.slot] = handling.now
    if last:
        bed.transport, bed.care, bed.emergency_cards = None, [], {}
        events.drop_all(handling, bed)
    end_clock(handling, command, run, handling.now, say("Run ended"))
    hours = (handling.now - (run.description.started_at or run.started_at)) / HOUR
    handling.write(
        EntryKind.RUN_ENDED,
        command.bed,
        slot=command.slot,
        person=command.person,
        command=command.id,
        text=say("After {hours:.1f} h", hours=hours) + (f": {command.reason}" if command.reason else ""),
    )
    stock.run_ended(handling, bed.label, command.slot, last, person=command.person, command=command.id)
    feeds_found.settle(handling)
    return None


def move_run(handling: Handling, command: MoveRun) -> str | None:
    """Move a bed's runs to an empty bed, with open alerts, episodes, limits, marker and transport."""
    source, target = handling.state.beds.get(command.bed), handling.state.beds.get(command.to)
    if source is None or not source.runs:
        return say("no run is open at {bed}", bed=command.bed)
    if target is None:
        return say("there is no bed {to}", to=command.to)
    if target.runs:
        return say("a run is open at {to}: a patient moves to an empty bed", to=command.to)
    if _listed(target) or target.episodes:
        return say("alerts of the last run are still listed at {to}: see them first", to=command.to)
    by = {"person": command.person, "command": command.id}
    handling.write(
        EntryKind.RUN_MOVED,
        source.label,
        person=command.person,
        command=command.id,
        text=say("Moved to {label}", label=target.label),
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
    words = say("Moved from {label}", label=source.label)
    if still:
        words = (
            say("Moved from {label} with {alerts} alerts", label=source.label, alerts=len(still))
            if len(still) > 1
            else say("Moved from {label} with 1 alert", label=source.label)
        )
    handling.write(EntryKind.RUN_MOVED, target.label, text=words, **by)
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
