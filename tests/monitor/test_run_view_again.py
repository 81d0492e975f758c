"""What stands at a run is given again where nothing of it has changed, and else is as if made anew in whole."""

from typing import Any

import pytest

from monitor.core.bed_commands import SetLimit
from monitor.core.commands import SetTarget
from monitor.core.view import RunView, TileView
from monitor.core.views import tile_view
from shared.instant import MINUTE
from shared.quantities import Quantity as Q
from tests.helpers.one_bed import Bed


@pytest.fixture
def bed() -> Bed:
    """A bed that has been read until its baselines stand."""
    bed = Bed()
    bed.run(40 * 60)
    return bed


def after(bed: Bed, before: TileView) -> RunView:
    """Give the run as it is shown after it was shown as ``before``."""
    handling = bed.engine._handling(bed.now)
    place = handling.state.beds["B1"]
    again = tile_view(handling, place, before)
    assert again == tile_view(handling, place)
    return again.runs[0]


def test_that_a_reading_alone_gives_the_same_run_again(bed: Bed) -> None:
    before = bed.tile
    bed.run(5)
    assert bed.tile.last_reading_at != before.last_reading_at
    assert bed.tile.runs[0] is before.runs[0]


def test_that_what_was_set_is_shown_and_what_ended_is_not(bed: Bed) -> None:
    before = bed.tile
    said: dict[str, Any] = {"bed": "B1", "rule": "inlet_low", "value": -120.0, "until": bed.now + 10 * MINUTE}
    assert bed.say(SetLimit, "charge", reason="as ordered", **said) == ""
    assert [limit.rule for limit in after(bed, before).settable if limit.own] == ["inlet_low"]
    before = bed.tile
    bed.run(11 * 60)
    assert [limit.rule for limit in after(bed, before).settable if limit.own] == []


def test_that_another_target_moves_the_limits_that_rest_on_it(bed: Bed) -> None:
    before = bed.tile
    assert bed.say(SetTarget, "charge", bed="B1", slot=1, quantity=Q.PUMP_FLOW, value=3.0) == ""
    assert _moved(bed, before) >= {"flow_low"}


def test_that_a_baseline_that_stands_gives_limits() -> None:
    bed = Bed()
    bed.run(5)
    before = bed.tile
    bed.run(40 * 60)
    assert _moved(bed, before)


def _moved(bed: Bed, before: TileView) -> set[str]:
    stood = {limit.rule: limit.default for limit in before.runs[0].settable}
    return {limit.rule for limit in after(bed, before).settable if limit.default != stood[limit.rule]}
