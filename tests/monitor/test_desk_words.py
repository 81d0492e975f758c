"""Times, ages and numbers as screens write them; the flash; beds by number; pages."""

from datetime import UTC
from typing import get_args

import pytest

from monitor.core.commands import Command
from monitor.core.grades import Priority
from monitor.desk import told, words
from monitor.desk.bed_by_number import BedByNumber
from monitor.desk.board_order import hidden_needs, pages_of
from monitor.desk.flash import is_inverted, next_edge
from shared.instant import HOUR, MINUTE, SECOND
from shared.quantities import Quantity as Q
from tests.helpers.views import NOW, episode, tile


def test_that_the_hubs_time_is_written_in_the_zone_that_is_given() -> None:
    assert words.clock(NOW, UTC) == "14:32:51"
    assert words.hhmm(NOW, UTC) == "14:32"


@pytest.mark.parametrize(
    ("ms", "text"),
    [
        (34_000, "0:34"),
        (33_001, "0:34"),
        (0, "0:00"),
        (-5_000, "0:00"),
        (168_000, "2:48"),
        (3_720_000, "1 h 02 min"),
    ],
)
def test_that_a_countdown_reaches_zero_at_the_moment_itself(ms: int, text: str) -> None:
    assert words.countdown(ms) == text


@pytest.mark.parametrize(
    ("ms", "text"),
    [
        (48 * SECOND, "48 s old"),
        (12 * MINUTE, "12 min old"),
        (65 * MINUTE, "1 h 05 min old"),
        (51 * HOUR, "2 d 3 h old"),
    ],
)
def test_that_an_age_always_has_its_unit(ms: int, text: str) -> None:
    assert words.age(ms) == text


@pytest.mark.parametrize("minutes", [60, 61, 119, 600, 1500])
def test_that_nothing_older_than_an_hour_stands_as_m_ss(minutes: int) -> None:
    for text in (words.since(minutes * MINUTE), words.age(minutes * MINUTE), words.countdown(minutes * MINUTE)):
        assert ":" not in text


def test_that_a_reading_has_its_decimals_a_true_minus_and_no_minus_zero() -> None:
    assert words.reading(Q.INLET_PRESSURE, -97.4) == "−97"
    assert words.reading(Q.PUMP_FLOW, -0.04) == "0.0"
    assert words.reading(Q.PUMP_SPEED, 3420) == "3\u2009420"


@pytest.mark.parametrize(
    ("priority", "hertz", "share"),
    [(Priority.HIGH, 2.0, 0.4), (Priority.MEDIUM, 0.5, 0.5), (Priority.LOW, 0.0, 0.0)],
)
def test_that_a_block_flashes_at_the_pace_of_its_grade(priority: Priority, hertz: float, share: float) -> None:
    states = [is_inverted(priority, ms) for ms in range(10_000)]
    rises = sum(now and not before for before, now in zip([states[-1], *states[:-1]], states, strict=True))
    assert rises == 10 * hertz
    assert sum(states) / len(states) == share
    # under three flashes in any second: WCAG 2.3.1, from memory
    assert rises / 10 < 3


def test_that_the_next_edge_is_where_the_block_really_changes() -> None:
    for start in range(0, 2_500, 7):
        left = next_edge({Priority.HIGH, Priority.MEDIUM}, start)
        assert left is not None
        for grade in (Priority.HIGH, Priority.MEDIUM):
            same = {is_inverted(grade, ms) for ms in range(start, start + left)}
            assert len(same) == 1
        grades = (Priority.HIGH, Priority.MEDIUM)
        assert any(is_inverted(g, start) != is_inverted(g, start + left) for g in grades)
    assert next_edge({Priority.LOW}, 0) is None


def test_that_a_bed_is_found_by_typing_its_number() -> None:
    beds = ("B1", "B2", "B12")
    numbers = BedByNumber()
    assert numbers.digit("1", beds, 0.0) == "B1"
    assert numbers.digit("2", beds, 0.5) == "B12"
    assert numbers.digit("2", beds, 5.0) == "B2"
    assert numbers.digit("9", beds, 9.0) == ""


def test_that_page_one_holds_every_need_and_places_follow_the_map() -> None:
    beds = [f"B{n}" for n in range(1, 25)]
    tiles = {bed: tile(bed, episodes=(episode(),) if bed in ("B20", "B24") else ()) for bed in beds}
    pages = pages_of(beds, tiles, 12)
    assert pages[0] == (*beds[:10], "B20", "B24")
    assert sorted(bed for page in pages for bed in page) == sorted(beds)
    assert hidden_needs(beds, pages[0], tiles) == 0
    assert hidden_needs(beds, pages[1], tiles) == 2


def test_that_where_not_every_need_has_room_the_worst_are_on_page_one_and_the_others_follow() -> None:
    beds = [f"B{n}" for n in range(1, 9)]
    grades = {
        "B2": Priority.LOW,
        "B3": Priority.MEDIUM,
        "B5": Priority.HIGH,
        "B7": Priority.HIGH,
        "B8": Priority.LOW,
    }
    tiles = {bed: tile(bed, episodes=(episode(priority=grades[bed]),) if bed in grades else ()) for bed in beds}
    pages = pages_of(beds, tiles, 2)
    assert pages == [("B5", "B7"), ("B2", "B3"), ("B1", "B8"), ("B4", "B6")]
    assert hidden_needs(beds, pages[0], tiles) == 3


def test_that_every_command_has_its_word_at_the_foot() -> None:
    union = get_args(get_args(Command)[0])
    assert set(union) == set(told._WORDS)
