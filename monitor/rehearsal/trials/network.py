"""A network that loses, delays, reorders, doubles and cuts, peer by peer.

Undisturbed, everything comes after `USUAL_MS`, in order. A trouble has a seed of its own, so that a trial without
it plays the rest of the network as before.
"""

import random
from collections import Counter
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field

from monitor.rehearsal.trials.plan import Item, Kind
from monitor.rehearsal.trials.timeline import Timeline

USUAL_MS = 2
Deliver = Callable[[list[bytes]], None]


@dataclass(slots=True)
class _Trouble:
    item: Item
    until: int
    rng: random.Random = field(init=False)

    def __post_init__(self) -> None:
        self.rng = random.Random(self.item.seed)


class Network:
    """Between the hub and its peers, each by name.

    Attributes:
        counts: how many messages each kind of trouble has touched.
    """

    def __init__(self, timeline: Timeline) -> None:
        self.counts: Counter[Kind] = Counter()
        self._timeline = timeline
        self._troubles: list[_Trouble] = []
        self._arrived: dict[tuple[str, bool], int] = {}

    def trouble(self, item: Item) -> None:
        """Begin a trouble on a peer's line."""
        self._troubles.append(_Trouble(item, self._timeline.now + item.length))

    def heal(self) -> None:
        """End every trouble."""
        self._troubles.clear()

    def is_cut(self, peer: str) -> bool:
        """Tell whether nothing passes on a peer's line."""
        return any(one.item.kind is Kind.PARTITION for one in self._on(peer))

    def send(self, peer: str, parts: Sequence[bytes], deliver: Deliver, up: bool = False) -> None:
        """Send on a peer's line, in either direction; ``up``: to the hub.

        A line that was once slow keeps the order of each direction from then on, as one connection does.
        """
        late, copies, way = USUAL_MS, [0], (peer, up)
        for one in self._on(peer):
            kind, size = one.item.kind, one.item.size
            if kind is Kind.PARTITION or (kind is Kind.LOSS and one.rng.random() * 100 < size):
                self.counts[kind] += 1
                return
            if kind is Kind.DELAY:
                self.counts[kind] += 1
                late += one.rng.randrange(size)
            elif kind is Kind.SLOW:
                self.counts[kind] += 1
                late += one.rng.randrange(size)
                self._arrived.setdefault(way, 0)
            elif kind is Kind.DOUBLE and one.rng.random() < 0.5:
                self.counts[kind] += 1
                copies.append(one.rng.randrange(size))
        if way in self._arrived:
            late = max(late, self._arrived[way] - self._timeline.now)
            self._arrived[way] = self._timeline.now + late
        for more in copies:
            self._timeline.after(late + more, lambda: deliver(list(parts)))

    def _on(self, peer: str) -> list[_Trouble]:
        if not self._troubles:
            return []
        self._troubles = [one for one in self._troubles if one.until > self._timeline.now]
        return [one for one in self._troubles if one.item.who == peer]
