"""The ladder against the table it is meant to climb, with and without people.

The seconds are the project's own defaults, shaped on common practice (no source); they stand here once more, as
literals, so that a slip in ``config/ladder.toml`` is seen.
"""

from pathlib import Path

import pytest

from monitor.core.alerts import ladder as climb
from monitor.core.alerts.ladder import StepKind
from monitor.core.grades import LadderClass, Rung
from monitor.core.ladder_table import LadderTable
from monitor.core.state import LadderState
from monitor.settings import load_ladder
from shared.instant import Instant, ms

C = LadderClass
Told = tuple[float, str, int | None, str | None]
PATH = Path(__file__).parents[2] / "config" / "ladder.toml"
EVERYBODY = {1: "nurse", 2: "charge", 3: "perfusionist", 4: "intensivist", 5: "surgeon"}

TIMES: dict[LadderClass, dict[int, list[float]]] = {
    C.CIRCUIT_TWO: {1: [0, 180, 240], 2: [0, 180, 240], 3: [0, 180, 240], 4: [0, 180, 240], 5: [120, 180, 240]},
    C.CIRCUIT_ONE: {1: [0, 180, 240], 2: [0, 180, 240], 3: [0, 180, 240], 4: [60, 180, 240], 5: [120, 180, 240]},
    C.PATIENT_SIDE: {
        1: [0, 420, 540],
        2: [60, 420, 540],
        3: [120, 420, 540],
        4: [120, 420, 540],
        5: [300, 420, 540],
    },
    C.HIGH_OTHER: {1: [0, 420, 540], 2: [60, 420, 540], 3: [120, 420, 540], 4: [180, 420, 540], 5: [300, 420, 540]},
    C.MEDIUM: {1: [0], 2: [180, 1500, 2100], 3: [480], 4: [900]},
    C.CONSOLE: {1: [0], 2: [180, 780, 1380], 3: [300]},
    C.FEED: {1: [0], 2: [180, 780, 1380]},
    C.BOARD_BLIND: {2: [0], 3: [120]},
}


@pytest.fixture(scope="module")
def table() -> LadderTable:
    return load_ladder(PATH.read_text(), "ladder.toml")


def standing(people: dict[int, str], deputy: str | None = None) -> climb.Standing:
    def who(rung: Rung, with_deputy: bool) -> tuple[str, ...]:
        own = (people[rung],) if rung in people else ()
        return own + ((deputy,) if with_deputy and deputy and rung is Rung.BEDSIDE else ())

    return who


def run(
    state: LadderState, table: LadderTable, people: dict[int, str], until: float, deputy: str | None = None
) -> list[Told]:
    """Let a ladder run in virtual time; give (seconds, kind, rung, person)."""
    told: list[Told] = []
    while (due := climb.next_due(state, table)) is not None and due <= ms(until):
        for step in climb.advance(state, table, due, standing(people, deputy)):
            told.append((due / 1000, step.kind.value, step.rung, step.person))
            if step.kind is StepKind.CALLED and step.rung is not None:
                assert state.called[step.rung] == due, "screens show when somebody was called last"
    return told


def called(told: list[Told], rung: int) -> list[float]:
    return [at for at, kind, reached, _ in told if kind == "called" and reached == rung]


def started(ladder: LadderClass, zero: Instant = 0) -> LadderState:
    return climb.start(ladder, zero)


@pytest.mark.parametrize("ladder", TIMES, ids=lambda ladder: ladder.value)
def test_that_each_class_calls_its_rungs_at_the_times_of_the_table(ladder: LadderClass, table: LadderTable) -> None:
    last = max(max(times) for times in TIMES[ladder].values())
    told = run(started(ladder), table, EVERYBODY, last)
    for rung in Rung:
        assert called(told, rung) == TIMES[ladder].get(rung, []), f"{ladder} rung {rung}"


def test_that_a_ladder_counts_from_its_zero_until_it_first_calls() -> None:
    assert started(C.MEDIUM, ms(7)).began == ms(7)


def test_that_the_next_call_is_the_earliest_and_not_that_of_the_lowest_rung(table: LadderTable) -> None:
    state = started(C.HIGH_OTHER)
    run(state, table, EVERYBODY, 1)
    climb.bring_forward(state, Rung.INTENSIVIST, ms(30))
    assert climb.next_call(state, table) == (Rung.INTENSIVIST, ms(30))


