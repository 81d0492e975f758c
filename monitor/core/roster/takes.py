"""Open takes go along with a post only where the one who accepts names them, one by one."""

from collections.abc import Iterable

from monitor.core.commands import Where
from monitor.core.entries import EntryKind
from monitor.core.handling import Handling, person_label
from monitor.core.state import EpisodeState
from shared.language.saying import say


def takes_of(handling: Handling, people: Iterable[str | None]) -> dict[int, EpisodeState]:
    """Give the episodes that these people have, by number."""
    names = set(people) - {None}
    return {
        episode.id: episode
        for _, place in handling.places()
        for episode in place.episodes.values()
        if episode.holder is not None and episode.holder.person in names
    }


def refusal_to_move(
    handling: Handling, named: Iterable[int], givers: Iterable[str | None], to: str, told_to: str | None
) -> str | None:
    """Give the reason why takes cannot go along, or ``None``."""
    named, open_ones = list(named), takes_of(handling, givers)
    if any(number not in open_ones for number in named):
        return say("one of the takes is no longer open: look again")
    if named and told_to is None and not handling.people[to].in_unit:
        return say("a take is held by somebody in the unit; from elsewhere help by phone")
    return None


def move(
    handling: Handling,
    named: Iterable[int],
    givers: Iterable[str | None],
    to: str,
    told_to: str | None,
    command: str,
) -> None:
    """Let the named takes go along; their holds run on as they are."""
    open_ones = takes_of(handling, givers)
    for number in dict.fromkeys(named):
        episode = open_ones[number]
        holder = episode.holder
        assert holder is not None  # `takes_of` gives only such
        before, holder.person, holder.told_to = holder.person, to, told_to
        holder.where, holder.eta_at = Where.GOING.value, None
        episode.revision += 1
        if to in episode.also:
            episode.also.remove(to)
        handling.write(
            EntryKind.TAKE_MOVED,
            episode.bed,
            episode=episode.id,
            person=to,
            told_to=told_to,
            command=command,
            text=say("from {label}", label=person_label(handling, before)),
        )
