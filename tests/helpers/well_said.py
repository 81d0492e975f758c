"""What every entry must say, whatever a test is about: whose alert or episode it is of, and at which bed that is.

An entry without its bed is missing on the page of that bed; one without its episode says who has what to nobody.
"""

from collections.abc import Iterable

from monitor.core.effects import CallsHeld, Effect, Persist
from monitor.core.entries import Entry, EntryKind

K = EntryKind
#: Of an alert: where it first stands, and what becomes of it.
_BEGINS = frozenset({K.RAISED, K.FOLDED, K.PROMOTED, K.BOARD_BLIND})
_OF_ALERT = frozenset({K.CLEARED, K.LATCHED, K.REVIEWED})
#: Of an episode, or of a low by itself.
_ANSWERS = frozenset(
    {K.SEEN, K.TAKEN, K.ALSO_RESPONDING, K.ADVISED, K.DECLINED, K.RENEWED, K.HOLD_ENDED, K.WORSENED}
)
_OF_EPISODE = frozenset({K.CALLED, K.SKIPPED, K.NOBODY_THERE, K.EPISODE_CLOSED})
_BY_SOMEBODY = _ANSWERS - {K.HOLD_ENDED, K.WORSENED}


class WellSaid:
    """Remembers where alerts and episodes are, and holds later entries to it."""

    def __init__(self) -> None:
        self._alerts: dict[int, str | None] = {}
        self._episodes: dict[int, str | None] = {}
        self._moves_from: str | None = None

    def hear(self, effects: Iterable[Effect]) -> None:
        """Check what an engine has said."""
        for effect in effects:
            if isinstance(effect, Persist):
                self._entry(effect.entry)
            elif isinstance(effect, CallsHeld):
                assert effect.episode in self._episodes, "calls of no episode are held"

    def _entry(self, entry: Entry) -> None:
        if entry.kind in _BEGINS:
            assert entry.alert is not None
            assert entry.text, "an alert without words"
            self._alerts[entry.alert] = entry.bed
            if entry.episode is not None:
                assert self._episodes.setdefault(entry.episode, entry.bed) == entry.bed
        elif entry.kind in _OF_ALERT:
            self._is_known(entry)
            assert entry.alert is not None
        elif entry.kind in _ANSWERS or entry.kind in _OF_EPISODE:
            self._is_known(entry)
        elif entry.kind is K.RUN_MOVED:
            self._moved(entry.bed)
        if entry.kind in _BY_SOMEBODY:
            assert entry.person
            assert entry.command

    def _is_known(self, entry: Entry) -> None:
        assert entry.alert is not None or entry.episode is not None, f"{entry.kind} of nothing"
        if entry.alert is not None:  # one from before a test listens is taken as it is
            assert self._alerts.setdefault(entry.alert, entry.bed) == entry.bed
        if entry.episode is not None:
            assert self._episodes.setdefault(entry.episode, entry.bed) == entry.bed

    def _moved(self, bed: str | None) -> None:
        """A move is said at the bed that is left, then at the new one: all that was there goes along."""
        if self._moves_from is None:
            self._moves_from = bed
            return
        for known in (self._alerts, self._episodes):
            known |= {number: bed for number, place in known.items() if place == self._moves_from}
        self._moves_from = None
