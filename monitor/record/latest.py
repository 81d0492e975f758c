"""The newest readings of every run, for the snapshot of a desk that has just come; kept with each checkpoint."""

from collections.abc import Iterable, Mapping

from pydantic import TypeAdapter

from monitor.core.entries import Entry, EntryKind
from monitor.core.wire import LatestReadings
from shared.instant import Instant
from shared.messages import Observation
from shared.quantities import Quantity

_KEPT: TypeAdapter[list[tuple[LatestReadings, Instant]]] = TypeAdapter(list[tuple[LatestReadings, Instant]])


class Latest:
    """Newest value of each quantity of each run, with the time it was read."""

    def __init__(self) -> None:
        self._values: dict[tuple[str, int], dict[Quantity, tuple[Instant, float]]] = {}
        self._estimated: dict[tuple[str, int], set[Quantity]] = {}
        self._newest: dict[tuple[str, int], Instant] = {}

    def take(self, observation: Observation) -> bool:
        """Take an observation; give whether it is late: something newer of this run was read before.

        A set that a person entered stands beside the feed's own readings and is compared value by value.
        """
        place = (observation.bed, observation.slot)
        values = self._values.setdefault(place, {})
        estimated = self._estimated.setdefault(place, set())
        fresh = False
        for quantity, value in observation.readings.items():
            if quantity in values and observation.read_at <= values[quantity][0]:
                continue
            fresh = True
            values[quantity] = (observation.read_at, value)
            (estimated.add if quantity in observation.estimated else estimated.discard)(quantity)
        if observation.by is not None:
            return not fresh
        late = observation.read_at <= self._newest.get(place, -1)
        self._newest[place] = max(observation.read_at, self._newest.get(place, -1))
        return late

    def renew(self, bed: str, slot: int, values: Mapping[Quantity, tuple[Instant, float]]) -> LatestReadings:
        """Put in place of a run's newest readings what is left after a set was corrected or struck; give them."""
        place = (bed, slot)
        before = self._values.get(place, {})
        self._values[place] = dict(values)
        same = {
            quantity for quantity in self._estimated.get(place, set()) if before[quantity] == values.get(quantity)
        }
        self._estimated[place] = same
        return LatestReadings(bed=bed, slot=slot, values=dict(values), estimated=frozenset(same))

    def note(self, entries: Iterable[Entry]) -> None:
        """Forget the readings of runs that have ended or begun: the next run belongs to somebody else."""
        for entry in entries:
            if entry.kind in (EntryKind.RUN_STARTED, EntryKind.RUN_ENDED) and entry.bed and entry.slot:
                for kept in (self._values, self._estimated, self._newest):
                    kept.pop((entry.bed, entry.slot), None)

    def views(self) -> tuple[LatestReadings, ...]:
        """Give everything, by bed and slot."""
        return tuple(view for view, _ in self._kept())

    def dump(self) -> bytes:
        """Give everything as JSON."""
        return _KEPT.dump_json(self._kept())

    @classmethod
    def load(cls, kept: bytes) -> "Latest":
        """Give back what `dump` gave. Raises ValueError."""
        latest = cls()
        for view, newest in _KEPT.validate_json(kept):
            place = (view.bed, view.slot)
            latest._values[place] = dict(view.values)
            latest._estimated[place] = set(view.estimated)
            latest._newest[place] = newest
        return latest

    def _kept(self) -> list[tuple[LatestReadings, Instant]]:
        return [
            (
                LatestReadings(
                    bed=place[0], slot=place[1], values=values, estimated=frozenset(self._estimated[place])
                ),
                self._newest.get(place, -1),
            )
            for place, values in sorted(self._values.items())
        ]
