"""Judges at their edges: what is missing, entered by hand, of the other pump, or moved for another reason.

Limits and times: the shipped files (our defaults and common practice, no source).
"""

from typing import Any

import pytest

from monitor.core.bed_commands import MoveRun, SetLimit
from monitor.core.commands import (
    EndRun,
    EndTransport,
    Reason,
    ReturnCheck,
    StartRun,
    StartTransport,
    StartTrial,
    Take,
)
from monitor.core.entries import EntryKind
from monitor.core.events import Declared, Observed
from monitor.core.grades import TrialKind
from monitor.core.judging.battery import judge_projection
from monitor.core.judging.verdict import Readings
from monitor.core.ladder_table import Timings
from monitor.core.rules import DriftRule, LimitRule, ProjectionRule, RateRule, Rule, StaleRule
from monitor.core.state import BedState, RuleState, RunState
from monitor.core.titles import title_of
from monitor.rehearsal.sources import Numbered
from monitor.settings import load_limits_and_ladder
from shared.instant import HOUR, MINUTE, SECOND
from shared.messages import BedDeclared, Origin
from shared.quantities import Quantity as Q
from shared.support import Support, describe_run
from tests.helpers.one_bed import CONFIG, USUAL, Bed

TWO_PUMPS = '[[start]]\nbed = "B1"\nslot = 2\nsupport = "RA-PA"\n[[start]]\nbed = "B1"\nsupport = "LV-Ao"\n'
RULE = {"title": "{value}", "priority": "medium", "mark": "TD"}


def with_rules(bed: Bed, *rules: Rule) -> Bed:
    """A bed whose unit has these rules besides the shipped ones from the first moment on."""
    limits = bed.configuration.limits
    limits = limits.model_copy(update={"rules": (*limits.rules, *rules)})
    bed.configuration = bed.configuration.model_copy(update={"limits": limits})
    bed.engine = type(bed.engine)(bed.configuration, bed.now)
    bed.entries.clear()
    bed._keep(bed.engine.start(bed.now))
    return bed


def read(bed: Bed, slot: int, values: dict[Q, float], label: str = "B1") -> None:
    bed._keep(bed.engine.handle(Observed(Numbered().live(label, slot, bed.now, values)), bed.now))


def rule(model: type[Any], **fields: object) -> Any:
    return model.model_validate({"id": "of_this_test", **RULE, **fields}, strict=False)


def of_test(bed: Bed) -> list[float]:
    return [at for at, name in bed.raised() if name == "of_this_test"]


def both_pumps(bed: Bed, seconds: int, right: float) -> None:
    for _ in range(seconds):
        bed.run(1)
        read(bed, 2, {Q.PUMP_SPEED: 3500.0, Q.PUMP_FLOW: right})


def test_that_a_right_pump_that_outruns_the_left_is_told_after_five_minutes() -> None:
    bed = Bed(more=TWO_PUMPS)
    both_pumps(bed, 300, 4.8)
    assert "left_right" not in {name for _, name in bed.raised()}
    both_pumps(bed, 10, 4.8)
    [told] = [entry for entry in bed.entries if entry.rule == "left_right"]
    assert (told.slot, told.text) == (2, "Right flow above left by 0.6")


def test_that_a_right_pump_alone_or_beside_a_silent_left_one_is_compared_with_nothing() -> None:
    alone, beside = Bed(more=TWO_PUMPS), Bed(more=TWO_PUMPS)
    assert alone.say(EndRun, "charge", bed="B1", slot=1) == ""
    for bed in (alone, beside):
        for _ in range(400):
            bed.wait(1)
            read(bed, 2, {Q.PUMP_SPEED: 3500.0, Q.PUMP_FLOW: 6.0})
        assert "left_right" not in {name for _, name in bed.raised()}
        assert bed.engine.tile("B1", bed.now).judged > 0


def test_that_a_clamp_is_told_when_it_lasts_longer_than_five_minutes() -> None:
    bed = Bed()
    bed.run(30)
    began = bed.now
    fields = {"trial": TrialKind.CLAMP, "until": bed.now + HOUR, "second": "charge"}
    assert bed.say(StartTrial, "nurse-B1", bed="B1", **fields) == ""
    bed.run(320, {Q.PUMP_FLOW: 0.0})
    told = [(entry.at - began) / SECOND for entry in bed.entries if entry.rule == "trial_flow_outside"]
    assert len(told) == 1
    assert 300 < told[0] <= 312


