"""A scenario played in virtual time into a record, as a hub would have written it; a hub then goes on from it."""

from collections.abc import Mapping
from pathlib import Path

from monitor.core.engine import Engine
from monitor.core.events import Observed
from monitor.core.unit import Configuration
from monitor.hub.judge import judged
from monitor.hub.turn import read_of
from monitor.record import Batch, Begin, Checkpoint, Configured, Record, Step
from monitor.record.latest import Latest
from monitor.rehearsal.turns import Turn, turns_of
from shared.entry.table import EntryTable
from shared.instant import MINUTE, Instant
from shared.scenario import Scenario

_CHECKPOINT_MS = 10 * MINUTE


def write_record(
    path: Path,
    scenario: Scenario,
    configuration: Configuration,
    files: Mapping[str, str],
    begin: Instant,
    entry: EntryTable | None,
) -> Engine:
    """Play a scenario that began at ``begin`` and write all of it; give the engine as it stands at the end.

    Args:
        path: of a record that is not there yet. files: what the configuration was read from, by path.
        entry: how rounds are typed, as the folder says.

    Raises:
        ConfigurationError: the scenario asks for something that cannot be rehearsed.
        RecordError: the record cannot be written.
    """
    record, engine, latest = Record.open(path), Engine(configuration, begin), Latest()
    batch, written = Batch(configured=Configured(begin, dict(files))), begin
    try:
        for number, turn in enumerate(turns_of(engine, scenario, configuration, begin, entry)):
            batch.steps.append(step := _step(turn, first=number == 0))
            latest.note(step.entries)
            if isinstance(turn.event, Observed):
                read_of(turn.event.observation, latest, engine)
            if turn.at - written >= _CHECKPOINT_MS:
                batch.checkpoint = Checkpoint(turn.at, engine.checkpoint(), latest.dump())
                record.append(batch)
                batch, written = Batch(), turn.at
        now = begin + round(scenario.minutes * MINUTE)
        batch.checkpoint = Checkpoint(now, engine.checkpoint(), latest.dump())
        record.append(batch)
        record.flush({})
    finally:
        record.close()
    return engine


def _step(turn: Turn, first: bool) -> Step:
    if first:
        return judged(Begin(), turn.at, turn.effects).step
    if turn.event is None:
        return Step(turn.at, None, turn.entries)
    return judged(turn.event, turn.at, turn.effects).step
