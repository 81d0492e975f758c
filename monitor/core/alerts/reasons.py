"""Why somebody took an alert: at the take for a medium or low, within ten minutes for a high.

A high is taken first and explained later. Whoever still owes a reason is reminded once; nothing depends on it.
"""

from collections.abc import Iterator

from monitor.core.commands import GiveReason
from monitor.core.entries import EntryKind
from monitor.core.handling import Handling
from monitor.core.ladder_table import Holds
from monitor.core.state import BedState, EpisodeState, UnitState
from shared.instant import Instant, ms
from shared.language.saying import say


def give_reason(handling: Handling, command: GiveReason, episode: EpisodeState) -> str | None:
    """Write down why the one who has it took it. Gives a reason where that cannot be."""
    holder = episode.holder
    if holder is None:
        return say("nobody has it: there is no take to explain")
    holder.reason = command.reason.value
    handling.write(
        EntryKind.REASON,
        episode.bed,
        episode=episode.id,
        person=holder.person,
        told_to=command.person if command.person != holder.person else None,
        reason=command.reason.value,
        command=command.id,
    )
    return None


def due_times(place: BedState | UnitState, holds: Holds) -> Iterator[Instant]:
    """Give when somebody is next reminded that a reason is owed."""
    for episode in place.episodes.values():
        holder = episode.holder
        if holder is not None and holder.reason is None and not holder.asked_reason:
            yield holder.taken_at + ms(holds.reason_within_s)


def speak(handling: Handling, place: BedState | UnitState) -> None:
    """Remind whoever still owes a reason."""
    for episode in place.episodes.values():
        holder = episode.holder
        if holder is None or holder.reason is not None or holder.asked_reason:
            continue
        if holder.taken_at + ms(handling.ladder.holds.reason_within_s) <= handling.now:
            holder.asked_reason = True
            text = say("Why it was taken is not written down yet")
            handling.write(EntryKind.NOTE, episode.bed, episode=episode.id, person=holder.person, text=text)
