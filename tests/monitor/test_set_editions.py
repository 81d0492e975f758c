"""Corrections and strikes of sets entered by hand: what is known follows the newest version, the log keeps all."""

from collections.abc import Mapping

import pytest

from monitor.core.bed_commands import LookedAt
from monitor.core.commands import Order, Reason, SetTarget, Take
from monitor.core.entries import EntryKind
from monitor.core.entry_words import words_of
from monitor.core.judging.editions import KEPT
from monitor.core.state import RunState
from monitor.rehearsal.rehearse import BEGIN
from shared.instant import MINUTE, SECOND, Instant
from shared.messages import Edition, Why
from shared.quantities import Quantity as Q
from tests.helpers.one_bed import USUAL, Bed

LOW = {Q.PUMP_FLOW: 2.4, Q.PRE_OXYGENATOR_PRESSURE: 207.0}  # at the usual resistance


def set_id(number: int) -> str:
    return f"{number:016x}"


def first(number: int) -> Edition:
    return Edition(set=set_id(number))


def again(number: int, version: int = 2, why: Why = Why.MISTYPED) -> Edition:
    return Edition(set=set_id(number), version=version, why=why)


def struck(number: int, moved_to: str | None = None) -> Edition:
    return Edition(
        set=set_id(number), version=2, why=Why.WRONG_BED, struck=True, second="charge", moved_to=moved_to
    )


class Hand(Bed):
    """A bed without a feed; every set is remembered with the moment at which it was read."""

    def __init__(self) -> None:
        super().__init__(more='[[start]]\nbed = "B1"\nfeed = "entered"\n')
        self.read: dict[int, Instant] = {}

    def enter(self, number: int, minutes: float, change: Mapping[Q, float] | None = None, late_s: int = 0) -> None:
        """Wait, then enter set ``number``."""
        self.wait(minutes * 60)
        self.read[number] = self.now + SECOND - late_s * SECOND
        self.enter_set(USUAL | dict(change or {}), "nurse-B1", late_s, first(number))

    def correct(self, number: int, change: Mapping[Q, float] | None = None, version: int = 2) -> None:
        """Correct a set a minute from now."""
        self.wait(60)
        readings = USUAL | dict(change or {})
        self.enter_at(self.read[number], readings, "nurse-B1", again(number, version))

    def strike(self, number: int, moved_to: str | None = None) -> None:
        """Strike a set a minute from now."""
        self.wait(60)
        self.enter_at(self.read[number], {}, "nurse-B1", struck(number, moved_to))

    @property
    def state(self) -> RunState:
        """The run as the engine knows it."""
        return self.engine._state.beds[self.label].runs[1]

    def newest(self, quantity: Q) -> tuple[Instant, float] | None:
        """What the engine gives the hub as newest."""
        return self.engine.newest(self.label, 1).get(quantity)

    def said(self) -> list[str]:
        """The words of what became of sets."""
        kinds = (EntryKind.SET_CORRECTED, EntryKind.SET_STRUCK, EntryKind.VALUE_CORRECTED)
        return [words_of(entry, lambda name: name or "nobody") for entry in self.of(*kinds)]


def test_that_a_correction_stands_in_place_of_what_was_typed() -> None:
    bed = Hand()
    bed.enter(1, 1)
    bed.enter(2, 60, LOW)
    bed.correct(2)
    assert bed.newest(Q.PUMP_FLOW) == (bed.read[2], 4.2)
    assert bed.state.signals[Q.OXYGENATOR_PRESSURE_DROP].last == pytest.approx(30)
    assert bed.said()[0] == "Set of 01:01 corrected (mistyped): Flow 2.4 → 4.2; Pre-oxy P 207 → 220, by nurse-B1"


def test_that_an_alert_ends_when_the_corrected_value_is_within_and_the_log_says_why() -> None:
    bed = Hand()
    bed.enter(1, 1)
    bed.enter(2, 60, LOW)
    assert not bed.lead.over
    bed.correct(2)
    assert bed.lead.over
    assert "What raised it was entered by hand: value corrected to 4.2" in bed.said()
    assert bed.of(EntryKind.RAISED)[0].alert in {entry.alert for entry in bed.of(EntryKind.VALUE_CORRECTED)}


