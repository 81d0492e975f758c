"""One turn of the hub: what came of the events that were handled in it, in order, until it is written and told."""

from collections.abc import Sequence
from dataclasses import dataclass, field

from monitor.core.entries import Entry
from monitor.core.judging.editions import is_later
from monitor.core.wire import CommandAnswer, LatestReadings
from monitor.hub.judge import EngineLike, Judged
from monitor.record import Batch, Step
from monitor.record.latest import Latest
from shared.instant import Instant
from shared.messages import Observation


@dataclass(frozen=True, slots=True)
class Read:
    """An observation to be published; ``late``: something newer stands.

    ``anew``: of its set another version stands, or none; this is what stands after it.
    """

    observation: Observation
    late: bool
    anew: LatestReadings | None = None


def read_of(observation: Observation, latest: Latest, engine: EngineLike) -> Read | None:
    """Take an observation that the engine has handled into the newest readings, and give what is to be told.

    What was read at a run that has ended since is in the record alone: no desk shows it, and no later run has it.
    """
    if observation.slot in engine.ended(observation.bed):
        return None
    if not (is_later(observation) or engine.is_replaced(observation)):
        return Read(observation, latest.take(observation))
    bed, slot = observation.bed, observation.slot
    anew = latest.renew(bed, slot, engine.newest(bed, slot), engine.unchecked(bed, slot))
    return Read(observation, late=False, anew=anew)


@dataclass(slots=True)
class Turn:
    """What is to be written (``batch``) and then told (``news``, in order), and the views that have changed."""

    batch: Batch = field(default_factory=Batch)
    news: list[Read | Entry | CommandAnswer] = field(default_factory=list)
    touched: dict[str | None, None] = field(default_factory=dict)

    def note(self, entries: Sequence[Entry], now: Instant) -> None:
        """Take in entries of the hub's own; they are no input of the engine, and change the unit's view."""
        if entries:
            self.own(Step(now, None, tuple(entries)))

    def own(self, step: Step) -> None:
        """Take in a step of the hub's own, whose answer nobody waits for."""
        self.batch.steps.append(step)
        self.news += step.entries
        self.touched[None] = None

    def add(self, judged: Judged, read: Read | None = None) -> None:
        """Take in what came of one event; ``read``: the event was this observation."""
        step = judged.step
        self.batch.steps.append(step)
        if read is not None:
            self.news.append(read)
        self.news += step.entries
        if step.answer is not None:
            self.news.append(step.answer)
        for bed in judged.touched:
            self.touched[bed] = None
