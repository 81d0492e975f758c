"""Ladder steps become entries, and calls become pages besides: calls, skips, and holds that ran out."""

from collections.abc import Iterable

from monitor.core.alerts import ladder as climb
from monitor.core.alerts.alert import SignalEvent, next_signal
from monitor.core.alerts.ladder import Step, StepKind
from monitor.core.entries import EntryKind
from monitor.core.grades import RANK, Priority
from monitor.core.handling import Handling, present_members
from monitor.core.pages.paging import page_of
from monitor.core.pages.text import Why
from monitor.core.roster.cover import standing
from monitor.core.state import BedState, EpisodeState, UnitState
from shared.language.saying import say


def run_ladder(
    handling: Handling, place: BedState | UnitState, episode: EpisodeState, why: Why = Why.AGAIN
) -> None:
    """Do what an episode's ladder has due, and write it down; ``why``: of rungs that were called before."""
    if episode.ladder is None:
        return
    who = standing(handling, episode.bed, episode)
    for step in climb.advance(episode.ladder, handling.ladder, handling.now, who):
        if step.kind is StepKind.HOLD_ENDED:
            _hold_ran_out(handling, place, episode)
            why = Why.STILL
        else:
            steps_written(handling, episode, [step], why)


def steps_written(handling: Handling, episode: EpisodeState, steps: Iterable[Step], why: Why = Why.AGAIN) -> None:
    """Write calls and skips; page whoever is called."""
    for step in steps:
        if step.kind is StepKind.NOBODY:
            _nobody_there(handling, episode)
        else:
            _rung_written(handling, episode, step, why)


def _rung_written(handling: Handling, episode: EpisodeState, step: Step, why: Why) -> None:
    kind = EntryKind.CALLED if step.kind is StepKind.CALLED else EntryKind.SKIPPED
    handling.write(kind, episode.bed, episode=episode.id, rung=step.rung, person=step.person)
    if step.kind is StepKind.CALLED and step.rung is not None and step.person is not None:
        told = why if step.again else Why.FIRST
        handling.effects.append(page_of(handling, episode, step.rung, step.person, told))


def _nobody_there(handling: Handling, episode: EpisodeState) -> None:
    """Say that nobody at all can be called; where nobody stands anywhere, as loud as there is."""
    members = present_members(handling.place(episode.bed), episode)
    empty = not any(handling.state.unit.roster.stands.values())
    own = min((alert.priority for alert in members), key=RANK.__getitem__)
    handling.write(
        EntryKind.NOBODY_THERE,
        episode.bed,
        episode=episode.id,
        priority=Priority.HIGH if empty else own,
        text=say("nobody can be called: telephone"),
        sounds=True,
    )


def _hold_ran_out(handling: Handling, place: BedState | UnitState, episode: EpisodeState) -> None:
    holder = episode.holder
    for alert in present_members(place, episode):
        alert.signal = next_signal(alert.signal, SignalEvent.HOLD_ENDED)
    handling.write(
        EntryKind.HOLD_ENDED,
        episode.bed,
        episode=episode.id,
        person=holder.person if holder else None,
        text=say("still present"),
        sounds=True,
    )
    episode.holder = None
    episode.revision += 1