def test_that_after_a_restart_a_strike_brings_the_set_before_to_the_front_as_without_one() -> None:
    beds = Hand(), Hand()
    for bed in beds:
        for number in range(1, 101):
            bed.enter(number, 60)
    beds[1].restart()
    for bed in beds:
        for number in (100, 99, 98):
            bed.strike(number)
        assert bed.newest(Q.PUMP_FLOW) == (bed.read[97], 4.2)
        assert bed.state.run_baselines[Q.PUMP_FLOW].value == 4.2
    assert beds[0].engine.checkpoint() == beds[1].engine.checkpoint()


@pytest.mark.parametrize("restarts", [False, True])
def test_that_a_strike_brings_a_set_to_the_front_that_was_entered_late_beside_it(restarts: bool) -> None:
    bed = Hand()
    bed.enter(1, 1)
    bed.enter(2, 60, LOW)
    bed.enter(3, 1, {Q.PUMP_FLOW: 4.0}, late_s=20 * 60)
    assert bed.newest(Q.PUMP_FLOW) == (bed.read[2], 2.4)
    if restarts:
        bed.restart()
    bed.strike(2)
    assert bed.read[1] < bed.read[3] < bed.read[2]
    assert bed.newest(Q.PUMP_FLOW) == (bed.read[3], 4.0)
    bed.strike(3)
    assert bed.newest(Q.PUMP_FLOW) == (bed.read[1], 4.2)


def test_that_a_set_whose_time_was_wrong_leaves_the_front_to_the_one_that_was_late_beside_it() -> None:
    bed = Hand()
    bed.enter(1, 1)
    bed.enter(2, 60, LOW)
    bed.enter(3, 1, {Q.PUMP_FLOW: 4.0}, late_s=20 * 60)
    bed.wait(60)
    bed.enter_at(bed.read[1] + 5 * MINUTE, USUAL | LOW, "nurse-B1", again(2, why=Why.WRONG_TIME))
    assert bed.newest(Q.PUMP_FLOW) == (bed.read[3], 4.0)


def test_that_a_number_that_was_not_read_goes_and_ends_no_alert() -> None:
    bed = Hand()
    bed.enter(1, 1)
    bed.enter(2, 60, {Q.MEAN_ARTERIAL_PRESSURE: 45.0})
    bed.wait(60)
    rest: dict[Q, float] = {q: value for q, value in USUAL.items() if q is not Q.MEAN_ARTERIAL_PRESSURE}
    bed.enter_at(bed.read[2], rest, "nurse-B1", again(2))
    assert bed.newest(Q.MEAN_ARTERIAL_PRESSURE) == (bed.read[1], 72.0)
    assert list(dict.fromkeys(bed.said())) == [
        "Set of 01:01 corrected (mistyped): MAP 45 → not read, by nurse-B1",
        "What raised it was entered by hand: value corrected: it was not read",
    ]
    assert not bed.lead.over, "only a reading ends an alert"
    bed.correct(2, version=3)
    assert bed.lead.over


def test_that_an_alert_starts_when_the_corrected_value_is_beyond() -> None:
    bed = Hand()
    bed.enter(1, 1)
    bed.enter(2, 60)
    bed.correct(2, {Q.MEAN_ARTERIAL_PRESSURE: 45.0})
    assert not bed.lead.over
    assert bed.lead.alerts[0].quantity is Q.MEAN_ARTERIAL_PRESSURE


def test_that_a_correction_of_long_ago_is_told_like_a_late_set_and_never_twice() -> None:
    bed = Hand()
    bed.enter(1, 1)
    bed.wait(20 * 60)
    bed.correct(1, LOW)
    bed.correct(1, LOW | {Q.INLET_PRESSURE: -61.0}, version=3)
    raised = [entry.text for entry in bed.of(EntryKind.RAISED)]
    assert raised == ["Late reading breached at 00:01: Flow 2.4"]


def test_that_a_corrected_older_set_changes_the_past_and_not_what_is_now() -> None:
    bed = Hand()
    bed.enter(1, 1)
    bed.enter(2, 30, {Q.INLET_PRESSURE: -90.0})
    bed.enter(3, 30)
    bed.correct(2, {Q.INLET_PRESSURE: -70.0})
    signal = bed.state.signals[Q.INLET_PRESSURE]
    assert list(zip(signal.times, signal.values, strict=True)) == [
        (bed.read[1], -60.0),
        (bed.read[2], -70.0),
        (bed.read[3], -60.0),
    ]
    assert bed.newest(Q.INLET_PRESSURE) == (bed.read[3], -60.0)
    assert bed.state.last_reading_at == bed.read[3]


