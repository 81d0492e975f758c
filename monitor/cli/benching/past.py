"""The hours before a bench, written into a record as a hub writes them: ``... past FOLDER RECORD NOW HOURS``.

The first beds have 12 h: the last two, which a tile shows, at 1 Hz, those before at two readings a minute; the
very first one all HOURS at 1 Hz, for a review. Further beds have two hours at two readings a minute: a column of a
trend each. They are for trends and histories: the engine begins at the end of them, and judges nothing by them.
"""

import random
import sys
from collections.abc import Iterable, Iterator
from pathlib import Path

from monitor.cli.benching.unit import scenarios_in
from monitor.core.engine import Engine
from monitor.core.entries import EntryKind
from monitor.core.events import Observed
from monitor.hub.judge import judged
from monitor.record import Batch, Begin, Checkpoint, Configured, Record, Step
from monitor.record.latest import Latest
from monitor.settings import load_configuration, texts_in
from shared.instant import HOUR, SECOND, Instant
from shared.messages import Observation
from shared.staging import StagedPump, staged_pumps

#: So many beds have 12 h.
PAST_BEDS = 24
PAST_MS, TILE_MS = 12 * HOUR, 2 * HOUR
SPARSE_MS = 30 * SECOND
#: The simulated bed is asked so often; its readings then come again, in an order of chance.
_SEEN = 60
_AT_ONCE = 20_000


def moments_of(number: int, now: Instant, hours: int) -> Iterable[Instant]:
    """Give when the bed with this number (from 0) was read, oldest first; the first one so many hours."""
    if number == 0:
        return range(now - hours * HOUR, now, SECOND)
    if number >= PAST_BEDS:
        return range(now - TILE_MS, now, SPARSE_MS)
    return [*range(now - PAST_MS, now - TILE_MS, SPARSE_MS), *range(now - TILE_MS, now, SECOND)]


def write_past(folder: Path, file: Path, now: Instant, hours: int) -> int:
    """Write the record; give how many observations are in it.

    Raises:
        ConfigurationError: the folder is wrong.
        RecordError: the record cannot be written.
    """
    configuration = load_configuration(folder)
    pumps = [pump for scenario in scenarios_in(folder) for pump in staged_pumps(scenario, configuration.pumps)]
    begin = now - max(PAST_MS, hours * HOUR)
    record, engine, latest = Record.open(file), Engine(configuration, now), Latest()
    try:
        begun = judged(Begin(), now, engine.start(now)).step
        # The runs began before all this: no history reaches back beyond the start of its run.
        entries = tuple(
            one.model_copy(update={"at": begin}) if one.kind is EntryKind.RUN_STARTED else one
            for one in begun.entries
        )
        first = Step(begin, begun.event, entries)
        record.append(Batch([first], configured=Configured(begin, dict(texts_in(folder)))))
        count = 0
        for number, pump in enumerate(pumps):
            steps = list(_steps(pump, moments_of(number, now, hours)))
            for at in range(0, len(steps), _AT_ONCE):
                record.append(Batch(steps[at : at + _AT_ONCE]))
            count += len(steps)
        record.append(Batch(checkpoint=Checkpoint(now, engine.checkpoint(), latest.dump())))
        record.flush({})
    finally:
        record.close()
    return count


def _steps(pump: StagedPump, moments: Iterable[Instant]) -> Iterator[Step]:
    seen = [_seen(pump, second) for second in range(_SEEN)]
    chance = random.Random(pump.bed)
    for number, at in enumerate(moments, 1):
        told = {"seq": number, "read_at": at, "sent_at": at}
        yield Step(at, Observed(seen[chance.randrange(_SEEN)].model_copy(update=told)))


def _seen(pump: StagedPump, second: int) -> Observation:
    """Give what a bed says at a second: made once, and copied, which costs a tenth."""
    readings = pump.observe(float(second))
    return Observation.model_construct(
        type="observation",
        feed=f"past-{pump.bed}-{pump.slot}",
        epoch=f"{pump.bed}-{pump.slot}".ljust(16, "0"),
        seq=0,
        bed=pump.bed,
        slot=pump.slot,
        read_at=0,
        sent_at=0,
        readings=dict(readings.values),
        estimated=frozenset(readings.estimated),
        doubtful=frozenset(),
        conditions=frozenset(readings.conditions),
        entered_at=None,
        by=None,
    )


if __name__ == "__main__":
    print(write_past(Path(sys.argv[1]), Path(sys.argv[2]), int(sys.argv[3]), int(sys.argv[4])), flush=True)
