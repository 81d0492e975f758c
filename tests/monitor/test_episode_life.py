"""How an episode goes on, comes back, is over and is forgotten, and what is heard and paged of it meanwhile.

Times of the ladder and of the closing: `config/ladder.toml` (our defaults, no source).
"""

import pytest

from monitor.core.checkpoint import load
from monitor.core.commands import CallHelp, ChangeRoster, HelpKind, Reason, Seen, Take, Where
from monitor.core.effects import Effect, Page
from monitor.core.entries import EntryKind as K
from monitor.core.events import Declared, Observed
from monitor.core.grades import Priority, Rung
from monitor.core.judging.registry import spans
from monitor.core.pages.text import Why
from monitor.core.state import BedState
from monitor.rehearsal.sources import Numbered
from shared.instant import SECOND, Instant
from shared.messages import BedDeclared, Origin
from shared.quantities import Quantity as Q
from tests.helpers.one_bed import USUAL, Bed

LOW, VERY_LOW = {Q.PUMP_FLOW: 3.3}, {Q.PUMP_FLOW: 2.2}


class Paged(Bed):
    """A bed that keeps the pages as well."""

    def __init__(self, beds: tuple[str, ...] = ("B1",)) -> None:
        self.pages: list[Page] = []
        super().__init__(beds)

    def _keep(self, effects: list[Effect]) -> None:
        super()._keep(effects)
        self.pages += [effect for effect in effects if isinstance(effect, Page)]


def kept(bed: Bed) -> BedState:
    """What the engine would write into a checkpoint of a bed."""
    set_up = bed.configuration
    windows = spans(set_up.limits.rules, set_up.ladder.witnesses, set_up.patterns)
    return load(bed.engine.checkpoint(), windows).beds[bed.label]


def climbed(bed: Bed) -> str:
    """The row of the ladder by which the leading episode calls."""
    assert bed.lead.ladder is not None
    return bed.lead.ladder.ladder.value


def called_after(bed: Bed, zero: Instant) -> list[tuple[float, int]]:
    """Seconds from ``zero`` and rung of each call after it in the first episode."""
    calls = [entry for entry in bed.of(K.CALLED) if entry.episode == bed.of(K.RAISED)[0].episode]
    return [((entry.at - zero) / SECOND, entry.rung or 0) for entry in calls if entry.at > zero]


def first(bed: Bed, rule: str) -> Instant:
    return next(e.at for e in bed.of(K.RAISED, K.FOLDED, K.PROMOTED) if e.rule == rule)


# -- what is left of an episode --------------------------------------------------------------------------------


def test_that_a_medium_goes_on_by_its_own_clock_once_the_high_beside_it_has_ended() -> None:
    bed = Bed()
    bed.run(90)
    bed.run(40, LOW)
    bed.run(30, VERY_LOW)
    risen = first(bed, "flow_very_low")
    assert climbed(bed) == "high_other"
    bed.run(30, LOW)
    assert climbed(bed) == "medium"
    zero = first(bed, "flow_low")
    bed.wait(500)
    assert risen > zero
    assert [(at, rung) for at, rung in called_after(bed, zero) if rung > 1] == [(180, 2), (480, 3)]


def test_that_the_clock_of_a_medium_that_never_ran_starts_at_the_oldest_that_is_left() -> None:
    """The high came first; two mediums joined it, then it ended: the older of them says when."""
    bed = Bed()
    bed.run(90)
    bed.run(40, VERY_LOW)
    bed.run(70, VERY_LOW | {Q.MEAN_ARTERIAL_PRESSURE: 58.0})
    assert first(bed, "map_low") > first(bed, "flow_low") > first(bed, "flow_very_low")
    bed.run(20, LOW | {Q.MEAN_ARTERIAL_PRESSURE: 58.0})
    zero = first(bed, "flow_low")
    bed.wait(500)
    assert [(at, rung) for at, rung in called_after(bed, zero) if rung == 3] == [(480, 3)]


