"""What a trial lets a hub turn away for want of a run: as much as its clocks were off, and no more."""

import pytest

from monitor.cli.trials.numbers import Numbers
from monitor.cli.trials.patients import MARK, NOON
from monitor.core.entries import Entry, EntryKind
from monitor.rehearsal.trials.findings import Broken
from shared.feed_talk import Kept
from shared.instant import SECOND, Instant
from shared.messages import Observation

EPOCH = "0" * 16
ENDED = Entry(at=NOON + 60 * SECOND, kind=EntryKind.RUN_ENDED, bed="B1")
BEGUN = Entry(at=NOON + 90 * SECOND, kind=EntryKind.RUN_STARTED, bed="B1")


def read_at(second: int, feed_off: int = 0, hub_off: int = 0) -> Numbers:
    """One reading of B1; feed and hub have their clocks wrong by so many seconds."""
    now: list[Instant] = [second * SECOND]
    numbers = Numbers(lambda: now[0])
    said = NOON + now[0] + feed_off * SECOND
    one = Observation(
        feed="north", epoch=EPOCH, seq=1, bed="B1", slot=1, read_at=said, sent_at=said, readings={MARK: -60.0}
    )
    numbers.numbered(EPOCH, [Kept(1, "B1", one.model_dump_json().encode())])
    numbers.hub_says(NOON + now[0] + hub_off * SECOND)
    return numbers


def hold(numbers: Numbers) -> None:
    numbers.hold_turned_away([(EPOCH, 1)], [ENDED, BEGUN])


@pytest.mark.parametrize("second", [59, 60, 75, 90, 91])
def test_that_what_was_read_while_no_run_was_open_may_be_turned_away(second: int) -> None:
    hold(read_at(second))


@pytest.mark.parametrize("second", [10, 57, 93, 150])
def test_that_what_was_read_while_a_run_was_open_may_not(second: int) -> None:
    with pytest.raises(Broken, match="a run was open at B1"):
        hold(read_at(second))


@pytest.mark.parametrize(("feed_off", "hub_off"), [(30, 0), (0, 30)])
def test_that_a_clock_counts_for_as_wrong_as_it_was(feed_off: int, hub_off: int) -> None:
    hold(read_at(32, feed_off, hub_off))
    with pytest.raises(Broken):
        hold(read_at(20, feed_off, hub_off))


def test_that_what_no_feed_gave_may_not_be_turned_away() -> None:
    with pytest.raises(Broken, match="which no feed gave"):
        read_at(75).hold_turned_away([(EPOCH, 2)], [ENDED, BEGUN])