def test_that_an_empty_rung_is_skipped_and_the_next_takes_its_time(table: LadderTable) -> None:
    people = {rung: name for rung, name in EVERYBODY.items() if rung != 3}
    told = run(started(C.HIGH_OTHER), table, people, 301)
    assert (120.0, "skipped", 3, None) in told
    assert called(told, 4) == [120]
    assert called(told, 5) == [300]


def test_that_an_empty_rung_that_was_brought_forward_calls_the_one_above_and_none_below_before_its_time(
    table: LadderTable,
) -> None:
    people = {rung: name for rung, name in EVERYBODY.items() if rung != Rung.INTENSIVIST}
    state = started(C.HIGH_OTHER)
    run(state, table, people, 1)
    climb.bring_forward(state, Rung.INTENSIVIST, ms(30))
    told = run(state, table, people, 60)
    assert [(at, rung) for at, kind, rung, _ in told if kind == "called"] == [(30, 5), (60, 2)]


def test_that_an_empty_last_rung_calls_the_rung_below_again(table: LadderTable) -> None:
    people = {rung: name for rung, name in EVERYBODY.items() if rung != 4}
    told = run(started(C.MEDIUM), table, people, 901)
    assert called(told, 3) == [480, 900]


def test_that_the_nurse_and_the_deputy_are_called_again_where_only_they_stand(table: LadderTable) -> None:
    told = run(started(C.FEED), table, {1: "nurse"}, 181, deputy="deputy")
    assert [(at, person) for at, kind, _, person in told if kind == "called"] == [
        (0, "nurse"), (180, "nurse"), (180, "deputy"),
    ]  # fmt: skip


def test_that_a_hold_keeps_everything_still_and_then_calls_all_called_so_far(table: LadderTable) -> None:
    state = started(C.HIGH_OTHER)
    run(state, table, EVERYBODY, 65)
    climb.hold(state, ms(70 + 180), ())
    told = run(state, table, EVERYBODY, 1000)
    assert told[0] == (250, "hold_ended", None, None)
    assert [(at, rung) for at, _, rung, _ in told[1:5]] == [(250, 1), (250, 2), (310, 3), (370, 4)]


def test_that_a_take_without_a_check_leaves_the_intensivist_of_one_witness_on_the_ladder(
    table: LadderTable,
) -> None:
    state = started(C.CIRCUIT_ONE)
    run(state, table, EVERYBODY, 10)
    climb.hold(state, ms(200), (Rung.INTENSIVIST,))
    told = run(state, table, EVERYBODY, 190)
    assert [(at, rung) for at, _, rung, _ in told] == [(60, 4)]


def test_that_a_second_witness_calls_the_intensivist_even_from_a_hold(table: LadderTable) -> None:
    state = started(C.CIRCUIT_ONE)
    run(state, table, EVERYBODY, 10)
    climb.hold(state, ms(200), ())
    climb.second_witness(state)
    steps = climb.advance(state, table, ms(30), standing(EVERYBODY))
    assert [(s.kind, s.rung) for s in steps] == [(StepKind.CALLED, Rung.INTENSIVIST)]


def test_that_promotion_calls_rungs_again_at_their_time_in_the_new_class(table: LadderTable) -> None:
    state = started(C.MEDIUM)
    run(state, table, EVERYBODY, 500)
    climb.change_class(state, table, C.HIGH_OTHER, ms(600), promoted=True, zero=ms(600))
    told = run(state, table, EVERYBODY, 901)
    assert [(at, rung) for at, _, rung, _ in told] == [(600, 1), (660, 2), (720, 3), (780, 4), (900, 5)]


def test_that_a_lower_class_goes_on_by_its_earlier_clock_without_calling_anew(table: LadderTable) -> None:
    state = started(C.MEDIUM)
    run(state, table, EVERYBODY, 500)
    climb.change_class(state, table, C.HIGH_OTHER, ms(600), promoted=True, zero=ms(600))
    run(state, table, EVERYBODY, 790)
    climb.change_class(state, table, C.MEDIUM, ms(800), promoted=False, zero=0)
    told = run(state, table, EVERYBODY, 1501)
    assert [(at, rung) for at, _, rung, _ in told] == [(1500, 2)]


def test_that_passing_on_calls_the_next_rung_at_once(table: LadderTable) -> None:
    state = started(C.MEDIUM)
    run(state, table, EVERYBODY, 10)
    climb.pass_on(state, table, ms(20))
    told = run(state, table, EVERYBODY, 500)
    assert [(at, rung) for at, _, rung, _ in told] == [(20, 2), (480, 3)]


