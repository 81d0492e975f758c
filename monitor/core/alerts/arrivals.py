"""Arrivals: who said when they will be at the bed, and was not written down there in time, calls the next rung.

Written down at the bed means a new take by the same person with its place at the bed. The hold itself goes on.
Whoever is coming from elsewhere, or sent a deputy, is not waited for once somebody has it.
"""

from collections.abc import Iterator

from monitor.core.alerts import ladder as climb
from monitor.core.alerts.calls import run_ladder
from monitor.core.commands import CallBack, Where
from monitor.core.entries import EntryKind
from monitor.core.handling import Handling
from monitor.core.ladder_table import HandingOver
from monitor.core.state import BedState, EpisodeState, UnitState
from shared.instant import MINUTE, Instant, ms
from shared.language.saying import say


def due_times(place: BedState | UnitState, settings: HandingOver) -> Iterator[Instant]:
    """Give when somebody who is going is late."""
    for episode in place.episodes.values():
        due = _due(episode, settings)
        if due is not None:
            yield due
        yield from (at for at, _ in _coming(episode, settings))


def speak(handling: Handling, place: BedState | UnitState) -> None:
    """Call the next rung of each episode whose holder is late; once for each take."""
    settings = handling.ladder.handing_over
    for episode in place.episodes.values():
        _speak_for_coming(handling, place, episode)
        due, holder = _due(episode, settings), episode.holder
        if due is None or due > handling.now or holder is None or episode.ladder is None:
            continue
        holder.late = True
        minutes = round((handling.now - holder.taken_at) / MINUTE)
        handling.write(
            EntryKind.LATE_ARRIVAL,
            episode.bed,
            episode=episode.id,
            person=holder.person,
            rung=climb.call_next(episode.ladder, handling.ladder, handling.now),
            until=holder.eta_at,
            text=say("not written down at the bed {minutes} min after the take", minutes=minutes),
        )
        run_ladder(handling, place, episode)


def _speak_for_coming(handling: Handling, place: BedState | UnitState, episode: EpisodeState) -> None:
    for due, name in list(_coming(episode, handling.ladder.handing_over)):
        if due > handling.now or episode.ladder is None:
            continue
        said = episode.call_backs[name]
        said.late = True
        minutes = round((handling.now - said.at) / MINUTE)
        what = say("a deputy was to come") if said.says == CallBack.DEPUTY else say("on the way")
        handling.write(
            EntryKind.LATE_ARRIVAL,
            episode.bed,
            episode=episode.id,
            person=name,
            rung=climb.call_next(episode.ladder, handling.ladder, handling.now),
            until=said.eta_at,
            text=say("said {minutes} min ago: {what}; nobody has it", minutes=minutes, what=what),
        )
        run_ladder(handling, place, episode)


def _coming(episode: EpisodeState, settings: HandingOver) -> Iterator[tuple[Instant, str]]:
    """Give from when whoever is coming from elsewhere is late, as long as nobody has it."""
    if episode.holder is not None or episode.ladder is None:
        return
    for name, said in episode.call_backs.items():
        if said.eta_at is not None and not said.late:
            yield said.eta_at + ms(settings.late_after_s), name


def _due(episode: EpisodeState, settings: HandingOver) -> Instant | None:
    holder = episode.holder
    if holder is None or holder.eta_at is None or holder.late or holder.where == Where.AT_BED.value:
        return None
    return holder.eta_at + ms(settings.late_after_s)
