"""Transports: a bed's patient is on the way. Its leader stands on the first rung; no feed is expected for a while.

A transport never ends itself, not even when the feed returns. Ended, it asks for a return check at the bed.
"""

from collections.abc import Iterator, Mapping

from monitor.core.alerts.episodes import Onset, end_alert, raise_alert
from monitor.core.bed_commands import DepartureItem
from monitor.core.bedside import gas
from monitor.core.commands import EndTransport, ReturnCheck, StartTransport
from monitor.core.entries import EntryKind
from monitor.core.handling import Handling, cannot_stand
from monitor.core.rules import RuleBase, TransportRule
from monitor.core.state import BedState, Transport
from shared.instant import HOUR, MINUTE, Instant, ms
from shared.language.saying import say

#: No transport is planned for longer (common practice, no source).
_LONGEST = 72 * HOUR


def is_away(bed: BedState) -> bool:
    """Tell whether a transport of this bed is open."""
    return bed.transport is not None and bed.transport.ended_at is None


def start_transport(handling: Handling, command: StartTransport) -> str | None:
    """Start a transport with a leader and a planned return. Gives a reason where that cannot be."""
    bed = handling.state.beds.get(command.bed)
    if bed is None or not bed.runs:
        return say("no run is open at {bed}", bed=command.bed)
    if is_away(bed):
        return say("{bed} is in transport already", bed=command.bed)
    refusal = cannot_stand(handling, command.leader)
    if refusal is not None:
        return refusal
    if not handling.now < command.back <= handling.now + _LONGEST:
        return say("the planned return is within {longest} h", longest=_LONGEST // HOUR)
    sweep = gas.last_sweep(bed)
    if command.cylinder_min is not None and sweep is not None and sweep < gas.LEAST_SWEEP:
        return say("no gas flows now, so minutes of a cylinder mean nothing: give its litres")
    if any(at > handling.now + MINUTE for at in command.departure.values()):
        return say("what was checked before leaving was not checked in the future")
    _forget(handling, bed)
    bed.transport = Transport(
        command.leader,
        handling.now,
        command.back,
        command.destination,
        dict(command.departure),
        cylinder=gas.cylinder_of(bed, command, handling.now),
    )
    handling.write(
        EntryKind.TRANSPORT_STARTED,
        bed.label,
        person=command.leader,
        told_to=command.person,
        until=command.back,
        command=command.id,
        text=_said(command),
    )
    return None


def unticked(bed: BedState, transport: Transport) -> tuple[DepartureItem, ...]:
    """Give what was not checked before leaving; a cylinder only where an oxygenator is fitted."""
    needs_gas = any(run.description.oxygenator for run in bed.runs.values())
    wanted = (item for item in DepartureItem if needs_gas or item is not DepartureItem.CYLINDER)
    return tuple(item for item in wanted if item not in transport.departure)


def end_transport(handling: Handling, command: EndTransport) -> str | None:
    """End a transport: the return check falls due."""
    bed = handling.state.beds.get(command.bed)
    if bed is None or bed.transport is None or not is_away(bed):
        return say("{bed} is not in transport", bed=command.bed)
    bed.transport.ended_at = handling.now
    for run in bed.runs.values():
        run.back_at = handling.now
    bed.transport.silent_since = None
    _end(handling, bed, late=True)
    gas.forget(handling, bed, bed.transport)
    handling.write(EntryKind.TRANSPORT_ENDED, bed.label, person=command.person, command=command.id)
    return None


def return_check(handling: Handling, command: ReturnCheck) -> str | None:
    """Write down that the circuit was checked at the bed after a transport."""
    bed = handling.state.beds.get(command.bed)
    if bed is None or bed.transport is None or is_away(bed):
        return say("no return check is due at {bed}", bed=command.bed)
    _forget(handling, bed)
    handling.write(EntryKind.RETURN_CHECKED, bed.label, person=command.person, command=command.id)
    return None


def due_times(rules: Mapping[str, RuleBase], bed: BedState) -> Iterator[Instant]:
    """Give when a late return or a missing return check next speaks."""
    if bed.transport is None:
        return
    yield from gas.due_times(rules, bed)
    for rule in rules.values():
        if isinstance(rule, TransportRule):
            due = _due(rule, bed.transport)
            if due is not None:
                yield due


def speak(handling: Handling, bed: BedState) -> None:
    """Raise what has become due."""
    if bed.transport is None:
        return
    gas.speak(handling, bed)
    for rule in handling.rules.values():
        if not isinstance(rule, TransportRule):
            continue
        due = _due(rule, bed.transport)
        if due is None or due > handling.now:
            continue
        alert = raise_alert(handling, Onset(rule, bed.label, None)).id
        if rule.late:
            bed.transport.late_alert = alert
        else:
            bed.transport.check_alert = alert


def _due(rule: TransportRule, transport: Transport) -> Instant | None:
    if rule.late:
        open_still = transport.ended_at is None and transport.late_alert is None
        return transport.back + ms(rule.after_s) if open_still else None
    waits = transport.ended_at is not None and transport.check_alert is None
    return transport.ended_at + ms(rule.after_s) if waits and transport.ended_at is not None else None


def _said(command: StartTransport) -> str:
    gone = ", ".join(item.value.replace("_", " ") for item in DepartureItem if item in command.departure)
    parts = [command.destination, say("checked: {gone}", gone=gone) if gone else say("departure list not ticked")]
    if command.cylinder_l is not None:
        parts.append(say("cylinder {cylinder_l:g} L", cylinder_l=command.cylinder_l))
    elif command.cylinder_min is not None:
        parts.append(say("cylinder {cylinder_min:g} min", cylinder_min=command.cylinder_min))
    return "; ".join(part for part in parts if part)


def _forget(handling: Handling, bed: BedState) -> None:
    _end(handling, bed, late=True)
    _end(handling, bed, late=False)
    bed.transport = None


def _end(handling: Handling, bed: BedState, late: bool) -> None:
    transport = bed.transport
    number = None if transport is None else transport.late_alert if late else transport.check_alert
    alert = bed.alerts.get(number) if number is not None else None
    if alert is not None and alert.present:
        end_alert(handling, alert)
