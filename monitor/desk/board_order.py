"""Which beds stand on which page. Places are the map of the unit; page 1 holds every need."""

from collections.abc import Mapping, Sequence

from monitor.core.view import TileView
from monitor.desk.need import is_open, leading


def pages_of(beds: Sequence[str], tiles: Mapping[str, TileView], per_page: int) -> list[tuple[str, ...]]:
    """Share the beds out. Page 1 holds every bed with an open need, then the first of the map, in map order."""
    if len(beds) <= per_page:
        return [tuple(beds)]
    needing = [bed for bed in beds if has_need(tiles.get(bed))]
    chosen = set(needing[:per_page])
    for bed in beds:
        if len(chosen) == per_page:
            break
        chosen.add(bed)
    first = tuple(bed for bed in beds if bed in chosen)
    rest = [bed for bed in beds if bed not in chosen]
    return [first, *(tuple(rest[at : at + per_page]) for at in range(0, len(rest), per_page))]


def hidden_needs(beds: Sequence[str], shown: Sequence[str], tiles: Mapping[str, TileView]) -> int:
    """Count the beds with an open need that are not on this page."""
    return sum(has_need(tiles.get(bed)) for bed in beds if bed not in shown)


def has_need(tile: TileView | None) -> bool:
    """Tell whether an open episode stands at the bed."""
    lead = leading(tile) if tile is not None else None
    return lead is not None and is_open(lead)
