"""A bed's own limits: who may set them, what they do, and that the default returns to the second."""

import pytest

from monitor.core.bed_commands import DropLimit, SetCallMe, SetLimit
from monitor.core.commands import SetTarget
from monitor.core.entries import EntryKind
from shared.instant import HOUR, MINUTE, SECOND
from shared.quantities import Quantity as Q
from tests.helpers.one_bed import Bed


@pytest.fixture
def bed() -> Bed:
    """A bed that has been read for ninety seconds."""
    bed = Bed()
    bed.run(90)
    return bed


def drained(pressure: float) -> dict[Q, float]:
    """A drain pressure, with a little less flow: it has not moved alone."""
    return {Q.INLET_PRESSURE: pressure, Q.PUMP_FLOW: 3.9}


def own(bed: Bed, rule: str, value: float, minutes: float = 60, **more: object) -> str:
    until = bed.now + round(minutes * MINUTE)
    fields = {"bed": "B1", "rule": rule, "value": value, "until": until, "reason": "as ordered"}
    return bed.say(SetLimit, "charge", **(fields | more))


def test_that_an_own_limit_is_judged_in_place_of_the_default(bed: Bed) -> None:
    assert own(bed, "inlet_low", -120.0) == ""
    bed.run(60, drained(-110.0))
    assert bed.raised() == []
    bed.run(60, drained(-125.0))
    assert "inlet_low" in [rule for _, rule in bed.raised()]
    assert bed.lead.title == "Drain P −125, limit −120"


def test_that_the_default_stands_again_to_the_second(bed: Bed) -> None:
    until = bed.now + 10 * MINUTE
    assert own(bed, "inlet_low", -120.0, minutes=10) == ""
    bed.run(590, drained(-110.0))
    bed.wait(9.5)
    assert any(limit.own for limit in bed.tile.runs[0].settable)
    bed.wait(0.5)
    ended = bed.of(EntryKind.LIMIT_ENDED)
    assert [(entry.at, entry.rule, entry.person) for entry in ended] == [(until, "inlet_low", None)]
    assert all(limit.own is None for limit in bed.tile.runs[0].settable)
    bed.run(40, drained(-110.0))
    # the delay of thirty seconds begins with the first reading under the default
    assert [(at, rule) for at, rule in bed.raised() if rule == "inlet_low"] == [
        (bed.since(until + 31 * SECOND), "inlet_low")
    ]


def test_that_its_end_is_told_a_quarter_of_an_hour_before_and_once(bed: Bed) -> None:
    until = bed.now + 60 * MINUTE
    assert own(bed, "map_low", 55.0) == ""
    bed.wait(59 * 60)
    notes = [entry for entry in bed.of(EntryKind.NOTE) if entry.rule == "map_low"]
    assert [(entry.at, entry.person) for entry in notes] == [(until - 15 * MINUTE, "charge")]
    assert "ends in 15 min: MAP below 55" in (notes[0].text or "")


def test_that_a_short_one_is_told_of_at_once(bed: Bed) -> None:
    assert own(bed, "map_low", 55.0, minutes=10) == ""
    bed.wait(0)
    assert [entry.text for entry in bed.of(EntryKind.NOTE)] == [
        "Own limit ends in 10 min: MAP below 55 mmHg; the default returns"
    ]


def test_that_a_high_rule_needs_a_second_person(bed: Bed) -> None:
    for second in (None, "charge", "nobody-known"):
        assert "two people" in own(bed, "map_very_low", 45.0, second=second)
    assert own(bed, "map_very_low", 45.0, second="intensivist") == ""
    entry = bed.of(EntryKind.LIMIT_SET)[0]
    assert (entry.person, entry.limit, entry.priority) == ("charge", 45.0, "high")
    assert "with intensivist: as ordered" in (entry.text or "")


def test_that_what_loses_circulation_has_no_limit_of_its_own(bed: Bed) -> None:
    for rule in ("flow_none", "pump_stopped", "battery_critical", "temperature", "help", "no_such_rule"):
        assert "has no limit that can be set" in own(bed, rule, 1.0, second="intensivist"), rule


