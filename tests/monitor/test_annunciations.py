"""From entries to plain records: who answered what, what was held, and when beds were watched."""

from dataclasses import replace
from pathlib import Path

import pytest

from monitor.analysis.annunciations import Annunciation, hours
from monitor.core.annunciations import Annunciations
from monitor.core.entries import Entry
from monitor.core.watching import STARTED_AGAIN
from monitor.rehearsal.output import line_of
from monitor.rehearsal.reading_events import read_events
from monitor.rehearsal.rehearse import BEGIN, rehearse
from monitor.settings import load_limits_and_ladder
from shared.instant import HOUR, MINUTE, SECOND
from shared.scenario import parse_scenario

CONFIG = Path(__file__).parents[2] / "config"


def entry(at: int, kind: str, **fields: object) -> Entry:
    return Entry.model_validate({"at": at * SECOND, "kind": kind, "bed": "B1", **fields}, strict=False)


def raised(at: int, alert: int, kind: str = "raised", episode: int | None = 1, **more: object) -> Entry:
    said = {"rule": "flow_low", "priority": "medium", "class": "physiological", "slot": 1, **more}
    return entry(at, kind, alert=alert, episode=episode, **said)


def gathered(*entries: Entry) -> list[Annunciation]:
    found = Annunciations()
    for one in entries:
        found.take(one)
    return found.alerts()


def rehearsed(name: str) -> list[Entry]:
    scenario = parse_scenario((CONFIG / "scenarios" / f"{name}.toml").read_text())
    return list(rehearse(scenario, *load_limits_and_ladder(CONFIG)))


def test_that_an_answer_counts_for_what_was_listed_then() -> None:
    first, second = gathered(
        raised(0, 1),
        raised(5, 2, "folded"),
        entry(20, "cleared", alert=1, episode=1),
        entry(30, "taken", episode=1, reason="at_bedside", where="going"),
    )
    assert (first.ended_at, first.seen_at, first.taken_at) == (20_000, None, None)
    assert (second.joined, second.taken_at, second.at_bed_at) == (True, 30_000, 30_000)
    assert second.reason == "at_bedside"


def test_that_what_is_latched_can_still_be_seen_and_is_not_taken() -> None:
    [found] = gathered(raised(0, 1), entry(20, "latched", alert=1, episode=1), entry(50, "seen", episode=1))
    assert (found.ended_at, found.seen_at, found.taken_at) == (20_000, 50_000, None)


def test_that_what_joins_a_held_episode_needs_no_answer_of_its_own() -> None:
    _, joined = gathered(raised(0, 1), entry(10, "taken", episode=1, reason="expected"), raised(15, 2, "folded"))
    assert joined.held
    assert joined.is_answered
    assert (joined.taken_at, joined.reason) == (None, "expected")


def test_that_what_ends_the_hold_by_joining_does_need_one() -> None:
    _, promoted = gathered(
        raised(0, 1),
        entry(10, "taken", episode=1),
        raised(15, 2, "promoted", priority="high"),
        entry(15, "hold_ended", episode=1),
    )
    assert not promoted.is_answered
    _, folded = gathered(
        raised(0, 1), entry(10, "taken", episode=1), raised(15, 2, "folded"), entry(15, "worsened", episode=1)
    )
    assert not folded.is_answered


def test_that_a_reason_told_later_explains_the_take() -> None:
    taken, later = gathered(
        raised(0, 1),
        entry(10, "taken", episode=1),
        entry(300, "reason", episode=1, reason="circulation_checked"),
        raised(400, 2, episode=2),
    )
    assert (taken.reason, taken.at_bed_at) == ("circulation_checked", 300_000)
    assert later.reason is None


def test_that_help_by_phone_and_passing_on_say_that_somebody_knows_and_no_more() -> None:
    for kind in ("advised", "declined"):
        [found] = gathered(raised(0, 1), entry(9, kind, episode=1))
        assert (found.seen_at, found.taken_at) == (9_000, None)


def test_that_a_low_is_answered_by_its_own_number() -> None:
    one, other = gathered(
        raised(0, 1, episode=None, priority="low"),
        raised(1, 2, episode=None, priority="low"),
        entry(9, "seen", alert=2),
    )
    assert (one.seen_at, other.seen_at) == (None, 9_000)


def test_that_beds_count_as_watched_with_an_open_run_and_a_running_hub() -> None:
    found = Annunciations()
    for one in (
        entry(0, "run_started", slot=1),
        entry(600, "feed_lost", slot=1),
        entry(1200, "feed_back", slot=1),
        Entry.model_validate({"at": HOUR, "kind": "note", "text": STARTED_AGAIN.format(away=900)}, strict=False),
        entry(7200, "run_ended", slot=1),
    ):
        found.take(one)
    seen = found.observed(3 * HOUR)
    assert seen.runs is not None
    assert hours(seen.runs, 0, 3 * HOUR) == 1.75
    assert hours(seen.silent, 0, 3 * HOUR) == pytest.approx(1 / 6)
    assert hours(seen.away, 0, 3 * HOUR) == 0.25
    assert hours(seen.runs, HOUR, 3 * HOUR) == 1.0


