"""What is planned at a bed: a scan, a procedure, a talk, in words and with a time. It calls nobody.

It stands until somebody says that it was done or takes it back, also after its time: nothing planned is forgotten.
"""

from monitor.core.bed_commands import EndEvent, PlanEvent
from monitor.core.entries import EntryKind
from monitor.core.handling import Handling
from monitor.core.roster.wall import clock_of, dated, day_of
from monitor.core.state import BedState, EventState
from shared.instant import HOUR
from shared.language.saying import say

AT_MOST = 20
_AHEAD_MS = 14 * 24 * HOUR


def plan(handling: Handling, command: PlanEvent) -> str | None:
    """Write down what is planned at a bed, and when. Gives a reason where that cannot be."""
    bed = handling.state.beds.get(command.bed)
    if bed is None or not bed.runs:
        return say("no run is open at {bed}", bed=command.bed)
    if not command.what.strip():
        return say("say what is planned")
    if not handling.now < command.at <= handling.now + _AHEAD_MS:
        return say("what is planned is ahead, by at most 14 days")
    if len(bed.events) >= AT_MOST:
        return say("{most} events are planned at {bed} already: end some first", most=AT_MOST, bed=command.bed)
    unit, event = handling.state.unit, EventState(command.at, command.what, command.person)
    bed.events[unit.next_event] = event
    unit.next_event += 1
    handling.write(
        EntryKind.EVENT_PLANNED,
        bed.label,
        person=command.person,
        command=command.id,
        until=command.at,
        text=say("Planned {words}", words=_words(handling, event)),
    )
    return None


def end(handling: Handling, command: EndEvent) -> str | None:
    """Write down that what was planned was done, or is taken back."""
    bed = handling.state.beds.get(command.bed)
    event = bed.events.pop(command.event, None) if bed else None
    if bed is None or event is None:
        return say("this is no longer planned")
    _write(handling, bed, event, say("Done") if command.done else say("Taken back"), command.person, command.id)
    return None


def drop_all(handling: Handling, bed: BedState) -> None:
    """The last run of a bed has ended: nothing is planned there any more."""
    for event in bed.events.values():
        _write(handling, bed, event, say("No longer planned, the run has ended"), None, None)
    bed.events = {}


def _write(
    handling: Handling, bed: BedState, event: EventState, what: str, person: str | None, command: str | None
) -> None:
    text = f"{what}: {_words(handling, event)}"
    handling.write(EntryKind.EVENT_OVER, bed.label, person=person, command=command, until=event.at, text=text)


def _words(handling: Handling, event: EventState) -> str:
    zone = handling.unit.zone
    today = day_of(event.at, zone) == day_of(handling.now, zone)
    return f"{(clock_of if today else dated)(event.at, zone)} {event.what}"