def test_that_what_is_usual_follows_a_corrected_first_set() -> None:
    bed = Hand()
    bed.enter(1, 1, {Q.PUMP_FLOW: 4.9})
    bed.enter(2, 60)
    assert bed.state.run_baselines[Q.PUMP_FLOW].value == 4.9
    bed.correct(1)
    assert bed.state.run_baselines[Q.PUMP_FLOW].value == 4.2


def test_that_a_struck_set_gives_way_to_the_one_before_and_its_age() -> None:
    bed = Hand()
    bed.enter(1, 1)
    bed.enter(2, 60, {Q.INLET_PRESSURE: -70.0})
    bed.strike(2, moved_to="B2")
    assert bed.newest(Q.INLET_PRESSURE) == (bed.read[1], -60.0)
    assert bed.state.last_reading_at == bed.read[1]
    assert bed.said() == ["Set of 01:01 struck (wrong bed), put down at B2, by nurse-B1 and charge"]
    bed.wait(16 * 60)
    assert [entry.rule for entry in bed.of(EntryKind.RAISED)] == ["reading_overdue"]


def test_that_a_struck_set_ends_no_alert_and_leaves_its_title() -> None:
    bed = Hand()
    bed.enter(1, 1)
    bed.enter(2, 60, LOW)
    title = bed.lead.title
    bed.strike(2)
    assert not bed.lead.over
    assert bed.lead.title == title
    assert "What raised it was entered by hand: value struck" in bed.said()
    bed.enter(3, 2)
    assert bed.lead.over


def test_that_the_only_set_leaves_nothing_when_it_is_struck() -> None:
    bed = Hand()
    bed.enter(1, 1)
    bed.strike(1)
    assert bed.engine.newest(bed.label, 1) == {}
    assert bed.state.last_reading_at is None
    assert bed.engine.newest("B9", 1) == {}


def test_that_a_version_that_is_no_newer_changes_nothing_and_writes_nothing() -> None:
    bed = Hand()
    bed.enter(1, 1)
    bed.correct(1, {Q.INLET_PRESSURE: -70.0}, version=3)
    before = len(bed.entries)
    bed.correct(1, {Q.INLET_PRESSURE: -80.0}, version=2)
    assert len(bed.entries) == before
    assert bed.newest(Q.INLET_PRESSURE) == (bed.read[1], -70.0)


def test_that_a_set_that_is_no_longer_remembered_is_corrected_in_the_log_alone() -> None:
    bed = Hand()
    for number in range(1, KEPT + 2):
        bed.enter(number, 10)
    bed.correct(1, {Q.INLET_PRESSURE: -70.0})
    assert bed.said() == ["Set of 00:10 corrected (mistyped), by nurse-B1"]
    assert -70.0 not in bed.state.signals[Q.INLET_PRESSURE].values


def test_that_a_set_for_the_trends_alone_stays_out_of_what_is_known_when_it_is_corrected() -> None:
    bed = Hand()
    bed.enter(1, 1)
    bed.enter(2, 20)
    bed.enter(3, 1, {Q.INLET_PRESSURE: -90.0}, late_s=10 * 60)
    bed.correct(3, {Q.INLET_PRESSURE: -80.0})
    assert bed.state.signals[Q.INLET_PRESSURE].values == [-60.0, -60.0]


def test_that_a_result_of_the_laboratory_follows_its_correction() -> None:
    bed = Hand()
    bed.enter(1, 1, {Q.LACTATE: 21.0, Q.LDH: 400.0})
    bed.correct(1, {Q.LACTATE: 2.1})
    assert bed.state.draws[Q.LACTATE] == [(bed.read[1], 2.1)]
    assert Q.LDH not in bed.state.draws


def test_that_a_struck_result_of_the_laboratory_leaves_the_ones_before_it() -> None:
    bed = Hand()
    bed.enter(1, 1, {Q.LACTATE: 2.0})
    bed.enter(2, 20, {Q.LACTATE: 9.0})
    bed.strike(2)
    assert bed.state.draws[Q.LACTATE] == [(bed.read[1], 2.0)]


