"""Invariant 3: each unanswered medium or high reaches its next rung on time, and is called once.

An alert that nobody and nothing touches is followed from its raise: what its row of the ladder says is to be called
must be, within a second; or within a second of the hub's return where it was away. As soon as anything else befalls
its episode it is left to the ladder as the board shows it, which must never be behind.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field

from monitor.core.entries import Entry, EntryKind
from monitor.core.grades import LadderClass, Priority, Rung
from monitor.core.ladder_table import LadderRow, LadderTable
from monitor.core.view import EpisodeView
from monitor.rehearsal.trials.findings import Broken
from shared.instant import SECOND, Instant, ms

_WITHIN = SECOND
#: What moves no rung of a ladder to a later time.
_HARMLESS = frozenset({EntryKind.CALLED, EntryKind.PAGED, EntryKind.FOLDED, EntryKind.SEEN, EntryKind.NO_ANSWER})
Place = tuple[str | None, int]


@dataclass(slots=True)
class _Climb:
    began: Instant
    ladder: LadderClass
    row: LadderRow
    called: dict[tuple[int, str | None], Instant] = field(default_factory=dict)

    def due(self) -> list[tuple[int, Instant]]:
        """Give the rungs that were not called, each with its time."""
        done = {rung for rung, _ in self.called}
        times = ((rung, self.row.seconds(rung)) for rung in Rung if rung not in done)
        return [(int(rung), self.began + ms(seconds)) for rung, seconds in times if seconds is not None]


class Calls:
    """Follows the entries as the hub tells them."""

    def __init__(self, table: LadderTable) -> None:
        self.away: list[tuple[Instant, Instant]] = []
        self.checked = 0
        self._table = table
        self._climbs: dict[Place, _Climb] = {}
        self._known: dict[Place, tuple[Instant, LadderClass]] = {}

    def rebuild(self, entries: Iterable[Entry]) -> None:
        """Begin anew from the log: the hub was started again."""
        self._climbs = {}
        for entry in entries:
            place = (entry.bed, entry.episode or 0)
            known = self._known.get(place)
            self.take_in(entry, known[1] if known is not None and known[0] == entry.at else None)

    def take_in(self, entry: Entry, ladder: LadderClass | None) -> None:
        """Take an entry; ``ladder``: the class of the episode that it raises, if that is known."""
        if entry.episode is None:
            return
        place = (entry.bed, entry.episode)
        climb = self._climbs.get(place)
        if climb is None:
            if entry.kind is EntryKind.RAISED and entry.priority is not Priority.LOW and ladder is not None:
                self._climbs[place] = _Climb(entry.at, ladder, self._table.rows[ladder])
                self._known[place] = (entry.at, ladder)
        elif entry.kind not in _HARMLESS:
            del self._climbs[place]
        elif entry.kind is EntryKind.CALLED and entry.rung is not None:
            self._called(place, climb, entry)

    def _called(self, place: Place, climb: _Climb, entry: Entry) -> None:
        who = (int(entry.rung or 0), entry.person)
        repeats = climb.row.repeat_from_s
        if repeats is not None and entry.at >= climb.began + ms(repeats):
            del self._climbs[place]
            return
        if who in climb.called:
            raise Broken(3, f"{_words(place)}: rung {who[0]}, {who[1]}, is called twice")
        for rung, due in climb.due():
            if rung == who[0] and entry.at > self._latest(due):
                raise Broken(3, f"{_words(place)}: rung {rung} is called {(entry.at - due) / 1000:.1f} s late")
        climb.called[who] = entry.at
        self.checked += 1

    def second(self, now: Instant, ladders: dict[Place, LadderClass]) -> None:
        """Look whether a call is overdue; ``now``: the hub's time; ``ladders``: as the board shows them."""
        for place, climb in list(self._climbs.items()):
            shown = ladders.get(place)
            if shown is not None and shown is not climb.ladder:  # a further witness, or one that is over
                del self._climbs[place]
                continue
            for rung, due in climb.due():
                if now > self._latest(due) + _WITHIN:
                    raise Broken(3, f"{_words(place)}: rung {rung} was due {(now - due) / 1000:.1f} s ago")

    def behind(self, bed: str | None, episodes: Sequence[EpisodeView], now: Instant) -> None:
        """Look whether a ladder that a board shows is behind its time, or leads nowhere."""
        for view in episodes:
            ladder = view.ladder
            if view.over or ladder is None or ladder.nobody_since is not None:
                continue
            following = [at for at in (ladder.next_at, ladder.repeats_at) if at is not None]
            row = self._table.rows[ladder.ladder]
            if not following:
                if row.repeat_from_s is None:
                    continue
                raise Broken(3, f"{bed}: {view.title}: nobody will ever be called")
            self.checked += 1
            if now > self._latest(min(following)) + _WITHIN:
                late = (now - min(following)) / 1000
                raise Broken(3, f"{bed}: {view.title}: the next call was due {late:.1f} s ago")

    def _latest(self, due: Instant) -> Instant:
        latest = due + _WITHIN
        for gone, back in self.away:
            if gone <= latest and due <= back:
                latest = max(latest, back + _WITHIN)
        return latest


def _words(place: Place) -> str:
    return f"{place[0] or 'the unit'}, episode {place[1]}"
