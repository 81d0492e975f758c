"""What happens to a ladder and a take when alerts join, when nurses are busy, and when the flow is only guessed.

Times of the ladder: `config/ladder.toml` (our defaults, no source).
"""

import pytest

from monitor.core.commands import CallHelp, ChangeRoster, EndRun, HelpKind, Reason, Seen, Take, Where
from monitor.core.engine import Engine
from monitor.core.entries import EntryKind
from monitor.core.events import Observed
from monitor.core.grades import Priority, Rung
from monitor.core.rules import Consequence, Limits
from monitor.rehearsal.sources import Numbered
from shared.instant import SECOND
from shared.quantities import Quantity as Q
from tests.helpers.one_bed import USUAL, Bed

SECOND_PUMP = '[[start]]\nbed = "B1"\nslot = 2\nsupport = "RA-PA"\n[[start]]\nbed = "B1"\nsupport = "LV-Ao"\n'


def rules_of(bed: Bed, kind: EntryKind) -> list[str | None]:
    return [entry.rule for entry in bed.of(kind)]


def called_since(bed: Bed, at: int) -> list[tuple[float, int, str | None]]:
    """Seconds after ``at``, rung and person of each call from then on."""
    return [((e.at - at) / SECOND, e.rung or 0, e.person) for e in bed.of(EntryKind.CALLED) if e.at >= at]


def with_limits(bed: Bed, limits: Limits) -> None:
    """The unit's limits are others from now on."""
    bed.configuration = bed.configuration.model_copy(update={"limits": limits})
    bed.restart()


def test_that_a_promotion_ends_the_take_and_calls_whoever_was_called_by_the_new_class() -> None:
    bed = Bed()
    bed.run(90)
    bed.run(40, {Q.PUMP_FLOW: 3.3})
    assert bed.give(Take, "nurse-B1", reason=Reason.AT_BEDSIDE, where=Where.AT_BED) == ""
    taken = bed.lead
    bed.run(21, {Q.PUMP_FLOW: 3.3, Q.INLET_PRESSURE: -170.0})
    [risen] = bed.of(EntryKind.PROMOTED)
    assert risen.rule == "inlet_very_low"
    [ended] = bed.of(EntryKind.HOLD_ENDED)
    assert (ended.at, ended.person, ended.text) == (risen.at, "nurse-B1", "the priority has risen")
    assert bed.lead.revision == taken.revision + 2, "it rose, and its hold ended"
    assert bed.lead.holder is None
    bed.wait(60)
    assert called_since(bed, risen.at) == [(0, 1, "nurse-B1"), (60, 2, "charge")]


def test_that_a_medium_of_the_patient_that_joins_one_of_the_console_is_called_for_by_its_own_row() -> None:
    """In a unit that lets the motor current explain the flow: from then on the intensivist has a time as well."""
    bed = Bed()
    limits = bed.configuration.limits
    ours = Consequence(causes=("high_current",), explains=("flow_low",))
    with_limits(bed, limits.model_copy(update={"consequences": (*limits.consequences, ours)}))
    bed.run(90, {Q.MOTOR_CURRENT: 1.0})
    console = {Q.MOTOR_CURRENT: 3.0}
    bed.run(30, console)
    bed.run(40, console | {Q.PUMP_FLOW: 3.3})
    [first], [low] = bed.of(EntryKind.RAISED), bed.of(EntryKind.FOLDED)
    assert (first.rule, low.rule, low.episode) == ("high_current", "flow_low", first.episode)
    bed.wait(900)
    calls = [entry for entry in bed.of(EntryKind.CALLED) if entry.episode == first.episode]
    assert [((call.at - first.at) / SECOND, call.rung) for call in calls] == [(0, 1), (180, 2), (480, 3), (900, 4)]


def test_that_a_condition_comes_back_to_its_own_episode_past_one_that_is_open() -> None:
    bed = Bed()
    bed.run(90, {Q.MOTOR_CURRENT: 1.0})
    bed.run(40, {Q.PUMP_FLOW: 3.3, Q.MOTOR_CURRENT: 1.0})
    both = {Q.PUMP_FLOW: 3.3, Q.MOTOR_CURRENT: 3.0}
    bed.run(30, both)
    bed.run(30, {Q.PUMP_FLOW: 3.3, Q.MOTOR_CURRENT: 1.0})
    bed.run(30, both)
    raised = [(entry.rule, entry.episode) for entry in bed.of(EntryKind.RAISED)]
    flow, current = raised[0][1], raised[1][1]
    assert flow != current
    assert raised == [("flow_low", flow), ("high_current", current), ("high_current", current)]