def test_that_an_episode_is_forgotten_once_it_is_closed_and_nothing_of_it_is_listed() -> None:
    bed = Bed()
    bed.run(90)
    bed.run(40, LOW)
    assert bed.give(Seen, "nurse-B1") == ""
    bed.run(20)
    assert [e.kind for e in bed.of(K.CLEARED, K.LATCHED)] == [K.CLEARED]
    assert kept(bed).episodes, "a condition may still come back to it"
    assert kept(bed).alerts
    bed.run(121)
    assert len(bed.of(K.EPISODE_CLOSED)) == 1
    assert kept(bed).episodes == {}
    assert kept(bed).alerts == {}


def test_that_an_episode_of_which_something_is_listed_is_kept_until_it_is_seen() -> None:
    bed = Bed()
    bed.run(90)
    bed.run(40, LOW)
    bed.run(20)
    bed.run(200)
    assert [e.kind for e in bed.of(K.LATCHED, K.EPISODE_CLOSED)] == [K.LATCHED, K.EPISODE_CLOSED]
    assert kept(bed).episodes
    assert bed.lead.over
    assert bed.give(Seen, "nurse-B1") == ""
    assert bed.tile.episodes == ()
    assert kept(bed).episodes == {}
    assert kept(bed).alerts == {}


def test_that_a_listed_alert_is_answered_before_its_episode_is_closed_and_the_episode_is_kept_until_then() -> None:
    bed = Bed()
    bed.run(90)
    bed.run(40, LOW)
    bed.run(20)
    assert bed.give(Seen, "nurse-B1") == ""
    assert len(kept(bed).episodes) == 1
    bed.run(121)
    assert kept(bed).episodes == {}


def test_that_the_end_of_a_member_puts_off_no_call_of_the_class_that_goes_on() -> None:
    """Charge nurse and perfusionist were called for the medium; the high that rose from it calls them anew."""
    bed = Bed()
    bed.run(90)
    low = LOW | {Q.INLET_PRESSURE: -115.0}
    bed.run(530, low)
    bed.run(20, low | VERY_LOW)
    risen = first(bed, "flow_very_low")
    bed.run(10, VERY_LOW)
    assert "inlet_low" in {entry.rule for entry in bed.of(K.CLEARED, K.LATCHED)}
    bed.run(120, VERY_LOW)
    assert [(at, rung) for at, rung in called_after(bed, risen) if rung > 1] == [(60, 2), (120, 3)]


def test_that_a_medium_of_the_console_calls_by_its_own_row() -> None:
    bed = Bed()
    bed.run(30, {Q.MOTOR_CURRENT: 1.0})
    bed.run(30, {Q.MOTOR_CURRENT: 3.0})
    assert bed.of(K.RAISED)[0].rule == "high_current"
    assert climbed(bed) == "technical_console"


def test_that_a_silent_feed_calls_by_its_own_row() -> None:
    bed = Bed()
    bed.run(30)
    bed.wait(125)
    assert bed.of(K.RAISED)[0].rule == "no_feed"
    assert climbed(bed) == "technical_feed"


# -- what comes back -------------------------------------------------------------------------------------------


def test_that_the_same_condition_comes_back_to_its_episode_and_another_does_not() -> None:
    bed = Bed()
    bed.run(90)
    bed.run(40, LOW)
    bed.run(20)
    bed.run(40, LOW)
    assert len({entry.episode for entry in bed.of(K.RAISED)}) == 1
    other = Bed()
    other.run(90)
    other.run(40, LOW)
    other.run(20)
    other.run(40, {Q.INLET_PRESSURE: -115.0})
    called = [(entry.rule, entry.episode) for entry in other.of(K.RAISED) if entry.episode is not None]
    assert [rule for rule, _ in called] == ["flow_low", "inlet_low"]
    assert len(set(called)) == len({episode for _, episode in called}) == 2


# -- what is heard, latched and paged --------------------------------------------------------------------------