def test_that_a_target_taken_from_nowhere_leaves_an_own_limit_standing() -> None:
    """A rule of a share of the target, at a run without one: the bed's own number is judged alone."""
    bed = Bed(("B1", "B2"))
    assert bed.say(EndRun, "charge", bed="B1") == ""
    run = describe_run(Support.VA, "B1-2")
    assert bed.say(StartRun, "charge", bed="B1", run=run) == ""
    bed.run(60, {Q.PUMP_FLOW: 3.3})
    assert "flow_low" not in {name for _, name in bed.raised()}
    until = bed.now + HOUR
    assert bed.say(SetLimit, "charge", bed="B1", rule="flow_low", value=3.5, until=until) == ""
    bed.run(40, {Q.PUMP_FLOW: 3.3})
    [told] = [entry for entry in bed.of(EntryKind.RAISED) if entry.rule == "flow_low"]
    assert told.limit == 3.5


def opened(bed: Bed, **more: float) -> bool:
    """Read ten seconds of a return line that has opened (the shape of the course of an open return line)."""
    change = {Q.PUMP_FLOW: 5.6, Q.INLET_PRESSURE: -105.0, Q.PRE_OXYGENATOR_PRESSURE: 140.0,
              Q.POST_OXYGENATOR_PRESSURE: 97.0}  # fmt: skip
    bed.run(10, change | {Q(name): value for name, value in more.items()})
    return "return_open" in {name for _, name in bed.raised()}


def test_that_pressures_that_fall_with_another_speed_are_no_open_return_line() -> None:
    steady, faster = Bed(), Bed()
    for bed in (steady, faster):
        bed.run(90)
    assert opened(steady)
    assert not opened(faster, pump_speed=3700.0)


def test_that_an_open_return_line_is_seen_without_a_pressure_before_the_oxygenator() -> None:
    """LA-Ao has none; flow must then rise by 8 % in place of 5."""
    for flow, told in ((4.5, False), (4.6, True)):
        bed = Bed(more='[[start]]\nbed = "B1"\nsupport = "LA-Ao"\n')
        quiet: dict[Q, float] = {q: v for q, v in USUAL.items() if q is not Q.PRE_OXYGENATOR_PRESSURE}
        for second in range(100):
            bed.wait(1)
            change = {Q.PUMP_FLOW: flow, Q.POST_OXYGENATOR_PRESSURE: 97.0} if second >= 90 else {}
            read(bed, 1, quiet | change)
        assert ("return_open" in {name for _, name in bed.raised()}) is told


def test_that_a_battery_whose_mains_are_not_read_is_not_judged() -> None:
    projection = rule(ProjectionRule, kind="projection", below_min=30, slope_s=300, slope_at_least_s=60)
    run = RunState(describe_run(Support.VA, "B1-1"), 0)
    seen = Readings(BedState("B1", {1: run}), run, 10**12, frozenset(), False, 1500, Timings())
    assert judge_projection(projection, RuleState(), seen) is None


@pytest.mark.parametrize("way", ["rises_by", "falls_by"])
def test_that_a_rate_is_told_whichever_way_it_is_asked_for(way: str) -> None:
    up = way == "rises_by"
    asked = rule(RateRule, kind="rate", quantity="mean_arterial_pressure", window_s=180, **{way: 2.0})
    bed = with_rules(Bed(), asked)
    for second in range(300):
        bed.run(1, {Q.MEAN_ARTERIAL_PRESSURE: 72.0 + (second / 20 if up else -second / 20)})
    assert of_test(bed)
    other = with_rules(Bed(), asked)
    for second in range(300):
        other.run(1, {Q.MEAN_ARTERIAL_PRESSURE: 80.0 + (-second / 20 if up else second / 20)})
    assert not of_test(other)


@pytest.mark.parametrize(("kind", "fields"), [
    (RateRule, {"kind": "rate", "window_s": 180}),
    (DriftRule, {"kind": "drift", "block_s": 60, "blocks": 8, "of": "run_baseline", "rises_by": 0.05}),
])  # fmt: skip
def test_that_no_trend_is_told_of_sets_entered_by_hand(kind: type[Any], fields: dict[str, object]) -> None:
    fields = {"quantity": "mean_arterial_pressure", **({"rises_by": 0.05} | fields)}
    bed = with_rules(Bed(), rule(kind, **fields))
    for minute in range(40):
        bed.now += 59 * SECOND
        bed.run(1, {Q.MEAN_ARTERIAL_PRESSURE: 60.0 + minute / 2}, by="nurse-B1")
    assert not of_test(bed)