def test_that_a_high_of_the_patient_brings_the_intensivist_forward_to_its_own_time() -> None:
    """A high of the circuit calls the intensivist after 180 s; one of the patient that joins it, 120 s later."""
    bed = Bed()
    bed.run(90)
    low = {Q.INLET_PRESSURE: -170.0}
    bed.run(21, low)
    [high] = bed.of(EntryKind.RAISED)
    bed.run(36, low | {Q.MEAN_ARTERIAL_PRESSURE: 45.0})
    folded = next(entry for entry in bed.of(EntryKind.FOLDED) if entry.rule == "map_very_low")
    due = (folded.at - high.at) / SECOND + 120
    bed.wait(200)
    assert due < 180
    assert [at for at, rung, _ in called_since(bed, high.at) if rung == Rung.INTENSIVIST] == [due]


def test_that_the_first_pressure_of_the_patient_ends_a_take_of_a_medium() -> None:
    """Low flow is taken; MAP falls as well: it sounds, and whoever was called is called again."""
    bed = Bed()
    bed.run(90)
    bed.run(40, {Q.PUMP_FLOW: 3.3})
    assert bed.give(Take, "nurse-B1", reason=Reason.AT_BEDSIDE, where=Where.AT_BED) == ""
    bed.run(66, {Q.PUMP_FLOW: 3.3, Q.MEAN_ARTERIAL_PRESSURE: 58.0})
    [folded] = bed.of(EntryKind.FOLDED)
    assert (folded.rule, folded.sounds) == ("map_low", True)
    [worse] = bed.of(EntryKind.WORSENED)
    assert (worse.at, worse.person, worse.text) == (folded.at, "nurse-B1", "MAP 58, limit 60 has joined")
    assert called_since(bed, folded.at) == [(0, 1, "nurse-B1")]
    assert bed.lead.holder is None


