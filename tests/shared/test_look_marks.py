"""The marks are told apart by shape alone, at the smallest sizes they are drawn.

Ceilings of overlap and the order of mass are the project's own figures.
"""

from functools import cache
from itertools import combinations

import numpy as np
import numpy.typing as npt
import pytest

from shared.look.marks import GRID, MARKS, Mark, Ring, mark_of
from shared.look.need import Need

Raster = npt.NDArray[np.float64]
FINE = 8
NEED_MARKS = [mark_of(need) for need in Need]


def inside(rings: tuple[Ring, ...], xs: Raster, ys: Raster) -> npt.NDArray[np.bool_]:
    """Odd-even rule: a point is inside when a ray to its right crosses the rings an odd number of times."""
    across, down = np.meshgrid(xs, ys)
    found = np.zeros(across.shape, dtype=bool)
    for ring in rings:
        for (x1, y1), (x2, y2) in zip(ring, ring[1:] + ring[:1], strict=True):
            if y1 != y2:
                found ^= ((y1 <= down) != (y2 <= down)) & (across < x1 + (down - y1) * (x2 - x1) / (y2 - y1))
    return found


@cache
def centre_and_mass(mark: Mark) -> tuple[float, float, float]:
    steps = (np.arange(480) + 0.5) * GRID / 480
    filled = inside(MARKS[mark], steps, steps)
    ys, xs = np.nonzero(filled)
    return float(steps[xs].mean()), float(steps[ys].mean()), float(filled.mean())


@cache
def silhouette(mark: Mark, px: int) -> Raster:
    """Share of each pixel that the mark covers, its centroid in the middle of a field of 2 px x 2 px."""
    x, y, _ = centre_and_mass(mark)
    steps = (np.arange(2 * px * FINE) + 0.5) / FINE * GRID / px - GRID
    fine = inside(MARKS[mark], steps + x, steps + y)
    blocks: Raster = fine.reshape(2 * px, FINE, 2 * px, FINE).mean(axis=(1, 3))
    return blocks


def overlap(one: Mark, two: Mark, px: int) -> float:
    first, second = silhouette(one, px), silhouette(two, px)
    return float(np.minimum(first, second).sum() / np.maximum(first, second).sum())


@pytest.mark.parametrize(("mark", "mass"), [
    (Mark.HIGH_CIRCUIT, 0.68), (Mark.HIGH, 0.50), (Mark.MEDIUM, 0.43), (Mark.LOW, 0.19), (Mark.TECHNICAL, 0.37),
])  # fmt: skip
def test_that_mass_falls_with_the_need(mark: Mark, mass: float) -> None:
    assert centre_and_mass(mark)[2] == pytest.approx(mass, abs=0.0051)


@pytest.mark.parametrize("px", [14, 16])
def test_that_no_two_marks_overlap_too_much_when_small(px: int) -> None:
    overlaps = {(a, b): overlap(a, b, px) for a, b in combinations(Mark, 2)}
    assert len(overlaps) == 105
    assert {pair: value for pair, value in overlaps.items() if value > 0.75} == {}


def test_that_the_printed_overlaps_come_out_at_16_px() -> None:
    assert overlap(Mark.HIGH, Mark.TAKEN, 16) == pytest.approx(0.60, abs=0.01)
    assert overlap(Mark.HIGH_CIRCUIT, Mark.MEDIUM, 16) == pytest.approx(0.52, abs=0.01)
    assert overlap(Mark.HIGH, Mark.MEDIUM, 16) == pytest.approx(0.44, abs=0.01)
    assert overlap(Mark.HIGH_CIRCUIT, Mark.HIGH, 16) == pytest.approx(0.43, abs=0.01)
    assert overlap(Mark.HIGH_CIRCUIT, Mark.TECHNICAL, 16) == pytest.approx(0.42, abs=0.01)


def test_that_needs_are_further_apart_than_the_rest() -> None:
    others = [overlap(a, b, 16) for a, b in combinations(NEED_MARKS, 2)]
    assert max(others) < 0.53
    assert sorted(others)[-5] <= 0.31


def test_that_a_mark_overlaps_itself_wholly() -> None:
    assert overlap(Mark.HIGH, Mark.HIGH, 16) == 1.0


def test_that_every_mark_stays_within_its_grid() -> None:
    assert set(MARKS) == set(Mark)
    for rings in MARKS.values():
        for ring in rings:
            assert all(0 <= x <= GRID and 0 <= y <= GRID for x, y in ring)


def test_that_the_empty_frame_is_its_own_mirror_image() -> None:
    steps = (np.arange(96) + 0.5) * GRID / 96
    filled = inside(MARKS[Mark.NOT_JUDGED], steps, steps)
    assert (filled == filled[::-1]).all()
    assert (filled == filled[:, ::-1]).all()


def test_that_the_tally_has_its_hole() -> None:
    middle = np.array([12.0])
    assert not inside(MARKS[Mark.TAKEN], middle, np.array([10.4]))[0, 0]
    assert inside(MARKS[Mark.TAKEN], middle, np.array([16.0]))[0, 0]


@pytest.mark.parametrize(("mark", "top", "bottom"), [(Mark.LOW, 6.1, 17.9), (Mark.SEEN, 6.0, 18.4)])
def test_that_the_curves_are_as_high_as_their_formula(mark: Mark, top: float, bottom: float) -> None:
    """Ripple: 12 less and more 3.4 and half of 5. Lid: its centre less 11, and the lower edge of its square."""
    ys = [y for ring in MARKS[mark] for _, y in ring]
    assert (min(ys), max(ys)) == pytest.approx((top, bottom), abs=0.02)
