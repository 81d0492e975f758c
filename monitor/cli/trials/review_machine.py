"""A machine with a review on it: the same desk elsewhere, on a thin line of packs.

What its line promises. Of what is no reading a pack carries all, at once and in order, so a review that has the
hub's last pack has every alert, holder and call that a desk has. Of readings it has the newest of each run, every
few seconds. Of its age a review knows more than a desk: each `Follow` is answered, and what comes counts as said
when the oldest one without an answer left, or one round trip ago. What comes was said after the last `Follow` that
was answered had left: so it is older than it counts for by one pause between two of them at most, which is
`SNAPSHOT_WITHIN_S` while a snapshot is awaited, `SAY_AGAIN_S` else. That holds on a line that keeps its order, as
one connection does, and on which the review can speak. Where a word has overtaken another, or none could leave,
nothing is promised of an age.
"""

from monitor.cli.trials.desk_machine import NEVER, DeskMachine
from monitor.core.wire import Follow, Request
from monitor.desk.hearing import Hearing
from monitor.desk.lean_hearing import LeanHearing
from monitor.desk.lean_sync import SAY_AGAIN_S, SNAPSHOT_WITHIN_S
from monitor.desk.link_state import LATE_S, NOT_LIVE_S
from monitor.desk.sync import Following
from monitor.hub.runner import Hub
from shared.instant import SECOND, Instant, ms

#: Its link is looked at, and it speaks, once a second here.
_COARSE_MS = 2 * SECOND


class ReviewMachine(DeskMachine):
    """One review."""

    kind = "boards of reviews"
    shows_readings_at_once = False

    _lean: LeanHearing
    _newest: Instant
    _unordered_at: Instant

    def is_whole(self, hub: Hub) -> bool:
        """Tell whether it shows what the hub stands on, but for values that wait to be merged."""
        lean = self._lean.lean
        follows = self.is_on and lean.state is Following.FOLLOWING and hub.lean.follows(self.name.encode())
        return follows and (lean.boot, lean.number) == (hub.publishing.boot, hub.lean.number)

    def age_promised(self) -> int | None:
        """Give how old, in ms, what it calls live is at most; ``None``: its line promises nothing of that now."""
        if self._timeline.now - self._unordered_at <= ms(NOT_LIVE_S) + _COARSE_MS:
            return None
        return ms(LATE_S) + ms(max(SAY_AGAIN_S, SNAPSHOT_WITHIN_S)) + _COARSE_MS

    def replied(self, said_at: Instant, parts: list[bytes]) -> None:
        """Hear what the hub told this review at ``said_at``."""
        if not self.is_on:
            return
        if said_at < self._newest:
            self._unordered_at = self._timeline.now
        self._newest = max(said_at, self._newest)
        gaps = self._lean.lean.gaps
        super().replied(said_at, parts)
        self._story.counts["gaps seen by reviews"] += self._lean.lean.gaps - gaps

    def _begin_to_hear(self) -> Hearing:
        self._lean = LeanHearing(self._take)
        self._newest, self._unordered_at = self._timeline.now, NEVER
        return self._lean

    def _send(self, request: Request) -> bool:
        has_left = super()._send(request)
        if isinstance(request, Follow) and not has_left:
            self._unordered_at = self._timeline.now
        return has_left