def test_that_a_drift_waits_for_its_baseline_and_counts_nothing_from_before() -> None:
    """MAP rises while the first ten minutes make the baseline, then stands: no drift away from it."""
    asked = rule(DriftRule, kind="drift", quantity="mean_arterial_pressure", of="run_baseline", rises_by=0.02,
                 block_s=60, blocks=8)  # fmt: skip
    bed = with_rules(Bed(), asked)
    for second in range(25 * 60):
        bed.run(1, {Q.MEAN_ARTERIAL_PRESSURE: 60.0 + 20.0 * min(1.0, second / 660)})
    assert not of_test(bed)
    for second in range(9 * 60):
        bed.run(1, {Q.MEAN_ARTERIAL_PRESSURE: 80.0 + second / 60})
    assert of_test(bed)


def test_that_a_take_of_what_was_never_read_holds_until_its_time() -> None:
    """A sensor that never spoke has no value to grow worse by."""
    asked = rule(StaleRule, kind="stale", quantity="inlet_pressure", delay_s=60)
    bed = with_rules(Bed(), asked)
    seen: dict[Q, float] = {q: v for q, v in USUAL.items() if q is not Q.INLET_PRESSURE}
    for _ in range(70):
        bed.wait(1)
        read(bed, 1, seen)
    assert of_test(bed)
    assert bed.give(Take, "nurse-B1", reason=Reason.SENSOR_OR_LINE) == ""
    for _ in range(120):
        bed.wait(1)
        read(bed, 1, seen)
    assert bed.lead.holder is not None


def test_that_readings_and_words_of_what_is_not_watched_change_nothing() -> None:
    """An empty bed, a second slot without a pump, a bed that is not the unit's."""
    bed = Bed(("B1", "B2"))
    assert bed.say(EndRun, "charge", bed="B2") == ""
    before, entries = bed.engine.checkpoint(), len(bed.entries)
    for label, slot in (("B2", 1), ("B1", 2), ("B9", 1)):
        read(bed, slot, USUAL, label)
    said = BedDeclared(bed="B9", interval=1.0, origin=Origin.SIMULATED, runs=(describe_run(Support.VA, "B9-1"),))
    bed._keep(bed.engine.handle(Declared("feed", (said,)), bed.now))
    assert (bed.engine.checkpoint(), len(bed.entries)) == (before, entries)


def test_that_a_run_that_moves_takes_the_feed_of_its_new_bed_where_one_is_known() -> None:
    bed = Bed(("B1", "B2"))
    assert bed.say(EndRun, "charge", bed="B2") == ""
    for label, interval, origin in (("B1", 1.0, Origin.SIMULATED), ("B2", 60.0, Origin.REPLAYED)):
        said = BedDeclared(bed=label, interval=interval, origin=origin, runs=(describe_run(Support.VA, "run"),))
        bed._keep(bed.engine.handle(Declared("feed", (said,)), bed.now))
    assert bed.say(MoveRun, "charge", bed="B1", to="B2") == ""
    moved = bed.engine.tile("B2", bed.now)
    assert (moved.origin, moved.interval_s) == (Origin.REPLAYED, 60.0)


def test_that_what_somebody_had_is_not_reviewed_again_when_the_run_ends() -> None:
    bed = Bed()
    bed.run(90)
    bed.run(40, {Q.PUMP_FLOW: 3.3})
    assert bed.give(Take, "nurse-B1", reason=Reason.AT_BEDSIDE) == ""
    assert bed.say(EndRun, "charge", bed="B1") == ""
    assert [entry.rule for entry in bed.of(EntryKind.CLEARED)] == ["flow_low"]
    assert bed.of(EntryKind.REVIEWED) == []


def test_that_a_set_that_was_overdue_brings_back_no_feed() -> None:
    """A bed entered by hand has no feed to lose: the reminder ends with the next set, and that is all."""
    bed = Bed(more='[[start]]\nbed = "B1"\nfeed = "entered"\n')
    bed.run(1, by="nurse-B1")
    bed.wait(80 * 60)
    assert [entry.rule for entry in bed.of(EntryKind.RAISED)] == ["reading_overdue"]
    fields = {"leader": "nurse-B1", "back": bed.now + HOUR}
    assert bed.say(StartTransport, "charge", bed="B1", **fields) == ""
    bed.run(1, by="nurse-B1")
    assert [entry.rule for entry in bed.of(EntryKind.CLEARED)] == ["reading_overdue"]
    bed.wait(20 * 60)
    assert bed.of(EntryKind.FEED_BACK, EntryKind.FEED_LOST) == []
    assert bed.tile.transport is not None
    assert bed.tile.transport.silent_since is None


def test_that_two_pumps_miss_only_what_neither_reads() -> None:
    """The patient's own readings come once, with either run."""
    bed = Bed(more=TWO_PUMPS)
    bed.run(5)
    assert "MAP" not in bed.tile.not_watched
    assert bed.say(EndRun, "charge", bed="B1", slot=1) == ""
    assert "MAP" in bed.tile.not_watched


