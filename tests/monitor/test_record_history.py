"""Series from the record, checked against a plain count over the same readings."""

import random
from collections.abc import Iterator
from pathlib import Path

import pytest

from monitor.core.wire import Column
from monitor.record import Batch, Record
from shared.quantities import Quantity as Q
from tests.helpers.inputs import AT, observed


@pytest.fixture
def record(tmp_path: Path) -> Iterator[Record]:
    opened = Record.open(tmp_path / "unit.record")
    yield opened
    opened.close()


def test_that_columns_hold_the_smallest_largest_and_last_of_their_readings(record: Record) -> None:
    flows = [4.2, 4.6, 4.0, 4.3]
    record.append(
        Batch([observed(n, read_at=AT + 500 * n, readings={Q.PUMP_FLOW: flow}) for n, flow in enumerate(flows, 1)])
    )
    series = record.history(("B1", 1), (Q.PUMP_FLOW, Q.LACTATE), (AT, AT + 10_000), 1000)
    assert series == {
        Q.PUMP_FLOW: (
            Column(at=AT, low=4.2, high=4.2, last=4.2),
            Column(at=AT + 1000, low=4.0, high=4.6, last=4.0),
            Column(at=AT + 2000, low=4.3, high=4.3, last=4.3),
        )
    }


def test_that_a_gap_is_a_missing_column(record: Record) -> None:
    record.append(Batch([observed(n) for n in (1, 2, 60, 61)]))
    series = record.history(("B1", 1), (Q.PUMP_FLOW,), (AT, AT + 120_000), 10_000)
    assert [column.at for column in series[Q.PUMP_FLOW]] == [AT, AT + 60_000]


def test_that_begin_is_included_and_end_is_not(record: Record) -> None:
    record.append(Batch([observed(n) for n in range(1, 6)]))
    series = record.history(("B1", 1), (Q.PUMP_FLOW,), (AT + 2000, AT + 4000), 1000)
    assert [column.at for column in series[Q.PUMP_FLOW]] == [AT + 2000, AT + 3000]


def test_that_a_place_or_a_quantity_that_was_never_read_has_no_series(record: Record) -> None:
    record.append(Batch([observed(1)]))
    assert record.history(("B9", 1), (Q.PUMP_FLOW,), (AT, AT + 9000), 1000) == {}
    assert record.history(("B1", 2), (Q.PUMP_FLOW,), (AT, AT + 9000), 1000) == {}
    assert record.history(("B1", 1), (Q.LACTATE,), (AT, AT + 9000), 1000) == {}


def test_that_reading_page_by_page_gives_what_a_plain_count_gives(record: Record) -> None:
    """Random readings of two layouts, told in any order, some at the same time."""
    random.seed(20)
    told: list[tuple[int, dict[Q, float]]] = []
    for n in range(1, 400):
        readings = {Q.PUMP_FLOW: random.uniform(-2, 6)}
        if n % 3:
            readings = {Q.INLET_PRESSURE: random.uniform(-200, 50), **readings}
        told.append((AT + random.randrange(0, 300_000, 500), readings))
    record.append(Batch([observed(n, read_at=at, readings=r) for n, (at, r) in enumerate(told, 1)]))
    reading = record.read_history(("B1", 1), (Q.PUMP_FLOW, Q.INLET_PRESSURE), (AT, AT + 300_000), 7000)
    steps = 1
    while not reading.step(rows=17):
        steps += 1
    assert steps == 1 + len(told) // 17
    series = reading.series()
    for quantity in (Q.PUMP_FLOW, Q.INLET_PRESSURE):
        columns: dict[int, list[float]] = {}
        for at, readings in sorted(told, key=lambda one: one[0]):
            if quantity in readings:
                columns.setdefault(at // 7000 * 7000, []).append(readings[quantity])
        assert series[quantity] == tuple(
            Column(at=at, low=min(values), high=max(values), last=values[-1]) for at, values in columns.items()
        )