def test_that_a_low_is_written_down_and_heard() -> None:
    bed = Bed()
    bed.run(30, {Q.ON_MAINS: 1.0})
    bed.run(10, {Q.ON_MAINS: 0.0, Q.BATTERY_CHARGE: 100.0})
    (raised,) = bed.of(K.RAISED)
    assert (raised.rule, raised.sounds, raised.text) == ("on_battery", True, "On battery")


def test_that_what_folds_is_heard_only_where_it_is_the_first_of_the_patient() -> None:
    bed = Bed()
    bed.run(90)
    bed.run(40, LOW)
    circuit = LOW | {Q.INLET_PRESSURE: -115.0}
    bed.run(40, circuit)
    bed.run(70, circuit | {Q.MEAN_ARTERIAL_PRESSURE: 58.0})
    bed.run(70, circuit | {Q.MEAN_ARTERIAL_PRESSURE: 58.0, Q.SPO2_RIGHT_HAND: 86.0})
    assert [(e.rule, e.sounds) for e in bed.of(K.FOLDED)] == [
        ("inlet_low", None),
        ("map_low", True),
        ("spo2_low", None),
    ]


def test_that_backward_flow_stays_listed_although_it_was_seen_and_a_flow_of_zero_does_not() -> None:
    for flow, left in ((-0.5, K.LATCHED), (-0.2, K.CLEARED), (0.0, K.CLEARED)):
        bed = Bed()
        bed.run(90)
        bed.run(11, {Q.PUMP_FLOW: flow})
        assert bed.give(Seen, "nurse-B1") == ""
        bed.run(15)
        ends = {entry.rule: entry.kind for entry in bed.of(K.LATCHED, K.CLEARED)}
        assert ends["flow_none"] is left, flow


def test_that_what_is_estimated_is_no_graver_than_its_rule_allows() -> None:
    bed, numbered = Bed(), Numbered()
    limits = bed.configuration.limits
    rules = tuple(
        rule.model_copy(update={"estimated_cap": Priority.LOW}) if rule.id == "flow_low" else rule
        for rule in limits.rules
    )
    bed.configuration = bed.configuration.model_copy(update={"limits": limits.model_copy(update={"rules": rules})})
    bed.restart()
    for second in range(130):
        bed.wait(1)
        values = USUAL | ({Q.PUMP_FLOW: 3.3} if second >= 90 else {})
        said = numbered.live("B1", 1, bed.now, values, estimated=frozenset({Q.PUMP_FLOW}))
        bed._keep(bed.engine.handle(Observed(said), bed.now))
    assert [(entry.rule, entry.priority) for entry in bed.of(K.RAISED)] == [("flow_low", Priority.LOW)]


@pytest.mark.parametrize(("support", "priority"), [("VA", Priority.MEDIUM), ("LV-Ao", Priority.LOW)])
def test_that_a_rule_is_as_grave_as_it_is_for_the_support_of_its_run(support: str, priority: Priority) -> None:
    bed = Bed(more=f'[[start]]\nbed = "B1"\nsupport = "{support}"\n')
    bed.run(930, {Q.PULSE_PRESSURE: 8.0})
    assert [entry.priority for entry in bed.of(K.RAISED) if entry.rule == "pulse_pressure_low"] == [priority]


def test_that_a_second_loss_of_circulation_that_joins_a_first_is_no_promotion() -> None:
    bed = Bed()
    bed.run(90)
    bed.run(40, {Q.PUMP_FLOW: 0.0})
    bed.run(2, {Q.PUMP_FLOW: 0.0, Q.PUMP_SPEED: 0.0})
    assert "pump_stopped" in {entry.rule for entry in bed.of(K.FOLDED)}
    assert bed.of(K.PROMOTED) == []


def test_that_a_promotion_pages_as_worse_and_a_member_that_folds_pages_nobody() -> None:
    bed = Paged()
    bed.run(90)
    bed.run(40, LOW)
    bed.run(20, VERY_LOW)
    assert [(page.person, page.facts.why) for page in bed.pages] == [
        ("nurse-B1", Why.FIRST),
        ("nurse-B1", Why.WORSE),
    ]


