"""Alert load of the shipped MAP rule on real recordings, against a plain implementation of the same rule.

Source: the recordings of `test_recordings`, and their note on alert load: MAP below 60, readings of 10 to 200 kept,
no delay and no deadband 15.8 / 15.2 / 13.7 alerts in 24 h by group, 2 min delay and 3 mmHg deadband 5.4 / 4.6 /
4.8. Those are means over whole groups. Two records of each are here: the reference is computed again on these.

Finding: the shipped delay is 60 s, which on one reading a minute is two readings in a row, not three. On these six
records it makes 129 alerts where 2 min and 3 mmHg make 87: half as many again, not fewer. With 2 min the shipped
rule makes 86 (a delay advances only on readings: one alert less, at a reading that is missing), and every
hypotensive hour is alerted still.

Against the published figures of the groups, as means of the records' own rates: 5.0 / 4.7 / 4.6 where the note has
5.4 / 4.6 / 4.8 for 2 min and 3 mmHg. Two groups and the mean of all are below it, the middle one is 2 % above.
"""

from functools import cache

import pytest

from monitor.analysis.alert_load import LoadFigures, alert_load
from monitor.analysis.annunciations import Annunciation
from monitor.core.annunciations import Annunciations
from monitor.core.entries import Entry
from monitor.core.rules import Limits
from monitor.rehearsal.recording import rehearse_recording
from monitor.rehearsal.rehearse import BEGIN
from monitor.settings import load_limits_and_ladder
from shared.instant import MINUTE, ms
from shared.quantities import Quantity as Q
from tests.helpers.recordings import MAP, ROOT, at_hand
from tests.published.test_recordings import MARKED, UNMARKED, entries, hour_of, recording

pytestmark = at_hand

RECORDS = [record for record, _ in MARKED + UNMARKED]


def plain(record: str, delay_min: float, deadband: float, *, in_gaps: bool = False) -> list[float]:
    """Seconds of the alerts of MAP < 60, from the readings alone: beyond for the delay, over at 60 + deadband.

    ``in_gaps``: the delay runs on where readings are missing; else each reading brings it on by a minute at most.
    """
    alerts: list[float] = []
    low_for: float | None = None
    last = 0.0
    stands = False
    for row in recording(record).rows:
        value = row.values.get(Q.MEAN_ARTERIAL_PRESSURE)
        if value is None:
            continue
        step, last = row.t - last, row.t
        stands = stands and value < 60 + deadband
        if stands or value >= 60:
            low_for = None
            continue
        low_for = 0.0 if low_for is None else low_for + (step if in_gaps else min(step, 60))
        if low_for >= 60 * delay_min:
            alerts.append(row.t)
            stands = True
    return alerts


def alone(delay_s: float) -> Limits:
    """The shipped map_low with another delay, and no other rule."""
    limits, _ = load_limits_and_ladder(ROOT / "config")
    [rule] = [rule for rule in limits.rules if rule.id == "map_low"]
    changed = rule.model_copy(update={"delay_s": delay_s})
    return limits.model_copy(update={"rules": (changed,), "consequences": ()})


@cache
def slower(record: str) -> list[Entry]:
    ladder = load_limits_and_ladder(ROOT / "config")[1]
    return list(rehearse_recording(recording(record), MAP.quantities, alone(120), ladder))


def alerts_of(found: list[Entry]) -> list[Annunciation]:
    gathered = Annunciations()
    for entry in found:
        gathered.take(entry)
    return [alert for alert in gathered.alerts() if alert.rule == "map_low"]


def seconds(alerts: list[Annunciation]) -> list[float]:
    return [(alert.at - BEGIN) / 1000 for alert in alerts]


def load(record: str) -> LoadFigures:
    gathered = Annunciations()
    for entry in entries(record):
        gathered.take(entry)
    end = BEGIN + ms(recording(record).length) + MINUTE
    return alert_load(gathered.alerts(), gathered.observed(end), BEGIN, end)


@pytest.mark.parametrize("record", RECORDS)
def test_that_the_shipped_rule_alerts_exactly_where_a_plain_one_does(record: str) -> None:
    """The same rule, written twice: 60 s of delay are one minute, back by 3 mmHg."""
    assert seconds(alerts_of(entries(record))) == plain(record, 1, 3)


@pytest.mark.parametrize("record", RECORDS)
def test_that_with_two_minutes_the_shipped_rule_alerts_exactly_where_a_plain_one_does(record: str) -> None:
    assert seconds(alerts_of(slower(record))) == plain(record, 2, 3)


@pytest.mark.parametrize("record", RECORDS)
def test_that_alert_load_counts_what_was_raised(record: str) -> None:
    figures = load(record)
    [rule] = [rule for rule in figures.rules if rule.rule == "map_low"]
    assert rule.count == len(plain(record, 1, 3))
    assert figures.bed_hours == pytest.approx(recording(record).length / 3600, abs=0.02)


def test_that_the_shipped_rule_is_far_quieter_than_none_and_no_more_than_half_louder_than_the_reference() -> None:
    """The finding in figures: 362 without delay and deadband, 129 as shipped, 87 with 2 min and 3 mmHg."""
    bare, reference = (sum(len(plain(r, *rule, in_gaps=True)) for r in RECORDS) for rule in ((0, 0), (2, 3)))
    shipped = sum(len(alerts_of(entries(r))) for r in RECORDS)
    assert (bare, shipped, reference) == (362, 129, 87)
    assert shipped <= 0.4 * bare
    assert shipped <= 1.5 * reference
    assert sum(len(alerts_of(slower(r))) for r in RECORDS) <= reference


#: Group: its records here, and the published load of 2 min and 3 mmHg, alerts in 24 h.
GROUPS = {
    "with pressor": (("a40764n", "a40834n"), 5.4),
    "no pressor": (("a40006n", "a40076n"), 4.6),
    "no hypotension": (("a40277n", "a40306n"), 4.8),
}


def rate(record: str) -> float:
    """Alerts of the shipped rule in 24 h of a record."""
    return len(alerts_of(entries(record))) / (recording(record).length / 86_400)


def test_that_the_shipped_load_is_about_the_published_one_of_two_minutes_and_a_deadband() -> None:
    """The mean of the records' own rates, by group and over all, against the note of the recordings."""
    found = {group: sum(map(rate, records)) / len(records) for group, (records, _) in GROUPS.items()}
    assert {group: round(load, 1) for group, load in found.items()} == {
        "with pressor": 5.0, "no pressor": 4.7, "no hypotension": 4.6,
    }  # fmt: skip
    assert sum(found.values()) / 3 <= sum(published for _, published in GROUPS.values()) / 3
    assert [group for group, load in found.items() if load > GROUPS[group][1]] == ["no pressor"]


@pytest.mark.parametrize(("record", "begins"), MARKED)
def test_that_every_hypotensive_hour_is_alerted_with_either_delay(record: str, begins: str) -> None:
    start, end = hour_of(record, begins)
    for alerts in (alerts_of(entries(record)), alerts_of(slower(record))):
        assert [alert for alert in alerts if start <= alert.at <= end]