def test_that_calls_missed_while_the_hub_was_down_are_made_once_and_at_once(table: LadderTable) -> None:
    state = started(C.CIRCUIT_TWO)
    climb.advance(state, table, 0, standing(EVERYBODY))
    steps = climb.advance(state, table, ms(1000), standing(EVERYBODY))
    assert [s.rung for s in steps] == [5, 1, 2, 3, 4, 5]
    assert climb.next_due(state, table) == ms(1020)


def test_that_a_rung_that_was_empty_and_is_filled_is_no_longer_shown_as_skipped(table: LadderTable) -> None:
    state = started(C.MEDIUM)
    without = {rung: who for rung, who in EVERYBODY.items() if rung != Rung.CHARGE}
    run(state, table, without, 200)
    assert state.skipped == [Rung.CHARGE]
    climb.change_class(state, table, C.HIGH_OTHER, ms(200), promoted=True, zero=ms(200))
    told = run(state, table, EVERYBODY, 300)
    assert (260.0, "called", 2, "charge") in told
    assert state.skipped == []


def test_that_a_promotion_forgets_what_was_brought_forward_or_put_off_and_ends_a_hold(table: LadderTable) -> None:
    """Passed on and advised in the class below: the new class calls at its own times all the same."""
    state = started(C.MEDIUM)
    run(state, table, EVERYBODY, 10)
    climb.pass_on(state, table, ms(20))
    climb.advise(state, ms(2000))
    run(state, table, EVERYBODY, 30)
    climb.hold(state, ms(3000), (Rung.SURGEON,))
    climb.change_class(state, table, C.HIGH_OTHER, ms(600), promoted=True, zero=ms(600))
    assert (state.held_until, state.exempt, state.began) == (None, [], ms(600))
    told = run(state, table, EVERYBODY, 901)
    assert [(at, rung) for at, _, rung, _ in told] == [(600, 1), (660, 2), (720, 3), (780, 4), (900, 5)]


def test_that_after_a_hold_the_later_rungs_follow_at_their_distance_whatever_was_brought_forward(
    table: LadderTable,
) -> None:
    state = started(C.HIGH_OTHER)
    run(state, table, EVERYBODY, 65)
    climb.bring_forward(state, Rung.INTENSIVIST, ms(100))
    climb.hold(state, ms(250), ())
    told = run(state, table, EVERYBODY, 371)
    assert [(at, rung) for at, kind, rung, _ in told if kind == "called"] == [
        (250, 1),
        (250, 2),
        (310, 3),
        (370, 4),
    ]
    assert state.began == ms(370)


def test_that_a_rung_is_brought_forward_and_never_put_back(table: LadderTable) -> None:
    state = started(C.HIGH_OTHER)
    climb.bring_forward(state, Rung.INTENSIVIST, ms(100))
    climb.bring_forward(state, Rung.INTENSIVIST, ms(150))
    assert called(run(state, table, EVERYBODY, 181), Rung.INTENSIVIST) == [100]


def test_that_advice_puts_the_intensivist_off_and_nobody_else(table: LadderTable) -> None:
    state = started(C.MEDIUM)
    climb.advise(state, ms(1000))
    told = run(state, table, EVERYBODY, 1001)
    assert [(at, rung) for at, _, rung, _ in told] == [(0, 1), (180, 2), (480, 3), (1000, 4)]


def test_that_the_next_rung_can_be_called_from_a_hold_that_goes_on(table: LadderTable) -> None:
    """A late arrival: the next rung now, although it was advised against; then there is none left."""
    state = started(C.MEDIUM)
    run(state, table, EVERYBODY, 500)
    climb.advise(state, ms(2000))
    climb.hold(state, ms(1500), ())
    climb.call_next(state, table, ms(600))
    assert state.exempt == [Rung.INTENSIVIST]
    told = run(state, table, EVERYBODY, 1400)
    assert [(at, rung) for at, _, rung, _ in told] == [(600, 4)]
    assert state.held_until == ms(1500)
    climb.call_next(state, table, ms(1400))
    assert state.exempt == [Rung.INTENSIVIST]
    assert run(state, table, EVERYBODY, 1400) == []


def test_that_a_hold_says_when_it_ends_and_no_rung_that_it_holds(table: LadderTable) -> None:
    state = started(C.HIGH_OTHER)
    run(state, table, EVERYBODY, 65)
    assert climb.next_call(state, table) == (Rung.PERFUSIONIST, ms(120))
    assert climb.next_repeat(state, table) == ms(420)
    climb.hold(state, ms(250), ())
    assert climb.next_call(state, table) is None
    assert climb.next_repeat(state, table) == ms(250)
    assert climb.next_due(state, table) == ms(250)


