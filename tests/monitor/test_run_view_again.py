"""What stands at a run is made anew only where something of it has changed, and is then as if made anew in whole."""

from typing import Any

import pytest

from monitor.core.bed_commands import SetLimit
from monitor.core.commands import SetTarget
from monitor.core.view import RunView
from shared.instant import MINUTE
from shared.quantities import Quantity as Q
from tests.helpers.fresh_views import hold_to_fresh
from tests.helpers.one_bed import Bed


@pytest.fixture
def bed() -> Bed:
    """A bed that has been read until its baselines stand."""
    bed = Bed()
    bed.run(40 * 60)
    return bed


def shown(bed: Bed) -> RunView:
    hold_to_fresh(bed.engine, bed.now, ["B1"])
    return bed.tile.runs[0]


def test_that_a_reading_alone_gives_the_same_run_again(bed: Bed) -> None:
    before, tile = shown(bed), bed.tile
    bed.run(5)
    assert bed.tile is not tile
    assert bed.tile.last_reading_at != tile.last_reading_at
    assert shown(bed) is before


def test_that_what_was_set_is_shown_and_what_ended_is_not(bed: Bed) -> None:
    before = shown(bed)
    until = bed.now + 10 * MINUTE
    said: dict[str, Any] = {"bed": "B1", "rule": "inlet_low", "value": -120.0, "until": until, "reason": "as ordered"}
    assert bed.say(SetLimit, "charge", **said) == ""
    assert [limit.rule for limit in shown(bed).settable if limit.own] == ["inlet_low"]
    bed.run(11 * 60)
    assert shown(bed).settable == before.settable


def test_that_another_target_moves_the_limits_that_rest_on_it(bed: Bed) -> None:
    before = {limit.rule: limit.default for limit in shown(bed).settable}
    assert bed.say(SetTarget, "charge", bed="B1", slot=1, quantity=Q.PUMP_FLOW, value=3.0) == ""
    bed.run(2)
    moved = [limit.rule for limit in shown(bed).settable if limit.default != before[limit.rule]]
    assert "flow_low" in moved, moved
