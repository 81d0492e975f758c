"""How much one peer may say: a bucket a peer, refilled all along. A flood costs its own peer and nobody else."""

from collections import OrderedDict

from shared.instant import SECOND, Instant

_PEERS = 1_000


class Allowance:
    """Buckets by peer.

    Args:
        rate: messages a second that a peer may go on sending.
        burst: how many it may send at once after a rest.
    """

    def __init__(self, rate: int, burst: int) -> None:
        self._rate, self._burst = rate, burst
        self._left: OrderedDict[str | bytes, tuple[float, Instant]] = OrderedDict()

    def take(self, peer: str | bytes, ticks: Instant) -> bool:
        """Tell whether one more message of ``peer`` is within its allowance at ``ticks`` (real ms); it counts."""
        left, since = self._left.get(peer, (float(self._burst), ticks))
        left = min(self._burst, left + max(0, ticks - since) * self._rate / SECOND)
        allowed = left >= 1.0
        self._left[peer] = (left - 1.0 if allowed else left), ticks
        self._left.move_to_end(peer)
        while len(self._left) > _PEERS:
            self._left.popitem(last=False)
        return allowed
