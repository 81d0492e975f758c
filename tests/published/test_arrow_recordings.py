"""Arrows on real recordings: seldom, more so where the pressure is flat, never across a gap, never the wrong way.

Source: PhysioNet/Computing in Cardiology Challenge 2009, numerics of MIMIC II, reformatted (Goldberger AL et al.,
Circulation 101(23):e215-e220, 2000; Saeed M et al., Crit Care Med 39(5):952-960, 2011): arterial pressure, one
value a minute. The project carries none of these files: a check is skipped where they are not at hand.
"""

from bisect import bisect_right
from collections.abc import Iterator
from dataclasses import dataclass
from functools import cache
from statistics import median

import pytest

from monitor.analysis.arrow import ARROW_LEVEL, ARROW_MS, Arrow, arrow_of, slope_over
from monitor.analysis.noise import noise_of
from monitor.core.meaning.sizes import digit_of, steep_change
from shared.instant import HOUR, MINUTE
from shared.quantities import Quantity as Q
from shared.recording import read_recording
from tests.helpers.recordings import MAP, at_hand, lines

RECORDS = ("a40764n", "a40834n", "a40006n", "a40076n", "a40277n", "a40306n")
PRESSURE = Q.MEAN_ARTERIAL_PRESSURE
#: mmHg between the first and the last five minutes of a window, below which it is flat (our choice).
FLAT = 3.0

pytestmark = [pytest.mark.slow, at_hand]


@dataclass(frozen=True, slots=True)
class Moment:
    """An arrow at the end of a quarter of an hour: how far that moved, and how many of its minutes were read."""

    arrow: Arrow
    moved: float
    read: int


@cache
def moments(record: str) -> tuple[Moment, ...]:
    rows = read_recording(lines(record), MAP).rows
    known = {round(row.t) // 60: row.values[PRESSURE] for row in rows if PRESSURE in row.values}
    blocks = [(number * MINUTE + MINUTE // 2, value) for number, value in sorted(known.items())]
    return tuple(_moments(blocks))


def _moments(blocks: list[tuple[int, float]]) -> Iterator[Moment]:
    times = [at for at, _ in blocks]
    for end in range(times[0] // MINUTE * MINUTE + 2 * HOUR, times[-1], MINUTE):
        past = blocks[bisect_right(times, end - 2 * HOUR) : bisect_right(times, end)]
        slope = slope_over(past, end, ARROW_MS, MINUTE, ARROW_LEVEL)
        arrow = arrow_of(slope, noise_of(past, MINUTE, digit_of(PRESSURE)), steep_change(PRESSURE))
        values = [value for at, value in past if at > end - ARROW_MS]
        moved = median(values[-5:]) - median(values[:5]) if values else 0.0
        yield Moment(arrow, moved, len(values))


@pytest.mark.parametrize("record", RECORDS)
def test_that_an_arrow_is_seldom_and_seldomer_on_flat_stretches(record: str) -> None:
    """Measured on 20.6 bed-days: 2.5 to 4.3 % of the time, 0.3 to 1.7 % of flat quarters; half of them steep."""
    read = [one for one in moments(record) if one.read >= 12]
    flat = [one for one in read if abs(one.moved) < FLAT]
    assert len(flat) > 1_000
    share = sum(one.arrow is not Arrow.NONE for one in read) / len(read)
    on_flat = sum(one.arrow is not Arrow.NONE for one in flat) / len(flat)
    assert 0.01 <= share <= 0.08
    assert on_flat <= 0.03
    assert on_flat < share / 2


@pytest.mark.parametrize("record", RECORDS)
def test_that_no_window_with_a_gap_of_four_minutes_has_an_arrow(record: str) -> None:
    assert all(one.arrow is Arrow.NONE for one in moments(record) if one.read < 12)


def test_that_an_arrow_never_points_against_a_clear_move() -> None:
    """A move of 10 mmHg and more between first and last five minutes; measured: no arrow points against it."""
    clear = [one for record in RECORDS for one in moments(record) if abs(one.moved) >= 10 and one.read >= 12]
    pointing = [one for one in clear if one.arrow is not Arrow.NONE]
    assert len(pointing) > 100
    assert not [one for one in pointing if one.arrow * one.moved < 0]
