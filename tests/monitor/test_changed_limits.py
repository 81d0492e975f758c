"""What a restart makes of limits that were changed since the run began."""

from monitor.core.bed_commands import SetCallMe
from monitor.core.engine import Engine
from shared.instant import HOUR
from shared.quantities import Quantity as Q
from tests.helpers.one_bed import Bed

LOW = {Q.MEAN_ARTERIAL_PRESSURE: 55.0}


def begun_without(rule_id: str) -> Bed:
    """A bed whose run began, and was read low for a while, under the shipped limits less one rule."""
    bed = Bed()
    shipped, limits = bed.configuration, bed.configuration.limits
    rules = tuple(rule for rule in limits.rules if rule.id != rule_id)
    bed.configuration = shipped.model_copy(update={"limits": limits.model_copy(update={"rules": rules})})
    bed.engine = Engine(bed.configuration, bed.now)
    bed._keep(bed.engine.start(bed.now))
    bed.run(100, LOW)
    bed.configuration = shipped
    return bed


def test_that_a_rule_that_is_new_since_the_run_began_is_judged_after_the_restart() -> None:
    bed = begun_without("map_low")
    assert bed.raised() == []
    bed.restart()
    bed.run(70, LOW)
    assert [name for _, name in bed.raised()] == ["map_low"]


def test_that_a_call_asked_for_before_the_first_reading_after_it_makes_no_difference() -> None:
    bed = begun_without("map_low")
    bed.restart()
    asked = {"quantity": Q.PUMP_FLOW, "below": 3.5, "calls": "surgeon", "until": bed.now + HOUR}
    assert bed.say(SetCallMe, "charge", bed="B1", **asked) == ""
    bed.run(70, LOW)
    assert [name for _, name in bed.raised()] == ["map_low"]
