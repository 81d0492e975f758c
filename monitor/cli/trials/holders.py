"""Invariants 2 and 4: what is open stands on every board as grave as it is, and one person has it, or nobody."""

from collections.abc import Callable, Iterable, Mapping

from monitor.core.entries import Entry, EntryKind
from monitor.core.grades import Priority
from monitor.core.view import EpisodeView, TileView, UnitView
from monitor.rehearsal.trials.findings import Broken
from shared.instant import SECOND, Instant

_OPEN = frozenset({EntryKind.RAISED, EntryKind.FOLDED, EntryKind.PROMOTED, EntryKind.BOARD_BLIND})
_ENDED = frozenset({EntryKind.CLEARED, EntryKind.LATCHED})
_FREED = frozenset({EntryKind.HOLD_ENDED, EntryKind.WORSENED, EntryKind.EPISODE_CLOSED})
Place = tuple[str | None, int]


class Holders:
    """Follows the entries as the hub tells them: which highs are open, and who has what.

    ``now``: gives ms since the trial began.
    """

    def __init__(self, now: Callable[[], Instant]) -> None:
        self.checked = 0
        self._now = now
        self._highs: dict[Place, Entry] = {}
        self._high_since: dict[Place, Instant] = {}
        self._holder: dict[Place, str] = {}
        self._alerts: dict[Place, set[int]] = {}

    def rebuild(self, entries: Iterable[Entry]) -> None:
        """Begin anew from the log."""
        self._highs, self._high_since, self._holder, self._alerts = {}, {}, {}, {}
        for entry in entries:
            self.take_in(entry)

    def take_in(self, entry: Entry) -> None:
        """Take an entry. Raises Broken where one takes what another one has."""
        if entry.alert is not None:
            self._alert(entry, (entry.bed, entry.alert))
        if entry.episode is None:
            return
        place = (entry.bed, entry.episode)
        holder = self._holder.get(place)
        if entry.kind is EntryKind.TAKEN and entry.person is not None:
            if holder is not None and holder != entry.person:
                raise Broken(4, f"{entry.bed}: {entry.person} takes what {holder} has")
            self._holder[place] = entry.person
        elif entry.kind is EntryKind.TAKE_MOVED and entry.person is not None:
            self._holder[place] = entry.person
        elif entry.kind in _FREED or (entry.kind is EntryKind.DECLINED and entry.person == holder):
            self._holder.pop(place, None)

    def _alert(self, entry: Entry, alert: Place) -> None:
        if entry.kind in _OPEN:
            if entry.priority is Priority.HIGH:
                self._highs[alert] = entry
                self._high_since.setdefault(alert, self._now())
            if entry.episode is not None:
                self._alerts.setdefault((entry.bed, entry.episode), set()).add(alert[1])
        elif entry.kind in _ENDED:
            self._highs.pop(alert, None)
            self._high_since.pop(alert, None)
            if entry.episode is not None:
                left = self._alerts.setdefault((entry.bed, entry.episode), set())
                left.discard(alert[1])
                if not left:
                    self._holder.pop((entry.bed, entry.episode), None)

    def remembered(self, name: str, tiles: Mapping[str, TileView], unit: UnitView, said_at: Instant) -> None:
        """Hold a board that has heard what the hub said at ``said_at`` to the highs that were told before.

        Whether it is whole or not: what is laid over a picture follows what is there, so nothing told is lost.
        """
        for place, since in self._high_since.items():
            if since >= said_at:
                continue
            bed, alert = place
            tile = tiles.get(bed) if bed is not None else unit
            views = tile.episodes if tile is not None else ()
            if not any(one.id == alert and one.priority is Priority.HIGH for view in views for one in view.alerts):
                rule = self._highs[place].rule
                raise Broken(2, f"{name} has heard later words than the high {rule} of {bed}, and does not show it")
            self.checked += 1

    def look(self, tiles: Mapping[str, TileView], unit: UnitView, now: Instant) -> None:
        """Hold a complete board to it; ``now``: the hub's time."""
        shown = {
            (bed, alert.id): (alert.priority, view)
            for bed, episodes in (*((tile.bed, tile.episodes) for tile in tiles.values()), (None, unit.episodes))
            for view in episodes
            for alert in view.alerts
        }
        for place, entry in self._highs.items():
            found = shown.get(place)
            if found is None:
                raise Broken(2, f"{place[0]}: the high {entry.rule} is open and not on the board")
            grade, view = found
            if grade is not Priority.HIGH or view.priority is not Priority.HIGH or view.ladder is None:
                raise Broken(2, f"{place[0]}: the high {entry.rule} is shown {view.priority.value}, or not called")
            self.checked += 1
        for bed, episodes in (*((tile.bed, tile.episodes) for tile in tiles.values()), (None, unit.episodes)):
            for view in episodes:
                self._holder_shown(bed, view, now)
        for cover in unit.cover:
            if cover.person is None and cover.empty_since is None:
                raise Broken(4, f"nobody is on rung {cover.rung}, and the board does not say so")

    def _holder_shown(self, bed: str | None, view: EpisodeView, now: Instant) -> None:
        if view.id is None or view.over:
            return
        holder = self._holder.get((bed, view.id))
        stands = view.holder.person if view.holder is not None else None
        self.checked += 1
        if stands != holder:
            raise Broken(4, f"{bed}: {view.title}: the log says that {holder} has it, the board says {stands}")
        if view.holder is not None and now > view.holder.until + 2 * SECOND:
            raise Broken(4, f"{bed}: {view.title}: the hold of {stands} is over and still stands")
