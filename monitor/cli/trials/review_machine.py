"""A machine with a review on it: the same desk elsewhere, on a thin line of packs.

What its line promises. Of what is no reading a pack carries all, at once and in order, so a review that has the
hub's last pack has every alert, holder and call that a desk has. Of readings it has the newest of each run, every
few seconds. Of its age a review knows more than a desk: by the ticks in which a `Follow` of its own was heard and a
pack was told, what comes is never younger than it counts for. So nothing is ever called live that was said longer
ago than `LATE_S`, on whatever line.
"""

from monitor.cli.trials.desk_machine import DeskMachine
from monitor.desk.hearing import Hearing
from monitor.desk.lean_hearing import LeanHearing
from monitor.desk.link_state import LATE_S
from monitor.desk.sync import Following
from monitor.hub.runner import Hub
from shared.instant import Instant, ms


class ReviewMachine(DeskMachine):
    """One review."""

    kind = "boards of reviews"
    shows_readings_at_once = False

    _lean: LeanHearing

    def is_whole(self, hub: Hub) -> bool:
        """Tell whether it shows what the hub stands on, but for values that wait to be merged."""
        lean = self._lean.lean
        follows = self.is_on and lean.state is Following.FOLLOWING and hub.lean.follows(self.name.encode())
        return follows and (lean.boot, lean.number) == (hub.publishing.boot, hub.lean.number)

    def age_promised(self) -> int | None:
        """Give how old, in ms, what it calls live is at most."""
        return ms(LATE_S)

    def replied(self, said_at: Instant, parts: list[bytes]) -> None:
        """Hear what the hub told this review at ``said_at``."""
        if not self.is_on:
            return
        gaps = self._lean.lean.gaps
        super().replied(said_at, parts)
        self._story.counts["gaps seen by reviews"] += self._lean.lean.gaps - gaps

    def _begin_to_hear(self) -> Hearing:
        self._lean = LeanHearing(self._take)
        return self._lean
