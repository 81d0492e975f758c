"""How fresh a bed's readings are, in the words that stand on its tile."""

from monitor.core.view import TileView
from monitor.desk import words
from monitor.desk.link_state import LinkState
from monitor.desk.tile.moment import Moment
from shared.instant import SECOND
from shared.messages import Origin

#: What only a bed whose readings are fresh, at a desk that hears its hub, is called.
LIVE = "live"


def freshness(tile: TileView, moment: Moment) -> tuple[str, bool]:
    """Give the words, and whether they stand in bold: something is missing."""
    if moment.veiled:
        return "not live", True
    if tile.last_reading_at is None:
        return "no reading yet", True
    old = moment.second - tile.last_reading_at
    if tile.stale or old > tile.stale_after_s * SECOND:
        return words.age(old), True
    if moment.link is LinkState.LATE:
        return "hub silent", True
    if tile.origin is Origin.ENTERED:
        return words.age_in_minutes(old), False
    return (words.age(old), False) if old >= tile.age_from_s * SECOND else (LIVE, False)
