"""How far a feed's clock is off the hub's, as bounds that cannot be wrong for a slow network.

Each exchange is the one of RFC 5905, section 8: the hub's time T1 reaches the feed at its T2, the feed's T3 reaches
the hub at T4. A message takes no less than no time, so the feed's clock is ahead by at least T3 - T4 and at most
T2 - T1; what holds for each exchange holds for their intersection. Where two contradict each other the clock was
set, and the newer one counts. Times are ms.
"""

import math

from shared.instant import SECOND, Instant
from shared.messages import HubHeard

SLACK_MS = 2 * SECOND
#: What is corrected for is a multiple of this, so that a clock that only drifts is not told of every minute.
STEP_MS = 500


class FeedClock:
    """The clock of one feed.

    Args:
        speed: how many times faster than the wall both clocks run.

    Attributes:
        off: by how many ms it is ahead (negative: behind), as corrected for; 0 within 2 s. Never less than it is,
            once an exchange was whole: a corrected reading is never younger than it is, and at most 750 ms and the
            quickest journey there and back older.
    """

    def __init__(self, speed: float = 1.0) -> None:
        self.off = 0
        self._slack, self._step = SLACK_MS * max(1.0, speed), STEP_MS * max(1.0, speed)
        self._low, self._high = -math.inf, math.inf

    def heard(self, sent_at: Instant, now: Instant, heard: HubHeard | None = None) -> bool:
        """Take in what was sent at ``sent_at`` by the feed's clock and came at ``now``; tell whether `off` changed.

        Args:
            heard: the hub's time that the feed heard before, and when.
        """
        low = float(sent_at - now)
        high = math.inf if heard is None else float(heard.at - heard.hub_time)
        if low > high:  # its clock was set between hearing and sending: nothing is known
            low, high = -math.inf, math.inf
        if max(low, self._low) > min(high, self._high):
            self._low, self._high = low, high
        else:
            self._low, self._high = max(low, self._low), min(high, self._high)
        before, self.off = self.off, self._settled()
        return self.off != before

    def _settled(self) -> int:
        if self._low <= self._slack and self._high >= -self._slack:
            return 0
        most = self._high if self._high < math.inf else self._low
        if self.off and most <= self.off <= most + 1.5 * self._step:
            return self.off
        return round(math.ceil(most / self._step) * self._step)
