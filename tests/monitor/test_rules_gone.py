"""A rule is taken out of the unit's limits, and the hub starts again, while its alert stands.

Nothing reads the condition any more, so nothing may end it by itself, and nothing may stop for it: it stays listed,
its calls go on, and people end it as they end help called by hand (our default, no source).
"""

import pytest

from monitor.core.bed_commands import ChangeCylinder
from monitor.core.commands import CallHelp, HelpKind, Reason, Seen, StartTransport, Take
from monitor.core.entries import EntryKind
from monitor.core.events import Observed
from monitor.core.grades import LadderClass
from monitor.core.view import EpisodeView
from monitor.rehearsal.sources import Numbered
from shared.instant import MINUTE, SECOND
from shared.quantities import Quantity as Q
from tests.helpers.one_bed import USUAL, Bed

LOW = {Q.PUMP_FLOW: 3.3}
OFF_MAINS = {Q.ON_MAINS: 0.0, Q.BATTERY_CHARGE: 100.0, Q.BATTERY_MINUTES: 400.0}


def without(bed: Bed, rule: str) -> None:
    """The hub starts again under limits that no longer have a rule."""
    limits = bed.configuration.limits
    rules = tuple(one for one in limits.rules if one.id != rule)
    assert len(rules) == len(limits.rules) - 1
    bed.configuration = bed.configuration.model_copy(update={"limits": limits.model_copy(update={"rules": rules})})
    bed.restart()


def low_flow() -> Bed:
    """A medium has just been raised."""
    bed = Bed()
    bed.run(90)
    bed.run(40, LOW)
    assert [rule for _, rule in bed.raised()] == ["flow_low"]
    return bed


@pytest.fixture
def gone() -> Bed:
    """A medium stands, and its rule is gone."""
    bed = low_flow()
    without(bed, "flow_low")
    return bed


def cleared(bed: Bed) -> list[str | None]:
    return [entry.rule for entry in bed.of(EntryKind.CLEARED, EntryKind.LATCHED)]


def test_that_it_stays_listed_and_is_called_for_although_the_value_is_back(gone: Bed) -> None:
    gone.run(180)
    assert (gone.lead.over, cleared(gone)) == (False, [])
    assert gone.calls() == [(1, "nurse-B1"), (2, "charge")]


def test_that_help_can_be_called_and_other_alerts_are_raised_beside_it(gone: Bed) -> None:
    assert gone.say(CallHelp, "charge", bed="B1", what=HelpKind.OTHER) == ""
    gone.run(70, {Q.MEAN_ARTERIAL_PRESSURE: 55.0})
    assert [rule for _, rule in gone.raised()] == ["flow_low", "help", "map_low"]
    held = {alert.rule: view.id for view in gone.tile.episodes for alert in view.alerts}
    assert held["flow_low"] != held["help"] == held["map_low"]


def test_that_it_ends_when_it_is_seen_in_the_unit_once_somebody_has_it(gone: Bed) -> None:
    assert gone.give(Seen, "charge") == ""
    assert cleared(gone) == [], "nobody has it"
    assert gone.give(Take, "nurse-B1", reason=Reason.AT_BEDSIDE) == ""
    assert gone.give(Seen, "perfusionist") == ""
    assert cleared(gone) == [], "not seen in the unit"
    assert gone.give(Seen, "charge") == ""
    assert cleared(gone) == ["flow_low"]
    assert gone.of(EntryKind.REVIEWED) == []
    gone.run(400)
    assert gone.tile.episodes == ()
    assert gone.calls() == [(1, "nurse-B1")]


def test_that_an_alert_with_its_rule_does_not_end_by_being_seen() -> None:
    bed = low_flow()
    assert bed.give(Take, "nurse-B1", reason=Reason.AT_BEDSIDE) == ""
    assert bed.give(Seen, "charge") == ""
    assert (bed.lead.over, cleared(bed)) == (False, [])


