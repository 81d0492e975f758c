"""What a shift's report says of a run that was off support: when, by whom, for how long, and that it still is."""

from pathlib import Path

from monitor.core.emergency_commands import BackOnSupport, GoOffSupport
from monitor.record.reading import read_only
from monitor.reports.shift.gather import gather
from tests.helpers.written_unit import BEGIN, WrittenUnit


def test_that_the_report_tells_both_acts_with_seconds_and_carries_what_has_not_ended(tmp_path: Path) -> None:
    unit = WrittenUnit(tmp_path / "unit.record")
    unit.read(20)
    unit.give(GoOffSupport(id="off-1", person="nurse-1", bed="B1"))
    unit.read(2)
    unit.give(BackOnSupport(id="back-1", person="charge-2", bed="B1"))
    unit.read(2)
    unit.give(GoOffSupport(id="off-2", person="nurse-2", bed="B2"))
    unit.read(2)
    unit.close()
    with read_only(unit.path) as record:
        report = gather(record.hours(BEGIN, unit.now + 1), "", unit.now).report
    first, second = (next(bed for bed in report.beds if bed.bed == label) for label in ("B1", "B2"))
    told = [event.words for event in first.events if "support" in event.words]
    assert told == ["Off support, by Nurse 1", "Back on support: off support for 120 s, by Charge 2"]
    assert [item.words for item in first.open if item.what == "off support"] == []
    assert [item.words for item in second.open if item.what == "off support"] == ["Off support"]
