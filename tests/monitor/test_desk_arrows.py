"""The arrow beside a number of a tile: there when the trend has moved beyond its noise, and else never."""

from collections.abc import Callable, Iterable
from datetime import UTC
from random import Random

import pytest

from monitor.analysis.arrow import Arrow
from monitor.core.view import TileView
from monitor.core.wire import Column, ReadingsDelta
from monitor.desk.link_state import LinkState
from monitor.desk.readings import Readings
from monitor.desk.store import Store
from monitor.desk.tile.compose import compose
from monitor.desk.tile.moment import Moment
from shared.instant import HOUR, MINUTE, SECOND, Instant
from shared.messages import Origin
from shared.quantities import Quantity as Q
from tests.helpers.views import NOW, filled, tile

Course = Callable[[float], float | None]


def played(course: Course, store: Store, **more: object) -> None:
    """Flow once in 5 s for an hour up to now, with the noise of the base bed; ``None`` is a gap."""
    rng = Random(3)
    for step in range(721):
        at = NOW - HOUR + step * 5 * SECOND
        value = course((at - NOW) / MINUTE)
        if value is not None:
            values = {Q.PUMP_FLOW: value + rng.gauss(0, 0.05)}
            delta = {"boot": "b", "seq": 1, "bed": "B7", "slot": 1, "read_at": at, "values": values} | more
            store.readings.take(ReadingsDelta.model_validate(delta))


def arrows(store: Store, view: TileView, now: Instant = NOW, link: LinkState = LinkState.LIVE) -> list[Arrow]:
    face = compose(view, store, Moment(now, link, UTC))
    return [number.arrow for number in face.trends[0].numbers]


def shown(course: Course, view: TileView | None = None, **more: object) -> list[Arrow]:
    view = view or tile()
    store = filled([view], trends=False)
    played(course, store, **more)
    return arrows(store, view)


def test_that_a_steady_flow_has_no_arrow() -> None:
    assert shown(lambda minute: 4.2) == [Arrow.NONE]


@pytest.mark.parametrize(
    ("per_hour", "arrow"),
    [(-0.5, Arrow.FALLS), (0.5, Arrow.RISES), (-2.4, Arrow.FALLS_STEEPLY), (2.4, Arrow.RISES_STEEPLY)],
)
def test_that_a_slope_has_the_arrow_of_its_steepness(per_hour: float, arrow: Arrow) -> None:
    """0.5 L/min an hour is 12 % of 4.2; 2.4 is the slow bleed of 0.9 L/min within 30 min, and more."""
    assert shown(lambda minute: 4.2 + per_hour * max(minute, -15) / 60) == [arrow]


def test_that_a_window_with_a_gap_of_five_minutes_has_no_arrow() -> None:
    def course(minute: float) -> float | None:
        return None if -9 < minute < -4 else 4.2 + 0.06 * minute

    assert shown(course) == [Arrow.NONE]


def test_that_a_stale_or_veiled_number_has_no_arrow() -> None:
    view = tile()
    store = filled([view], trends=False)
    played(lambda minute: 4.2 + 0.03 * minute, store)
    assert arrows(store, view) != [Arrow.NONE]
    assert arrows(store, view, NOW + 3 * MINUTE) == [Arrow.NONE]
    assert arrows(store, view, link=LinkState.NOT_LIVE) == [Arrow.NONE]
    assert arrows(store, tile(stale=True)) == [Arrow.NONE]


def test_that_neither_an_estimate_nor_an_entered_number_has_an_arrow() -> None:
    def course(minute: float) -> float:
        return 4.2 + 0.03 * minute

    assert shown(course, estimated=frozenset({Q.PUMP_FLOW})) == [Arrow.NONE]
    assert shown(course, tile(origin=Origin.ENTERED)) == [Arrow.NONE]


def test_that_the_past_from_the_hub_brings_the_arrow_at_once() -> None:
    """A desk that has just begun knows one reading, hence no arrow; with two hours of history it has one."""
    readings = Readings()
    readings.take(
        ReadingsDelta(boot="b", seq=1, bed="B7", slot=1, read_at=NOW, values={Q.PUMP_FLOW: 4.0}),
    )
    assert readings.arrow("B7", 1, Q.PUMP_FLOW, NOW) is Arrow.NONE
    readings.merge("B7", 1, 30 * SECOND, {Q.PUMP_FLOW: tuple(fallen())})
    assert readings.arrow("B7", 1, Q.PUMP_FLOW, NOW) is Arrow.FALLS


def test_that_another_run_begins_without_an_arrow() -> None:
    readings = Readings()
    readings.take(ReadingsDelta(boot="b", seq=1, bed="B7", slot=1, read_at=NOW, values={Q.PUMP_FLOW: 4.0}))
    readings.merge("B7", 1, 30 * SECOND, {Q.PUMP_FLOW: tuple(fallen())})
    assert readings.arrow("B7", 1, Q.PUMP_FLOW, NOW) is Arrow.FALLS
    readings.forget("B7", 1)
    assert readings.arrow("B7", 1, Q.PUMP_FLOW, NOW) is Arrow.NONE


def fallen() -> Iterable[Column]:
    rng = Random(1)
    for number in range(239):
        at = NOW // (30 * SECOND) * 30 * SECOND - (239 - number) * 30 * SECOND
        middle = 4.0 - 0.6 * min(0, at - NOW) / HOUR + rng.gauss(0, 0.01)
        yield Column(at=at, low=middle - 0.1, high=middle + 0.1, last=middle)
