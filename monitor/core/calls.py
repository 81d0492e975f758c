"""Ladder steps become entries: calls, skips, and holds that ran out."""

from collections.abc import Iterable

from monitor.core import ladder as climb
from monitor.core.alert import SignalEvent, next_signal
from monitor.core.cover import standing
from monitor.core.entries import EntryKind
from monitor.core.handling import Handling, present_members
from monitor.core.ladder import Step, StepKind
from monitor.core.state import BedState, EpisodeState, UnitState


def run_ladder(handling: Handling, place: BedState | UnitState, episode: EpisodeState) -> None:
    """Do what an episode's ladder has due, and write it down."""
    if episode.ladder is None:
        return
    who = standing(handling, episode.bed, episode)
    for step in climb.advance(episode.ladder, handling.ladder, handling.now, who):
        if step.kind is StepKind.HOLD_ENDED:
            _hold_ran_out(handling, place, episode)
        else:
            steps_written(handling, episode, [step])


def steps_written(handling: Handling, episode: EpisodeState, steps: Iterable[Step]) -> None:
    """Write calls and skips."""
    for step in steps:
        kind = EntryKind.CALLED if step.kind is StepKind.CALLED else EntryKind.SKIPPED
        handling.write(kind, episode.bed, episode=episode.id, rung=step.rung, person=step.person)


def _hold_ran_out(handling: Handling, place: BedState | UnitState, episode: EpisodeState) -> None:
    holder = episode.holder
    for alert in present_members(place, episode):
        alert.signal = next_signal(alert.signal, SignalEvent.HOLD_ENDED)
    handling.write(
        EntryKind.HOLD_ENDED,
        episode.bed,
        episode=episode.id,
        person=holder.person if holder else None,
        text="still present",
        sounds=True,
    )
    episode.holder = None
    episode.revision += 1
