"""Alert-load figures against published and remembered examples.

They are the process industry's yardsticks (ANSI/ISA-18.2-2016 cl. 16.4, IEC 62682, EEMUA 191), of one operator, and
no hospital's norm. The examples are worked by hand from the stated rules. "From memory" is said where the text of
the source was not read.
"""

from collections.abc import Sequence

import pytest

from monitor.analysis.alert_load import alert_load
from monitor.analysis.alert_rates import BIN_MS, clock_bins, flood_bins, floods
from monitor.analysis.alert_repeats import PSI_FLAGGED, chatter_index, chattering, fleeting, stale
from monitor.analysis.alert_yardsticks import BY_FIGURE, LABEL, YARDSTICKS, load_band, upset_band
from monitor.analysis.annunciations import Annunciation, Observed, Span
from monitor.core.entries import Entry, EntryKind
from monitor.core.rules import Limits
from monitor.rehearsal.recording import rehearse_recording
from monitor.rehearsal.rehearse import BEGIN
from monitor.settings import load_limits_and_ladder
from shared.instant import HOUR, MINUTE, SECOND
from shared.quantities import Quantity as Q
from shared.recording import Recording, TimedReadings
from tests.helpers.hub import CONFIG

DAY = 24 * HOUR
ISA = "ANSI/ISA-18.2-2016 cl. 16.4"


def alert(at: int, rule: str = "flow_low", bed: str = "B1", **more: object) -> Annunciation:
    said: dict[str, object] = {"priority": "medium", "kind": "physiological", **more}
    return Annunciation(at=at, bed=bed, rule=rule, **said)  # type: ignore[arg-type]


def bins_of(counts: Sequence[int]) -> list[Annunciation]:
    return [alert(place * BIN_MS + n * SECOND) for place, count in enumerate(counts) for n in range(count)]


def rehearsed(values: Sequence[float], **rule: object) -> list[tuple[float, EntryKind]]:
    """Turns of one raw limit on MAP over readings a second apart: seconds from the start, and what happened."""
    text = {"kind": "limit", "id": "own", "title": "MAP {value}", "quantity": "mean_arterial_pressure",
            "priority": "medium", "class": "physiological", "mark": "unit", "window_s": 0, **rule}  # fmt: skip
    limits = Limits.model_validate({"rule": [text]}, strict=False)
    rows = tuple(TimedReadings(float(t), {Q.MEAN_ARTERIAL_PRESSURE: v}, t + 1) for t, v in enumerate(values))
    recording = Recording(rows, (), {}, len(values) - 1, 1.0)
    ladder = load_limits_and_ladder(CONFIG)[1]
    entries = rehearse_recording(recording, frozenset({Q.MEAN_ARTERIAL_PRESSURE}), limits, ladder)
    return [((e.at - BEGIN) / SECOND, e.kind) for e in entries if _tells(e)]


def _tells(entry: Entry) -> bool:
    kinds = (EntryKind.RAISED, EntryKind.CALLED, EntryKind.CLEARED, EntryKind.LATCHED)
    return entry.kind in kinds and entry.rung in (None, 1)


# -- floods ---------------------------------------------------------------------------------------------------


def test_that_a_flood_starts_above_ten_in_ten_minutes_and_ends_below_five() -> None:
    """ISA-18.2 cl. 16.4, as a public document restates it."""
    counts = [2, 11, 8, 6, 5, 4, 1]
    assert flood_bins(counts) == [(1, 5, True)]
    [flood] = floods(clock_bins(bins_of(counts), 0, 7 * BIN_MS), 7 * BIN_MS)
    assert flood.begin == BIN_MS
    assert flood.end == 5 * BIN_MS
    assert (flood.end - flood.begin) / MINUTE == 40
    assert flood.alerts == 30
    assert flood.over


def test_that_ten_is_no_flood_and_five_ends_none() -> None:
    """ISA-18.2 cl. 16.4: more than 10; fewer than 5."""
    assert flood_bins([10, 10, 10]) == []
    assert flood_bins([11, 5, 5]) == [(0, 3, False)]
    assert flood_bins([11, 4, 11, 4]) == [(0, 1, True), (2, 3, True)]


