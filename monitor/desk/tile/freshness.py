"""How fresh a bed's readings are on its tile."""

import math
from enum import StrEnum

from monitor.core.view import TileView
from monitor.desk.link_state import LinkState
from monitor.desk.tile.moment import Moment
from shared.instant import SECOND
from shared.messages import Origin


class Fresh(StrEnum):
    """What a desk may claim of a bed's readings, the worst first. Only `LIVE` says that they are those of now."""

    NOT_LIVE = "not live"
    NONE = "no reading yet"
    STALE = "stale"
    HUB_SILENT = "hub silent"
    BY_HAND = "by hand"
    AGEING = "ageing"
    LIVE = "live"


def freshness(tile: TileView, moment: Moment) -> Fresh:
    """Tell how fresh a bed is at a moment."""
    if moment.veiled:
        return Fresh.NOT_LIVE
    if tile.last_reading_at is None:
        return Fresh.NONE
    read_at = tile.last_reading_at
    if tile.stale or moment.has_counted(read_at + math.floor(tile.stale_after_s * SECOND) + 1):
        return Fresh.STALE
    if moment.link is LinkState.LATE:
        return Fresh.HUB_SILENT
    if tile.origin is Origin.ENTERED:
        return Fresh.BY_HAND
    is_ageing = moment.has_counted(read_at + math.ceil(tile.age_from_s * SECOND))
    return Fresh.AGEING if is_ageing else Fresh.LIVE
