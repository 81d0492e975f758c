"""Indices of haemolysis, lactate clearance and the one-pole filter."""

import pytest

from shared.physics import filters, haemolysis, lactate


def test_that_the_normalized_index_follows_astm_f1841() -> None:
    # Source: ASTM F1841, from memory.
    assert haemolysis.normalized_index(0.10, 0.5, 30, 5, 240) == pytest.approx(0.00291667, abs=1e-8)


def test_that_the_modified_index_follows_astm_f1841() -> None:
    # Source: ASTM F1841, from memory; relation to the other index in Mizuguchi 1994, Artif Organs 18:650.
    assert haemolysis.modified_index(100, 0.5, 30, 5, 240, 100_000) == pytest.approx(0.291667, abs=1e-6)


def test_that_lactate_clearance_and_half_life_follow_their_definitions() -> None:
    # Source: definitions, recomputed.
    assert lactate.clearance(8, 5) == pytest.approx(0.375)
    assert lactate.clearance(8, 5) / 6 == pytest.approx(0.0625)
    assert lactate.half_life(8, 3, 6) == pytest.approx(4.2402, abs=1e-4)


def test_that_the_ten_per_cent_mark_of_nguyen_2004_is_a_fall_from_8_to_7_2() -> None:
    # Source: >= 10 % in 6 h, Nguyen 2004 (from memory).
    assert lactate.clearance(8.0, 7.2) == pytest.approx(0.10)


@pytest.mark.parametrize("second", [8.0, 9.0, 0.0])
def test_that_lactate_which_did_not_fall_has_no_half_life(second: float) -> None:
    with pytest.raises(ValueError, match="did not fall"):
        lactate.half_life(8.0, second, 6)


def test_that_the_filter_moves_by_its_gain_each_second() -> None:
    # Source: 1 - exp(-1 / 30) = 0.0327839.
    assert filters.one_pole_gain(1, 30) == pytest.approx(0.0327839, abs=1e-7)
    assert filters.one_pole(0.0, 1.0, 1, 30) == pytest.approx(0.0327839, abs=1e-7)
    value = 0.0
    for _ in range(30):
        value = filters.one_pole(value, 1.0, 1, 30)
    assert value == pytest.approx(1 - 2.718281828459045**-1)


def test_that_free_haemoglobin_which_doubles_in_a_day_doubles_in_24_hours() -> None:
    # Source: definition. Doubling within 24 h: common practice, no source.
    assert haemolysis.doubling_hours(60, 120, 24) == pytest.approx(24)
    assert haemolysis.doubling_hours(60, 120, 6) == pytest.approx(6)
    assert haemolysis.doubling_hours(50, 200, 24) == pytest.approx(12)
    assert haemolysis.change_per_day(60, 120, 12) == pytest.approx(120)


@pytest.mark.parametrize("second", [60.0, 30.0])
def test_that_free_haemoglobin_which_did_not_rise_does_not_double(second: float) -> None:
    with pytest.raises(ValueError, match="did not rise"):
        haemolysis.doubling_hours(60.0, second, 24)