def test_that_a_pump_without_a_sensor_of_its_own_is_said_beside_one_that_has_it() -> None:
    bed = Bed(more=TWO_PUMPS)
    assert "Drain P" not in bed.tile.not_watched
    assert bed.say(EndRun, "charge", bed="B1", slot=2) == ""
    blind = describe_run(Support.RA_PA, "B1-blind", slot=2, sensors=frozenset({Q.PUMP_SPEED, Q.PUMP_FLOW}))
    assert bed.say(StartRun, "charge", bed="B1", run=blind) == ""
    assert "Drain P" in bed.tile.not_watched
    assert "MAP" not in bed.tile.not_watched  # the patient's, with either pump


def test_that_a_change_without_a_value_is_written_as_lost() -> None:
    asked = rule(LimitRule, kind="limit", quantity="oxygenator_resistance", of="run_baseline", above=1.3)
    assert title_of(asked, None, 3.0) == "--"
    assert title_of(asked, 1.5 * 2.0, 1.3 * 2.0) == "50"


@pytest.mark.parametrize(("support", "label"), [(Support.VA, "Post-oxy P"), (Support.LA_AO, "Outlet P")])
def test_that_a_pressure_after_the_pump_is_called_in_titles_as_the_run_has_it(support: Support, label: str) -> None:
    """The titles of the shipped rules say a run's own word, at the raise of an alert and on every screen."""
    run = describe_run(support, "B1-run")
    named = {one.id: one for one in load_limits_and_ladder(CONFIG)[0].rules if one.id.startswith("return_")}
    assert title_of(named["return_high"], 320.0, 300.0, run) == f"{label} 320, limit 300"
    assert title_of(named["return_very_high"], 420.0, 400.0, run) == f"{label} 420, limit 400"
    assert title_of(named["return_rise"], 260.0, None, run) == f"{label} rose to 260, flow fell"
    bed = Bed(more=f'support = "{support.value}"\n')
    bed.run(60, {Q.POST_OXYGENATOR_PRESSURE: 320.0})
    assert f"{label} 320, limit 300" in [one.title for episode in bed.tile.episodes for one in episode.alerts]


@pytest.mark.parametrize(
    ("ended", "worse", "text"),
    [
        (2, (-145.0, 3.0), "Drain P −145, at the take −120 mmHg"),
        (1, (-120.0, 2.4), "Flow 2.4, at the take 3.0 L/min"),
    ],
)
def test_that_a_take_of_two_pumps_holds_when_one_of_them_ends_until_the_other_is_worse(
    ended: int, worse: tuple[float, float], text: str
) -> None:
    bed = Bed(more=TWO_PUMPS)
    left = 3 - ended

    def run(seconds: int, inlet: float, flow: float, slots: set[int]) -> None:
        for _ in range(seconds):
            bed.wait(1)
            if 1 in slots:
                read(bed, 1, USUAL | {Q.INLET_PRESSURE: inlet})
            if 2 in slots:
                read(bed, 2, {Q.PUMP_SPEED: 3500.0, Q.PUMP_FLOW: flow})

    run(90, USUAL[Q.INLET_PRESSURE], 4.2, {1, 2})
    run(70, -120.0, 3.0, {1, 2})
    assert {alert.slot for alert in bed.lead.alerts} == {1, 2}
    assert bed.give(Take, "nurse-B1", reason=Reason.AT_BEDSIDE) == ""
    assert bed.say(EndRun, "charge", bed="B1", slot=ended) == ""
    run(30, -120.0, 3.0, {left})
    assert bed.lead.holder is not None
    run(12, *worse, {left})
    assert [entry.text for entry in bed.of(EntryKind.WORSENED)] == [text]


def test_that_the_return_check_ends_what_asked_for_it() -> None:
    bed = Bed()
    bed.run(10)
    fields = {"leader": "nurse-B1", "back": bed.now + HOUR}
    assert bed.say(StartTransport, "charge", bed="B1", **fields) == ""
    bed.run(5)
    assert bed.say(EndTransport, "nurse-B1", bed="B1") == ""
    bed.run(10 * 60 + 1)
    assert "return_check_due" in {name for _, name in bed.raised()}
    assert bed.say(ReturnCheck, "nurse-B1", bed="B1") == ""
    assert [entry.rule for entry in bed.of(EntryKind.CLEARED)] == ["return_check_due"]
    assert bed.tile.transport is None
    assert bed.now - bed.of(EntryKind.RETURN_CHECKED)[0].at < MINUTE
