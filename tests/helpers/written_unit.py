"""A unit whose hours are written into a record as a hub writes them, in virtual time and without sockets."""

from collections.abc import Iterable, Mapping
from pathlib import Path

from monitor.core.commands import Command
from monitor.core.effects import Persist
from monitor.core.engine import Engine
from monitor.core.entries import Entry, EntryKind
from monitor.core.events import Commanded, Declared, Event, Observed, TimePassed
from monitor.core.watching import STARTED_AGAIN
from monitor.record import Batch, Begin, Checkpoint, Configured, Record, Step
from monitor.record.latest import Latest
from monitor.settings import configuration_of, load_configuration, texts_in
from shared.instant import SECOND, Instant
from shared.messages import BedDeclared, Observation, Origin
from shared.quantities import Quantity as Q
from tests.helpers.courses import CONFIG
from tests.helpers.inputs import EPOCH
from tests.helpers.one_bed import USUAL

FEED = "ward"
#: 2026-01-01 00:00 UTC.
BEGIN: Instant = 1_767_225_600_000
EVERY_S = 20


class WrittenUnit:
    """The shipped unit: beds are read every twenty seconds, and all that comes of it goes into the record.

    A checkpoint is written every ten minutes. ``told``: with the configuration's texts.
    """

    def __init__(self, path: Path, beds: Iterable[str] = ("B1", "B2"), told: bool = True) -> None:
        self.path, self.now, self.beds = path, BEGIN, tuple(beds)
        self.files = texts_in(CONFIG)
        self.record = Record.open(path)
        self.batch = Batch(configured=Configured(BEGIN, self.files) if told else None)
        self.engine = Engine(load_configuration(CONFIG), BEGIN)
        self.latest = Latest()
        self._seq = 0
        self._commands = 0
        self._keep(Begin(), self.engine.start(BEGIN))
        runs = {bed: self.engine.tile(bed, BEGIN).runs for bed in self.beds}
        self.handle(
            Declared(
                FEED,
                tuple(
                    BedDeclared(
                        bed=bed,
                        runs=tuple(run.description for run in runs[bed]),
                        interval=float(EVERY_S),
                        origin=Origin.SIMULATED,
                    )
                    for bed in self.beds
                ),
            )
        )

    def read(self, minutes: float, changes: Mapping[str, Mapping[Q, float] | None] | None = None) -> None:
        """Read every bed for so long; ``changes`` by bed: what is other than usual, ``None``: nothing is read."""
        for _ in range(round(minutes * 60 / EVERY_S)):
            self.wait(EVERY_S)
            for bed in self.beds:
                change = (changes or {}).get(bed, {})
                if change is not None:
                    self._seq += 1
                    readings = USUAL | dict(change)
                    said = {"feed": FEED, "epoch": EPOCH, "seq": self._seq, "bed": bed, "read_at": self.now}
                    observation = Observation.model_validate(said | {"sent_at": self.now, "readings": readings})
                    self.handle(Observed(observation))
            if (self.now - BEGIN) % (600 * SECOND) == 0:
                self.flush()

    def wait(self, seconds: float) -> None:
        """Let time pass; what is due is done at its moment."""
        until = self.now + round(seconds * SECOND)
        while (due := self.engine.next_deadline()) is not None and due <= until:
            self.now = max(self.now, due)
            self.handle(TimePassed())
        self.now = until

    def give(self, command: Command) -> None:
        """Give a command."""
        self.handle(Commanded(command))

    def note(self, text: str) -> None:
        """Write a note of the hub's own."""
        self.write(Entry(at=self.now, kind=EntryKind.NOTE, text=text))

    def write(self, entry: Entry) -> None:
        """Write an entry of the hub's own: it follows from no input."""
        self.batch.steps.append(Step(self.now, None, (entry,)))

    def be_away(self, seconds: int) -> None:
        """Stop, and start again from the checkpoint so much later."""
        self.flush()
        self.engine = Engine.restore(configuration_of(self.files), self.engine.checkpoint())
        self.now += seconds * SECOND
        self.note(STARTED_AGAIN.format(away=seconds))
        self.handle(TimePassed())

    def handle(self, event: Event) -> None:
        """Handle an event and keep what came of it."""
        effects = self.engine.handle(event, self.now)
        self.latest.note(effect.entry for effect in effects if isinstance(effect, Persist))
        if isinstance(event, Observed):
            self.latest.take(event.observation)
        self._keep(event, effects)

    def flush(self) -> None:
        """Write what has come, with a checkpoint."""
        self.batch.checkpoint = Checkpoint(self.now, self.engine.checkpoint(), self.latest.dump())
        self.record.append(self.batch)
        self.batch = Batch()

    def reconfigure(self, files: Mapping[str, str]) -> None:
        """Stop and start under other files."""
        self.flush()
        self.files = dict(files)
        self.engine = Engine.restore(configuration_of(files), self.engine.checkpoint())
        self.batch.configured = Configured(self.now, files)
        self.note("the hub was given another configuration")

    def close(self) -> None:
        """Write the rest and close the record."""
        self.flush()
        self.record.flush({})
        self.record.close()

    def _keep(self, event: Event | Begin, effects: Iterable[object]) -> None:
        entries = tuple(effect.entry for effect in effects if isinstance(effect, Persist))
        self.batch.steps.append(Step(self.now, event, entries))
