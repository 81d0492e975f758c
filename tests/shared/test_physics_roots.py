"""The bracketing root finder against scipy and on its refusals."""

import math
from collections.abc import Callable

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.optimize import brentq

from shared.physics.roots import find_root


@pytest.mark.parametrize(
    "function", [lambda x: x**3 - 2, lambda x: math.exp(x) - 5, lambda x: x * abs(x) + 0.01 * x - 1]
)
def test_that_roots_agree_with_scipy(function: Callable[[float], float]) -> None:
    assert find_root(function, -3, 9) == pytest.approx(brentq(function, -3, 9, xtol=1e-12), abs=1e-7)


@given(root=st.floats(-9, 9), bend=st.floats(0, 50), slope=st.floats(0.5, 200))
def test_that_every_rising_loss_curve_gives_up_its_root(root: float, bend: float, slope: float) -> None:
    def rising(x: float) -> float:
        return slope * (x - root) + bend * (x * abs(x) - root * abs(root))

    assert find_root(rising, -10, 10) == pytest.approx(root, abs=1e-6)


def test_that_a_root_at_an_end_is_found() -> None:
    assert find_root(lambda x: x - 1, 1, 3) == 1
    assert find_root(lambda x: x - 3, 1, 3) == 3


def test_that_a_bracket_without_a_root_is_refused() -> None:
    with pytest.raises(ValueError, match="no change of sign"):
        find_root(lambda x: x * x + 1, -1, 1)
