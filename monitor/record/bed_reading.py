"""Some hours of one bed out of the record, as they came in: observations, origins and the log, page by page."""

import heapq
import sqlite3
import struct
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass

from pydantic import TypeAdapter

from monitor.core.entries import Entry, EntryKind
from monitor.core.events import Declared
from monitor.record import configurations
from monitor.record.configurations import Configured
from monitor.record.editions import IS_A_SET
from monitor.record.packing import quantities_of, unpack
from shared.errors import RecordError
from shared.instant import Instant
from shared.messages import Edition, Observation
from shared.quantities import Quantity

#: Observations a page: nobody who writes the record waits for more than one of them.
PAGE = 4_000
#: The version from which on a record says by which configuration it was judged.
_CONFIGURED = 3
_DECLARED: TypeAdapter[Declared] = TypeAdapter(Declared)

_OF_PLACE = "FROM observations o WHERE o.place = ? AND o.read_at >= ? AND o.read_at < ? AND o.ordinal <= ?"
_OBSERVATIONS = """
SELECT o.read_at, o.ordinal, o.at, e.feed, e.epoch, o.seq, o.sent_at, l.quantities, o.readings, o.marks
FROM observations o JOIN epochs e ON e.id = o.epoch JOIN layouts l ON l.id = o.layout
WHERE o.place = ? AND (o.read_at, o.ordinal) > (?, ?) AND o.read_at < ? AND o.ordinal <= ?
ORDER BY o.read_at, o.ordinal LIMIT ?
"""
_EDITIONS = f"""
SELECT json_extract(marks, '$.edition') FROM observations
WHERE place = ? AND ordinal <= ? AND {IS_A_SET}
  AND (coalesce(json_extract(marks, '$.unchecked'), 'not_asked') = 'not_asked'
    OR coalesce(json_extract(marks, '$.edition.version'), 1) = 1) ORDER BY ordinal
"""
_LAYOUTS = f"SELECT quantities FROM layouts WHERE id IN (SELECT DISTINCT o.layout {_OF_PLACE})"
_ENTRIES = """
SELECT ordinal, body FROM entries
WHERE ordinal <= ? AND json_extract(body, '$.kind') IN ({}) ORDER BY number
"""


@dataclass(frozen=True, slots=True)
class Kept:
    """An observation with its ordinal in the record and the time at which the hub took it (ms)."""

    ordinal: int
    at: Instant
    observation: Observation


class BedReading:
    """Reads what was read at ``bed`` from ``begin`` (included) to ``end`` (excluded), in ms.

    What is written after it was made is left out, so that everything it gives is of one moment. Every method raises
    RecordError where a row is no longer what was written.
    """

    def __init__(self, db: sqlite3.Connection, version: int, bed: str, begin: Instant, end: Instant) -> None:
        self.bed, self.begin, self.end = bed, begin, end
        self._db, self._version = db, version
        places = db.execute("SELECT id, slot FROM places WHERE bed = ? ORDER BY slot", (bed,)).fetchall()
        self._places: list[tuple[int, int]] = [(place, int(slot)) for place, slot in places]
        newest = (
            "SELECT max(coalesce((SELECT max(ordinal) FROM {}), 0), coalesce((SELECT max(ordinal) FROM {}), 0))"
        )
        self._last: int = db.execute(newest.format("observations", "inputs")).fetchone()[0]

    @property
    def is_known(self) -> bool:
        """Tell whether anything was ever read at the bed."""
        return bool(self._places)

    def count(self) -> int:
        """Count the observations."""
        found = (self._db.execute(f"SELECT count(*) {_OF_PLACE}", self._window(place)) for place, _ in self._places)
        return sum(rows.fetchone()[0] for rows in found)

    def quantities(self) -> list[Quantity]:
        """Give every quantity that was read, in the order of the catalogue."""
        here = {
            quantity
            for place, _ in self._places
            for (layout,) in self._db.execute(_LAYOUTS, self._window(place))
            for quantity in quantities_of(layout)
        }
        return [quantity for quantity in Quantity if quantity in here]

    def observations(self) -> Iterator[Kept]:
        """Give every observation of the bed, in the order in which they were read."""
        slots = (self._of_place(place, slot) for place, slot in self._places)
        return heapq.merge(*slots, key=lambda kept: (kept.observation.read_at, kept.ordinal))

    def editions(self) -> Iterator[Edition]:
        """Give every version of every set entered by hand at the bed, whenever read, but none refused."""
        for place, _ in self._places:
            for (edition,) in self._db.execute(_EDITIONS, (place, self._last)):
                with _as_written("an observation"):
                    found = Edition.model_validate_json(edition)
                yield found

    def entries(self, kinds: Sequence[EntryKind]) -> Iterator[tuple[int, Entry]]:
        """Give every entry of some kinds from the record's first on, of every bed, with its input's ordinal."""
        query = _ENTRIES.format(", ".join("?" * len(kinds)))
        for ordinal, body in self._db.execute(query, (self._last, *(kind.value for kind in kinds))):
            with _as_written("an entry"):
                entry = Entry.model_validate_json(body)
            yield ordinal, entry

    def declared(self) -> Iterator[tuple[int, Declared]]:
        """Give what feeds said of their beds, with ordinals."""
        query = "SELECT ordinal, body FROM inputs WHERE kind = 'declared' AND ordinal <= ? ORDER BY ordinal"
        for ordinal, body in self._db.execute(query, (self._last,)):
            with _as_written("an input"):
                declared = _DECLARED.validate_json(body)
            yield ordinal, declared

    def configurations(self) -> list[Configured]:
        """Give the configurations that were in force, oldest first; an old record knows none."""
        if self._version < _CONFIGURED:
            return []
        return [found for _, found in sorted(configurations.since(self._db, -1).items())]

    def _window(self, place: int) -> tuple[int, ...]:
        return place, self.begin, self.end, self._last

    def _of_place(self, place: int, slot: int) -> Iterator[Kept]:
        after = (self.begin, -1)
        while True:
            page = self._db.execute(_OBSERVATIONS, (place, *after, self.end, self._last, PAGE)).fetchall()
            for read_at, ordinal, at, feed, epoch, seq, sent_at, layout, readings, marks in page:
                times = (read_at, sent_at)
                with _as_written("an observation"):
                    said = unpack(feed, epoch, seq, self.bed, slot, times, layout, readings, marks)
                yield Kept(ordinal, at, said)
            if len(page) < PAGE:
                return
            after = page[-1][:2]


@contextmanager
def _as_written(what: str) -> Iterator[None]:
    try:
        yield
    except (ValueError, struct.error) as error:
        first = str(error).splitlines()[0]
        raise RecordError(f"the record holds {what} that is not as it was written: {first}") from error
