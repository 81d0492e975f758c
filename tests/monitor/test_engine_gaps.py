"""What is not said before its time, or of what is not read; and who the roster of a unit names on each rung.

Limits and times: the shipped files (our defaults, no source).
"""

from monitor.core.bed_commands import PauseAudio
from monitor.core.commands import Take
from monitor.core.entries import EntryKind
from monitor.core.events import Observed
from monitor.core.grades import Rung
from monitor.core.unit import Roster
from monitor.rehearsal.sources import Numbered
from shared.quantities import Quantity as Q
from tests.helpers.one_bed import USUAL, Bed


def test_that_the_roster_tells_who_stands_on_each_rung() -> None:
    roster = Roster(nurses={"B1": "a"}, charge="b", perfusionist="c", intensivist="d", surgeon="e")
    assert [roster.on(rung, "B1") for rung in Rung] == ["a", "b", "c", "d", "e"]
    assert roster.on(Rung.BEDSIDE, "B2") is None
    assert roster.on(Rung.BEDSIDE, None) is None  # the unit as a whole has no bedside nurse


def test_that_nobody_is_reminded_of_a_reason_before_its_time_whatever_else_falls_due() -> None:
    """A high is explained within ten minutes; the end of a pause of the sound after one asks for nothing."""
    bed = Bed()
    bed.run(90)
    bed.run(21, {Q.INLET_PRESSURE: -170.0})
    assert bed.give(Take, "nurse-B1") == ""
    assert bed.say(PauseAudio, "nurse-B1", bed="B1", seconds=60) == ""
    bed.wait(61)
    assert [entry.text for entry in bed.of(EntryKind.AUDIO_BACK)] == ["Desk sound back: time is up"]
    assert bed.of(EntryKind.NOTE) == []
    assert bed.lead.holder is not None


def test_that_one_pressure_is_not_said_to_have_moved_alone_while_the_flow_is_not_read() -> None:
    """Whether the flow stayed cannot be told once its last reading is older than half a minute."""
    told = {}
    for read in (True, False):
        bed, numbered = Bed(), Numbered()
        bed.run(90)
        values = {q: v for q, v in USUAL.items() if read or q is not Q.PUMP_FLOW}
        for second in range(100):
            bed.wait(1)
            change = values | ({Q.INLET_PRESSURE: -95.0} if second >= 40 else {})
            bed._keep(bed.engine.handle(Observed(numbered.live("B1", 1, bed.now, change)), bed.now))
        told[read] = "one_pressure" in {name for _, name in bed.raised()}
    assert told == {True: True, False: False}


def test_that_numbers_mean_something_only_at_a_bed_and_a_run_that_are_there() -> None:
    bed = Bed()
    bed.run(5)
    asked = [bed.engine.meaning(label, slot, None, bed.now) for label, slot in (("B1", 1), ("B1", 2), ("B9", 1))]
    assert [(one.bed, one.slot) if one is not None else None for one in asked] == [("B1", 1), None, None]
