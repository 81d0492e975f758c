"""Body surface by both published formulas, and the flow index."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from shared.physics import body

# Source: Mosteller, N Engl J Med 1987;317:1098 (from memory), recomputed.
MOSTELLER = [(170, 70, 1.81812), (180, 95, 2.17945), (155, 50, 1.46723)]
# Source: Du Bois and Du Bois 1916, Arch Intern Med 17:863 (from memory), recomputed.
DU_BOIS = [(170, 70, 1.80971), (180, 95, 2.14769), (155, 50, 1.46696)]

HEIGHTS, WEIGHTS = st.floats(140, 210), st.floats(40, 160)


@pytest.mark.parametrize(("height", "weight", "area"), MOSTELLER)
def test_that_the_surface_follows_mosteller(height: float, weight: float, area: float) -> None:
    assert body.mosteller(height, weight) == pytest.approx(area, abs=1e-4)


@pytest.mark.parametrize(("height", "weight", "area"), DU_BOIS)
def test_that_the_surface_follows_du_bois(height: float, weight: float, area: float) -> None:
    assert body.du_bois(height, weight) == pytest.approx(area, abs=1e-4)


def test_that_a_flow_index_is_the_flow_for_each_square_metre() -> None:
    # Source: definition, recomputed: 4.0 L/min at 170 cm and 70 kg.
    assert body.indexed(4.0, body.mosteller(170, 70)) == pytest.approx(2.20008, abs=1e-4)


@given(st.floats(145, 205), st.floats(18, 30))
def test_that_both_formulas_agree_closely_on_adults_of_usual_build(height: float, mass_index: float) -> None:
    # Common practice, no source: the formulas stand for each other there. The width is the docstring's.
    weight = mass_index * (height / 100) ** 2
    assert body.du_bois(height, weight) == pytest.approx(body.mosteller(height, weight), rel=0.035)


def test_that_the_formulas_part_on_very_heavy_adults() -> None:
    # 140 cm and 150 kg, recomputed from both formulas: 2.4152 and 2.1734 m2.
    assert body.mosteller(140, 150) == pytest.approx(2.4152, abs=1e-4)
    assert body.du_bois(140, 150) == pytest.approx(2.1734, abs=1e-4)


@given(HEIGHTS, WEIGHTS, st.floats(1.01, 1.5))
def test_that_more_height_or_weight_is_more_surface(height: float, weight: float, more: float) -> None:
    for formula in (body.mosteller, body.du_bois):
        assert formula(height * more, weight) > formula(height, weight)
        assert formula(height, weight * more) > formula(height, weight)


@given(HEIGHTS, WEIGHTS)
def test_that_mosteller_is_the_geometric_law_in_si_units(height: float, weight: float) -> None:
    # Source: the same formula in metres: sqrt(h[m] w[kg]) / 6.
    assert body.mosteller(height, weight) == pytest.approx((height / 100 * weight) ** 0.5 / 6)
