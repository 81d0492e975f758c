"""Changed since I last looked: per person, against what was usual when they looked."""

from monitor.core.bed_commands import LookedAt
from monitor.core.commands import EndRun, StartRun
from monitor.core.entries import EntryKind
from monitor.core.meaning.looked_view import LookedView
from shared.instant import MINUTE
from shared.quantities import Quantity as Q
from shared.support import Support, describe_run
from tests.helpers.one_bed import Bed

HALF_HOUR = 30 * 60
MOVED = {
    Q.PUMP_SPEED: 3600.0,
    Q.PUMP_FLOW: 3.9,
    Q.INLET_PRESSURE: -72.0,
    Q.PRE_OXYGENATOR_PRESSURE: 224.0,
    Q.MEAN_ARTERIAL_PRESSURE: 66.0,
}


def looked(bed: Bed, person: str = "perfusionist") -> LookedView:
    meaning = bed.engine.meaning("B1", 1, person, bed.now)
    assert meaning is not None
    assert meaning.looked is not None
    return meaning.looked


def look(bed: Bed, person: str = "perfusionist") -> None:
    assert bed.say(LookedAt, person, bed="B1") == ""


def test_that_each_usual_value_that_moved_is_told_from_what_it_was_to_what_it_is() -> None:
    bed = Bed()
    bed.run(HALF_HOUR)
    look(bed)
    at = bed.now
    assert looked(bed).shifts == ()
    bed.run(HALF_HOUR + 120, MOVED)
    said = looked(bed)
    assert said.at == at
    assert {shift.quantity: (round(shift.before, 2), round(shift.now, 2)) for shift in said.shifts} == {
        Q.PUMP_SPEED: (3500.0, 3600.0),
        Q.PUMP_FLOW: (4.2, 3.9),
        Q.INLET_PRESSURE: (-60.0, -72.0),
        Q.OXYGENATOR_RESISTANCE: (7.14, 8.72),
        Q.MEAN_ARTERIAL_PRESSURE: (72.0, 66.0),
    }


def test_that_less_than_the_stated_shift_is_no_change() -> None:
    bed = Bed()
    bed.run(HALF_HOUR)
    look(bed)
    less = {Q.PUMP_SPEED: 3540.0, Q.PUMP_FLOW: 4.0, Q.INLET_PRESSURE: -69.0, Q.MEAN_ARTERIAL_PRESSURE: 68.0}
    bed.run(HALF_HOUR + 120, less)
    assert looked(bed).shifts == ()


def test_that_a_look_is_one_persons_own_and_survives_a_restart() -> None:
    bed = Bed()
    bed.run(HALF_HOUR)
    look(bed)
    bed.restart()
    bed.run(HALF_HOUR + 120, MOVED)
    assert len(looked(bed).shifts) == 5
    assert looked(bed, "charge") == LookedView(person="charge")
    look(bed, "charge")
    assert looked(bed, "charge").shifts == ()
    assert len(looked(bed).shifts) == 5
    assert [entry.person for entry in bed.of(EntryKind.LOOKED)] == ["perfusionist", "charge"]


def test_that_a_look_at_the_run_before_says_nothing_of_the_next() -> None:
    bed = Bed()
    bed.run(HALF_HOUR)
    look(bed)
    assert bed.say(EndRun, "charge", bed="B1", reason="weaned") == ""
    bed.wait(MINUTE / 1000)
    run = describe_run(Support.VA, "B1-next")
    assert bed.say(StartRun, "charge", bed="B1", run=run, targets={Q.PUMP_FLOW: 4.2}) == ""
    bed.run(HALF_HOUR, MOVED)
    assert looked(bed) == LookedView(person="perfusionist")


def test_that_a_stretch_without_readings_has_no_usual_value_to_compare() -> None:
    bed = Bed()
    bed.run(HALF_HOUR)
    look(bed)
    bed.wait(HALF_HOUR + 120)
    assert looked(bed).shifts == ()


def test_that_nobody_who_asks_for_nobody_is_told_of_a_look() -> None:
    bed = Bed()
    meaning = bed.engine.meaning("B1", 1, None, bed.now)
    assert meaning is not None
    assert meaning.looked is None


def test_that_a_bed_that_is_not_there_and_a_stranger_are_refused() -> None:
    bed = Bed()
    assert bed.say(LookedAt, "charge", bed="B9") == "there is no bed B9"
    assert "not among the unit's people" in bed.say(LookedAt, "stranger", bed="B1")
