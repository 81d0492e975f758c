"""The minutes of a battery on a tile: the least of what the console shows and what the rules project."""

import pytest

from monitor.core.view import TileView
from monitor.desk.store import Store
from monitor.desk.tile.moment import Moment
from monitor.desk.tile.numbers import Numbers
from monitor.rehearsal.rehearse import BEGIN
from shared.instant import MINUTE, SECOND
from shared.quantities import Quantity as Q
from tests.helpers.courses import clock, looks_at
from tests.helpers.one_bed import Bed
from tests.helpers.views import NOW, filled, latest, run, tile


def words(view: TileView, store: Store, now: int) -> str:
    power = Numbers(view, store, Moment(now)).power()
    assert power is not None
    return power.words


def on_battery(empty_in: float | None, shown: float | None) -> tuple[TileView, Store]:
    """A tile whose battery the rules project as empty in so many minutes, and what its console shows."""
    empty = None if empty_in is None else NOW + round(empty_in * MINUTE)
    view = tile("B7", runs=(run().model_copy(update={"battery_empty_at": empty}),))
    read = latest("B7", on_mains=0)
    values: dict[Q, tuple[int, float]] = dict(read.values)
    values.pop(Q.BATTERY_MINUTES, None)
    if shown is not None:
        values[Q.BATTERY_MINUTES] = (NOW - SECOND, shown)
    return view, filled([view], [read.model_copy(update={"values": values})])


@pytest.mark.parametrize(
    ("shown", "projected", "said"),
    [
        (42, None, "42 min"),
        (42, 30, "30 min"),
        (20, 30, "20 min"),
        (42, 0, "0 min"),
        (None, 30, "30 min"),
        (None, None, "battery"),
    ],
)
def test_that_the_least_of_shown_and_projected_is_on_the_tile(
    shown: float | None, projected: float | None, said: str
) -> None:
    view, store = on_battery(projected, shown)
    assert words(view, store, NOW) == said


def test_that_minutes_count_down_between_two_views_and_say_at_most_once_readings_are_old() -> None:
    view, store = on_battery(30, 42)
    assert words(view, store, NOW + 90 * SECOND) == "28 min"
    assert words(view, store, NOW + 6 * MINUTE) == "at most 24 min"


def test_that_a_tired_battery_has_the_minutes_of_the_alert_on_its_tile() -> None:
    # The console shows 0.6 min for each percent, the charge falls 2 % a minute: at 21:00 58 % are left, for 29 min.
    looks = looks_at("11_transport_tired_battery", "5:00", "21:00", "43:00")
    for at, left in (("5:00", 45), ("21:00", 29)):
        empty = looks.tile(at).runs[0].battery_empty_at
        assert empty is not None
        assert (empty - BEGIN - clock(at) * SECOND) / MINUTE == pytest.approx(left, abs=1.0)
    assert looks.tile("43:00").runs[0].battery_empty_at is None  # back on mains


def test_that_the_view_of_a_bed_on_battery_changes_but_with_the_projection() -> None:
    bed = Bed()
    ends = set()
    for second in range(600):
        charge = 100 - 2.0 * second / 60
        bed.run(1, {Q.ON_MAINS: 0.0, Q.BATTERY_CHARGE: charge})
        ends.add(bed.tile.runs[0].battery_empty_at)
    assert len(ends) <= 3  # none yet, and the minute before 50 min, give or take one
