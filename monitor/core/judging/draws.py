"""Laboratory values by the time of their draw: the newest days of each, a correction in place of what it corrects.

A result may come hours after its draw, and after newer readings: it is kept where its draw belongs.
"""

from bisect import bisect_left
from collections.abc import Mapping

from monitor.core.laboratory import DRAWN
from monitor.core.state import RunState
from shared.instant import HOUR, Instant
from shared.messages import Observation
from shared.quantities import Quantity

#: How long a draw is kept after the newest of its quantity, and how many at most.
KEPT_MS, MOST = 72 * HOUR, 96


def take_draws(run: RunState, observation: Observation, by_hand: bool) -> None:
    """Keep what an observation brings of the laboratory.

    Left out: what a fitted sensor measures all the time, what is doubtful, and what was drawn before the run began,
    as nobody knows of whom.
    """
    began = min(run.started_at, run.description.started_at or run.started_at)
    if observation.read_at < began:
        return
    for quantity, value in observation.readings.items():
        if quantity not in DRAWN or quantity in observation.doubtful:
            continue
        if not by_hand and quantity in run.description.sensors:
            continue
        draws = run.draws.setdefault(quantity, [])
        drawn = (observation.read_at, value)
        place = bisect_left(draws, observation.read_at, key=lambda draw: draw[0])
        if place < len(draws) and draws[place][0] == observation.read_at:
            draws[place] = drawn
        else:
            draws.insert(place, drawn)
        oldest = bisect_left(draws, draws[-1][0] - KEPT_MS, key=lambda draw: draw[0])
        del draws[: max(oldest, len(draws) - MOST)]


def drop_draws(run: RunState, readings: Mapping[Quantity, float], read_at: Instant) -> None:
    """Take what a set had brought of the laboratory out again."""
    for quantity, value in readings.items():
        draws = run.draws.get(quantity, [])
        if (read_at, value) in draws:
            draws.remove((read_at, value))
        if not draws:
            run.draws.pop(quantity, None)
