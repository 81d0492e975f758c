"""What is known of every run of the unit: its own sets, and what the hub says of it.

A set of this form's own speaks for itself: of its numbers the hub's word is not taken besides, so that a set which
is struck or corrected leaves nothing behind.
"""

from collections.abc import Mapping
from dataclasses import replace
from types import MappingProxyType

from feeds.entered.folder import FormFolder
from feeds.entered.shelf import Numbered
from shared.beds_now import BedsNow, RunNow
from shared.entry.known import Known, Place, Told
from shared.entry.versions import SentSet, known_after
from shared.instant import Instant


class Places:
    """Runs by place.

    Attributes:
        folder: the unit, with the runs that are open now.
    """

    def __init__(self, folder: FormFolder) -> None:
        self.folder = folder
        self._sets: dict[Place, dict[str, Numbered]] = {}
        self._own: dict[Place, Known] = {}
        self._hub: dict[Place, RunNow] = {}

    def add(self, numbered: Numbered) -> None:
        """Take in the newest step of a set."""
        place = numbered.kept.place
        self._sets.setdefault(place, {})[numbered.kept.id] = numbered
        self._own.pop(place, None)

    def sets(self, place: Place) -> Mapping[str, Numbered]:
        """Give the sets of a run by id."""
        return self._sets.get(place, {})

    def everywhere(self) -> tuple[Numbered, ...]:
        """Give all sets."""
        return tuple(numbered for sets in self._sets.values() for numbered in sets.values())

    def is_open(self, place: Place) -> bool:
        """Tell whether a run is open."""
        return any(seat.place == place for seat in self.folder.seats)

    def known(self, place: Place) -> Known:
        """Give what is known of a run that is open. Raises KeyError where none such is."""
        own = self._own.get(place)
        if own is None or own.run is not self._blank(place).run:
            own = self._own[place] = known_after(self._blank(place), self._kept(place))
        return self._with_hub(own)

    def known_without(self, place: Place, set_id: str) -> Known:
        """The same, as if one set had not been sent: a set is not looked at by what it said itself."""
        return self._with_hub(known_after(self._blank(place), self._kept(place, set_id)))

    def others(self, place: Place) -> tuple[Known, ...]:
        """Give what is known of the other runs."""
        return tuple(self.known(seat.place) for seat in self.folder.seats if seat.place != place)

    def take(self, now: BedsNow) -> bool:
        """Take in what the hub says; tell whether other runs are open than before."""
        before = self.folder.seats
        self.folder = self.folder.with_beds(now)
        self._hub = {Place(bed.bed, one.run.slot, one.run.run_id): one for bed in now.beds for one in bed.runs}
        return self.folder.seats != before

    def _blank(self, place: Place) -> Known:
        found = next((seat for seat in self.folder.seats if seat.place == place), None)
        if found is None:
            raise KeyError(place)
        return found

    def _kept(self, place: Place, without: str = "") -> list[SentSet]:
        return [one.kept for one in self.sets(place).values() if one.kept.id != without]

    def _with_hub(self, own: Known) -> Known:
        hub = self._hub.get(own.place)
        if hub is None:
            return own
        mine: set[Instant] = {v.read_at for one in self.sets(own.place).values() for v in one.kept.versions}
        told = {quantity: Told(value, at) for quantity, (at, value) in hub.last.items() if at not in mine}
        known = own.with_last(told)
        for one in hub.rounds:
            if one.done_at is not None and one.done_at not in mine:
                known = known.with_round(one.kind, one.done_at)
        due = {one.kind: one.due_at for one in hub.rounds if one.due_at is not None}
        return replace(known, due_at=MappingProxyType(due), findings=MappingProxyType(dict(hub.findings)))