def test_that_the_first_pressure_of_the_patient_pages_as_worse_whoever_had_been_called() -> None:
    bed = Paged()
    bed.run(90)
    bed.run(40, LOW)
    assert bed.give(Take, "nurse-B1", reason=Reason.AT_BEDSIDE) == ""
    bed.run(66, LOW | {Q.MEAN_ARTERIAL_PRESSURE: 58.0})
    assert [(page.person, page.facts.why) for page in bed.pages] == [
        ("nurse-B1", Why.FIRST),
        ("nurse-B1", Why.WORSE),
    ]


def test_that_whom_a_second_witness_calls_once_more_is_paged_as_called_again() -> None:
    """Nothing has risen: it was circuit-critical before, and the intensivist had been called for the medium."""
    bed = Paged()
    bed.run(90)
    bed.run(940, LOW)
    bed.run(15, {Q.PUMP_FLOW: 0.0})
    bed.run(2, {Q.PUMP_FLOW: 0.0, Q.PUMP_SPEED: 0.0})
    folded = first(bed, "pump_stopped")
    told = [page.facts.why for page in bed.pages if page.person == "intensivist"]
    assert told == [Why.FIRST, Why.AGAIN]
    assert [page.facts.at for page in bed.pages if page.person == "intensivist"][1] == folded


def test_that_a_rise_at_a_bed_whose_nurse_has_another_high_calls_the_charge_nurse_at_once() -> None:
    bed = Bed(("B1", "B2"))
    assert bed.say(ChangeRoster, "charge", rung=Rung.BEDSIDE, stands="nurse-B1", bed="B2") == ""
    assert bed.say(CallHelp, "nurse-B1", bed="B2", what=HelpKind.OTHER) == ""
    (help_at_b2,) = bed.engine.tile("B2", bed.now).episodes
    assert bed.give(Take, "nurse-B1", help_at_b2, bed="B2", where=Where.AT_BED, reason=Reason.AT_BEDSIDE) == ""
    bed.run(90)
    bed.run(40, LOW)
    assert {e.rung for e in bed.of(K.CALLED) if e.bed == "B1"} == {Rung.BEDSIDE}
    bed.run(20, VERY_LOW)
    risen = first(bed, "flow_very_low")
    assert {e.rung for e in bed.of(K.CALLED) if e.bed == "B1" and e.at == risen} == {Rung.BEDSIDE, Rung.CHARGE}


# -- how long a witness counts ---------------------------------------------------------------------------------


def read(bed: Bed, values: dict[Q, float], seconds: int, numbered: Numbered) -> None:
    """Read a bed once, some seconds later, and nothing but these values."""
    bed.now += seconds * SECOND
    bed._keep(bed.engine.handle(Observed(numbered.live("B1", 1, bed.now, values)), bed.now))


@pytest.mark.parametrize(("age", "counts"), [(20, True), (40, False)])
def test_that_a_pressure_counts_as_a_witness_for_thirty_seconds(age: int, counts: bool) -> None:
    """As long as its age is not shown on a tile, however quick the bed is read."""
    bed, numbered = Bed(), Numbered()
    bed.run(90)
    bed.run(1, {Q.MEAN_ARTERIAL_PRESSURE: 50.0})
    for second in range(1, age + 1):
        read(bed, {Q.PUMP_SPEED: 3500.0, Q.PUMP_FLOW: 0.0 if second > age - 11 else 4.2}, 1, numbered)
    raised = bed.of(K.RAISED)[-1].at
    assert [e.rung for e in bed.of(K.CALLED) if e.at == raised] == ([1, 2, 3, 4] if counts else [1, 2, 3])