def test_that_a_rule_that_comes_back_goes_on_with_its_alert(gone: Bed) -> None:
    gone.configuration = Bed().configuration
    gone.restart()
    gone.run(20, LOW)
    assert (gone.lead.over, len(gone.raised())) == (False, 1)
    gone.run(30)
    assert gone.lead.over


def test_that_a_rule_that_comes_back_after_its_alert_was_ended_is_judged_from_the_beginning(gone: Bed) -> None:
    assert gone.give(Take, "nurse-B1", reason=Reason.AT_BEDSIDE) == ""
    assert gone.give(Seen, "charge") == ""
    gone.configuration = Bed().configuration
    gone.restart()
    back = gone.now
    gone.run(40, LOW)
    assert [rule for _, rule in gone.raised()] == ["flow_low", "flow_low"]
    assert gone.of(EntryKind.RAISED)[-1].at - back == 31 * SECOND, "its delay has run anew"


def low(bed: Bed) -> EpisodeView:
    return next(view for view in bed.tile.episodes if view.id is None)


def test_that_a_low_ends_when_it_is_seen_in_the_unit_and_not_by_a_take() -> None:
    bed = Bed()
    bed.run(60, {Q.ON_MAINS: 1.0})
    bed.run(10, OFF_MAINS)
    without(bed, "on_battery")
    assert bed.give(Seen, "perfusionist", low(bed)) == ""
    assert bed.give(Take, "nurse-B1", low(bed), reason=Reason.EXPECTED) == ""
    assert (low(bed).over, cleared(bed)) == (False, [])
    assert bed.give(Seen, "charge", low(bed)) == ""
    assert cleared(bed) == ["on_battery"]
    assert bed.tile.episodes == ()


def test_that_a_low_with_its_rule_does_not_end_by_being_seen() -> None:
    bed = Bed()
    bed.run(60, {Q.ON_MAINS: 1.0})
    bed.run(10, OFF_MAINS)
    assert bed.give(Seen, "charge", low(bed)) == ""
    assert (low(bed).over, cleared(bed)) == (False, [])


def test_that_its_calls_keep_their_class_when_a_high_beside_it_ends() -> None:
    """Off mains for five minutes with little left: the high goes back, the rest of its episode has no rule."""
    bed = Bed()
    bed.run(60, {Q.ON_MAINS: 1.0})
    bed.run(302, {Q.ON_MAINS: 0.0, Q.BATTERY_CHARGE: 60.0, Q.BATTERY_MINUTES: 60.0})
    bed.run(10, {Q.ON_MAINS: 0.0, Q.BATTERY_CHARGE: 8.0, Q.BATTERY_MINUTES: 8.0})
    assert [rule for _, rule in bed.raised()][:2] == ["on_battery", "on_battery_long"]
    assert bed.lead.ladder is not None
    held = bed.lead.ladder.ladder
    assert held is LadderClass.CIRCUIT_ONE
    without(bed, "on_battery_long")
    without(bed, "battery_short")
    bed.run(300, {Q.ON_MAINS: 0.0, Q.BATTERY_CHARGE: 60.0, Q.BATTERY_MINUTES: 60.0})
    assert {alert.rule for alert in bed.lead.alerts if alert.present} == {"on_battery_long", "battery_short"}
    assert bed.lead.ladder.ladder is held


def silent() -> Bed:
    """A bed whose feed has been missing for a while."""
    bed = Bed()
    bed.run(90)
    bed.wait(121)
    assert [rule for _, rule in bed.raised()] == ["no_feed"]
    return bed


def test_that_the_next_reading_ends_a_missing_feed_although_its_rule_is_gone() -> None:
    bed = silent()
    without(bed, "no_feed")
    assert bed.give(Take, "nurse-B1", reason=Reason.AT_BEDSIDE) == ""
    assert bed.give(Seen, "charge") == ""
    assert cleared(bed) == [], "a reading will end it"
    bed.run(1)
    assert cleared(bed) == ["no_feed"]
    assert [entry.bed for entry in bed.of(EntryKind.FEED_BACK)] == ["B1"]


