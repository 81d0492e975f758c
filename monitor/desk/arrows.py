"""The arrow beside a number on a tile, worked out of the columns of its own trend by the hub's own analysis."""

import numpy as np

from monitor.analysis.arrow import ARROW_LEVEL, ARROW_MS, Arrow, arrow_of, may_point, slope_over
from monitor.analysis.noise import noise_of
from monitor.core.meaning.sizes import digit_of, steep_change
from monitor.desk.series import SeriesWindow
from shared.quantities import Quantity


def arrow_in(window: SeriesWindow, quantity: Quantity) -> Arrow:
    """Give the arrow at the end of a window of columns.

    The value of a column is the middle of its extremes. The newest column is still being filled and does not count.
    A column without a reading is a gap; a window with too many of them has no arrow.
    """
    middles = (window.low[:-1] + window.high[:-1]) / 2
    width = window.width_ms
    known = np.flatnonzero(~np.isnan(middles)).tolist()
    blocks = [(window.begin + n * width + width // 2, float(middles[n])) for n in known]
    end = window.begin + (len(window.low) - 1) * width
    if not may_point(blocks, end, ARROW_MS, width, ARROW_LEVEL):  # nearly always
        return Arrow.NONE
    slope = slope_over(blocks, end, ARROW_MS, width, ARROW_LEVEL)
    if slope is None:
        return Arrow.NONE
    return arrow_of(slope, noise_of(blocks, width, digit_of(quantity)), steep_change(quantity))
