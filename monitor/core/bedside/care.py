"""What is told of a bed by hand: help, care, exchanges."""

from monitor.core.alerts.episodes import Onset, raise_alert
from monitor.core.commands import CallHelp, CareMarker, Device, Exchange
from monitor.core.entries import EntryKind
from monitor.core.equipment import stock
from monitor.core.grades import Role
from monitor.core.handling import Handling
from monitor.core.judging.learning import forget
from monitor.core.judging.observing import begin_run_baselines, is_cared_for, note_half_run
from monitor.core.rules import HelpRule
from shared.instant import HOUR, MINUTE
from shared.language.saying import say
from shared.quantities import Quantity

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

#: Each call for help has a ladder of its own: no more of them at one bed than a person could mean.
_CALLS_AT_MOST = 20

#: What help is called for, in words.
HELP_WORDS = {
    "air": "Air in the circuit",
    "line_out": "Cannula or line out",
    "bleeding": "Bleeding from the circuit",
    "pump_noise": "Pump noise or shaking",
    "gas_lost": "Gas lost",
    "other": "Help needed",
}


def call_help(handling: Handling, command: CallHelp) -> str | None:
    """Call help by hand: high, circuit-critical, everybody at once; no reading clears it."""
    if command.bed not in handling.state.beds:
        return say("there is no bed {bed}", bed=command.bed)
    rule = next((r for r in handling.watch.limits.rules if isinstance(r, HelpRule)), None)
    if rule is None:
        return say("this unit's limits have no rule for help called by hand")
    called = [
        one for one in handling.state.beds[command.bed].alerts.values() if one.rule == rule.id and one.present
    ]
    if len(called) >= _CALLS_AT_MOST:
        return say(
            "{calls} calls for help are open at {bed} and call everybody: answer those",
            calls=len(called),
            bed=command.bed,
        )
    title = HELP_WORDS[command.what.value]
    text = say("Help called by hand: {title}", title=title.lower())
    handling.write(EntryKind.NOTE, command.bed, person=command.person, command=command.id, text=text)
    raise_alert(handling, Onset(rule, command.bed, None, title=say("Help called: {title}", title=title.lower())))
    return None


def mark_care(handling: Handling, command: CareMarker) -> str | None:
    """Begin a care marker: it ends by itself, and lengthens no high."""
    bed = handling.state.beds.get(command.bed)
    if bed is None:
        return say("there is no bed {bed}", bed=command.bed)
    lately = [span for span in bed.care if span[0] > handling.now - HOUR]
    person = handling.people.get(command.person)
    may_more = person is not None and Role.CHARGE_NURSE in person.roles
    if len(lately) >= handling.ladder.care.an_hour and not may_more:
        return say("{markers} care markers within the hour: the charge nurse starts the next", markers=len(lately))
    if not is_cared_for(bed, handling.now):  # what a running marker has made longer stays so
        for run in bed.runs.values():
            note_half_run(handling.watch, run)
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
        return say("no run is open at {bed}, pump {slot}", slot=command.slot, bed=command.bed)
    refusal = stock.cannot_exchange(handling, command, run.description)
    if refusal is not None:
        return refusal
    begin_run_baselines(handling.watch, run, handling.now, MADE_BY[command.device])
    run.devices[command.device.value] = handling.now
    forget(run, command.device, handling.now)
    device = command.device.value.replace("_", " ")
    handling.write(
        EntryKind.EXCHANGE,
        command.bed,
        slot=command.slot,
        person=command.person,
        command=command.id,
        text=say("Exchanged: {device}", device=device)
        + (say(", {reason}", reason=command.reason) if command.reason else ""),
    )
    stock.exchanged(handling, command, run)
    return None