@pytest.mark.parametrize(("age", "counts"), [(20, True), (40, False)])
def test_that_the_flow_is_a_witness_beside_a_pressure_that_comes_later_for_thirty_seconds(
    age: int, counts: bool
) -> None:
    bed, numbered = Bed(), Numbered()
    bed.run(90)
    bed.run(11, {Q.PUMP_FLOW: 0.0})
    read(bed, {Q.MEAN_ARTERIAL_PRESSURE: 50.0}, age, numbered)
    assert [rung for rung, _ in bed.calls()] == ([1, 2, 3, 4] if counts else [1, 2, 3])


@pytest.mark.parametrize(("age", "counts"), [(80, True), (100, False)])
def test_that_at_a_bed_that_is_read_each_minute_a_witness_counts_for_a_minute_and_a_half(
    age: int, counts: bool
) -> None:
    bed, numbered = Bed(), Numbered()
    runs = tuple(run.description for run in bed.configuration.unit.beds[0].runs)
    said = BedDeclared(bed="B1", runs=runs, interval=60.0, origin=Origin.SIMULATED)
    bed._keep(bed.engine.handle(Declared("ward", (said,)), bed.now))
    for _ in range(8):
        read(bed, USUAL, 60, numbered)
    for _ in range(2):
        read(bed, USUAL | {Q.PUMP_FLOW: 0.0}, 60, numbered)
    assert bed.give(Take, "nurse-B1", reason=Reason.CIRCULATION_CHECKED, where=Where.AT_BED) == ""
    read(bed, {Q.MEAN_ARTERIAL_PRESSURE: 50.0}, age, numbered)
    assert (Rung.INTENSIVIST in [rung for rung, _ in bed.calls()]) is counts


@pytest.mark.parametrize(("readings", "counts"), [(60, True), (59, False)])
def test_that_what_was_usual_is_known_from_a_minute_of_readings_of_which_one_may_be_late(
    readings: int, counts: bool
) -> None:
    """Read once a second: sixty readings last 59 s, and a reading and a half may be wanting."""
    bed = Bed()
    bed.run(readings)
    bed.run(11, {Q.PUMP_FLOW: 0.0, Q.MEAN_ARTERIAL_PRESSURE: 50.0})
    assert (Rung.INTENSIVIST in [rung for rung, _ in bed.calls()]) is counts


@pytest.mark.parametrize(("earlier", "joins"), [(120, True), (121, False)])
def test_that_a_cause_joins_what_it_explains_for_two_minutes(earlier: int, joins: bool) -> None:
    """A mean pressure fell first; the drain pressure that explains it comes to be known later."""
    bed = Bed()
    bed.run(90)
    low = {Q.MEAN_ARTERIAL_PRESSURE: 58.0}
    while not bed.of(K.RAISED):
        bed.run(1, low)
    bed.run(earlier - 36, low)
    bed.run(36, low | {Q.INLET_PRESSURE: -115.0})
    [inlet] = [entry for entry in bed.of(K.RAISED, K.FOLDED) if entry.rule == "inlet_low"]
    assert (inlet.at - first(bed, "map_low")) / SECOND == earlier
    assert (inlet.kind is K.FOLDED) is joins


# -- what is written of it, and what it is numbered ------------------------------------------------------------


def test_that_alerts_and_episodes_are_numbered_from_one_through_and_what_is_raised_sounds() -> None:
    bed = Bed()
    bed.run(90, {Q.MOTOR_CURRENT: 1.0})
    bed.run(40, LOW | {Q.MOTOR_CURRENT: 3.0})
    raised = bed.of(K.RAISED, K.FOLDED)
    assert [(e.alert, e.episode, e.sounds) for e in raised] == [(1, 1, True), (2, 2, True)]
    bed.run(70, LOW | {Q.MOTOR_CURRENT: 3.0, Q.MEAN_ARTERIAL_PRESSURE: 58.0})
    joined = bed.of(K.FOLDED)[0]
    assert (joined.rule, joined.alert) == ("map_low", 3)


