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
    """Remembers when each priority was last heard."""

    _last: dict[Priority, float] = field(default_factory=dict)
    _new: set[Priority] = field(default_factory=set)

    def hear(self, entries: Iterable[Entry]) -> None:
        """Take entries that sound; the loudest of them is due at once."""
        self._new |= {entry.priority for entry in entries if entry.sounds and entry.priority is not None}

    def due(self, episodes: Iterable[EpisodeView], person: str | None, now: float) -> Priority | None:
        """Give the burst to play now, if any. One burst at a time: the highest priority goes first."""
        waiting = {
            episode.priority
            for episode in episodes
            if wants_somebody(episode) and (person is None or person not in episode.seen_by)
        }
        for priority in sorted(waiting | self._new, key=RANK.__getitem__):
            if priority in self._new or self._is_time(priority, now):
                self._new.clear()
                self._last[priority] = now
                return priority
            return None
        return None

    def _is_time(self, priority: Priority, now: float) -> bool:
        again = BURSTS[priority].again_s
        if again is None:
            return False
        last = self._last.get(priority)
        return last is None or now - last >= again + BURSTS[priority].length_s()