def test_that_a_set_ends_its_reminder_and_brings_back_no_feed_although_its_rule_is_gone() -> None:
    bed = Bed(more='[[start]]\nbed = "B1"\nfeed = "entered"\n')
    bed.run(1, by="nurse-B1")
    bed.wait(80 * 60)
    assert [rule for _, rule in bed.raised()] == ["reading_overdue"]
    without(bed, "reading_overdue")
    bed.run(1, by="nurse-B1")
    assert cleared(bed) == ["reading_overdue"]
    assert bed.of(EntryKind.FEED_BACK) == []


def test_that_a_new_cylinder_ends_too_little_gas_although_its_rule_is_gone() -> None:
    bed = Bed()
    bed.run(90, {Q.SWEEP_GAS_FLOW: 3.0})
    fields = {"leader": "nurse-B1", "back": bed.now + 60 * MINUTE, "cylinder_min": 25.0}
    assert bed.say(StartTransport, "charge", bed="B1", **fields) == ""
    bed.wait(1)
    assert [rule for _, rule in bed.raised()] == ["gas_short"]
    without(bed, "gas_short")
    assert bed.give(Take, "nurse-B1", reason=Reason.AT_BEDSIDE) == ""
    assert bed.give(Seen, "charge") == ""
    assert cleared(bed) == [], "another cylinder will end it"
    assert bed.say(ChangeCylinder, "nurse-B1", bed="B1", litres=400.0) == ""
    assert cleared(bed) == ["gas_short"]


def three_silent() -> Bed:
    """Three beds were read, and none is any more: the board is blind."""
    bed = Bed(("B1", "B2", "B3"))
    read_all(bed, 5)
    bed.wait(125)
    assert [entry.bed for entry in bed.of(EntryKind.BOARD_BLIND)] == [None]
    return bed


def read_all(bed: Bed, seconds: int) -> None:
    others = [Numbered(), Numbered()]
    for _ in range(seconds):
        bed.run(1)
        for label, numbered in zip(("B2", "B3"), others, strict=True):
            said = Observed(numbered.live(label, 1, bed.now, USUAL))
            bed._keep(bed.engine.handle(said, bed.now))


def test_that_a_board_sees_again_although_the_rule_of_missing_feeds_is_gone() -> None:
    bed = three_silent()
    without(bed, "no_feed")
    bed.wait(60)
    assert cleared(bed) == []
    read_all(bed, 4)
    assert cleared(bed) == []
    read_all(bed, 2)
    assert cleared(bed) == ["board_blind"]
    assert sorted(entry.bed or "" for entry in bed.of(EntryKind.FEED_BACK)) == ["B1", "B2", "B3"]


def test_that_what_belongs_to_the_unit_waits_for_feeds_and_not_for_an_answer() -> None:
    bed = three_silent()
    without(bed, "board_blind")
    view = bed.engine.unit(bed.now).episodes[0]
    fields = {"bed": None, "alert": view.lead, "revision": view.revision}
    assert bed.say(Take, "charge", **fields, reason=Reason.AT_BEDSIDE) == ""
    assert bed.say(Seen, "charge", **fields) == ""
    assert cleared(bed) == []


def test_that_every_bed_speaks_for_itself_where_the_rule_of_a_blind_board_is_gone() -> None:
    bed = Bed(("B1", "B2", "B3"))
    read_all(bed, 5)
    without(bed, "board_blind")
    bed.wait(125)
    assert [(entry.bed, entry.rule) for entry in bed.of(EntryKind.RAISED)] == [
        ("B1", "no_feed"), ("B2", "no_feed"), ("B3", "no_feed"),
    ]  # fmt: skip
    assert bed.of(EntryKind.BOARD_BLIND) == []