def test_that_a_hold_stands_when_the_value_that_was_taken_is_struck_and_nothing_is_known_of_it() -> None:
    bed = Hand()
    bed.enter(1, 1, {Q.MEAN_ARTERIAL_PRESSURE: 45.0})
    assert bed.give(Take, "charge", reason=Reason.AT_BEDSIDE) == ""
    bed.strike(1)
    assert bed.newest(Q.MEAN_ARTERIAL_PRESSURE) is None
    bed.enter_set({Q.PUMP_FLOW: 4.2}, "nurse-B1", 0, first(2))
    assert bed.lead.holder is not None
    assert bed.lead.holder.person == "charge"
    assert bed.of(EntryKind.WORSENED) == []
    bed.enter_set({Q.MEAN_ARTERIAL_PRESSURE: 37.0}, "nurse-B1", 0, first(3))
    assert bed.lead.holder is None, "a full step worse than at the take"


def test_that_a_corrected_time_moves_the_set() -> None:
    bed = Hand()
    bed.enter(1, 1)
    bed.enter(2, 60)
    earlier = bed.read[2] - 10 * MINUTE
    bed.wait(60)
    bed.enter_at(earlier, USUAL, "nurse-B1", again(2, why=Why.WRONG_TIME))
    assert bed.newest(Q.PUMP_FLOW) == (earlier, 4.2)
    assert bed.said() == ["Set of 01:01 corrected (wrong time): time of reading, by nurse-B1"]
    assert bed.state.last_reading_at == earlier


def test_that_corrections_go_on_after_a_restart() -> None:
    bed = Hand()
    bed.enter(1, 1)
    bed.enter(2, 60, LOW)
    bed.restart()
    bed.correct(2)
    assert bed.newest(Q.PUMP_FLOW) == (bed.read[2], 4.2)


def test_that_a_set_beside_a_feed_is_corrected_without_touching_what_the_feed_read() -> None:
    bed = Bed()
    bed.run(60)
    bed.enter_set({Q.LACTATE: 21.0, Q.INLET_PRESSURE: -61.0}, "nurse-B1", edition=first(1))
    read = bed.now
    bed.run(5)
    bed.enter_at(read, {Q.LACTATE: 2.1, Q.INLET_PRESSURE: -61.0}, "nurse-B1", again(1))
    run = bed.engine._state.beds[bed.label].runs[1]
    assert run.signals[Q.LACTATE].last == 2.1
    assert run.signals[Q.INLET_PRESSURE].last == -60.0
    assert run.last_reading_at == bed.now
    assert run.run_baselines[Q.PUMP_FLOW].begin == BEGIN
    bed.enter_at(read, {}, "nurse-B1", Edition(set=set_id(1), version=3, why=Why.OTHER, struck=True))
    assert Q.LACTATE not in run.signals


def test_that_a_correction_puts_nothing_among_the_readings_of_a_feed_that_was_not_there() -> None:
    bed = Bed()
    bed.run(60)
    read = bed.now - 30 * SECOND - 1
    bed.enter_at(read, {Q.INLET_PRESSURE: -95.0}, "nurse-B1", first(1))
    bed.enter_at(read, {Q.INLET_PRESSURE: -85.0}, "nurse-B1", again(1))
    signal = bed.engine._state.beds[bed.label].runs[1].signals[Q.INLET_PRESSURE]
    assert set(signal.values) == {-60.0}


def outside(bed: Bed, what: str) -> tuple[int, int]:
    """How many minutes were judged, and how many of them were outside."""
    return bed.engine._state.beds[bed.label].runs[1].outside[what].since(0)