@pytest.mark.parametrize(
    ("begins", "joins", "after"),
    [
        ({Q.PUMP_FLOW: 3.3}, {Q.MEAN_ARTERIAL_PRESSURE: 58.0}, 900),
        ({Q.INLET_PRESSURE: -170.0}, {Q.PUMP_FLOW: 2.2}, 180),
    ],
)
def test_that_neither_a_medium_of_the_patient_nor_a_high_of_the_circuit_brings_the_intensivist_forward(
    begins: dict[Q, float], joins: dict[Q, float], after: int
) -> None:
    bed = Bed()
    bed.run(90)
    bed.run(45, begins)
    raised = bed.of(EntryKind.RAISED)[0].at
    bed.run(after, begins | joins)
    assert bed.of(EntryKind.FOLDED)
    assert bed.of(EntryKind.PROMOTED) == []
    called = [(entry.at - raised) // SECOND for entry in bed.of(EntryKind.CALLED) if entry.rung == Rung.INTENSIVIST]
    assert called == [after]


def test_that_a_second_high_for_a_nurse_who_has_one_goes_to_deputy_and_charge_nurse_at_once() -> None:
    bed = Bed(("B1", "B2"))
    assert bed.say(ChangeRoster, "charge", rung=Rung.BEDSIDE, stands="nurse-B1", bed="B2") == ""
    assert bed.say(ChangeRoster, "charge", rung=Rung.BEDSIDE, stands="nurse-B2") == ""  # the deputy
    bed.run(90)
    high = {Q.INLET_PRESSURE: -170.0}
    bed.run(21, high)
    assert called_since(bed, bed.now) == [(0, 1, "nurse-B1")]
    assert bed.give(Take, "nurse-B1", reason=Reason.AT_BEDSIDE) == ""
    bed.run(30, high)
    assert {alert.priority for alert in bed.lead.alerts} == {Priority.HIGH, Priority.MEDIUM}, "one joined it"
    numbered, began = Numbered(), bed.now
    for second in range(1, 22):
        said = numbered.live("B2", 1, began + second * SECOND, USUAL | high)
        bed._keep(bed.engine.handle(Observed(said), said.read_at))
    [second_high] = [
        entry for entry in bed.of(EntryKind.RAISED) if entry.rule == "inlet_very_low" and entry.bed == "B2"
    ]
    calls = [(e.rung, e.person) for e in bed.of(EntryKind.CALLED) if e.bed == "B2" and e.at == second_high.at]
    assert calls == [(1, "nurse-B1"), (1, "nurse-B2"), (2, "charge")]


def test_that_a_low_flow_that_is_only_guessed_is_no_more_than_a_medium() -> None:
    bed = Bed()
    numbered, raised = Numbered(), []
    for second in range(1, 60):
        at = bed.now + second * SECOND
        values = USUAL | ({Q.PUMP_FLOW: 2.2} if second > 20 else {})
        bed._keep(bed.engine.handle(Observed(numbered.live("B1", 1, at, values, frozenset({Q.PUMP_FLOW}))), at))
    bed.now += 60 * SECOND
    raised = bed.of(EntryKind.RAISED, EntryKind.FOLDED)
    assert {(entry.rule, entry.priority) for entry in raised} == {
        ("flow_very_low", Priority.MEDIUM), ("flow_low", Priority.MEDIUM)
    }  # fmt: skip
    assert bed.tile.notes == ("Flow estimated: low flow not watched",)


def test_that_a_second_witness_is_heeded_after_the_alert() -> None:
    """A flow reading of zero alone calls the intensivist after a minute; with a second signal, at once."""
    bed = Bed()
    bed.run(90)
    bed.run(11, {Q.PUMP_FLOW: 0.0})
    assert [rung for rung, _ in bed.calls()] == [1, 2, 3]
    assert bed.give(Take, "charge") == ""
    bed.run(1, {Q.PUMP_FLOW: 0.0, Q.MEAN_ARTERIAL_PRESSURE: 50.0})
    assert bed.calls()[3:] == [(4, "intensivist")]


def test_that_the_other_pump_of_a_bed_is_no_witness() -> None:
    """Two signals of the second pump would be witnesses of their own; the first pump's alert stays one of one."""
    bed = Bed(more=SECOND_PUMP)
    bed.run(90)
    bed.run(11, {Q.PUMP_FLOW: 0.0})
    assert [rung for rung, _ in bed.calls()] == [1, 2, 3]
    other = {Q.PUMP_SPEED: 3500.0, Q.PUMP_FLOW: 0.3, Q.INLET_PRESSURE: 5.0}
    bed._keep(bed.engine.handle(Observed(Numbered().live("B1", 2, bed.now, other)), bed.now))
    assert [rung for rung, _ in bed.calls()] == [1, 2, 3]
    bed.run(1, {Q.PUMP_FLOW: 0.0, Q.INLET_PRESSURE: 5.0})
    assert [rung for rung, _ in bed.calls()] == [1, 2, 3, 4]


def test_that_a_low_of_a_latching_rule_stays_listed_until_seen() -> None:
    bed = Bed()
    limits = bed.configuration.limits
    rules = tuple(
        rule.model_copy(update={"latching": True}) if rule.id == "on_battery" else rule for rule in limits.rules
    )
    with_limits(bed, limits.model_copy(update={"rules": rules}))
    bed.run(30, {Q.ON_MAINS: 1.0})
    bed.run(10, {Q.ON_MAINS: 0.0, Q.BATTERY_CHARGE: 100.0})
    bed.run(5, {Q.ON_MAINS: 1.0})
    assert rules_of(bed, EntryKind.LATCHED) == ["on_battery"]
    assert [(view.title, view.over) for view in bed.tile.episodes] == [("On battery", True)]
    assert bed.give(Seen, "nurse-B1") == ""
    assert bed.tile.episodes == ()


def test_that_the_end_of_one_run_of_two_leaves_the_alerts_of_the_other_and_help() -> None:
    bed = Bed(more=SECOND_PUMP)
    bed.run(90)
    assert bed.say(CallHelp, "nurse-B1", bed="B1", what=HelpKind.AIR) == ""
    bed.run(2, {Q.PUMP_SPEED: 0.0, Q.PUMP_FLOW: 0.9})
    assert bed.say(EndRun, "charge", bed="B1", slot=2) == ""
    assert bed.of(EntryKind.REVIEWED) == []
    present = {alert.rule for view in bed.tile.episodes for alert in view.alerts if alert.present}
    assert present == {"help", "pump_stopped"}
    assert bed.say(EndRun, "charge", bed="B1", slot=1) == ""
    assert set(rules_of(bed, EntryKind.REVIEWED)) == {"help", "pump_stopped"}


@pytest.mark.parametrize("quiet", [60, 130])
def test_that_a_restart_within_an_episode_changes_no_later_call(quiet: int) -> None:
    through, over = Bed(), Bed()
    for bed in (through, over):
        bed.run(90)
        bed.run(40, {Q.PUMP_FLOW: 3.3})
        bed.run(quiet)
        if bed is over:
            bed.engine = Engine.restore(bed.configuration, bed.engine.checkpoint())
        bed.run(240, {Q.PUMP_FLOW: 3.3})
    assert over.entries == through.entries
