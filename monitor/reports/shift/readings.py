"""From readings to the figures of a quantity over some hours, and to medians of minutes. Nothing is filled in."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from monitor.analysis.minutes import LEAST_FILLED
from monitor.core.outside_target import OutsideTarget
from monitor.core.point_marks import Marks, PointMark
from monitor.record.hours_reading import ReadingSeries, bit_of
from monitor.reports.shift.figures import Minutes, QuantityFigures
from monitor.reports.shift.runs import RunSpan
from shared.instant import MINUTE, Instant
from shared.quantities import Quantity as Q

#: The first and the last half hour are what is compared.
_COMPARED = 30 * MINUTE
_SQUARES_MS = 15 * MINUTE
#: Number of each minute with sound readings, its median, and how many there were.
Medians = tuple[NDArray[np.int64], NDArray[np.float64], NDArray[np.int64]]
Band = tuple[float | None, float | None]


@dataclass(frozen=True, slots=True)
class Drawn:
    """What a small trend is drawn of.

    Attributes:
        measured: medians of minutes of what a feed measured; ``estimated``: of what it estimated.
        dots: what was entered by hand: when it was read, its value and its marks. Doubtful readings are the same.
    """

    measured: Medians
    estimated: Medians
    dots: tuple[tuple[Instant, float, Marks], ...]


def drawn_of(series: ReadingSeries, medians: Medians) -> Drawn:
    """Part a series by how its readings came in; of doubtful ones, the last of each quarter of an hour.

    Args:
        medians: those of ``series``.
    """
    if not series.marks.any():  # all of it was measured, by a feed
        return Drawn(medians, _medians(series, series.marks > 0), ())
    hand, doubtful = series.with_mark(PointMark.BY_HAND), series.with_mark(PointMark.DOUBTFUL)
    guessed = series.with_mark(PointMark.ESTIMATED) & ~hand & ~doubtful
    dots = {}
    for place in np.flatnonzero(hand | doubtful).tolist():
        at, value = int(series.times[place]), float(series.values[place])
        marks = frozenset(mark for mark in PointMark if series.marks[place] & bit_of(mark))
        dots[at if hand[place] else at // _SQUARES_MS, marks] = (at, value, marks)
    found = tuple(sorted(dots.values(), key=lambda dot: dot[0]))
    return Drawn(_medians(series, ~hand & ~doubtful & ~guessed), _medians(series, guessed), found)


def medians_of(series: ReadingSeries) -> Medians:
    """Give the median of each minute of what is sound, minutes counted from 1970 UTC."""
    return _medians(series, series.sound)


def _medians(series: ReadingSeries, which: NDArray[np.bool_]) -> Medians:
    numbers, values = series.times[which] // MINUTE, series.values[which]
    order = np.lexsort((values, numbers))
    numbers, values = numbers[order], values[order]
    minutes, starts, counts = np.unique(numbers, return_index=True, return_counts=True)
    low, high = values[starts + (counts - 1) // 2], values[starts + counts // 2]
    return minutes, (low + high) / 2, counts


def figures_of(
    quantity: Q, series: ReadingSeries, medians: Medians, span: RunSpan, hours: tuple[Instant, Instant],
    widths: OutsideTarget, interval_ms: int,
) -> QuantityFigures:  # fmt: skip
    """Give what was read of a quantity in ``hours`` (begin, end).

    Args:
        medians: those of ``series``.
        interval_ms: how often a reading is due.
    """
    begin, end = hours
    times, values = series.times[series.sound], series.values[series.sound]
    read = len(values) > 0
    return QuantityFigures(
        quantity=quantity,
        readings=len(values),
        low=float(values.min()) if read else None,
        median=_median(values),
        high=float(values.max()) if read else None,
        first=_median(values[times < begin + _COMPARED]),
        last=_median(values[times >= end - _COMPARED]),
        minutes=_minutes(quantity, series, medians, span, hours, widths, interval_ms)
        if quantity in _COUNTED
        else None,
    )


_COUNTED = (Q.PUMP_FLOW, Q.MEAN_ARTERIAL_PRESSURE, Q.SPO2_RIGHT_HAND, Q.INLET_PRESSURE)


def band_at(quantity: Q, span: RunSpan, at: Instant, widths: OutsideTarget) -> Band | None:
    """Give the bounds within target at a moment; ``None``: no target stands, or nothing is counted of it."""
    if quantity is Q.INLET_PRESSURE:
        return widths.inlet_below, None
    aim = span.aim(quantity, at)
    if aim is None:
        return None
    if quantity is Q.PUMP_FLOW:
        return aim.value * (1 - widths.flow_share), aim.value * (1 + widths.flow_share)
    if quantity is Q.MEAN_ARTERIAL_PRESSURE:
        return aim.value - widths.map_by, aim.value + widths.map_by
    return (aim.value - widths.spo2_by, None) if quantity is Q.SPO2_RIGHT_HAND else None


def _minutes(
    quantity: Q, series: ReadingSeries, medians: Medians, span: RunSpan, hours: tuple[Instant, Instant],
    widths: OutsideTarget, interval_ms: int,
) -> Minutes:  # fmt: skip
    first, last = -(-hours[0] // MINUTE), hours[1] // MINUTE
    minutes, values, counts = medians
    least = max(1.0, LEAST_FILLED * MINUTE / interval_ms)
    judged = outside = 0
    for number, value, count in zip(minutes.tolist(), values.tolist(), counts.tolist(), strict=True):
        band = band_at(quantity, span, (number + 1) * MINUTE, widths)
        if band is None or count < least or not first <= number < last:
            continue
        judged += 1
        low, high = band
        outside += (low is not None and value < low) or (high is not None and value > high)
    every = np.unique(series.times // MINUTE)
    read = int(((every >= first) & (every < last)).sum())
    whole = max(0, last - first)
    low, high = band_at(quantity, span, hours[1], widths) or (None, None)
    return Minutes(whole, outside, judged, read - judged, whole - read, low, high)


def _median(values: NDArray[np.float64]) -> float | None:
    """Give the median; numpy's own would load a module of which nothing else here has need."""
    if not len(values):
        return None
    low, high = (len(values) - 1) // 2, len(values) // 2
    found = np.partition(values, (low, high))
    return float(found[low] + found[high]) / 2
