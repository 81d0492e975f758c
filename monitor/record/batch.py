"""What is written at once: the steps of one turn of the hub, and what belongs to them."""

from dataclasses import dataclass, field

from monitor.core.entries import Entry
from monitor.core.events import Event, Observed
from monitor.core.wire import CommandAnswer
from monitor.record.configurations import Configured
from shared.instant import Instant


@dataclass(frozen=True, slots=True)
class Begin:
    """The record is new: the engine was started at this moment. The first input of every record.

    ``anew``: it is new in the place of one that was lost or put aside.
    """

    anew: bool = False


@dataclass(frozen=True, slots=True)
class Step:
    """One event as it was handled, with what came of it.

    Attributes:
        at: the hub's time, as the engine was told it.
        event: the input; ``None``: the entries are the hub's own and no input of the engine.
        entries: what the engine wrote, in order.
        answer: what became of the command, if the event was one.
    """

    at: Instant
    event: Event | Begin | None
    entries: tuple[Entry, ...] = ()
    answer: CommandAnswer | None = None


@dataclass(frozen=True, slots=True)
class Skipped:
    """Numbers of an epoch that will never be in the record, and why (a refusal's reason, or ``lost``)."""

    feed: str
    epoch: str
    first: int
    last: int
    reason: str


@dataclass(frozen=True, slots=True)
class Checkpoint:
    """The engine's whole state, and the newest readings, after all steps of a batch."""

    at: Instant
    engine: bytes
    latest: bytes


@dataclass(slots=True)
class Batch:
    """What goes into the record in one transaction, whole or not at all.

    ``configured``: what holds from the first of these steps on.
    """

    steps: list[Step] = field(default_factory=list)
    skipped: list[Skipped] = field(default_factory=list)
    checkpoint: Checkpoint | None = None
    configured: Configured | None = None

    def __bool__(self) -> bool:
        return bool(self.steps or self.skipped or self.checkpoint or self.configured)

    @property
    def may_wait(self) -> bool:
        """Tell whether a power cut may take it back: observations alone, which the feed's journal still holds."""
        return not (self.checkpoint or self.configured) and all(
            isinstance(step.event, Observed) and not step.entries for step in self.steps
        )
