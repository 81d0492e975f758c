"""Low alerts: nobody is called for one. It can be seen or taken, and a take holds for an hour at most.

When that hour is over and the low is still there, it is listed again as one that nobody has. Nobody is called.
"""

from collections.abc import Iterator

from monitor.core.alerts.alert import SignalEvent, next_signal
from monitor.core.alerts.gone_rules import end_by_hand, nothing_ends
from monitor.core.commands import Answer, Seen, Take
from monitor.core.entries import EntryKind
from monitor.core.grades import Priority
from monitor.core.handling import Handling, of_alert
from monitor.core.state import AlertState, BedState, UnitState
from shared.instant import Instant, ms
from shared.language.saying import say


def answer_low(handling: Handling, command: Answer, alert: AlertState) -> str | None:
    """See or take a low. Gives a reason where that cannot be."""
    if command.revision != 1:
        return say("this has changed since you looked: look again")
    if not isinstance(command, Seen | Take):
        return say("a low alert calls nobody: it can be seen or taken")
    taken = isinstance(command, Take)
    alert.signal = next_signal(alert.signal, SignalEvent.TAKEN if taken else SignalEvent.SEEN)
    if command.person not in alert.seen_by:
        alert.seen_by.append(command.person)
    until = None
    if taken and alert.present:
        until = alert.held_until = handling.now + ms(handling.ladder.holds.of(Priority.LOW))
    handling.write(
        EntryKind.TAKEN if taken else EntryKind.SEEN,
        alert.bed,
        **of_alert(alert),
        person=command.person,
        command=command.id,
        reason=command.reason.value if isinstance(command, Take) and command.reason else None,
        until=until,
    )
    place = handling.place(alert.bed)
    if not taken and handling.people[command.person].in_unit and nothing_ends(handling, place, alert):
        end_by_hand(handling, place, alert)
    return None


def due_times(place: BedState | UnitState) -> Iterator[Instant]:
    """Give when a take of a low ends next."""
    return (alert.held_until for alert in place.alerts.values() if alert.held_until is not None and alert.present)


def speak(handling: Handling, place: BedState | UnitState) -> None:
    """End the takes whose hour is over."""
    for alert in place.alerts.values():
        if alert.held_until is None or alert.held_until > handling.now or not alert.present:
            continue
        alert.held_until = None
        alert.signal = next_signal(alert.signal, SignalEvent.HOLD_ENDED)
        handling.write(EntryKind.HOLD_ENDED, alert.bed, **of_alert(alert), text=say("still present"))