def test_that_a_class_calls_nobody_again_where_its_row_does_not(table: LadderTable) -> None:
    state = started(C.BOARD_BLIND)
    run(state, table, EVERYBODY, 130)
    assert climb.next_repeat(state, table) is None
    assert climb.next_due(state, table) is None


def test_that_a_second_witness_leaves_calls_and_repeats_where_they_were(table: LadderTable) -> None:
    """Said twice it stays one mark; those already called are not called for it."""
    state = started(C.CIRCUIT_ONE)
    run(state, table, EVERYBODY, 185)
    climb.second_witness(state)
    climb.second_witness(state)
    assert (state.ladder, state.exempt) == (C.CIRCUIT_TWO, [Rung.INTENSIVIST])
    told = run(state, table, EVERYBODY, 240)
    assert {at for at, _, _, _ in told} == {240}
    assert [rung for _, _, rung, _ in told] == [1, 2, 3, 4, 5]


def test_that_who_was_put_off_by_advice_is_called_at_once_when_passed_on(table: LadderTable) -> None:
    state = started(C.MEDIUM)
    run(state, table, EVERYBODY, 500)
    climb.advise(state, ms(2000))
    climb.pass_on(state, table, ms(600))
    told = run(state, table, EVERYBODY, 700)
    assert [(at, rung) for at, _, rung, _ in told] == [(600, 4)]


def test_that_without_a_charge_nurse_a_repeat_goes_to_the_next_rung_that_is_filled(table: LadderTable) -> None:
    people = {rung: who for rung, who in EVERYBODY.items() if rung != Rung.CHARGE}
    state = started(C.MEDIUM)
    run(state, table, people, 1000)
    told = run(state, table, people, 1501)
    assert told == [(1500, "skipped", 2, None), (1500, "called", 3, "perfusionist")]


def test_that_all_whose_time_has_come_are_called_once_they_stand_and_nobody_before(table: LadderTable) -> None:
    state = started(C.HIGH_OTHER)
    told = run(state, table, {}, 185)
    assert {kind for _, kind, _, _ in told} == {"skipped", "nobody"}
    told = run(state, table, EVERYBODY, 245)
    assert [(at, rung) for at, kind, rung, _ in told if kind == "called"] == [
        (240, 1),
        (240, 2),
        (240, 3),
        (240, 4),
    ]


def test_that_who_is_called_before_their_time_because_nobody_else_stood_is_not_called_for_it_again(
    table: LadderTable,
) -> None:
    state = started(C.HIGH_OTHER)
    run(state, table, {}, 50)
    told = run(state, table, {5: "surgeon"}, 419)
    assert [at for at, kind, _, _ in told if kind == "called"] == [60]


def test_that_a_step_says_whether_its_rung_was_called_before(table: LadderTable) -> None:
    state = started(C.FEED)
    steps = climb.advance(state, table, 0, standing(EVERYBODY))
    steps += climb.advance(state, table, ms(180), standing(EVERYBODY))
    steps += climb.advance(state, table, ms(780), standing(EVERYBODY))
    assert [(step.rung, step.again) for step in steps] == [(1, False), (2, False), (2, True)]


def test_that_the_end_of_a_hold_calls_the_rung_below_where_one_called_before_is_empty_now(
    table: LadderTable,
) -> None:
    state = started(C.HIGH_OTHER)
    run(state, table, EVERYBODY, 130)
    climb.hold(state, ms(200), ())
    people = {rung: who for rung, who in EVERYBODY.items() if rung != Rung.PERFUSIONIST}
    told = run(state, table, people, 200)
    assert [(kind, rung) for _, kind, rung, _ in told] == [
        ("hold_ended", None), ("called", 1), ("called", 2), ("skipped", 3), ("called", 2),
    ]  # fmt: skip


def test_that_a_hold_that_nobody_was_called_before_ends_with_a_look_for_somebody_at_once(
    table: LadderTable,
) -> None:
    """Taken by somebody who stands nowhere: as the hold ends, it is said that nobody is there."""
    state = started(C.HIGH_OTHER)
    run(state, table, {}, 10)
    climb.hold(state, ms(45), ())
    assert climb.advance(state, table, ms(44), standing({})) == []
    steps = climb.advance(state, table, ms(45), standing({}))
    assert [step.kind for step in steps] == [StepKind.HOLD_ENDED, StepKind.NOBODY]
    assert state.nobody_at == ms(105)


