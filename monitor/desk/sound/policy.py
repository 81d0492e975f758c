"""When a burst is due: whatever is open and nobody has is heard again and again, by its priority.

Seen silences a need for the person signed in at this desk; taken silences it for everybody. A new need is heard at
once. A low is heard once. Time is an argument: seconds of a monotonic clock.
"""

from collections.abc import Iterable
from dataclasses import dataclass, field

from monitor.core.entries import Entry
from monitor.core.grades import RANK, Priority
from monitor.core.view import EpisodeView
from monitor.desk.need import wants_somebody
from monitor.desk.sound.tones import BURSTS


@dataclass(slots=True)
class SoundPolicy:
    """Remembers when each priority was last heard, and until when a burst sounds: bursts never overlap."""

    _last: dict[Priority, float] = field(default_factory=dict)
    _new: set[tuple[Priority, int]] = field(default_factory=set)
    _busy_until: float = 0.0

    def hear(self, entries: Iterable[Entry]) -> None:
        """Take entries that sound: each priority among them is due at once, the highest first."""
        for entry in entries:
            if entry.sounds and entry.priority is not None:
                self.new(entry.priority)

    def new(self, priority: Priority, unit: int = 0) -> None:
        """Something of a priority is new: it is due at once."""
        self._new.add((priority, unit))

    def forget(self, unit: int = 0) -> None:
        """The hub of a unit is lost: what was new then is not told as new when it is back."""
        self._new = {one for one in self._new if one[1] != unit}

    def due(self, waiting: Iterable[Priority], now: float) -> Priority | None:
        """Give the burst to play now, if any. ``waiting``: the priorities that are open and nobody has."""
        if now < self._busy_until:
            return None
        new = {priority for priority, _ in self._new}
        for priority in sorted({*waiting} | new, key=RANK.__getitem__):
            if priority in new or self._is_time(priority, now):
                self._new = {one for one in self._new if one[0] is not priority}
                self._last[priority] = now
                self._busy_until = now + BURSTS[priority].length_s()
                return priority
        return None

    def soft(self, now: float, length_s: float) -> bool:
        """Tell whether a soft sound may be played now: it waits behind every burst, and no burst overlaps it."""
        if now < self._busy_until:
            return False
        self._busy_until = now + length_s
        return True

    def _is_time(self, priority: Priority, now: float) -> bool:
        again = BURSTS[priority].again_s
        if again is None:
            return False
        last = self._last.get(priority)
        return last is None or now - last >= again + BURSTS[priority].length_s()


def waiting_for(episodes: Iterable[EpisodeView], person: str | None) -> set[Priority]:
    """Give the priorities that still sound at a desk: nobody has them, and who sits here has not seen them."""
    return {
        episode.priority
        for episode in episodes
        if wants_somebody(episode) and (person is None or person not in episode.seen_by)
    }