def test_that_a_bed_with_two_runs_is_watched_once_and_silent_when_neither_is_read() -> None:
    found = Annunciations()
    for one in (
        entry(0, "run_started", slot=1),
        entry(0, "run_started", slot=2),
        entry(1800, "feed_lost", slot=1),
        entry(2700, "feed_lost", slot=2),
    ):
        found.take(one)
    seen = found.observed(HOUR)
    assert seen.runs is not None
    assert hours(seen.runs, 0, HOUR) == 1.0
    assert hours(seen.silent, 0, HOUR) == 0.25


def test_that_a_run_that_moves_is_watched_at_the_one_bed_and_then_at_the_other() -> None:
    found = Annunciations()
    for one in (
        entry(0, "run_started", slot=1),
        entry(1200, "run_moved", text="Moved to B2"),
        entry(1200, "run_moved", text="Moved from B1").model_copy(update={"bed": "B2"}),
    ):
        found.take(one)
    spans = found.observed(HOUR).runs
    assert spans is not None
    assert [(span.bed, span.end - span.begin) for span in spans] == [("B1", 20 * MINUTE), ("B2", 40 * MINUTE)]


def test_that_alerts_that_ended_before_are_forgotten() -> None:
    found = Annunciations(begin=100_000)
    found.take(raised(0, 1))
    found.take(raised(1, 2, episode=2))
    found.take(entry(50, "cleared", alert=1, episode=1))
    assert [alert.at for alert in found.alerts()] == [1_000]


def test_that_a_rehearsed_take_holds_as_the_course_says() -> None:
    """Course 5, checked: R1 takes at 3:40 with the circulation checked; what folds in by then is taken with it."""
    alerts = gathered(*rehearsed("05a_checked"))
    [lead] = [alert for alert in alerts if alert.rule == "flow_none"]
    assert lead.taken_at == BEGIN + 220 * SECOND
    assert lead.at_bed_at == lead.taken_at
    assert lead.reason == "circulation_checked"
    assert all(alert.taken_at == lead.taken_at for alert in alerts if alert.at <= lead.taken_at)


@pytest.mark.parametrize("name", ["05a_checked", "06_return_kink", "26_plug_pulled", "19_help_by_hand"])
def test_that_events_read_back_tell_the_same_as_the_entries(name: str) -> None:
    entries = rehearsed(name)
    lines = [line for one in entries if (line := line_of(one, BEGIN)) is not None]
    back = Annunciations()
    for _, one in read_events(lines, BEGIN):
        if one is not None:
            back.take(one)
    assert back.alerts()
    assert back.alerts() == [replace(alert, slot=None) for alert in gathered(*entries)]


def test_that_entries_of_what_is_not_known_tell_nothing() -> None:
    """A stretch may begin in the middle: ends, answers and raises without their number are of no alert."""
    nothing = gathered(
        entry(0, "raised", text="of no rule"),
        entry(5, "cleared", alert=9, episode=4),
        entry(6, "taken", episode=4, reason="at_bedside"),
        entry(7, "seen", alert=9),
    )
    assert nothing == []


def test_that_a_review_counts_as_seen_where_nobody_had_said_so() -> None:
    [found] = gathered(
        raised(0, 1), entry(20, "latched", alert=1, episode=1), entry(50, "reviewed", alert=1, episode=1)
    )
    assert (found.ended_at, found.seen_at) == (20_000, 50_000)
    [before] = gathered(
        raised(0, 1), entry(5, "seen", episode=1), entry(20, "latched", alert=1, episode=1),
        entry(50, "reviewed", alert=1, episode=1),
    )  # fmt: skip
    assert before.seen_at == 5_000


def test_that_an_answer_to_an_episode_passes_over_what_was_forgotten_of_it() -> None:
    found = Annunciations(begin=60 * SECOND)
    for one in (
        raised(0, 1), raised(5, 2, "folded"), entry(10, "taken", episode=1, reason="at_bedside"),
        entry(20, "cleared", alert=1, episode=1), entry(90, "renewed", episode=1, where="at_bed"),
    ):  # fmt: skip
        found.take(one)
    [left] = found.alerts()
    assert (left.at, left.at_bed_at) == (5_000, 10_000)


def test_that_a_low_that_ended_before_is_forgotten_too() -> None:
    found = Annunciations(begin=60 * SECOND)
    found.take(raised(0, 1, episode=None, priority="low"))
    found.take(entry(20, "cleared", alert=1))
    assert found.alerts() == []


def test_that_an_end_of_what_never_began_watches_nothing_and_a_run_of_no_time_neither() -> None:
    found = Annunciations()
    for one in (
        entry(0, "run_ended", slot=1), entry(1, "feed_back", slot=1),
        entry(5, "run_started", slot=1), entry(5, "run_ended", slot=1),
    ):  # fmt: skip
        found.take(one)
    assert found.observed(60 * SECOND).runs == ()