def test_that_an_episode_that_ends_and_comes_back_is_at_each_turn_another_to_answer() -> None:
    bed = Bed()
    bed.run(90)
    bed.run(40, LOW)
    revision = bed.lead.revision
    bed.run(20)
    assert (bed.lead.over, bed.lead.revision) == (True, revision + 1)
    bed.run(40, LOW)
    assert (bed.lead.over, bed.lead.revision) == (False, revision + 2)


def test_that_an_episode_of_which_one_member_was_seen_is_kept_for_the_other() -> None:
    """Seen before the second joined: the first clears, the second stays listed past the closing."""
    bed = Bed()
    bed.run(90)
    bed.run(40, LOW)
    assert bed.give(Seen, "nurse-B1") == ""
    bed.run(70, LOW | {Q.MEAN_ARTERIAL_PRESSURE: 58.0})
    bed.run(200)
    assert {(e.rule, e.kind) for e in bed.of(K.CLEARED, K.LATCHED)} == {
        ("flow_low", K.CLEARED), ("map_low", K.LATCHED),
    }  # fmt: skip
    assert len(bed.of(K.EPISODE_CLOSED)) == 1
    assert bed.lead.over
    assert bed.give(Seen, "nurse-B1") == ""
    assert kept(bed).episodes == {}


def test_that_a_circuit_critical_one_that_joins_a_high_begins_anew_at_its_own_row() -> None:
    bed = Bed()
    bed.run(90)
    bed.run(30, VERY_LOW)
    assert climbed(bed) == "high_other"
    assert bed.give(Take, "nurse-B1", reason=Reason.AT_BEDSIDE) == ""
    bed.run(30, {Q.PUMP_FLOW: 0.4})
    [risen] = [entry for entry in bed.of(K.PROMOTED) if entry.rule == "flow_none"]
    assert climbed(bed) == "circuit_one_witness"
    assert bed.lead.holder is None
    assert [entry.rung for entry in bed.of(K.CALLED) if entry.at == risen.at] == [1, 2, 3]


def test_that_what_is_left_of_a_circuit_critical_episode_climbs_as_one_of_the_patient_only_if_all_of_it_is() -> (
    None
):
    pressure = {Q.MEAN_ARTERIAL_PRESSURE: 45.0}
    bed = Bed()
    bed.run(90)
    bed.run(60, {Q.PUMP_FLOW: 0.4} | pressure)
    assert climbed(bed).startswith("circuit")
    bed.run(20, {Q.PUMP_FLOW: 1.0} | pressure)
    assert "map_very_low" in {alert.rule for alert in bed.lead.alerts if alert.present}
    assert climbed(bed) == "high_other"


@pytest.mark.parametrize(("flow", "kind"), [(-0.2, K.CLEARED), (-0.25, K.LATCHED)])
def test_that_a_flow_that_ran_back_by_more_than_the_least_latches_although_it_was_taken(
    flow: float, kind: K
) -> None:
    bed = Bed()
    bed.run(90)
    bed.run(20, {Q.PUMP_FLOW: flow})
    assert bed.give(Take, "nurse-B1", reason=Reason.AT_BEDSIDE) == ""
    bed.run(30)
    [ended] = [entry for entry in bed.of(K.CLEARED, K.LATCHED) if entry.rule == "flow_none"]
    assert ended.kind is kind


def test_that_a_medium_of_the_console_goes_on_by_its_own_row_once_the_high_beside_it_has_ended() -> None:
    """A battery of eight minutes is charged to twenty: too short still, and no longer critical."""
    bed = Bed()
    bed.run(90)
    on_battery = {Q.ON_MAINS: 0.0, Q.BATTERY_CHARGE: 20.0}
    bed.run(5, on_battery | {Q.BATTERY_MINUTES: 8.0})
    assert climbed(bed).startswith("circuit")
    bed.run(400, on_battery | {Q.BATTERY_MINUTES: 20.0})
    assert {alert.rule for alert in bed.lead.alerts if alert.present} >= {"battery_short"}
    assert "battery_critical" not in {alert.rule for alert in bed.lead.alerts if alert.present}
    assert climbed(bed) == "technical_console"
