"""Feeds that are lost one by one: each bed tells it for itself until the third makes a blind board.

A feed is missing after 120 s; three beds make the board blind (our defaults, no source).
"""

from monitor.core.entries import EntryKind
from monitor.core.events import Observed
from monitor.rehearsal.sources import Numbered
from tests.helpers.one_bed import USUAL, Bed

Told = list[tuple[float, str | None, str | None]]
RAISED = (EntryKind.RAISED, EntryKind.BOARD_BLIND)
OVER = (EntryKind.CLEARED, EntryKind.LATCHED)


class Feeds:
    """Three beds, each read once a second until it is cut off."""

    def __init__(self) -> None:
        self.bed = Bed(("B1", "B2", "B3"))
        self._numbered = {label: Numbered() for label in ("B1", "B2", "B3")}

    def read(self, until: int, *labels: str) -> None:
        """Read these beds up to a second; the others are silent."""
        while self.bed.since(self.bed.now) < until:
            self.bed.wait(1)
            for label in labels:
                said = Observed(self._numbered[label].live(label, 1, self.bed.now, USUAL))
                self.bed._keep(self.bed.engine.handle(said, self.bed.now))

    def told(self, *kinds: EntryKind) -> Told:
        return [(self.bed.since(entry.at), entry.bed, entry.rule) for entry in self.bed.of(*kinds)]


def test_that_the_third_feed_that_is_lost_puts_one_alert_in_place_of_the_beds_own() -> None:
    feeds = Feeds()
    feeds.read(10, "B1", "B2", "B3")
    feeds.read(40, "B2", "B3")
    feeds.read(100, "B3")
    feeds.read(165)
    assert feeds.told(*RAISED) == [(130, "B1", "no_feed"), (160, "B2", "no_feed")], "each once"
    assert feeds.told(*OVER) == []
    feeds.read(300)
    assert feeds.told(*RAISED)[2:] == [(220, None, "board_blind")]
    assert feeds.told(*OVER) == [(220, "B1", "no_feed"), (220, "B2", "no_feed")]
    assert [(at, bed) for at, bed, _ in feeds.told(EntryKind.FEED_LOST)] == [(130, "B1"), (160, "B2"), (220, "B3")]


def test_that_a_restart_keeps_the_one_alert_in_place_of_the_beds_own() -> None:
    feeds = Feeds()
    feeds.read(10, "B1", "B2", "B3")
    feeds.read(40, "B2", "B3")
    feeds.read(170, "B3")
    feeds.read(300)
    before = feeds.bed.engine.checkpoint()
    feeds.bed.restart()
    assert feeds.bed.engine.checkpoint() == before
    feeds.read(310)
    feeds.read(320, "B1", "B2")
    assert feeds.told(*RAISED)[2:] == [(290, None, "board_blind"), (316, "B3", "no_feed")]
