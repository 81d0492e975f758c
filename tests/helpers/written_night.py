"""Some hours of an invented unit, written from a seed: bad readings, gaps, answers, orders, transports, pages, who
stands where, and a hub that was away.
"""

from pathlib import Path
from random import Random

from monitor.core.bed_commands import PlanEvent, SetLimit
from monitor.core.commands import (
    ChangeRoster,
    Command,
    Device,
    EndRun,
    EndTransport,
    EndTrial,
    Exchange,
    Order,
    Reason,
    ReturnCheck,
    Seen,
    SetTarget,
    StartTransport,
    StartTrial,
    Take,
    Where,
)
from monitor.core.entries import Entry, EntryKind
from monitor.core.grades import Rung, TrialKind
from monitor.core.pages.states import SETTLED, PageEvent, PageState, next_state
from shared.instant import HOUR, MINUTE
from shared.quantities import Quantity as Q
from tests.helpers.written_unit import WrittenUnit

DOWN = TrialKind.TURN_DOWN
BEDS = ("B1", "B2", "B3")
_CHANGES: tuple[dict[Q, float] | None, ...] = (
    {}, {}, {}, {Q.PUMP_FLOW: 2.0}, {Q.PUMP_FLOW: 3.7}, {Q.INLET_PRESSURE: -105.0},
    {Q.MEAN_ARTERIAL_PRESSURE: 48.0}, {Q.MEAN_ARTERIAL_PRESSURE: 84.0}, None,
)  # fmt: skip


def write_night(path: Path, seed: int, steps: int = 48) -> WrittenUnit:
    """Write about six minutes a step; everything follows from the seed. The record is closed."""
    random = Random(seed)
    unit = WrittenUnit(path, BEDS)
    number = 0
    pages: dict[int, PageState] = {}
    for step in range(steps):
        unit.read(random.choice((2, 4, 7, 11)), {bed: random.choice(_CHANGES) for bed in BEDS})
        _page(unit, random, pages)
        if step % 17 == 16:
            unit.be_away(random.randrange(40, 900))
        for _ in range(random.randrange(6)):
            number += 1
            command = _command(unit, random, f"c{number}")
            if command is not None:
                unit.give(command)
    unit.give(PlanEvent(id="night-plan", person="charge-2", bed="B3", what="CT", at=unit.now + HOUR))
    unit.close()
    return unit


def _page(unit: WrittenUnit, random: Random, pages: dict[int, PageState]) -> None:
    """Begin a page, and let some go on: the words of an outbox, of which only the states matter here."""
    pages[len(pages) + 1] = PageState.WAITING
    for page, state in list(pages.items()):
        new = page == len(pages)
        if state in SETTLED or not (new or random.random() < 0.4):
            continue
        pages[page] = state if new else next_state(state, random.choice(list(PageEvent)))
        unit.write(Entry(at=unit.now, kind=EntryKind.PAGED, rung=2, page=page, page_state=pages[page]))


def _command(unit: WrittenUnit, random: Random, name: str) -> Command | None:
    bed, now = random.choice(BEDS), unit.now
    charge = {"id": f"night-{name}", "person": "charge-2", "bed": bed}
    if random.random() < 0.1:
        post = random.choice(({"rung": Rung.BEDSIDE}, {"rung": Rung.CHARGE, "bed": None}))
        return ChangeRoster.model_validate(charge | post | {"stands": random.choice((None, None, "deputy"))})
    tile = unit.engine.tile(bed, now)
    if tile.episodes and random.random() < 0.7:
        episode = random.choice(tile.episodes)
        said = charge | {"alert": episode.lead, "revision": episode.revision}
        if random.random() < 0.5:
            return Seen.model_validate(said)
        return Take.model_validate(said | {"reason": Reason.AT_BEDSIDE, "where": Where.AT_BED})
    made: list[tuple[type[Command], dict[str, object]]] = [
        (SetTarget, {"quantity": Q.MEAN_ARTERIAL_PRESSURE, "value": random.choice((60.0, 70.0, 80.0))}),
        (Order, {"quantity": Q.PUMP_FLOW, "value": random.choice((3.8, 4.2)), "prescriber": "Intensivist 1"}),
        (Exchange, {"device": Device.TUBING}),
        (SetLimit, {"rule": "map_low", "value": 55.0, "until": now + HOUR, "second": "nurse-2"}),
        (StartTrial, {"trial": DOWN, "until": now + HOUR, "second": "nurse-2", "floor_flow": 1.5}),
        (EndTrial, {}),
        (StartTransport, {"leader": "charge-2", "back": now + 40 * MINUTE, "destination": "CT"}),
        (EndTransport, {}),
        (ReturnCheck, {}),
    ]  # fmt: skip
    if random.random() < 0.01:
        return EndRun.model_validate(charge)
    kind, more = random.choice(made)
    return kind.model_validate(charge | more)
