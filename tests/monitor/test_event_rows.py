"""The rows of a bed's events: repeated calls leave room for what changed, and no call is lost."""

from datetime import UTC

from monitor.core.entries import Entry, EntryKind
from monitor.desk import words
from monitor.desk.bedpage.event_rows import event_rows
from shared.instant import MINUTE
from tests.helpers.views import NOW


def called(minute: int, *rungs: int, episode: int = 1) -> list[Entry]:
    """Calls of one moment, the highest rung first as the list of events has them."""
    return [
        Entry(
            at=NOW + minute * MINUTE, kind=EntryKind.CALLED, bed="B4", rung=rung, person=f"R{rung}", episode=episode
        )
        for rung in sorted(rungs, reverse=True)
    ]


def rows(*entries: Entry) -> list[str]:
    return [row.text for row in event_rows(entries, lambda name: name or "", UTC)]


def raised(minute: int) -> Entry:
    return Entry(at=NOW + minute * MINUTE, kind=EntryKind.RAISED, bed="B4", text="No flow", episode=1)


def test_that_calls_of_one_moment_stand_on_one_row_the_first_rung_first() -> None:
    assert rows(*called(0, 1, 2, 3), raised(0)) == ["Called: R1, R2, R3", "No flow"]


def test_that_the_same_calls_again_are_counted_with_their_first_time() -> None:
    again = [entry for minute in (4, 3, 2) for entry in called(minute, 1, 2)]
    said = f"Called: R1, R2 · 3 times since {words.hhmm(NOW + 2 * MINUTE, UTC)}"
    assert rows(*again, *called(1, 1), raised(0)) == [said, "R1 called", "No flow"]


def test_that_what_happened_between_calls_parts_them() -> None:
    assert rows(*called(2, 1), raised(1), *called(0, 1)) == ["R1 called", "No flow", "R1 called"]


def test_that_calls_of_two_episodes_are_not_counted_together() -> None:
    assert rows(*called(1, 1), *called(0, 1, episode=2)) == ["R1 called", "R1 called"]
