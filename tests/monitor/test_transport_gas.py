"""The cylinder of a transport, its departure list, and the list of needs while no feed comes."""

import pytest

from monitor.core.bed_commands import ChangeCylinder, DepartureItem
from monitor.core.commands import EndTransport, StartTransport
from monitor.core.entries import EntryKind
from monitor.core.grades import Priority
from shared.instant import MINUTE
from shared.quantities import Quantity as Q
from tests.helpers.one_bed import Bed

SWEEP = {Q.SWEEP_GAS_FLOW: 3.0}


@pytest.fixture
def bed() -> Bed:
    """A bed with a sweep of 3 L/min."""
    bed = Bed()
    bed.run(90, SWEEP)
    return bed


def leave(bed: Bed, **more: object) -> str:
    fields = {"bed": "B1", "leader": "nurse-B1", "back": bed.now + 60 * MINUTE}
    return bed.say(StartTransport, "charge", **(fields | more))


def test_that_minutes_count_down_in_a_lift_as_well(bed: Bed) -> None:
    began = bed.now
    assert leave(bed, cylinder_l=120.0) == ""  # 40 min at 3 L/min
    assert bed.tile.transport is not None
    assert bed.tile.transport.gas_empty_at == began + 40 * MINUTE
    bed.wait(31 * 60)
    short = [entry for entry in bed.of(EntryKind.RAISED) if entry.rule == "gas_short"]
    assert [entry.at for entry in short] == [began + 10 * MINUTE + 1]
    assert (short[0].priority, short[0].text) == (Priority.MEDIUM, "Cylinder 30 min left")
    risen = bed.of(EntryKind.PROMOTED)
    assert [(entry.at, entry.rule, entry.priority) for entry in risen] == [
        (began + 30 * MINUTE + 1, "gas_critical", Priority.HIGH)
    ]
    assert risen[0].episode == short[0].episode


def test_that_another_sweep_counts_from_its_reading_on(bed: Bed) -> None:
    began = bed.now
    assert leave(bed, cylinder_l=120.0) == ""
    bed.run(300, SWEEP)  # 15 L gone
    bed.run(1, {Q.SWEEP_GAS_FLOW: 6.0})
    assert bed.tile.transport is not None
    used = 3.0 * 301 / 60
    assert bed.tile.transport.gas_empty_at == pytest.approx(began + 301_000 + (120 - used) / 6.0 * MINUTE, abs=1)


def test_that_a_new_cylinder_ends_what_was_too_few(bed: Bed) -> None:
    assert leave(bed, cylinder_min=25.0) == ""
    bed.wait(1)
    assert [rule for _, rule in bed.raised()] == ["gas_short"]
    assert bed.say(ChangeCylinder, "nurse-B1", bed="B1", litres=95.0) == ""  # 31.7 min: not back by two
    assert bed.lead.over is False
    assert bed.say(ChangeCylinder, "nurse-B1", bed="B1", litres=400.0) == ""
    assert bed.lead.over
    assert bed.of(EntryKind.CYLINDER)[-1].text == "New cylinder: 400 L"


def test_that_the_end_of_the_transport_ends_it(bed: Bed) -> None:
    assert leave(bed, cylinder_min=25.0) == ""
    bed.wait(1)
    assert bed.say(EndTransport, "nurse-B1", bed="B1") == ""
    assert bed.lead.over
    bed.wait(3600)
    assert "gas_critical" not in [rule for _, rule in bed.raised()]
    assert "not in transport" in bed.say(ChangeCylinder, "nurse-B1", bed="B1", litres=95.0)


def test_that_minutes_given_by_hand_serve_a_bed_without_a_sweep_reading() -> None:
    bed = Bed()
    bed.run(90)
    began = bed.now
    assert leave(bed, cylinder_min=45.0) == ""
    bed.wait(16 * 60)
    assert [entry.at for entry in bed.of(EntryKind.RAISED) if entry.rule == "gas_short"] == [
        began + 15 * MINUTE + 1
    ]


def test_that_a_sweep_given_by_hand_serves_too_and_none_tells_nothing() -> None:
    bed = Bed()
    bed.run(90)
    assert leave(bed, cylinder_l=90.0, sweep=2.0) == ""
    assert bed.tile.transport is not None
    assert bed.tile.transport.gas_empty_at == bed.now + 45 * MINUTE
    assert bed.say(EndTransport, "nurse-B1", bed="B1") == ""
    assert leave(bed, cylinder_l=90.0) == ""
    assert bed.tile.transport is not None
    assert bed.tile.transport.gas_empty_at is None


def test_that_what_was_not_checked_before_leaving_is_named(bed: Bed) -> None:
    ticked = {DepartureItem.CLAMPS: bed.now, DepartureItem.CYLINDER: bed.now}
    assert leave(bed, destination="CT", departure=ticked, cylinder_l=400.0) == ""
    assert bed.tile.transport is not None
    assert bed.tile.transport.missing == (DepartureItem.HAND_DRIVE, DepartureItem.SECOND_PERSON)
    assert bed.of(EntryKind.TRANSPORT_STARTED)[0].text == "CT; checked: clamps, cylinder; cylinder 400 L"


def test_that_a_bed_without_an_oxygenator_is_asked_for_no_cylinder() -> None:
    bed = Bed(more='[[start]]\nbed = "B1"\nsupport = "LA-Ao"\nprofile = "small"\n')
    assert leave(bed) == ""
    assert bed.tile.transport is not None
    assert DepartureItem.CYLINDER not in bed.tile.transport.missing
    assert len(bed.tile.transport.missing) == 3


def test_that_silence_on_the_way_comes_on_the_list_and_calls_nobody(bed: Bed) -> None:
    assert leave(bed) == ""
    silent = bed.now
    bed.wait(299)
    assert bed.tile.transport is not None
    assert bed.tile.transport.silent_since is None
    bed.wait(1)
    assert bed.tile.transport.silent_since == silent
    assert [entry.text for entry in bed.of(EntryKind.NOTE)] == ["In transport, no feed for 5 min"]
    assert bed.raised() == []
    bed.run(1, SWEEP)
    assert bed.tile.transport.silent_since is None
    bed.wait(301)
    assert len(bed.of(EntryKind.NOTE)) == 2


def test_that_minutes_are_not_taken_while_no_gas_flows() -> None:
    bed = Bed()
    bed.run(10, {Q.SWEEP_GAS_FLOW: 0.0})
    assert "give its litres" in leave(bed, cylinder_min=40.0)
    assert leave(bed, cylinder_l=400.0) == ""
