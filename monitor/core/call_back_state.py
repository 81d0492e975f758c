"""What was said from elsewhere of coming back to an episode, as the engine keeps it."""

from dataclasses import dataclass

from shared.instant import Instant

#: Said beside the words of ``CallBack``: seen, and nothing yet of what comes of it; and passed on from elsewhere.
SEEN, CANNOT = "seen", "cannot"


@dataclass(slots=True)
class CallBackState:
    """What somebody elsewhere said of coming back to it; ``late``: the next rung was called for it."""

    says: str
    at: Instant
    eta_at: Instant | None = None
    late: bool = False
