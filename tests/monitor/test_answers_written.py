"""What is written of an answer, word for word: who, told to whom, why; and how a refusal reads."""

import pytest

from monitor.core.commands import ChangeRoster, HelpByPhone, PassOn, Reason, Renew, Seen, Take, Where
from monitor.core.entries import EntryKind as K
from monitor.core.grades import Rung
from shared.quantities import Quantity as Q
from tests.helpers.one_bed import Bed

LOW_FLOW = {Q.PUMP_FLOW: 3.3}
STOPPED = {Q.PUMP_SPEED: 0.0, Q.PUMP_FLOW: -1.5, Q.INLET_PRESSURE: 15.0}
#: Below 50 mmHg for 30 s: high, of the patient's side (config/limits.toml, our defaults).
DEEP = {Q.MEAN_ARTERIAL_PRESSURE: 45.0}


def bed_with(change: dict[Q, float], seconds: int) -> Bed:
    bed = Bed()
    bed.run(90)
    bed.run(seconds, change)
    return bed


def test_that_refusals_say_what_to_do_instead() -> None:
    low, stopped = bed_with(LOW_FLOW, 40), bed_with(STOPPED, 2)
    assert low.give(Take, "perfusionist", reason=Reason.AT_BEDSIDE) == (
        "a take is recorded by somebody in the unit; from elsewhere help by phone"
    )
    assert low.give(Take, "nurse-B1") == "a medium or low is taken with a reason: say why"
    assert stopped.give(Take, "perfusionist", where=Where.PHONE, told_to="charge") == (
        "nobody has a high by phone: help by phone leaves the ladder running"
    )
    stopped.run(200)
    assert stopped.give(Seen, "perfusionist") == "this stays listed until somebody in the unit has seen it"


def test_that_a_take_told_by_voice_says_to_whom_and_why() -> None:
    low = bed_with(LOW_FLOW, 40)
    low.give(Take, "perfusionist", told_to="charge", reason=Reason.AT_BEDSIDE)
    [entry] = low.of(K.TAKEN)
    assert (entry.person, entry.told_to, entry.reason) == ("perfusionist", "charge", Reason.AT_BEDSIDE.value)


@pytest.mark.parametrize(
    ("kind", "person", "written"),
    [(HelpByPhone, "perfusionist", K.ADVISED), (PassOn, "nurse-B1", K.DECLINED), (Renew, "nurse-B1", K.RENEWED)],
)
def test_that_an_answer_is_written_with_its_person_and_its_reason(
    kind: type[HelpByPhone | PassOn | Renew], person: str, written: K
) -> None:
    low = bed_with(LOW_FLOW, 40)
    assert low.give(Take, "nurse-B1", reason=Reason.AT_BEDSIDE) == ""
    assert low.give(kind, person, reason=Reason.OTHER) == ""
    [entry] = low.of(written)
    assert (entry.bed, entry.person, entry.reason) == ("B1", person, Reason.OTHER.value)


def test_that_a_high_of_the_patient_alone_calls_by_the_ladder_of_the_patients_side() -> None:
    """Perfusionist and intensivist together after 120 s, where another high has the intensivist after 180 s."""
    bed = bed_with(DEEP, 50)
    raised = next(entry.at for entry in bed.of(K.RAISED) if entry.rule == "map_very_low")
    bed.run(130, DEEP)
    called = {entry.rung: (entry.at - raised) / 1000 for entry in bed.of(K.CALLED) if entry.at >= raised}
    assert called == {1: 0.0, 2: 60.0, 3: 120.0, 4: 120.0}


def test_that_a_hold_that_is_over_at_the_moment_of_another_answer_ends_before_it() -> None:
    low = bed_with(LOW_FLOW, 40)
    low.give(Take, "nurse-B1", reason=Reason.AT_BEDSIDE)
    [taken] = low.of(K.TAKEN)
    assert taken.until is not None
    low.now = taken.until
    assert low.give(PassOn, "charge", reason=Reason.OTHER) == "this has changed since you looked: look again"
    [ended] = low.of(K.HOLD_ENDED)
    assert (ended.at, ended.person, ended.text) == (taken.until, "nurse-B1", "still present")
    assert low.lead.holder is None


def test_that_who_is_called_at_the_bed_leads_no_team_there_whatever_post_they_hold_besides() -> None:
    stopped = bed_with(STOPPED, 2)
    assert stopped.say(ChangeRoster, "charge", rung=Rung.BEDSIDE, bed="B1", stands="charge") == ""
    assert stopped.give(Take, "charge", reason=Reason.TEAM_AT_BED, where=Where.AT_BED) == ""
    assert [entry.until for entry in stopped.of(K.TAKEN)] == [stopped.now + 180_000]


def test_that_help_of_who_is_called_at_the_bed_keeps_nobody_from_a_medium_whatever_post_they_hold_besides() -> None:
    low = bed_with(LOW_FLOW, 40)
    assert low.say(ChangeRoster, "charge", rung=Rung.BEDSIDE, bed="B1", stands="perfusionist") == ""
    assert low.give(HelpByPhone, "perfusionist", reason=Reason.ADVISING) == ""
    assert [entry.until for entry in low.of(K.ADVISED)] == [None]