def test_that_an_impossible_value_or_time_is_refused(bed: Bed) -> None:
    assert "is not possible" in own(bed, "map_low", 900.0)
    assert "ends within 72 h" in own(bed, "map_low", 55.0, minutes=73 * 60)
    assert "ends within 72 h" in own(bed, "map_low", 55.0, minutes=0)
    assert "no run is open" in own(bed, "map_low", 55.0, slot=2)
    assert own(bed, "map_low", 55.0, minutes=72 * 60) == ""


def test_that_it_can_be_taken_back(bed: Bed) -> None:
    assert own(bed, "inlet_low", -90.0) == ""
    bed.run(60, drained(-95.0))
    assert [rule for _, rule in bed.raised()] == ["inlet_low"]
    assert bed.say(DropLimit, "charge", bed="B1", rule="inlet_low") == ""
    bed.run(15, drained(-85.0))  # past -100 by the deadband of ten
    assert bed.of(EntryKind.LATCHED)
    assert "has no own limit" in bed.say(DropLimit, "charge", bed="B1", rule="inlet_low")


def test_that_a_limit_of_a_target_is_given_in_the_unit_and_needs_no_target() -> None:
    bed = Bed(more='[[start]]\nbed = "B1"\ntarget_flow = 4.0\n')
    bed.run(90)
    settable = {limit.rule: limit for limit in bed.tile.runs[0].settable}
    assert settable["flow_low"].default == pytest.approx(0.85 * 4.0)
    assert own(bed, "flow_low", 3.9) == ""
    bed.run(60, {Q.PUMP_FLOW: 3.8})
    assert [rule for _, rule in bed.raised()] == ["flow_low"]
    bed.run(15, {Q.PUMP_FLOW: 4.05})  # not back: 5 % of the target above the own limit
    assert bed.lead.over is False
    bed.run(15, {Q.PUMP_FLOW: 4.15})
    assert bed.lead.over


def test_that_own_limits_survive_a_restart(bed: Bed) -> None:
    assert own(bed, "inlet_low", -120.0, minutes=10) == ""
    bed.restart()
    bed.run(60, drained(-110.0))
    assert bed.raised() == []
    bed.wait(9 * 60)
    assert len(bed.of(EntryKind.LIMIT_ENDED)) == 1


def test_that_targets_set_the_default_and_not_the_own_limit(bed: Bed) -> None:
    assert own(bed, "flow_low", 3.0) == ""
    assert bed.say(SetTarget, "charge", bed="B1", quantity=Q.PUMP_FLOW, value=5.0) == ""
    low = next(limit for limit in bed.tile.runs[0].settable if limit.rule == "flow_low")
    assert low.default == pytest.approx(4.25)
    assert low.own is not None
    assert low.own.value == 3.0
    bed.run(60, {Q.PUMP_FLOW: 4.2})
    assert bed.raised() == []


def test_that_no_limit_is_offered_or_set_for_what_is_yes_or_no(bed: Bed) -> None:
    offered = {limit.quantity for limit in bed.tile.runs[0].settable}
    assert Q.INLET_PRESSURE in offered
    assert Q.ON_MAINS not in offered
    assert "has no limit that can be set" in own(bed, "on_battery", 0.0)


def test_that_nothing_is_named_after_an_oxygenator_where_there_is_none() -> None:
    bed = Bed(more='[[start]]\nbed = "B1"\nsupport = "LA-Ao"\n')
    quantity, until = Q.POST_OXYGENATOR_PRESSURE, bed.now + HOUR
    bed.say(SetLimit, "charge", bed="B1", rule="return_high", value=320.0, until=until, reason="valve")
    bed.say(SetTarget, "charge", bed="B1", quantity=quantity, value=250.0)
    bed.say(SetCallMe, "charge", bed="B1", quantity=quantity, above=310.0, calls="charge", until=until)
    refused = [
        bed.say(SetTarget, "charge", bed="B1", quantity=quantity, value=9000.0),
        bed.say(SetLimit, "charge", bed="B1", rule="return_high", value=9000.0, until=until, reason="valve"),
        bed.say(SetCallMe, "charge", bed="B1", quantity=quantity, above=9000.0, calls="charge", until=until),
    ]
    bed.run(5, {quantity: 315.0})
    said = [entry.text or "" for entry in bed.entries] + refused
    assert sum("Outlet P" in text for text in said) >= 6
    assert not any("oxy P" in text for text in said)
