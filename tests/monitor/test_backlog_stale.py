"""What a feed read while its line was cut comes before its first new reading: for trends alone."""

from monitor.core.entries import EntryKind
from monitor.core.events import Observed
from shared.instant import SECOND
from shared.quantities import Quantity as Q
from tests.helpers.one_bed import USUAL, Bed

STOPPED = USUAL | {Q.PUMP_SPEED: 0.0, Q.PUMP_FLOW: 0.0}
TURNS = (EntryKind.RAISED, EntryKind.FOLDED, EntryKind.PROMOTED, EntryKind.CLEARED, EntryKind.LATCHED)


def tell(bed: Bed, seconds_ago: int, readings: dict[Q, float]) -> None:
    """Tell now what was read so long ago."""
    observation = bed._numbered.live("B1", 1, bed.now - seconds_ago * SECOND, readings)
    bed._keep(bed.engine.handle(Observed(observation), bed.now))


def present(bed: Bed, rule: str) -> bool:
    """Tell whether a rule's alert is present at the bed."""
    return any(one.rule == rule and one.present for episode in bed.tile.episodes for one in episode.alerts)


def test_that_no_rule_starts_or_ends_by_what_is_too_old_and_the_feed_stays_missing() -> None:
    bed = Bed()
    bed.run(120)
    bed.wait(300)
    assert [rule for _, rule in bed.raised()] == ["no_feed"]
    before = len(bed.of(*TURNS))
    for second in range(300, 121, -1):
        tell(bed, second, STOPPED)
    assert len(bed.of(*TURNS)) == before
    assert bed.of(EntryKind.FEED_BACK) == []
    assert bed.tile.stale
    tell(bed, 2, STOPPED)
    assert bed.of(EntryKind.FEED_BACK), "what is of now says that the feed is back"
    bed.run(15, {Q.PUMP_SPEED: 0.0, Q.PUMP_FLOW: 0.0})
    assert "pump_stopped" in [rule for _, rule in bed.raised()]


def test_that_an_alert_does_not_end_by_what_is_too_old() -> None:
    bed = Bed()
    bed.run(120)
    bed.run(15, {Q.PUMP_SPEED: 0.0, Q.PUMP_FLOW: 0.0})
    assert bed.lead.priority == "high"
    bed.wait(300)
    for second in range(299, 121, -1):
        tell(bed, second, USUAL)
    assert present(bed, "pump_stopped")
    bed.run(60)
    assert not present(bed, "pump_stopped")


def test_that_what_is_too_old_stands_in_the_trends() -> None:
    bed = Bed()
    bed.run(120)
    bed.wait(300)
    tell(bed, 200, USUAL | {Q.PUMP_FLOW: 4.9})
    assert bed.engine.newest("B1", 1)[Q.PUMP_FLOW] == (bed.now - 200 * SECOND, 4.9)
