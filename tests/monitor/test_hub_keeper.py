"""What the hub does when its record fails: keep, retry in order, and never let one bad step block all others."""

from collections.abc import Iterator
from pathlib import Path

import pytest

from monitor.core.events import Observed
from monitor.hub.keeper import Keeper
from monitor.record import Batch, Record, Skipped, Step
from shared.errors import RecordError
from tests.helpers.inputs import AT, EPOCH, commanded, entry, observation, observed
from tests.helpers.logged import expect_logged


@pytest.fixture
def record(tmp_path: Path) -> Iterator[Record]:
    opened = Record.open(tmp_path / "unit.record")
    yield opened
    opened.close()


def refuse(record: Record, monkeypatch: pytest.MonkeyPatch) -> None:
    def refuses(batch: Batch) -> int:
        raise RecordError("no room")

    monkeypatch.setattr(record, "append", refuses)


def test_that_what_is_owed_is_written_in_order_and_not_before_a_second_has_passed(
    record: Record, monkeypatch: pytest.MonkeyPatch, caplog: pytest.LogCaptureFixture
) -> None:
    keeper = Keeper(record)
    assert keeper.write(Batch([observed(1, entry("before"))]), AT, 0)
    refuse(record, monkeypatch)
    assert not keeper.write(Batch([observed(2, entry("first owed"))]), AT + 5, 1_000)
    assert keeper.not_recorded == AT + 5
    monkeypatch.undo()
    assert not keeper.write(Batch([commanded("c-0001")]), AT + 6, 1_500), "not tried again so soon"
    assert not keeper.flush({}, AT + 6, 1_500), "nothing is stored while something is owed"
    answer = keeper.answer("c-0001")
    assert answer is not None
    assert not answer.recorded
    assert [one.text for one in keeper.entries(None, 2)] == ["roster by c-0001", "first owed"]
    assert [one.text for one in keeper.entries("B1", 9)] == ["first owed", "before"]
    keeper.write(Batch([observed(3)]), AT + 7, 2_000)
    assert not keeper.is_owing
    assert keeper.flush({EPOCH: 3}, AT + 8, 2_000)
    assert keeper.not_recorded is None
    assert [one.text for one in record.entries(None, 9)] == ["roster by c-0001", "first owed", "before"]
    assert record.verify() is None
    answer = keeper.answer("c-0001")
    assert answer is not None
    assert answer.recorded
    expect_logged(caplog, "NOT RECORDED: no room", "takes writes again")


def test_that_a_step_that_cannot_be_written_keeps_no_other_out(
    record: Record, caplog: pytest.LogCaptureFixture
) -> None:
    keeper = Keeper(record)
    poison = Step(AT, Observed(observation(9).model_copy(update={"read_at": 2**70})))
    batch = Batch(
        [observed(1, entry("one")), poison, observed(2, entry("two"))], [Skipped("ward", EPOCH, 3, 4, "lost")]
    )
    assert keeper.write(batch, AT, 0)
    assert keeper.defects == 1
    assert [one.text for one in record.entries(None, 9)] == ["two", "one"]
    assert record.stored_up_to(EPOCH) == 4
    assert record.verify() is None
    expect_logged(caplog, "cannot be written")


def test_that_dropped_observations_leave_entries_and_lost_numbers(
    record: Record, monkeypatch: pytest.MonkeyPatch, caplog: pytest.LogCaptureFixture
) -> None:
    keeper = Keeper(record, limit=3)
    refuse(record, monkeypatch)
    for n in range(1, 6):
        keeper.write(Batch([observed(n, *([entry("kept")] if n == 2 else []))]), AT, n * 1_000)
    keeper.write(Batch([], [Skipped("ward", EPOCH, 7, 7, "future_time")]), AT, 6_000)
    assert keeper.dropped()
    assert not keeper.dropped(), "told once"
    monkeypatch.undo()
    keeper.write(Batch(), AT, 9_000)
    assert [event.observation.seq for event, _ in record.replay(0) if isinstance(event, Observed)][:1] == [2]
    assert [one.text for one in record.entries(None, 9)] == ["kept"]
    expect_logged(caplog, "NOT RECORDED", "dropped from memory")