def test_that_sets_outside_target_are_counted_by_their_newest_versions_and_the_target_of_their_time() -> None:
    """A set counts as a minute once the next one has come; 4.2 was the target until it became 3.0."""
    bed = Hand()
    for number, change in enumerate(({}, LOW, {}, LOW), 1):
        bed.enter(number, 20, change)
    assert outside(bed, "flow") == (3, 1)
    bed.correct(2)
    assert outside(bed, "flow") == (3, 0)
    assert bed.say(SetTarget, "charge", bed="B1", quantity=Q.PUMP_FLOW, value=3.0) == ""
    bed.correct(2, LOW, version=3)
    assert outside(bed, "flow") == (3, 1)
    bed.correct(4)
    assert outside(bed, "flow") == (3, 1), "the newest one is still being filled"
    bed.strike(1)
    assert outside(bed, "flow") == (2, 1)
    bed.enter(5, 20)
    bed.enter(6, 20)
    assert outside(bed, "flow") == (4, 2), (
        "of the fourth 4.2 was within what stood then, of the fifth it is outside 3.0"
    )
    bed.restart()
    bed.correct(5, {Q.PUMP_FLOW: 3.0})
    assert outside(bed, "flow") == (4, 1)
    for _ in range(3):
        bed.say(SetTarget, "charge", bed="B1", quantity=Q.PUMP_FLOW, value=3.0)
        bed.wait(13 * 3600)
    assert [since > 0 for since, _ in bed.state.aims[Q.PUMP_FLOW]] == [True] * 3, "what stood days ago is forgotten"


def test_that_a_look_and_the_next_one_compare_with_what_the_corrected_set_says() -> None:
    bed = Hand()
    bed.enter(1, 1, {Q.INLET_PRESSURE: -50.0})
    bed.say(LookedAt, "charge", bed="B1")
    bed.enter(2, 60, {Q.INLET_PRESSURE: -90.0})
    bed.say(LookedAt, "nurse-B1", bed="B1")
    looks = bed.engine._state.beds["B1"].looks
    assert [looks[who].usual[1][Q.INLET_PRESSURE] for who in ("charge", "nurse-B1")] == [-50.0, -90.0]
    bed.correct(2, {Q.INLET_PRESSURE: -60.0})
    assert [looks[who].usual[1][Q.INLET_PRESSURE] for who in ("charge", "nurse-B1")] == [-50.0, -60.0]
    bed.strike(1)
    assert looks["charge"].usual[1] == {}, "nothing was known then"
    assert looks["nurse-B1"].usual[1][Q.PUMP_FLOW] == 4.2
    looks["nurse-B1"].runs[1] = "the run before"
    bed.correct(2, {Q.INLET_PRESSURE: -70.0}, version=3)
    assert looks["nurse-B1"].usual[1][Q.INLET_PRESSURE] == -60.0


class Lost(Bed):
    """A bed with a feed that has lost the arterial line: its pressure is entered by hand, a minute each."""

    FED: Mapping[Q, float] = {q: value for q, value in USUAL.items() if q is not Q.MEAN_ARTERIAL_PRESSURE}

    def minutes(self, count: int) -> None:
        """Read on."""
        for _ in range(60 * count):
            self.read_these(self.FED)

    def enter(self, number: int, value: float) -> Instant:
        """Enter the pressure; give when it was read."""
        self.enter_set({Q.MEAN_ARTERIAL_PRESSURE: value}, "nurse-B1", edition=first(number))
        self.minutes(1)
        return self.now - 60 * SECOND

    def correct(self, number: int, read_at: Instant, value: float | None, version: int = 2) -> None:
        """Correct it, or strike it."""
        edition = Edition(set=set_id(number), version=version, why=Why.OTHER, struck=value is None)
        readings = {} if value is None else {Q.MEAN_ARTERIAL_PRESSURE: value}
        self.enter_at(read_at, readings, "nurse-B1", edition)


@pytest.mark.parametrize("restarts", [False, True])
def test_that_beside_a_feed_what_was_entered_late_comes_to_the_front_with_its_own_age(restarts: bool) -> None:
    bed, q = Lost(), Q.MEAN_ARTERIAL_PRESSURE
    oldest = bed.enter(1, 60.0)
    bed.minutes(2)
    newest = bed.enter(2, 45.0)
    late = newest - 80 * SECOND
    bed.enter_at(late, {q: 65.0}, "nurse-B1", first(3))
    assert bed.engine.newest("B1", 1)[q] == (newest, 45.0)
    if restarts:
        bed.restart()
    bed.enter_at(newest, {Q.PUMP_FLOW: 4.2}, "nurse-B1", again(2))
    assert bed.engine.newest("B1", 1)[q] == (late, 65.0), "it was left out"
    bed.enter_at(newest, {q: 46.0}, "nurse-B1", again(2, version=3))
    assert bed.engine.newest("B1", 1)[q] == (newest, 46.0)
    bed.correct(2, newest, None, version=4)
    assert bed.engine.newest("B1", 1)[q] == (late, 65.0)
    bed.minutes(1)
    medians = [value for _, value in bed.engine._state.beds["B1"].runs[1].minutes[q].so_far(0)]
    assert medians == [60.0, 65.0]
    bed.correct(3, late, None)
    assert bed.engine.newest("B1", 1)[q] == (oldest, 60.0)
    assert [entry.rule for entry in bed.of(EntryKind.CLEARED)] == [], "a strike ends nothing"


