"""The form's way to the hub: a set becomes an observation, and how far it got is known at every moment."""

from collections.abc import Sequence
from enum import StrEnum

from feeds.entered.shelf import Numbered
from feeds.publisher import Publisher
from shared.entry.telling import tell
from shared.entry.versions import SentSet
from shared.feed_talk import Draft
from shared.instant import Instant
from shared.language.hearing import heard
from shared.messages import BedDeclared, Unchecked


class Way(StrEnum):
    """How far a set got."""

    WAITS = "waits"
    STORED = "stored"
    REFUSED = "refused"
    UNKNOWN = "unknown"


class Post:
    """Sets to the hub, through a publisher that somebody else turns."""

    def __init__(self, publisher: Publisher) -> None:
        self._publisher = publisher

    @property
    def next(self) -> tuple[str, int]:
        """Epoch and number that the next observation will carry."""
        link = self._publisher.link
        return link.epoch, link.next_seq

    @property
    def hub_is_there(self) -> bool:
        """Tell whether the hub has answered, and not been silent since."""
        return self._publisher.link.state == "welcomed"

    @property
    def in_memory(self) -> bool:
        """Tell whether the disk has refused the journal."""
        return self._publisher.in_memory

    def declare(self, beds: Sequence[BedDeclared]) -> None:
        """Say which beds and runs the form speaks for from now on."""
        self._publisher.declare(beds)

    def tell(self, kept: SentSet, at: Instant, unchecked: Unchecked | None = None) -> tuple[str, int]:
        """Publish the newest step of a set; give epoch and number of the observation.

        ``unchecked``: who entered it was not checked. It is in the journal when this returns, or, where the disk
        refuses, in memory (`in_memory`).
        """
        self._publisher.publish([_observation(kept, at, unchecked)])
        link = self._publisher.link
        return link.epoch, link.next_seq - 1

    def way(self, numbered: Numbered) -> Way:
        """Tell how far a set got."""
        link = self._publisher.link
        if numbered.seq == 0:
            return Way.UNKNOWN
        if numbered.epoch != link.epoch:
            # Its journal's numbers were given anew: it is stored when everything is.
            return Way.STORED if link.stored == link.next_seq - 1 else Way.WAITS
        if numbered.seq in self._publisher.turned_away:
            return Way.REFUSED
        return Way.STORED if numbered.seq <= link.stored else Way.WAITS

    def why_refused(self, numbered: Numbered) -> str:
        """Give the hub's words about what it turned away."""
        refused = self._publisher.turned_away.get(numbered.seq)
        return "" if refused is None or numbered.epoch != self._publisher.link.epoch else heard(refused.detail)


def _observation(kept: SentSet, at: Instant, unchecked: Unchecked | None) -> Draft:
    said = tell(kept, at)
    return Draft(
        bed=said.bed,
        slot=said.slot,
        read_at=said.read_at,
        readings=dict(said.readings),
        entered_at=said.at,
        by=said.by,
        edition=said.edition,
        round=said.round,
        looked=dict(said.looked) or None,
        unchecked=unchecked,
    )