def test_that_a_bin_that_is_not_whole_yet_ends_no_flood() -> None:
    end = 2 * BIN_MS - MINUTE
    [flood] = floods(clock_bins(bins_of([12, 1]), 0, end), end)
    assert not flood.over
    assert flood.end == end


def test_that_bins_are_fixed_to_the_clock() -> None:
    """Six alerts each side of a clock bin's edge are 12 within ten sliding minutes, and no flood."""
    alerts = [alert(BIN_MS + offset * SECOND) for offset in (*range(-6, 0), *range(6))]
    assert [one.count for one in clock_bins(alerts, 0, 2 * BIN_MS)] == [6, 6]
    assert floods(clock_bins(alerts, 0, 2 * BIN_MS), 2 * BIN_MS) == ()


# -- chatter, fleeting, stale -----------------------------------------------------------------------------------


def test_that_the_chatter_index_weighs_runs_by_their_length() -> None:
    """Kondaveeti et al., Chem Eng Res Des 2013 (from memory): 0.50/2 + 0.25/5 + 0.25/10."""
    assert chatter_index([2, 2, 5, 10]) == pytest.approx(0.325, abs=1e-9)
    assert chatter_index([20, 20, 20]) == pytest.approx(PSI_FLAGGED)
    assert chatter_index([]) is None


@pytest.mark.parametrize(("gaps", "flagged"), [((20, 20), True), ((30, 30), True), ((31, 31), False)])
def test_that_three_in_a_minute_or_an_index_of_a_twentieth_are_flagged(
    gaps: tuple[int, int], flagged: bool
) -> None:
    """Usual rule, from memory: three announcements in 60 s; index from 0.05 per s."""
    times = (0, gaps[0] * SECOND, sum(gaps) * SECOND)
    assert bool(chattering([alert(at) for at in times])) is flagged


def test_that_the_same_rule_at_two_beds_is_no_chatter() -> None:
    assert chattering([alert(0), alert(5 * SECOND, bed="B2"), alert(200 * SECOND)]) == ()


def test_that_fleeting_is_what_ends_in_ten_seconds_unanswered_and_does_not_come_back_in_a_minute() -> None:
    """One site's rule; the standard names no number."""
    brief = alert(0, ended_at=9 * SECOND)
    assert fleeting([brief]) == 1
    assert fleeting([alert(0, ended_at=11 * SECOND)]) == 0
    assert fleeting([alert(0, ended_at=9 * SECOND, seen_at=5 * SECOND)]) == 0
    assert fleeting([brief, alert(60 * SECOND)]) == 0
    assert fleeting([brief, alert(70 * SECOND)]) == 1


def test_that_stale_is_what_stands_for_more_than_a_day() -> None:
    """ISA-18.2 cl. 16.4: active for more than 24 h."""
    assert stale([alert(0)], DAY, DAY) == ()
    [old] = stale([alert(0), alert(HOUR, ended_at=DAY)], DAY, DAY + HOUR)
    assert (old.at, old.hours) == (0, 25.0)
    assert stale([alert(0, ended_at=2 * DAY)], 3 * DAY, 4 * DAY) == ()


# -- delay and deadband, through the rules themselves -----------------------------------------------------------


def test_that_delay_and_deadband_follow_the_worked_example() -> None:
    """High limit 100, deadband 5, on-delay 3 s, 1 Hz (rule common to ISA-18.2 and EEMUA 191, from memory):
    set 3 s after the first sample beyond, still set at 97 and 96, clear at 94, not set by the next."""
    turns = rehearsed([99, 101, 102, 103, 104, 97, 96, 94, 101], above=100, back_by=5, delay_s=3)
    kinds = {kind: t for t, kind in turns if kind is not EntryKind.CALLED}
    assert kinds == {EntryKind.RAISED: 4.0, EntryKind.LATCHED: 7.0}


