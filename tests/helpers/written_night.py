"""Some hours of an invented unit, written from a seed: bad readings, gaps, answers, orders, transports."""

from pathlib import Path
from random import Random

from monitor.core.bed_commands import SetLimit
from monitor.core.commands import (
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
from monitor.core.grades import TrialKind
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
    for _ in range(steps):
        unit.read(random.choice((2, 4, 7, 11)), {bed: random.choice(_CHANGES) for bed in BEDS})
        for _ in range(random.randrange(3)):
            number += 1
            command = _command(unit, random, f"c{number}")
            if command is not None:
                unit.give(command)
    unit.close()
    return unit


def _command(unit: WrittenUnit, random: Random, name: str) -> Command | None:
    bed, now = random.choice(BEDS), unit.now
    charge = {"id": f"night-{name}", "person": "charge-2", "bed": bed}
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
    if random.random() < 0.02:
        return EndRun.model_validate(charge)
    kind, more = random.choice(made)
    return kind.model_validate(charge | more)
