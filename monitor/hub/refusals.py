"""What was turned away: one counter for each reason, and how often a peer is told."""

from collections import Counter, OrderedDict

from shared.instant import Instant
from shared.messages import RefusalReason

_PEERS = 1_000
_TOLD_AGAIN_MS = 1_000
#: "Say hello" is what a feed waits for after a restart of the hub: it is told more often.
_HELLO_AGAIN_MS = 200


class Refusals:
    """Counts, and says whether a peer is to be answered: once a second for each reason, not for each message.

    Attributes:
        counts: how often each reason was given since the start.
    """

    def __init__(self) -> None:
        self.counts: Counter[RefusalReason] = Counter()
        self._told: OrderedDict[tuple[str, RefusalReason], Instant] = OrderedDict()

    def count(self, reason: RefusalReason, peer: str, ticks: Instant) -> bool:
        """Count a refusal; give whether the peer is to be told at ``ticks`` (real ms)."""
        self.counts[reason] += 1
        again = _HELLO_AGAIN_MS if reason is RefusalReason.NOT_HELLO else _TOLD_AGAIN_MS
        told = self._told.get((peer, reason))
        if told is not None and ticks - told < again:
            return False
        self._told[peer, reason] = ticks
        self._told.move_to_end((peer, reason))
        while len(self._told) > _PEERS:
            self._told.popitem(last=False)
        return True
