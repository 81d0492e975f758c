"""Which beds stand on which page. Places are the map of the unit; page 1 holds every need, or the worst of them."""

from collections.abc import Mapping, Sequence

from monitor.core.view import EpisodeView, TileView
from monitor.desk.need import is_open, leading, order_of_need


def pages_of(beds: Sequence[str], tiles: Mapping[str, TileView], per_page: int) -> list[tuple[str, ...]]:
    """Share the beds out: those with an open need first, the worst before the others, then the rest of the map.

    Page 1 holds every need that has room on it; each page is in map order.
    """
    if len(beds) <= per_page:
        return [tuple(beds)]
    needing = {bed: lead for bed in beds if (lead := open_need(tiles.get(bed))) is not None}
    ranked = sorted(needing, key=lambda bed: order_of_need(needing[bed]))
    queue = [*ranked, *(bed for bed in beds if bed not in needing)]
    place = {bed: number for number, bed in enumerate(beds)}
    chunks = (queue[at : at + per_page] for at in range(0, len(queue), per_page))
    return [tuple(sorted(chunk, key=place.__getitem__)) for chunk in chunks]


def hidden_needs(beds: Sequence[str], shown: Sequence[str], tiles: Mapping[str, TileView]) -> int:
    """Count the beds with an open need that are not on this page."""
    return sum(has_need(tiles.get(bed)) for bed in beds if bed not in shown)


def has_need(tile: TileView | None) -> bool:
    """Tell whether an open episode stands at the bed."""
    return open_need(tile) is not None


def open_need(tile: TileView | None) -> EpisodeView | None:
    """Give the open episode that leads the bed."""
    lead = leading(tile) if tile is not None else None
    return lead if lead is not None and is_open(lead) else None
