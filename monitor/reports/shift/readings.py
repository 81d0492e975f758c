"""From readings to the figures of a quantity over some hours, and to medians of minutes. Nothing is filled in."""

import numpy as np
from numpy.typing import NDArray

from monitor.analysis.minutes import LEAST_FILLED
from monitor.core.outside_target import OutsideTarget
from monitor.record.hours_reading import ReadingSeries
from monitor.reports.shift.figures import Minutes, QuantityFigures
from monitor.reports.shift.runs import RunSpan
from shared.instant import MINUTE, Instant
from shared.quantities import Quantity as Q

#: The first and the last half hour are what is compared.
_COMPARED = 30 * MINUTE
#: Number of each minute with sound readings, its median, and how many there were.
Medians = tuple[NDArray[np.int64], NDArray[np.float64], NDArray[np.int64]]
Band = tuple[float | None, float | None]


def medians_of(series: ReadingSeries) -> Medians:
    """Give the median of each minute, minutes counted from 1970 UTC."""
    numbers, values = series.times[series.sound] // MINUTE, series.values[series.sound]
    order = np.lexsort((values, numbers))
    numbers, values = numbers[order], values[order]
    minutes, starts, counts = np.unique(numbers, return_index=True, return_counts=True)
    low, high = values[starts + (counts - 1) // 2], values[starts + counts // 2]
    return minutes, (low + high) / 2, counts


def figures_of(
    quantity: Q, series: ReadingSeries, span: RunSpan, hours: tuple[Instant, Instant], widths: OutsideTarget,
    interval_ms: int,
) -> QuantityFigures:  # fmt: skip
    """Give what was read of a quantity in ``hours`` (begin, end); ``interval_ms``: how often one is due."""
    begin, end = hours
    times, values = series.times[series.sound], series.values[series.sound]
    read = len(values) > 0
    return QuantityFigures(
        quantity=quantity,
        readings=len(values),
        low=float(values.min()) if read else None,
        median=float(np.median(values)) if read else None,
        high=float(values.max()) if read else None,
        first=_median(values[times < begin + _COMPARED]),
        last=_median(values[times >= end - _COMPARED]),
        minutes=_minutes(quantity, series, span, hours, widths, interval_ms) if quantity in _COUNTED else None,
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
    quantity: Q, series: ReadingSeries, span: RunSpan, hours: tuple[Instant, Instant], widths: OutsideTarget,
    interval_ms: int,
) -> Minutes:  # fmt: skip
    first, last = -(-hours[0] // MINUTE), hours[1] // MINUTE
    minutes, medians, counts = medians_of(series)
    least = max(1.0, LEAST_FILLED * MINUTE / interval_ms)
    judged = outside = 0
    for number, value, count in zip(minutes.tolist(), medians.tolist(), counts.tolist(), strict=True):
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
    return float(np.median(values)) if len(values) else None
