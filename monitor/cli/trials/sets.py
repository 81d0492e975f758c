"""What stands of the sets that were entered by hand: of each the newest version, of all the one read last.

Value by value, and beside a cable among what the feed read. Worked out from what is in the record alone, version by
version, beside the engine; a desk must show the same.
"""

from collections.abc import Iterable

from monitor.cli.trials.patients import MARK, TYPED
from monitor.core.commands import EndRun, StartRun
from monitor.core.entries import Entry, EntryKind
from monitor.core.events import Commanded, Event, Observed
from monitor.desk.readings import Readings
from monitor.record import Begin
from monitor.rehearsal.trials.findings import Broken
from shared.instant import Instant
from shared.messages import Observation, Unchecked

_RUN = frozenset({EntryKind.RUN_STARTED, EntryKind.RUN_ENDED})


class Sets:
    """Of the beds whose numbers are typed, and of those with a cable ``beside`` which sets are typed."""

    def __init__(self, by_hand: Iterable[str], beside: Iterable[str]) -> None:
        self.checked = 0
        self._beds = (*by_hand, *beside)
        self._forget()

    def rebuild(self, replay: Iterable[tuple[Event | Begin, Instant]], entries: Iterable[Entry]) -> None:
        """Begin anew from the record: the hub was started again."""
        if not self._beds:
            return
        self._forget()
        runs = {(entry.bed, entry.at): entry for entry in entries if entry.kind in _RUN}
        for event, at in replay:
            if isinstance(event, Commanded) and isinstance(event.command, StartRun | EndRun):
                entry = runs.get((event.command.bed, at))
                self.take(event, [entry] if entry is not None else [])
            elif isinstance(event, Observed):
                self.take(event, [])

    def take(self, event: Event | Begin | None, entries: Iterable[Entry]) -> None:
        """Take what was written: an event and the entries that came of it."""
        if not self._beds:
            return
        for entry in entries:
            if entry.kind in _RUN and entry.bed in self._versions:
                self._versions[entry.bed].clear()
                self._early[entry.bed].clear()
                self._read.pop(entry.bed, None)
                (self._open.add if entry.kind is EntryKind.RUN_STARTED else self._open.discard)(entry.bed)
        if isinstance(event, Observed) and event.observation.bed in self._open:
            if event.observation.by is not None:
                self._version(event.observation)
            elif event.observation.read_at > self._read_at(event.observation.bed):
                self._read[event.observation.bed] = event.observation

    def look(self, name: str, shown: Readings) -> None:
        """Hold a desk that shows all that was told to the newest set that stands."""
        for bed in self._beds:
            if bed not in self._open:
                continue
            stands = [*self._versions[bed].values(), *([self._read[bed]] if bed in self._read else [])]
            for quantity in (MARK, TYPED):
                bring = [(one.read_at, one.readings[quantity]) for one in stands if quantity in one.readings]
                is_so = max(bring, default=None)
                found = shown.latest(bed, 1, quantity)
                says = (found.read_at, found.value) if found is not None else None
                self.checked += 1
                if is_so != says:
                    words = f"{name} shows of {quantity.value} of {bed} {says}"
                    raise Broken(2, f"{words}, and of its sets {is_so} stands in the record")

    def _read_at(self, bed: str) -> Instant:
        return self._read[bed].read_at if bed in self._read else 0

    def _forget(self) -> None:
        self._read: dict[str, Observation] = {}
        self._versions: dict[str, dict[str, Observation]] = {bed: {} for bed in self._beds}
        self._early: dict[str, dict[str, Observation]] = {bed: {} for bed in self._beds}
        self._open = set(self._beds)

    def _version(self, said: Observation) -> None:
        """A set counts from its first version on: one of a run before is no matter of this one.

        Later versions count in whatever order they come, as in the record. A strike by who sent it alone is refused
        where its set is not known: that must not have been for the order.
        """
        edition, known, early = said.edition, self._versions[said.bed], self._early[said.bed]
        assert edition is not None
        is_known = edition.set in known
        if said.is_refused and (is_known or said.unchecked is not Unchecked.ALONE):
            return
        if edition.version == 1 and not is_known:
            known[edition.set] = early.pop(edition.set, said)
        elif edition.version > 1:
            place = known if is_known else early
            before = place.get(edition.set)
            if before is None or before.edition is None or before.edition.version < edition.version:
                place[edition.set] = said
