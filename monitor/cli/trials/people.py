"""What people do at a desk: an act of the plan, as the desk shows the unit at that moment."""

import random
from collections.abc import Sequence

from monitor.cli.trials.desk_machine import DeskMachine
from monitor.core.bed_commands import PauseAudio
from monitor.core.commands import (
    CallHelp,
    ChangeRoster,
    Command,
    EndRun,
    HelpByPhone,
    HelpKind,
    PassOn,
    Reason,
    Renew,
    Seen,
    SetTarget,
    StartRun,
    Take,
    Where,
)
from monitor.core.grades import Rung
from monitor.core.view import EpisodeView
from monitor.rehearsal.trials.plan import Item
from shared.quantities import Quantity
from shared.support import Support, describe_run

_REASONS = (Reason.AT_BEDSIDE, Reason.CIRCULATION_CHECKED, Reason.TEAM_AT_BED)
_ELSEWHERE = ("charge", "intensivist", "surgeon", "perfusionist")


def commands_of(item: Item, desk: DeskMachine, beds: Sequence[str]) -> list[Command]:
    """Give the commands of an act, none where the desk shows nothing to answer.

    A take is often given by two people at one moment.
    """
    rng = random.Random(item.seed)
    bed = rng.choice(beds)
    person = rng.choice((*(f"nurse-{one}" for one in beds), *_ELSEWHERE))
    name = f"act-{item.number}"
    match item.what:
        case "target":
            value = round(rng.uniform(3.8, 4.6), 2)
            return [SetTarget(id=name, person="charge", bed=bed, quantity=Quantity.PUMP_FLOW, value=value)]
        case "pause":
            return [PauseAudio(id=name, person=person, bed=bed, seconds=rng.randint(10, 120))]
        case "end run":
            return [EndRun(id=name, person="charge", bed=bed)]
        case "begin run":
            run = describe_run(Support.VA, name)
            return [StartRun(id=name, person="charge", bed=bed, run=run, targets={Quantity.PUMP_FLOW: 4.2})]
        case "help":
            return [CallHelp(id=name, person=person, bed=bed, what=rng.choice(list(HelpKind)))]
        case "roster":
            rung = rng.choice([Rung.PERFUSIONIST, Rung.INTENSIVIST, Rung.SURGEON])
            stands = rng.choice([None, {3: "perfusionist", 4: "intensivist", 5: "surgeon"}[rung]])
            return [ChangeRoster(id=name, person="charge", rung=rung, stands=stands)]
    shown = [
        (tile.bed, view) for tile in desk.store.tiles.values() for view in tile.episodes if view.id is not None
    ]
    if not shown:
        return []
    at, episode = rng.choice(shown)
    people = [person, rng.choice((f"nurse-{at}", "charge"))] if item.what == "take" else [person]
    names = enumerate(dict.fromkeys(people))
    return [_answer(item.what, f"{name}-{number}", one, at, episode, rng) for number, one in names]


def _answer(act: str, name: str, person: str, bed: str, episode: EpisodeView, rng: random.Random) -> Command:
    said = {"id": name, "person": person, "bed": bed, "alert": episode.lead, "revision": episode.revision}
    reason = rng.choice(_REASONS)
    match act:
        case "seen":
            return Seen.model_validate(said)
        case "take":
            return Take.model_validate(said | {"reason": reason, "where": Where.AT_BED})
        case "decline":
            return PassOn.model_validate(said | {"reason": reason})
        case "advise":
            return HelpByPhone.model_validate(said | {"reason": reason})
        case _:
            return Renew.model_validate(said | {"reason": reason})
