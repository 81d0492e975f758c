"""Packed frames and lean history: what a thin line says in fewer bytes is what was to be said."""

import zlib
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from monitor.core.lean import LEAN_REPLIES, LeanSeries, history_of, lean_of
from monitor.core.point_marks import PointMark
from monitor.core.wire import REQUESTS, AskSnapshot, Column, History
from shared.frames import BODY_LIMIT, HEADER, PACKED_HEADER, FrameRefused, decode, encode
from shared.messages import RefusalReason
from shared.quantities import CATALOGUE
from shared.quantities import Quantity as Q

WIDTH = 180_000


def history(count: int, quantities: tuple[Q, ...], seed: int = 3) -> History:
    dice = np.random.default_rng(seed)
    series = {}
    for quantity in quantities:
        spec = CATALOGUE[quantity]
        size = 20 * 10.0**-spec.decimals
        walk = (spec.low + spec.high) / 2 + np.cumsum(dice.normal(0, size / 20, count))
        low, high = walk - dice.exponential(size / 4, count), walk + dice.exponential(size / 4, count)
        rows = zip(walk.tolist(), low.tolist(), high.tolist(), strict=True)
        series[quantity] = tuple(
            Column(at=(10_000_000 + n) * WIDTH, low=lo, high=hi, last=la) for n, (la, lo, hi) in enumerate(rows)
        )
    return History(request="h", bed="B1", slot=1, width_ms=WIDTH, series=series)


@given(
    columns=st.lists(
        st.tuples(st.integers(1, 400), st.floats(-100, 700), st.floats(0, 50), st.floats(0, 50), st.booleans()),
        max_size=60,
    )
)
@settings(deadline=None, max_examples=60)
def test_that_a_lean_history_is_the_history_to_a_hundredth_of_the_digit_shown(columns: list[Any]) -> None:
    made, number = [], 9_000_000
    for step, last, below, above, late in columns:
        number += step
        marks = frozenset({PointMark.LATE}) if late else None
        made.append(Column(at=number * WIDTH, low=last - below, high=last + above, last=last, marks=marks))
    before = History(request="h", bed="B1", slot=1, width_ms=WIDTH, series={Q.INLET_PRESSURE: tuple(made)})
    _, told = decode(encode("hub", lean_of(before), packed=True), LEAN_REPLIES, packed=True)
    after = history_of(told)  # type: ignore[arg-type]
    assert {**dict(after), "series": None} == {**dict(before), "series": None}
    for one, other in zip(after.series[Q.INLET_PRESSURE], made, strict=True):
        assert (one.at, one.marks) == (other.at, other.marks)
        for what in ("low", "high", "last"):
            assert getattr(one, what) == pytest.approx(getattr(other, what), abs=0.0051)


def test_that_a_days_trend_of_a_bed_is_at_most_30_kb_on_the_wire() -> None:
    """Eight noisy quantities in the 480 columns of a bed's page; as plain JSON it is fourteen times that."""
    quantities = (
        Q.PUMP_FLOW, Q.PUMP_SPEED, Q.INLET_PRESSURE, Q.PRE_OXYGENATOR_PRESSURE,
        Q.POST_OXYGENATOR_PRESSURE, Q.MEAN_ARTERIAL_PRESSURE, Q.SWEEP_GAS_FLOW, Q.PULSE_PRESSURE,
    )  # fmt: skip
    day = history(480, quantities)
    assert sum(map(len, encode("hub", day))) > 300_000
    assert sum(map(len, encode("hub", lean_of(day), packed=True))) <= 30_000


def test_that_packed_frames_are_taken_only_where_asked_for_and_never_unpack_beyond_a_body() -> None:
    said = AskSnapshot(request="s")
    packed = encode("desk", said, packed=True)
    assert (
        decode(packed, REQUESTS, packed=True)[1] == decode(encode("desk", said), REQUESTS, packed=True)[1] == said
    )
    bomb = zlib.compress(b" " * (BODY_LIMIT * 30), 9)
    whole = packed[2]
    for parts, taken, reason in (
        (packed, False, RefusalReason.WRONG_VERSION),
        ([b"desk", PACKED_HEADER, bomb], True, RefusalReason.OVERSIZED),
        ([b"desk", PACKED_HEADER, whole[:-3]], True, RefusalReason.MALFORMED),
        ([b"desk", PACKED_HEADER, whole + b"x"], True, RefusalReason.MALFORMED),
        ([b"desk", PACKED_HEADER, b"no zlib"], True, RefusalReason.MALFORMED),
        ([b"desk", HEADER, whole], True, RefusalReason.MALFORMED),
    ):
        with pytest.raises(FrameRefused) as refused:
            decode(parts, REQUESTS, packed=taken)
        assert refused.value.reason is reason


def test_that_a_lean_series_whose_parts_are_not_equally_long_is_refused() -> None:
    with pytest.raises(ValueError, match="must be equally long"):
        LeanSeries(steps=(1, 2), last=(1, 2), below=(0, 0), above=(0,))
