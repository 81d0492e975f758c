"""What was said from elsewhere of coming back to an episode, as the engine keeps it."""

from dataclasses import dataclass

from shared.instant import Instant


@dataclass(slots=True)
class CallBackState:
    """What somebody elsewhere said of coming back to it; ``late``: the next rung was called for it."""

    says: str
    at: Instant
    eta_at: Instant | None = None
    late: bool = False
