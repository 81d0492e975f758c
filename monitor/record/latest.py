"""The newest readings of every run, for the snapshot of a desk that has just come; kept with each checkpoint."""

from collections.abc import Container, Iterable, Mapping

from pydantic import TypeAdapter

from monitor.core.entries import Entry, EntryKind
from monitor.core.point_marks import MEASURED, Marks, PointMark, marks_of
from monitor.core.wire import LatestReadings
from shared.instant import Instant
from shared.messages import Observation
from shared.quantities import Quantity
from shared.when_asked import WHEN_ASKED

_KEPT: TypeAdapter[list[tuple[LatestReadings, Instant]]] = TypeAdapter(
    list[tuple[LatestReadings, Instant]], config=WHEN_ASKED
)
#: The marks that a number shows as well as a trend, by the field that tells of them.
_FIELDS = {
    PointMark.ESTIMATED: "estimated", PointMark.DOUBTFUL: "doubtful", PointMark.UNCHECKED: "unchecked",
}  # fmt: skip
_BY_SET: Marks = frozenset({PointMark.UNCHECKED})
#: Whether a set was late is no matter of its numbers.
_NEVER_LATE = float("inf")


class Latest:
    """Newest value of each quantity of each run, with the time it was read and how it came in."""

    def __init__(self) -> None:
        self._values: dict[tuple[str, int], dict[Quantity, tuple[Instant, float]]] = {}
        self._marks: dict[tuple[str, int], dict[Quantity, Marks]] = {}
        self._newest: dict[tuple[str, int], Instant] = {}

    def take(self, observation: Observation) -> bool:
        """Take an observation; give whether it is late: something newer of this run was read before.

        A set that a person entered stands beside the feed's own readings and is compared value by value.
        """
        place = (observation.bed, observation.slot)
        values = self._values.setdefault(place, {})
        marks, told = self._marks.setdefault(place, {}), marks_of(observation, _NEVER_LATE)
        fresh = False
        for quantity, value in observation.readings.items():
            if quantity in values and observation.read_at <= values[quantity][0]:
                continue
            fresh = True
            values[quantity] = (observation.read_at, value)
            marks[quantity] = told.get(quantity, MEASURED)
        if observation.by is not None:
            return not fresh
        late = observation.read_at <= self._newest.get(place, -1)
        self._newest[place] = max(observation.read_at, self._newest.get(place, -1))
        return late

    def renew(
        self,
        bed: str,
        slot: int,
        values: Mapping[Quantity, tuple[Instant, float]],
        unchecked: Container[Quantity],
    ) -> LatestReadings:
        """Put in place of a run's newest readings what is left after a set was corrected or struck; give them.

        Args:
            unchecked: those of which it was not checked who entered them.
        """
        place = (bed, slot)
        before, marks = self._values.get(place, {}), self._marks.get(place, {})
        self._values[place] = dict(values)
        self._marks[place] = {
            quantity: (marks[quantity] - _BY_SET if before.get(quantity) == value else MEASURED)
            | ({PointMark.UNCHECKED} if quantity in unchecked else MEASURED)
            for quantity, value in values.items()
        }
        return self._view(place)

    def note(self, entries: Iterable[Entry]) -> None:
        """Forget the readings of runs that have ended or begun: the next run belongs to somebody else."""
        for entry in entries:
            if entry.kind in (EntryKind.RUN_STARTED, EntryKind.RUN_ENDED) and entry.bed and entry.slot:
                for kept in (self._values, self._marks, self._newest):
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
            latest._marks[place] = {
                quantity: frozenset(mark for mark, field in _FIELDS.items() if quantity in getattr(view, field))
                for quantity in view.values
            }
            latest._newest[place] = newest
        return latest

    def _kept(self) -> list[tuple[LatestReadings, Instant]]:
        return [(self._view(place), self._newest.get(place, -1)) for place in sorted(self._values)]

    def _view(self, place: tuple[str, int]) -> LatestReadings:
        marks = self._marks[place]
        told = {
            field: frozenset(quantity for quantity in marks if mark in marks[quantity])
            for mark, field in _FIELDS.items()
        }
        return LatestReadings(bed=place[0], slot=place[1], values=dict(self._values[place]), **told)
