"""Beds in virtual time of which each is read when a test says so, by its feed or by hand."""

from monitor.core.commands import StartTransport
from monitor.core.entries import EntryKind
from monitor.core.events import Declared, Observed
from monitor.rehearsal.sources import Numbered
from shared.instant import HOUR, SECOND
from shared.messages import BedDeclared, Origin
from shared.quantities import Quantity as Q
from tests.helpers.one_bed import USUAL, Bed


class Beds(Bed):
    """Beds of which each is read when a test says so."""

    def __init__(self, number: int = 1, more: str = "") -> None:
        super().__init__(tuple(f"B{place + 1}" for place in range(number)), more)
        self._feed = Numbered()

    def read(self, *labels: str, slot: int = 1) -> None:
        """Read beds once, now."""
        values = USUAL if slot == 1 else {Q.PUMP_SPEED: 3500.0, Q.PUMP_FLOW: 4.0}
        for label in labels:
            self._keep(self.engine.handle(Observed(self._feed.live(label, slot, self.now, values)), self.now))

    def enter(self, label: str) -> None:
        """Enter a set by hand, read now."""
        said = self._feed.live(label, 1, self.now, USUAL)
        said = said.model_copy(update={"by": "nurse-B1", "entered_at": self.now})
        self._keep(self.engine.handle(Observed(said), self.now))

    def declare(self, label: str, interval: float, origin: Origin = Origin.SIMULATED) -> None:
        """Its feed says how often a bed is read."""
        (runs,) = [bed.runs for bed in self.configuration.unit.beds if bed.label == label]
        bed = BedDeclared(bed=label, runs=tuple(run.description for run in runs), interval=interval, origin=origin)
        self._keep(self.engine.handle(Declared("ward", (bed,)), self.now))

    def leave(self, label: str = "B1") -> None:
        """The bed goes on a transport of an hour."""
        fields = {"leader": "nurse-B1", "back": self.now + HOUR}
        assert self.say(StartTransport, "charge", bed=label, **fields) == ""

    def told(self, *kinds: EntryKind, since: int = 0) -> list[tuple[float, EntryKind, str | None, str | None]]:
        """Seconds after ``since``, kind, bed and rule."""
        return [((e.at - since) / SECOND, e.kind, e.bed, e.rule) for e in self.of(*kinds) if e.at >= since]
