"""What the hub is told of a set that was typed: its newest version, or that it is struck."""

from collections.abc import Mapping
from dataclasses import dataclass, field

from shared.entry.versions import SentSet, SetState
from shared.instant import Instant
from shared.messages import Edition, Looked, RoundKind
from shared.quantities import Quantity


@dataclass(frozen=True, slots=True)
class Said:
    """The fields of an observation, without feed and number; ``at``: when it was entered."""

    at: Instant
    bed: str
    slot: int
    read_at: Instant
    by: str
    edition: Edition
    readings: Mapping[Quantity, float] = field(default_factory=dict)
    round: RoundKind | None = None
    looked: Mapping[str, Looked] = field(default_factory=dict)


def tell(kept: SentSet, at: Instant) -> Said:
    """Tell the newest step of a set; ``at``: when it was struck, if it was."""
    newest, place = kept.newest, kept.place
    if kept.state is not SetState.STRUCK:
        edition = Edition(set=kept.id, version=len(kept.versions), why=newest.why, moved_from=kept.moved_from)
        numbers, found = newest.values, newest.looked
        return Said(
            newest.at, place.bed, place.slot, newest.read_at, newest.by, edition, numbers, newest.round, found
        )
    strike = kept.strikes[-1]
    edition = Edition(
        set=kept.id,
        version=len(kept.versions) + 1,
        why=strike.why,
        struck=True,
        second=strike.second,
        moved_to=None if strike.move_to is None else strike.move_to.bed,
    )
    return Said(at, place.bed, place.slot, newest.read_at, strike.by, edition)
