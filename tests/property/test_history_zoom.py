"""A spike survives every zoom: columns of any width hold the true extremes, from the record to the desk."""

from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from tempfile import TemporaryDirectory

from hypothesis import given, settings
from hypothesis import strategies as st

from monitor.core.wire import Column
from monitor.desk.series import Series
from monitor.record import Batch, Record
from shared.quantities import Quantity as Q
from tests.helpers.inputs import AT, observed

#: Readings as seconds from the start and value: any gaps, any order of times in the list.
READINGS = st.lists(
    st.tuples(st.integers(0, 4_000), st.integers(-40, 40).map(float)),
    min_size=1,
    max_size=60,
    unique_by=lambda reading: reading[0],
)
#: Widths in ms that a zoom may ask for, from less than a reading to more than all of them.
WIDTHS = st.sampled_from([100, 1_000, 1_500, 7_000, 30_000, 90_000, 259_000, 600_000, 5_000_000, 86_400_000])
WINDOW = (AT - 10_000, AT + 4_100_000)
PLACE = ("B1", 1)


@contextmanager
def recorded(readings: list[tuple[int, float]]) -> Iterator[Record]:
    with TemporaryDirectory() as folder:
        record = Record.open(Path(folder) / "unit.record")
        try:
            told = enumerate(readings, 1)
            record.append(
                Batch([observed(n, read_at=AT + 1000 * t, readings={Q.PUMP_FLOW: v}) for n, (t, v) in told])
            )
            yield record
        finally:
            record.close()


def columns(record: Record, width: int, span: tuple[int, int] = WINDOW) -> tuple[Column, ...]:
    return record.history(PLACE, (Q.PUMP_FLOW,), span, width).get(Q.PUMP_FLOW, ())


@settings(max_examples=40)
@given(READINGS, st.lists(WIDTHS, min_size=1, max_size=4, unique=True), st.integers(0, 59))
def test_that_a_spike_stands_at_its_full_height_in_every_zoom(
    readings: list[tuple[int, float]], widths: list[int], place: int
) -> None:
    """One reading of 99 among others of at most 40 is the largest of its column and of no other at any width."""
    when, _ = readings[place % len(readings)]
    spiked = [(t, 99.0 if t == when else v) for t, v in readings]
    with recorded(spiked) as record:
        for width in widths:
            high = [column.at for column in columns(record, width) if column.high == 99.0]
            assert high == [(AT + 1000 * when) // width * width]


@settings(max_examples=40)
@given(READINGS, WIDTHS)
def test_that_every_column_is_what_a_plain_count_gives_and_a_gap_is_none(
    readings: list[tuple[int, float]], width: int
) -> None:
    wanted: dict[int, list[float]] = {}
    for t, value in sorted(readings):
        wanted.setdefault((AT + 1000 * t) // width * width, []).append(value)
    with recorded(readings) as record:
        found = columns(record, width)
    assert found == tuple(
        Column(at=at, low=min(values), high=max(values), last=values[-1]) for at, values in wanted.items()
    )


@settings(max_examples=40)
@given(READINGS, st.sampled_from([1_000, 7_000, 30_000]), st.integers(2, 20))
def test_that_columns_of_columns_are_the_columns(readings: list[tuple[int, float]], width: int, times: int) -> None:
    """Zooming out of what was zoomed in gives the same as asking for the wide columns at once."""
    with recorded(readings) as record:
        fine, coarse = columns(record, width), columns(record, width * times)
    wide = width * times
    joined: dict[int, Column] = {}
    for column in fine:
        at = column.at // wide * wide
        before = joined.get(at, column)
        low, high = min(before.low, column.low), max(before.high, column.high)
        joined[at] = Column(at=at, low=low, high=high, last=column.last)
    assert tuple(joined.values()) == coarse


@settings(max_examples=40)
@given(READINGS, st.sampled_from([1_000, 7_000, 30_000]))
def test_that_a_desk_that_listened_has_the_columns_of_one_that_asked(
    readings: list[tuple[int, float]], width: int
) -> None:
    """The ring that grows with readings and the ring filled from the record: the same extremes, the same gaps."""
    listened, asked = Series(width, 5_000), Series(width, 5_000)
    for t, value in readings:
        listened.add(AT + 1000 * t, value)
    with recorded(readings) as record:
        asked.merge(columns(record, width))
    one, two = listened.window(AT + 4_000_000), asked.window(AT + 4_000_000)
    for ours, theirs in ((one.low, two.low), (one.high, two.high), (one.last, two.last)):
        assert ours.tobytes() == theirs.tobytes()
