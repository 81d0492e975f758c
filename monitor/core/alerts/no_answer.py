"""No answer: the perfusionist who was called says "seen" from elsewhere, and not what comes of it: the next rung.

An answer is help by phone, calling in, on the way, a deputy, or cannot. The first "seen" after a call counts,
another one only after another call. Nobody is waited for once somebody has it, or the priority has risen: then they
are called anew. It brings a call forward and holds none back.
"""

from collections.abc import Iterator

from monitor.core.alerts import ladder as climb
from monitor.core.call_back_state import CANNOT, SEEN, CallBackState
from monitor.core.entries import EntryKind
from monitor.core.grades import Rung
from monitor.core.handling import Handling
from monitor.core.ladder_table import HandingOver
from monitor.core.state import BedState, EpisodeState, UnitState
from shared.instant import MINUTE, Instant, ms
from shared.language.saying import say


def begin(handling: Handling, episode: EpisodeState, person: str) -> Instant | None:
    """Wait for the answer of whoever has seen it; gives by when, or ``None`` where it is not waited for."""
    ladder = episode.ladder
    if ladder is None or episode.holder is not None or handling.people[person].in_unit:
        return None
    if ladder.persons.get(Rung.PERFUSIONIST) != person or Rung.PERFUSIONIST not in ladder.clock.done:
        return None
    said = episode.call_backs.get(person)
    if person in episode.advising or (
        said is not None and (not said.late or said.at >= ladder.called[Rung.PERFUSIONIST])
    ):
        return None
    episode.call_backs[person] = CallBackState(SEEN, handling.now)
    return answer_by(episode, handling.ladder.handing_over)


def cannot(handling: Handling, episode: EpisodeState, person: str) -> None:
    """Whoever passed it on helps no more; of somebody elsewhere that stands as what they said."""
    if person in episode.advising:
        episode.advising.remove(person)
    episode.call_backs.pop(person, None)
    if not handling.people[person].in_unit:
        episode.call_backs[person] = CallBackState(CANNOT, handling.now, late=True)


def end(episode: EpisodeState) -> None:
    """Wait for nobody any more: somebody has it, the priority has risen, or who has the post now has answered."""
    for name in [name for name, said in episode.call_backs.items() if said.says in (SEEN, CANNOT)]:
        del episode.call_backs[name]


def answer_by(episode: EpisodeState, settings: HandingOver) -> Instant | None:
    """Give when the next rung is called unless whoever has seen it has answered; ``None``: nobody is waited for."""
    return min((at for at, _ in _waited_for(episode, settings)), default=None)


def due_times(place: BedState | UnitState, settings: HandingOver) -> Iterator[Instant]:
    """Give when the next rung is called for want of an answer."""
    for episode in place.episodes.values():
        yield from (at for at, _ in _waited_for(episode, settings))


def speak(handling: Handling, place: BedState | UnitState) -> None:
    """Make the next rung due of each episode that somebody has seen and not answered in time."""
    for episode in place.episodes.values():
        for due, name in list(_waited_for(episode, handling.ladder.handing_over)):
            if due <= handling.now and episode.ladder is not None:
                said = episode.call_backs[name]
                said.late = True
                rung = climb.call_next(episode.ladder, handling.ladder, handling.now)
                minutes = round((handling.now - said.at) / MINUTE)
                handling.write(
                    EntryKind.NO_ANSWER,
                    episode.bed,
                    episode=episode.id,
                    person=name,
                    rung=rung,
                    text=say("{minutes} min after seen", minutes=minutes),
                )


def _waited_for(episode: EpisodeState, settings: HandingOver) -> Iterator[tuple[Instant, str]]:
    if episode.ladder is not None:
        for name, said in episode.call_backs.items():
            if said.says == SEEN and not said.late:
                yield said.at + ms(settings.call_back_s), name
