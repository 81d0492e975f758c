"""Some hours of a bed with all that a reader elsewhere must know of each reading: run, origin, what became of it.

People stand in it by their role alone, patients not at all: a bed's label and a run's name say which.
"""

from bisect import bisect_right
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import UTC, datetime, tzinfo
from operator import itemgetter

from monitor.core.drill import Drill
from monitor.record.bed_reading import BedReading, Kept
from monitor.record.editions import SetStanding, newest_of, standing_of
from monitor.reports.exports.alerts import KINDS, Alerted, alerted
from monitor.reports.exports.runs import Run, Runs
from monitor.settings import configuration_of
from monitor.settings.drill_mark import drill_in
from shared.errors import ConfigurationError
from shared.instant import SECOND, Instant
from shared.messages import Origin
from shared.quantities import Quantity

#: What each origin is called wherever it is shown.
ORIGIN_WORDS = {
    Origin.CONSOLE: "CONSOLE",
    Origin.SIMULATED: "SIMULATED",
    Origin.REPLAYED: "REPLAYED",
    Origin.ENTERED: "HAND-ENTERED",
}
#: Readings of nobody: to be marked as test data wherever they go.
OF_NOBODY = frozenset({Origin.SIMULATED, Origin.REPLAYED})


@dataclass(frozen=True, slots=True)
class Row:
    """An observation.

    Attributes:
        run: ``None``: the log tells of none.
        origin: ``None``: no feed has said.
        role: of whoever entered it, in words; ``None``: nobody did, or the roster does not say.
    """

    kept: Kept
    run: Run | None
    origin: Origin | None
    role: str | None
    standing: SetStanding


@dataclass(frozen=True, slots=True)
class Taking:
    """What is taken out.

    Attributes:
        zone: of the clock on the unit's wall.
        quantities: every one that was read, in the order of the catalogue.
        count: how many rows there are.
        rows: goes through them once, in the order in which they were read.
        origin: what the bed's feed said last.
        thinned_before: observations of before were taken out of the record; ``None``: none ever was.
        items: the words of what a round looks at, by its id.
        drill: whose beds these are, where people practised.
    """

    bed: str
    begin: Instant
    end: Instant
    zone: tzinfo
    quantities: Sequence[Quantity]
    count: int
    alerts: Sequence[Alerted]
    rows: Callable[[], Iterator[Row]]
    origin: Origin | None
    thinned_before: Instant | None = None
    items: Mapping[str, str] = field(default_factory=dict)
    drill: Drill | None = None


def taking_of(reading: BedReading, thinned_before: Instant | None = None) -> Taking:
    """Gather what the record says of these hours. Raises RecordError where it refuses."""
    runs, origins, people = Runs(reading.bed), _Origins(reading), _people(reading)
    for ordinal, entry in reading.entries(Runs.KINDS):
        runs.take(ordinal, entry)
    newest = newest_of(reading.editions())

    def rows() -> Iterator[Row]:
        for kept in reading.observations():
            said = kept.observation
            origin = Origin.ENTERED if said.by is not None else origins.at(kept.ordinal)
            yield Row(
                kept,
                runs.at(kept.ordinal, said.slot),
                origin,
                people.roles.get(said.by) if said.by is not None else None,
                standing_of(said, newest),
            )

    entries = (entry for _, entry in reading.entries(KINDS))
    known = reading.configurations()
    return Taking(
        reading.bed,
        reading.begin,
        reading.end,
        people.zone,
        reading.quantities(),
        reading.count(),
        alerted(entries, reading.bed, reading.begin, reading.end),
        rows,
        origins.last,
        thinned_before,
        people.items,
        drill_in(known[-1].files) if known else None,
    )


def written(at: Instant, zone: tzinfo) -> str:
    """Write a time as ISO 8601 with its offset from UTC, to the millisecond."""
    whole = datetime.fromtimestamp(at // SECOND, UTC).replace(microsecond=at % SECOND * 1_000)
    return whole.astimezone(zone).isoformat(timespec="milliseconds")


class _Origins:
    """What the feed said of a bed's origin, in order."""

    def __init__(self, reading: BedReading) -> None:
        self._said = [
            (ordinal, bed.origin)
            for ordinal, declared in reading.declared()
            for bed in declared.beds
            if bed.bed == reading.bed
        ]

    @property
    def last(self) -> Origin | None:
        return self._said[-1][1] if self._said else None

    def at(self, ordinal: int) -> Origin | None:
        place = bisect_right(self._said, ordinal, key=itemgetter(0))
        return self._said[place - 1][1] if place else None


@dataclass(frozen=True, slots=True)
class _People:
    roles: dict[str, str]
    zone: tzinfo
    items: dict[str, str]


def _people(reading: BedReading) -> _People:
    """Give roles by roster name, the wall's zone and the items of rounds: what was configured last counts."""
    roles: dict[str, str] = {}
    items: dict[str, str] = {}
    zone: tzinfo = UTC
    for configured in reading.configurations():
        try:
            read = configuration_of(configured.files)
        except ConfigurationError:  # a configuration of an older Weirkeeper: what it says of people is not known
            continue
        zone = read.unit.zone
        roles |= {one.name: one.role.value.replace("_", " ") for one in read.unit.people}
        items |= {one.id: one.words for one in read.rounds.item}
    return _People(roles, zone, items)
