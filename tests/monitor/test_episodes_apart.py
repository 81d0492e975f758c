"""What belongs together and what does not: a call for help is heard again, and an answer counts for its episode."""

from monitor.core.commands import CallHelp, HelpKind, Reason, Take, Where
from monitor.core.entries import EntryKind
from shared.quantities import Quantity as Q
from tests.helpers.one_bed import Bed

EVERYBODY = [(1, "nurse-B1"), (2, "charge"), (3, "perfusionist"), (4, "intensivist")]


def test_that_a_second_call_for_help_calls_everybody_although_somebody_has_the_first() -> None:
    """Help called by hand: everybody at once, whatever else is held (common practice, no source)."""
    bed = Bed()
    bed.run(90)
    assert bed.say(CallHelp, "charge", bed="B1", what=HelpKind.PUMP_NOISE) == ""
    assert bed.give(Take, "nurse-B1", reason=Reason.AT_BEDSIDE) == ""
    before = len(bed.calls())
    assert bed.say(CallHelp, "charge", bed="B1", what=HelpKind.LINE_OUT) == ""
    told = bed.calls()[before:]
    assert [call for call in told if call[1] != "deputy"] == EVERYBODY
    assert len({entry.episode for entry in bed.of(EntryKind.RAISED)}) == 2


def test_that_what_comes_back_beside_an_unrelated_alert_opens_an_episode_with_its_own_ladder() -> None:
    """Low flow made MAP and saturation one episode. Flow is back; a saturation that falls again is its own."""
    bed = Bed()
    bed.run(90)
    bed.run(150, {Q.PUMP_FLOW: 3.3, Q.MEAN_ARTERIAL_PRESSURE: 55.0, Q.SPO2_RIGHT_HAND: 78.0})
    assert len({entry.episode for entry in bed.of(EntryKind.RAISED, EntryKind.FOLDED, EntryKind.PROMOTED)}) == 1
    bed.run(30, {Q.MEAN_ARTERIAL_PRESSURE: 55.0, Q.SPO2_RIGHT_HAND: 97.0})
    before = len(bed.calls())
    bed.run(45, {Q.MEAN_ARTERIAL_PRESSURE: 55.0, Q.SPO2_RIGHT_HAND: 78.0})
    raised = bed.of(EntryKind.RAISED)
    assert [entry.rule for entry in raised] == ["spo2_very_low", "spo2_very_low"]
    assert raised[0].episode != raised[1].episode
    assert bed.calls()[before:] == [(1, "nurse-B1")]


def test_that_nobody_has_a_high_by_phone_by_naming_a_medium_member_of_its_episode() -> None:
    bed = Bed()
    bed.run(90)
    bed.run(40, {Q.PUMP_FLOW: 3.3})
    medium = bed.lead
    bed.run(25, {Q.PUMP_FLOW: 2.2})
    assert bed.lead.priority == "high"
    refused = bed.give(Take, "intensivist", alert=medium.lead, where=Where.PHONE, reason=Reason.OTHER)
    assert "phone" in refused
    assert bed.lead.holder is None
