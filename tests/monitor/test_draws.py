"""Laboratory values: kept by their draws, what two say together, what is due and what is remarked."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from monitor.core.commands import EndRun, StartRun
from monitor.core.judging.draws import KEPT_MS, MOST, take_draws
from monitor.core.laboratory import LABORATORY, Laboratory
from monitor.core.state import RunState
from monitor.rehearsal.sources import Numbered
from shared.instant import HOUR, MINUTE
from shared.quantities import Quantity as Q
from shared.support import Support, describe_run
from tests.helpers.meaning import Watched

BEGIN = 1_767_225_600_000
DRAWS = st.lists(st.tuples(st.integers(0, 5_000), st.floats(0.1, 20)), min_size=1, max_size=150)


def run_state() -> RunState:
    return RunState(description=describe_run(Support.VA, "r"), started_at=BEGIN)


def kept(bed: Watched, quantity: Q) -> list[tuple[int, float]]:
    (lab,) = (one for one in bed.meaning().labs if one.quantity is quantity)
    return [(draw.at, draw.value) for draw in lab.draws]


@given(DRAWS)
def test_that_draws_are_kept_in_order_of_draw_the_last_told_of_each_time(plan: list[tuple[int, float]]) -> None:
    run, numbered = run_state(), Numbered()
    for minute, value in plan:
        made = numbered.live("B1", 1, BEGIN + minute * MINUTE, {Q.LACTATE: value})
        take_draws(run, made.model_copy(update={"by": "nurse-B1"}), by_hand=True)
    held = run.draws[Q.LACTATE]
    told = {BEGIN + minute * MINUTE: value for minute, value in plan}
    assert held == sorted(held)
    assert len(held) <= MOST
    assert set(held) <= set(told.items())
    assert held[-1][0] == max(told)
    assert held[0][0] >= held[-1][0] - KEPT_MS
    if len(plan) <= MOST and max(told) - min(told) <= KEPT_MS:
        assert dict(held) == told


def test_that_a_result_that_comes_late_stands_where_it_was_drawn() -> None:
    bed = Watched()
    bed.read(300)
    bed.draw({Q.LACTATE: 3.0}, ago_s=60)
    bed.draw({Q.LACTATE: 5.0}, ago_s=240)
    assert [value for _, value in kept(bed, Q.LACTATE)] == [5.0, 3.0]


def test_that_a_correction_of_the_same_draw_takes_its_place() -> None:
    bed = Watched()
    bed.read(300)
    bed.draw({Q.HAEMOGLOBIN: 59.0}, ago_s=60)
    bed.draw({Q.HAEMOGLOBIN: 95.0}, ago_s=60)
    assert [value for _, value in kept(bed, Q.HAEMOGLOBIN)] == [95.0]
    assert bed.value("arterial_content") == pytest.approx(1.34 * 9.5 * 0.99)


def test_that_a_draw_from_before_the_run_is_nobodys() -> None:
    bed = Watched()
    bed.read(300)
    bed.draw({Q.LACTATE: 9.0}, ago_s=301)
    assert bed.meaning().labs == ()


def test_that_what_a_sensor_measures_all_the_time_is_no_draw() -> None:
    bed = Watched(start="haemoglobin = 95")
    bed.read(15, {Q.HAEMOGLOBIN: 95.0, Q.LACTATE: 2.0})  # the feed of a laboratory may bring a draw as well
    assert [lab.quantity for lab in bed.meaning().labs] == [Q.LACTATE]
    assert bed.derived("oxygen_delivery").inputs[0].at == bed.now


def test_that_a_doubtful_value_is_no_draw() -> None:
    bed = Watched()
    made = Numbered().live("B1", 1, bed.now, {Q.LACTATE: 2.0})
    bed.observe(made.model_copy(update={"by": "nurse-B1", "doubtful": frozenset({Q.LACTATE})}))
    assert bed.meaning().labs == ()


def test_that_draws_outlive_a_restart_and_end_with_the_run() -> None:
    bed = Watched()
    bed.draw({Q.LACTATE: 2.0})
    bed.restart()
    assert [value for _, value in kept(bed, Q.LACTATE)] == [2.0]
    assert bed.say(EndRun, "charge", bed="B1", reason="Weaned") == ""
    bed.wait(3600)
    assert bed.say(StartRun, "charge", bed="B1", run=describe_run(Support.VA, "next")) == ""
    bed.draw({Q.HAEMOGLOBIN: 95.0}, ago_s=60)
    assert bed.meaning().labs == ()


def test_that_lactate_clears_as_the_published_example() -> None:
    # Source: (L0 - L1) / L0: 8 -> 5 mmol/L is 37.5 % over 6 h, recomputed; 6 h: Nguyen 2004 (from memory).
    bed = Watched()
    bed.draw({Q.LACTATE: 8.0})
    bed.wait(6 * 3600)
    bed.draw({Q.LACTATE: 5.0})
    found = bed.derived("lactate_clearance")
    assert found.value == pytest.approx(37.5)
    assert [(part.value, part.at) for part in found.inputs] == [(8.0, bed.now - 6 * HOUR), (5.0, bed.now)]
    assert found.caution == "Over 6.0 h"


def test_that_clearance_compares_with_the_oldest_draw_of_the_last_six_hours() -> None:
    bed = Watched()
    for value, hours in ((12.0, 4), (8.0, 3), (7.0, 3), (5.0, 0)):
        bed.draw({Q.LACTATE: value})
        bed.wait(hours * 3600)
    found = bed.derived("lactate_clearance")
    assert found.inputs[0].value == 8.0
    assert found.value == pytest.approx(37.5)


@pytest.mark.parametrize(
    ("first", "last", "said"),
    [(2.0, 5.0, "it rises"), (1.6, 1.2, "it was already below 2 mmol/L")],
)
def test_that_what_a_clearance_does_not_say_stands_beside_it(first: float, last: float, said: str) -> None:
    bed = Watched()
    bed.draw({Q.LACTATE: first})
    bed.wait(2 * 3600)
    bed.draw({Q.LACTATE: last})
    assert said in bed.derived("lactate_clearance").caution


def test_that_one_draw_or_an_old_one_gives_no_clearance() -> None:
    bed = Watched()
    bed.draw({Q.LACTATE: 8.0})
    assert bed.derived("lactate_clearance").missing == "Only one draw of Lactate yet, at 00:00"
    bed.wait(1800)
    bed.draw({Q.LACTATE: 7.0})
    assert bed.derived("lactate_clearance").value is None  # half an hour apart says nothing
    bed.wait(25 * 3600)
    found = bed.derived("lactate_clearance")
    assert found.missing == "No Lactate since 00:30 yesterday"


def test_that_free_haemoglobin_says_how_fast_it_moves_and_that_it_has_doubled() -> None:
    bed = Watched()
    bed.draw({Q.PLASMA_FREE_HAEMOGLOBIN: 60.0})
    bed.wait(12 * 3600)
    bed.draw({Q.PLASMA_FREE_HAEMOGLOBIN: 119.0})
    found = bed.derived("free_haemoglobin_trend")
    assert found.value == pytest.approx(118)
    assert "doubled" not in found.caution
    bed.wait(3600)
    bed.draw({Q.PLASMA_FREE_HAEMOGLOBIN: 120.0})
    assert (
        bed.derived("free_haemoglobin_trend").caution == "Over 13.0 h; At least doubled since 00:00: 60 to 120 mg/L"
    )
    bed.wait(11 * 3600 + 60)
    bed.draw({Q.PLASMA_FREE_HAEMOGLOBIN: 121.0})
    assert "doubled" not in bed.derived("free_haemoglobin_trend").caution  # more than a day after the first


def test_that_a_draw_is_due_after_its_interval_and_overdue_half_an_hour_later() -> None:
    bed = Watched()
    bed.draw({Q.ACT: 180.0})
    drawn = bed.now
    bed.wait(2 * 3600 + 1799)
    (lab,) = bed.meaning().labs
    assert (lab.due_at, lab.overdue) == (drawn + 2 * HOUR, False)
    bed.wait(1)
    assert bed.meaning().labs[0].overdue


def test_that_without_an_interval_nothing_is_ever_due() -> None:
    bed = Watched(laboratory=Laboratory(every_h={}))
    bed.draw({Q.ACT: 180.0})
    bed.wait(60 * 3600)
    (lab,) = bed.meaning().labs
    assert (lab.due_at, lab.overdue) == (None, False)


def test_that_assays_of_the_same_blood_stay_apart() -> None:
    bed = Watched()
    bed.draw({Q.APTT: 70.0, Q.ANTI_XA: 0.5, Q.ACT: 190.0, Q.APTT_RATIO: 2.0})
    labs = {lab.quantity: lab.value for lab in bed.meaning().labs}
    assert labs == {Q.ACT: 190.0, Q.APTT: 70.0, Q.APTT_RATIO: 2.0, Q.ANTI_XA: 0.5}
    assert not any("apt" in name or "xa" in name for name in bed.ids())


@pytest.mark.parametrize(
    ("quantity", "value", "notice"),
    [
        # Source: Lubnow 2014, PLoS One 9:e112316, Table 6; free haemoglobin also Appelt 2020.
        (Q.PLASMA_FREE_HAEMOGLOBIN, 501.0, "above 500 mg/L (M)"),
        (Q.PLASMA_FREE_HAEMOGLOBIN, 500.0, ""),
        (Q.LDH, 1001.0, "above 1000 U/L (M)"),
        (Q.D_DIMER, 26.0, "above 25 mg/L (M)"),
        (Q.FIBRINOGEN, 1.9, "below 2 g/L (M)"),
        (Q.FIBRINOGEN, 2.0, ""),
        (Q.PLATELETS, 49.0, "below 50 10⁹/L (M)"),
    ],
)
def test_that_a_remarkable_value_says_so_in_words_and_raises_nothing(
    quantity: Q, value: float, notice: str
) -> None:
    bed = Watched()
    bed.read()
    bed.draw({quantity: value})
    (lab,) = bed.meaning().labs
    assert (lab.notice, lab.previous) == (notice, None)
    assert bed.raised() == []


def test_that_the_strip_gives_the_draw_before() -> None:
    bed = Watched()
    for value in (95.0, 88.0, 84.0):
        bed.draw({Q.HAEMOGLOBIN: value})
        bed.wait(3600)
    (lab,) = bed.meaning().labs
    assert lab.previous is not None
    assert (lab.value, lab.previous.value, lab.at - lab.previous.at) == (84.0, 88.0, HOUR)


def test_that_a_laboratory_value_goes_into_no_other_run() -> None:
    bed = Watched("LV-Ao", '[[start]]\nbed = "B1"\nslot = 2\nsupport = "RA-PA-oxy"')
    bed.draw({Q.HAEMOGLOBIN: 95.0})
    bed.draw({Q.POST_OXYGENATOR_PO2: 300.0}, slot=2)
    assert [lab.quantity for lab in bed.meaning(1).labs] == [Q.HAEMOGLOBIN]
    assert [lab.quantity for lab in bed.meaning(2).labs] == [Q.HAEMOGLOBIN, Q.POST_OXYGENATOR_PO2]


def test_that_every_laboratory_quantity_has_its_place_in_the_strip() -> None:
    bed = Watched()
    bed.draw(dict.fromkeys(LABORATORY, 50.0) | {Q.ANTI_XA: 0.5, Q.APTT_RATIO: 2.0, Q.FIBRINOGEN: 3.0})
    assert tuple(lab.quantity for lab in bed.meaning().labs) == LABORATORY
