"""Fetching the past of the small trends: the worst bed first, never waited for. The hub reads one as one is drawn.

A review is told the newest reading of each run every few seconds: what lay between, and what a feed sends later,
is not in it. So it asks again, run by run: for the last minutes in each round, for the whole once in many rounds.
"""

import uuid
from collections import deque
from collections.abc import Iterable
from typing import NamedTuple

from monitor.core.view import TileView
from monitor.core.wire import AskHistory
from monitor.desk.link_state import LinkState
from monitor.desk.need import leading, order_of_need
from monitor.desk.store import SPARK, Store
from shared.instant import SECOND, Instant
from shared.quantities import Quantity as Q

#: Quantities that a small trend can show.
TRENDS = (
    Q.PUMP_FLOW,
    Q.INLET_PRESSURE,
    Q.POST_OXYGENATOR_PRESSURE,
    Q.MEAN_ARTERIAL_PRESSURE,
    Q.SPO2_RIGHT_HAND,
    Q.CENTRAL_VENOUS_PRESSURE,
    Q.HEART_RATE,
    Q.PUMP_SPEED,
)
#: A request that is not answered within this is given up, and its run comes last: else an empty stretch would stand
#: there as one that nobody has read.
GIVE_UP_S = 5.0
#: So many requests are out at once; of a review, whose line is thin, one.
AT_ONCE = 2
#: A review asks for one run this often; for the whole of it once in so many rounds, of which each has some.
AGAIN_S, WHOLE_EVERY = 5.0, 12


class _Out(NamedTuple):
    """What was asked for: when, and the run that waits for it (``None``: what stands already)."""

    at: float
    run: tuple[str, int] | None = None


class HistoryQueue:
    """Which bed's past is asked for next. Seconds are monotonic and given by the caller.

    ``lean``: what stands is asked for again, in turn.
    """

    def __init__(self, *, lean: bool = False) -> None:
        self._waiting: deque[tuple[str, int]] = deque()
        self._out: dict[str, _Out] = {}
        self._lean = lean
        self._turn = 0
        self._again_at = 0.0

    def plan(self, store: Store) -> None:
        """Queue every run of every bed, beds with a need first."""
        tiles = [store.tiles[bed] for bed in store.beds() if bed in store.tiles]
        self._waiting = deque(
            (tile.bed, run.description.slot) for tile in sorted(tiles, key=_order) for run in tile.runs
        )
        self._out.clear()

    @property
    def is_filling(self) -> bool:
        """Tell whether the past of a run is still asked for, or is to be."""
        return bool(self._waiting) or any(out.run is not None for out in self._out.values())

    def answered(self, requests: Iterable[str]) -> None:
        """Note answers; the next request may go."""
        for request in requests:
            self._out.pop(request, None)

    def next(self, store: Store, now: Instant | None, monotonic: float) -> AskHistory | None:
        """Give the next request that is to be sent now, if any; none on a line that is silent."""
        self._give_up(monotonic)
        most = 1 if self._lean else AT_ONCE
        if len(self._out) >= most or now is None or store.link.state is not LinkState.LIVE:
            return None
        while self._waiting:
            run = self._waiting.popleft()
            request = _request(store, *run, now)
            if request is not None:
                self._out[request.request] = _Out(monotonic, run)
                self._again_at = monotonic
                return request
        return self._again(store, now, monotonic) if self._lean else None

    def _give_up(self, monotonic: float) -> None:
        """Wait no longer for what was asked for too long ago: its run comes last."""
        for request, out in list(self._out.items()):
            if monotonic - out.at >= GIVE_UP_S:
                del self._out[request]
                if out.run is not None:
                    self._waiting.append(out.run)

    def _again(self, store: Store, now: Instant, monotonic: float) -> AskHistory | None:
        """Give the request of the run whose turn it is."""
        if monotonic - self._again_at < AGAIN_S:
            return None
        self._again_at = monotonic
        runs = [(bed, run.description.slot) for bed, tile in store.tiles.items() for run in tile.runs]
        if not runs:
            return None
        round_, place = divmod(self._turn, len(runs))
        self._turn += 1
        whole = (round_ + place) % WHOLE_EVERY == 0
        last = None if whole else round((len(runs) * AGAIN_S + GIVE_UP_S) * SECOND)
        request = _request(store, *runs[place], now, last)
        if request is not None:
            self._out[request.request] = _Out(monotonic)
        return request


def _order(tile: TileView) -> tuple[int, ...]:
    lead = leading(tile)
    return (1,) if lead is None else (0, *order_of_need(lead))


def _request(store: Store, bed: str, slot: int, now: Instant, last_ms: int | None = None) -> AskHistory | None:
    """Give the request for a run's trends: of so many ms, with the column in which they begin, or whole."""
    tile = store.tiles.get(bed)
    run = next((run for run in tile.runs if run.description.slot == slot), None) if tile else None
    if run is None:
        return None
    fitted = tuple(quantity for quantity in TRENDS if quantity in run.description.sensors)
    if not fitted:
        return None
    width = store.readings.width_ms(bed)
    window = store.readings.window_ms(bed)
    begin = (now - (window if last_ms is None else min(window, last_ms))) // width * width
    return AskHistory(
        request=SPARK + uuid.uuid4().hex[:24],
        bed=bed,
        slot=slot,
        quantities=fitted,
        begin=begin,
        end=now,
        width_ms=width,
    )