def test_that_the_delay_to_a_signal_is_that_of_the_condition_and_that_of_the_signal() -> None:
    """IEC 60601-1-8, from memory: crossed at 100.0 s, condition delay 10 s, signal delay 0.5 s: signal at 110.5 s,
    within a sample. Of this program the engine's part alone can be said: it decides at 110 s and calls in the same
    instant; what screen and loudspeaker add is not in it."""
    values = [90.0] * 100 + [105.0] * 20
    turns = rehearsed(values, above=100, delay_s=10)
    assert turns[0] == (110.0, EntryKind.RAISED)
    assert turns[1] == (110.0, EntryKind.CALLED)
    sample = 1.0
    assert abs(turns[1][0] - 110.5) <= sample


# -- rates and bands --------------------------------------------------------------------------------------------


def test_that_a_hospitals_load_is_a_flood_without_an_end_by_this_yardstick() -> None:
    """Drew 2014, PLoS One 9:e110274: 187 audible alarms a bed and day; computed from it: 1.30 a bed in 10 min, and
    for eight beds 1,496 a day or 10.4 in 10 min."""
    beds = [f"B{n}" for n in range(1, 9)]
    every = DAY // 187
    alerts = [alert(n * every, rule=f"rule_{n % 5}", bed=bed) for bed in beds for n in range(187)]
    figures = alert_load(alerts, Observed(tuple(Span(bed, 0, DAY) for bed in beds)), 0, DAY)
    assert figures.all.count == 1496
    assert figures.per_10_min.mean is not None
    assert figures.per_10_min.mean == pytest.approx(10.4, abs=0.05)
    assert figures.per_10_min.mean / 8 == pytest.approx(1.30, abs=0.005)
    assert figures.all.per_bed_hour == pytest.approx(187 / 24)
    assert figures.all.per_bed_12h == pytest.approx(187 / 2)
    assert len(figures.floods) == 1
    assert figures.flood_share is not None
    assert figures.flood_share > 0.95


@pytest.mark.parametrize(
    ("per_10_min", "words"),
    [(10.4, "very likely unacceptable"), (5, "over-demanding"), (2, "manageable"), (0.9, "very likely acceptable"),
     (3, "between manageable and over-demanding")],
)  # fmt: skip
def test_that_loads_fall_into_the_bands_of_eemua_191(per_10_min: float, words: str) -> None:
    """EEMUA 191, from memory: more than 1 a min; 1 in 2 min; 1 in 5 min; fewer than 1 in 10 min."""
    assert load_band(per_10_min) == words


@pytest.mark.parametrize(("count", "words"), [(101, "excessive"), (100, "hard"), (20, "hard"), (9, "manageable")])
def test_that_the_first_ten_minutes_after_an_upset_fall_into_their_bands(count: int, words: str) -> None:
    """EEMUA 191, from memory: more than 100 excessive, 20 to 100 hard, fewer than 10 manageable."""
    assert upset_band(count) == words


def test_that_the_yardsticks_are_those_of_the_standard_and_called_the_process_industrys() -> None:
    """ISA-18.2 cl. 16.4 Tables 5 and 6, as a public document restates them; hours over 30: from memory."""
    assert LABEL == "process industry's yardstick, not a hospital norm"
    assert BY_FIGURE["peak in 10 min"].acceptable == "at most 10"
    assert BY_FIGURE["low / medium / high"].acceptable == "about 80 / 15 / 5 %"
    assert BY_FIGURE["hours over 30"].source.startswith("from memory")
    assert {y.figure for y in YARDSTICKS if ISA in y.source} >= {"time in flood", "chattering or fleeting"}


def test_that_time_before_anything_was_watched_makes_no_load_look_lower() -> None:
    """Two hours of a record in a window of twelve: 12 alerts are one in 10 min, not a sixth of one."""
    alerts = [alert(10 * HOUR + n * BIN_MS) for n in range(12)]
    figures = alert_load(alerts, Observed((Span("B1", 10 * HOUR, 12 * HOUR),)), 0, 12 * HOUR)
    assert figures.per_10_min.mean == pytest.approx(1.0)
    assert (figures.per_10_min.bins, figures.per_hour.bins) == (12, 2)
    assert len(figures.bins) == 72
    assert figures.all.per_bed_hour == pytest.approx(6.0)