def test_that_a_rung_that_a_take_does_not_hold_is_called_past_one_that_it_holds(table: LadderTable) -> None:
    state = started(C.HIGH_OTHER)
    run(state, table, EVERYBODY, 65)
    climb.hold(state, ms(250), (Rung.INTENSIVIST,))
    told = run(state, table, EVERYBODY, 249)
    assert [(at, rung) for at, _, rung, _ in told] == [(180, 4)]


def test_that_a_deputy_who_is_not_asked_for_fills_no_rung(table: LadderTable) -> None:
    told = run(started(C.FEED), table, {2: "charge"}, 1, deputy="deputy")
    assert told == [(0, "skipped", 1, None), (0, "called", 2, "charge")]


def test_that_a_class_that_goes_on_makes_no_repeats_that_fell_due_while_a_higher_one_ran(
    table: LadderTable,
) -> None:
    state = started(C.MEDIUM)
    run(state, table, EVERYBODY, 1000)
    climb.change_class(state, table, C.HIGH_OTHER, ms(1010), promoted=True, zero=ms(1010))
    run(state, table, EVERYBODY, 1690)
    climb.change_class(state, table, C.MEDIUM, ms(1700), promoted=False, zero=0)
    told = run(state, table, EVERYBODY, 2100)
    assert [(at, rung) for at, _, rung, _ in told] == [(2100, 2)]


def test_that_after_a_hold_of_everybody_the_last_rung_and_the_repeats_come_at_their_distance_from_it(
    table: LadderTable,
) -> None:
    """Four rungs at once, the last after two minutes, repeats from three on: counted from the end of the hold."""
    state = started(C.CIRCUIT_TWO)
    run(state, table, EVERYBODY, 10)
    climb.hold(state, ms(100), ())
    told = [(at, rung) for at, kind, rung, _ in run(state, table, EVERYBODY, 280) if kind == "called"]
    assert [at for at, _ in told] == [100] * 4 + [220] + [280] * 5
    assert told[4] == (220, 5)


def test_that_repeats_begin_anew_after_a_hold(table: LadderTable) -> None:
    state = started(C.HIGH_OTHER)
    run(state, table, EVERYBODY, 425)
    climb.hold(state, ms(700), ())
    told = [at for at, kind, _, _ in run(state, table, EVERYBODY, 945) if kind == "called"]
    assert sorted(set(told)) == [700, 820, 940]


def test_that_nobody_is_said_at_the_end_of_a_hold_when_all_who_were_called_are_gone(table: LadderTable) -> None:
    state = started(C.HIGH_OTHER)
    run(state, table, EVERYBODY, 65)
    climb.hold(state, ms(250), ())
    steps = climb.advance(state, table, ms(250), standing({}))
    assert [step.kind for step in steps] == [
        StepKind.HOLD_ENDED, StepKind.SKIPPED, StepKind.SKIPPED, StepKind.NOBODY,
    ]  # fmt: skip


def test_that_what_is_passed_on_before_anybody_was_called_leaves_the_others_at_their_distance(
    table: LadderTable,
) -> None:
    state = started(C.HIGH_OTHER)
    climb.pass_on(state, table, ms(10))
    told = run(state, table, EVERYBODY, 70)
    assert [(at, rung) for at, _, rung, _ in told] == [(10, 1), (70, 2)]


def test_that_of_those_whose_time_is_not_come_the_lowest_alone_is_called_and_not_for_it_again(
    table: LadderTable,
) -> None:
    state = started(C.MEDIUM)
    run(state, table, {}, 50)
    told = run(state, table, {3: "perfusionist", 4: "intensivist"}, 179)
    assert told == [(60, "called", 3, "perfusionist")]
    told = run(state, table, {3: "perfusionist"}, 899)
    assert [at for at, kind, _, _ in told if kind == "called"] == []


def test_that_a_repeat_for_people_who_are_all_gone_goes_to_the_lowest_who_stands_now(table: LadderTable) -> None:
    """Only the nurse was ever called; at the repeat the nurse is gone, and two stand who were never called."""
    state = started(C.HIGH_OTHER)
    run(state, table, {1: "nurse"}, 400)
    told = run(state, table, {4: "intensivist", 5: "surgeon"}, 420)
    assert told == [(420, "skipped", 1, None), (420, "called", 4, "intensivist")]
