"""The gas cylinder of a transport: the minutes that it lasts at the last known sweep, and who is told of few.

Minutes count down with the time, feed or no feed: a cylinder empties in a lift as well. A new reading of the sweep,
or a new cylinder, counts anew from there.
"""

import math
from collections.abc import Iterator, Mapping

from monitor.core.alerts.episodes import Onset, end_alert, raise_alert
from monitor.core.bed_commands import ChangeCylinder
from monitor.core.commands import StartTransport
from monitor.core.entries import EntryKind
from monitor.core.handling import Handling
from monitor.core.rules import GasRule, RuleBase
from monitor.core.state import BedState, Cylinder, RunState, Transport
from shared.instant import MINUTE, Instant
from shared.language.saying import say
from shared.quantities import Quantity

#: Below this sweep, in L/min, no time can be told.
LEAST_SWEEP = 0.05


def cylinder_of(bed: BedState, command: StartTransport, now: Instant) -> Cylinder | None:
    """Give the cylinder that a transport starts with, or ``None`` where none was named."""
    sweep = last_sweep(bed) or command.sweep
    if command.cylinder_l is not None:
        return Cylinder(command.cylinder_l, now, sweep)
    if command.cylinder_min is not None:
        at = sweep if sweep is not None else 1.0
        return Cylinder(command.cylinder_min * at, now, at)
    return None


def last_sweep(bed: BedState) -> float | None:
    """Give the last known sweep of a bed's runs together, in L/min."""
    found = (run.signals.get(Quantity.SWEEP_GAS_FLOW) for run in bed.runs.values())
    flows = [signal.last for signal in found if signal]
    return sum(flows) if flows else None


def empty_at(cylinder: Cylinder | None) -> Instant | None:
    """Give when a cylinder is empty at the last known sweep, or ``None`` where that cannot be told."""
    if cylinder is None or cylinder.sweep is None or cylinder.sweep < LEAST_SWEEP:
        return None
    return cylinder.at + math.floor(cylinder.litres / cylinder.sweep * MINUTE)


def heed(handling: Handling, bed: BedState, run: RunState) -> None:
    """Take a new sweep into account: what was used so far went at the old one."""
    transport = bed.transport
    cylinder, signal = transport.cylinder if transport else None, run.signals.get(Quantity.SWEEP_GAS_FLOW)
    if transport is None or cylinder is None or transport.ended_at is not None or not signal:
        return
    sweep = last_sweep(bed)
    if sweep is None or sweep == cylinder.sweep:
        return
    used = (cylinder.sweep or 0.0) * (handling.now - cylinder.at) / MINUTE
    transport.cylinder = Cylinder(max(0.0, cylinder.litres - used), handling.now, sweep)
    _settle(handling, bed, transport)
    handling.touch(bed.label)


def change_cylinder(handling: Handling, command: ChangeCylinder) -> str | None:
    """Write down that another cylinder feeds the oxygenator."""
    bed = handling.state.beds.get(command.bed)
    transport = bed.transport if bed else None
    if bed is None or transport is None or transport.ended_at is not None:
        return say("{bed} is not in transport", bed=command.bed)
    before = transport.cylinder
    sweep = last_sweep(bed) or (before.sweep if before else None)
    transport.cylinder = Cylinder(command.litres, handling.now, sweep)
    handling.write(
        EntryKind.CYLINDER,
        bed.label,
        person=command.person,
        command=command.id,
        value=command.litres,
        text=say("New cylinder: {litres:g} L", litres=command.litres),
    )
    _settle(handling, bed, transport)
    return None


def due_times(rules: Mapping[str, RuleBase], bed: BedState) -> Iterator[Instant]:
    """Give when minutes of gas next become too few."""
    for rule in rules.values():
        if isinstance(rule, GasRule):
            due = _due(rule, bed)
            if due is not None:
                yield due


def speak(handling: Handling, bed: BedState) -> None:
    """Raise what has become due."""
    for rule in handling.rules.values():
        due = _due(rule, bed) if isinstance(rule, GasRule) else None
        if isinstance(rule, GasRule) and due is not None and due <= handling.now and bed.transport is not None:
            minutes = minutes_left(bed.transport.cylinder, handling.now)
            onset = Onset(rule, bed.label, None, minutes, rule.below_min)
            bed.transport.gas_alerts[rule.id] = raise_alert(handling, onset).id


def forget(handling: Handling, bed: BedState, transport: Transport) -> None:
    """The transport is over, and wall gas is back: nothing more is said of the cylinder."""
    for alert in transport.gas_alerts.values():
        end_alert(handling, bed.alerts[alert])
    transport.gas_alerts.clear()
    transport.cylinder = None


def minutes_left(cylinder: Cylinder | None, now: Instant) -> float | None:
    """Give the minutes that a cylinder still lasts, never below 0."""
    empty = empty_at(cylinder)
    return None if empty is None else max(0.0, (empty - now) / MINUTE)


def _due(rule: GasRule, bed: BedState) -> Instant | None:
    transport = bed.transport
    if transport is None or transport.ended_at is not None or rule.id in transport.gas_alerts:
        return None
    empty = empty_at(transport.cylinder)
    return None if empty is None else empty - round(rule.below_min * MINUTE) + 1


def _settle(handling: Handling, bed: BedState, transport: Transport) -> None:
    """End what is no longer too few, by the way back of its rule."""
    minutes = minutes_left(transport.cylinder, handling.now)
    for rule_id, alert in list(transport.gas_alerts.items()):
        rule = handling.rules.get(rule_id)
        back = rule.below_min + rule.back_by if isinstance(rule, GasRule) else 0.0
        if minutes is not None and minutes >= back:
            del transport.gas_alerts[rule_id]
            end_alert(handling, bed.alerts[alert])