def test_that_nothing_entered_late_comes_to_the_front_before_what_a_feed_reads() -> None:
    bed, q = Lost(), Q.MEAN_ARTERIAL_PRESSURE
    newest = bed.enter(1, 45.0)
    bed.enter_at(newest - 20 * SECOND, {q: 65.0}, "nurse-B1", first(2))
    bed.run(1)
    bed.correct(1, newest, None)
    assert bed.engine.newest("B1", 1)[q] == (bed.now, USUAL[q])
    assert set(bed.engine._state.beds["B1"].runs[1].signals[q].values) == {USUAL[q]}


def test_that_each_value_of_a_late_set_stands_that_is_the_newest_of_its_quantity() -> None:
    bed = Hand()
    bed.enter(1, 1)
    bed.wait(300)
    bed.enter_set({Q.SVO2: 68.0, Q.PUMP_FLOW: 4.0}, "nurse-B1", 400, first(2))
    read = bed.now - 400 * SECOND
    assert bed.newest(Q.SVO2) == (read, 68.0)
    assert bed.newest(Q.PUMP_FLOW) == (bed.read[1], 4.2)
    assert bed.state.last_reading_at == bed.read[1], "it is no newer set"
    bed.enter_at(read, {Q.SVO2: 67.0, Q.PUMP_FLOW: 4.1}, "nurse-B1", again(2))
    assert bed.newest(Q.SVO2) == (read, 67.0)
    assert bed.state.signals[Q.PUMP_FLOW].values == [4.2]
    bed.correct(1, {Q.INLET_PRESSURE: -61.0})
    assert bed.newest(Q.SVO2) == (read, 67.0), "it is no matter of another set"


def test_that_results_of_orders_and_looks_beside_a_feed_follow_a_corrected_set() -> None:
    bed, q = Lost(), Q.MEAN_ARTERIAL_PRESSURE
    assert bed.say(SetTarget, "charge", bed="B1", quantity=q, value=70) == ""
    before = bed.enter(1, 40.0)
    bed.enter(2, 60.0)
    bed.minutes(1)
    bed.say(Order, "charge", bed="B1", quantity=Q.PUMP_SPEED, value=3600.0)
    ordered = bed.engine._state.beds["B1"].runs[1].ordered[0]
    bed.minutes(5)
    after = bed.enter(3, 99.0)
    bed.enter(4, 71.0)
    bed.minutes(3)
    bed.say(LookedAt, "charge", bed="B1")
    bed.minutes(2)
    last = bed.enter(5, 70.0)
    usual = bed.engine._state.beds["B1"].looks["charge"].usual[1]
    assert (ordered.before[q], ordered.after[10][q], usual[q]) == (40.0, 99.0, 60.0), (
        "minutes close with the next set"
    )
    assert outside(bed, "map") == (4, 2)
    bed.correct(1, before, 64.0)
    assert outside(bed, "map") == (4, 1)
    bed.correct(3, after, 73.0)
    usual = bed.engine._state.beds["B1"].looks["charge"].usual[1]
    assert (ordered.before[q], ordered.after[10][q], usual[q]) == (62.0, 72.0, 67.5)
    assert outside(bed, "map") == (4, 0)
    assert ordered.after[10][Q.PUMP_FLOW] == 4.2
    bed.correct(3, after, None, version=3)
    assert (ordered.after[10][q], outside(bed, "map")) == (71.0, (3, 0))
    bed.correct(1, before, None, version=3)
    assert ordered.before[q] == 60.0
    bed.correct(5, last, 50.0)
    minutes = bed.engine._state.beds["B1"].runs[1].minutes[q]
    assert list(minutes.so_far(0))[-1][1] == 50.0
