"""When a take no longer holds: a value that was out moves a further full step, or the person leaves the roster."""

from collections.abc import Mapping

from monitor.core.alerts import ladder as climb
from monitor.core.alerts.calls import run_ladder, steps_written
from monitor.core.alerts.episodes import end_holding
from monitor.core.entries import EntryKind
from monitor.core.handling import Handling
from monitor.core.pages.text import Why
from monitor.core.roster.cover import standing
from monitor.core.state import BedState, EpisodeState, LadderState, UnitState
from monitor.core.titles import number
from shared.language.saying import say
from shared.quantities import CATALOGUE, Quantity
from shared.support import label_at


def watch_holds(handling: Handling, bed: BedState, episode: EpisodeState) -> None:
    """End a hold at once if a value of a rule that was open at the take is a full step worse than it was then."""
    ladder = episode.ladder
    if episode.holder is None or ladder is None:
        return
    steps = handling.ladder.worse.model_dump()
    for key, then in episode.holder.at_take.items():
        slot, name, way = key.split(":")
        run = bed.runs.get(int(slot))
        signal = run.signals.get(Quantity(name)) if run else None
        if run is None or not signal:
            continue
        value = signal.median(10_000)
        further = {"up": value - then, "down": then - value}[way]
        if further >= abs(steps[name]):
            spec = CATALOGUE[Quantity(name)]
            was, now = number(then, spec.decimals), number(value, spec.decimals)
            label = label_at(Quantity(name), run.description)
            _let_go(
                handling,
                bed,
                episode,
                ladder,
                EntryKind.WORSENED,
                say(
                    "{label} {now}, at the take {was} {unit}", label=label, now=now, was=was, unit=spec.unit
                ).rstrip(),
            )
            return


def watch_leavers(handling: Handling, place: BedState | UnitState, left: Mapping[str, str]) -> None:
    """End the holds of people who are called nowhere any more; ``left`` says why of each."""
    for episode in place.episodes.values():
        holder, ladder = episode.holder, episode.ladder
        if holder is not None and ladder is not None and holder.person in left:
            _let_go(
                handling, place, episode, ladder, EntryKind.HOLD_ENDED, f"{holder.person} {left[holder.person]}"
            )


def _let_go(
    handling: Handling,
    place: BedState | UnitState,
    episode: EpisodeState,
    ladder: LadderState,
    kind: EntryKind,
    why: str,
) -> None:
    end_holding(handling, place, episode, kind, why)
    who = standing(handling, episode.bed, episode)
    reason = Why.WORSE if kind is EntryKind.WORSENED else Why.STILL
    steps_written(handling, episode, climb.end_hold(ladder, handling.ladder, handling.now, who), reason)
    run_ladder(handling, place, episode)
