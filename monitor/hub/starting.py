"""From a record to a running engine: the last checkpoint that can be read, then every input after it, again.

What comes of the inputs is in the record already and is thrown away; only the state is wanted. A new record begins
with the engine's own start.
"""

import logging
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import UTC, datetime

from monitor.core.engine import Engine
from monitor.core.entries import Entry, EntryKind
from monitor.core.events import Event, Observed
from monitor.core.unit import Configuration
from monitor.core.watching import STARTED_AGAIN
from monitor.hub.judge import Judge, judged
from monitor.hub.turn import read_of
from monitor.record import Batch, Begin, Configured, Record, Step
from monitor.record.latest import Latest
from monitor.record.opening import Damaged
from shared.errors import ConfigurationError
from shared.instant import HOUR, SECOND, Instant
from shared.language.saying import to_say

log = logging.getLogger(__name__)

#: The log names the digest of what is in the record, so that it cannot be changed unseen.
CONFIGURED = to_say("the hub was given another configuration, {digest}: {names}")
#: The longest time without any input that is believed; the engine lives through it minute by minute.
_PAUSE_AT_MOST = 400 * 24 * HOUR
#: How often a long replay says how far it is.
_TOLD_EVERY = 50_000


@dataclass(frozen=True, slots=True)
class Started:
    """An engine that stands where the record ends.

    Attributes:
        batch: what the start itself writes.
        replayed: how many inputs were handled again.
    """

    judge: Judge
    latest: Latest
    batch: Batch
    replayed: int


def start(
    configuration: Configuration, record: Record, now: Instant, files: Mapping[str, str] | None = None
) -> Started:
    """Begin a record that is new, or go on from where it ends.

    Args:
        files: what the configuration was read from, by path; it is written down where it is another than before.

    Raises:
        ConfigurationError: a bed of the configuration is not in the record.
        RecordError: the record cannot be read or replayed; `Damaged`: nor will it ever.
    """
    configured = _configured(record, files, now)
    if record.is_new:
        return _begin(configuration, record, now, configured)
    engine, latest, after = _restore(configuration, record)
    judge, replayed = _replay(configuration, record.replay(after), engine, latest)
    if judge is None:
        raise Damaged(f"the record {record.path} has no beginning")
    for bed in configuration.unit.beds:
        _is_known(judge, bed.label, now, record)
    away = (now - record.last_at()) / 1000
    words = STARTED_AGAIN.format(away=away)
    log.info("%s; %d inputs replayed", words, replayed)
    steps = [_note(words, now), *_missed(record, now), *_told(configured)]
    return Started(judge, latest, Batch(steps, configured=configured), replayed)


def _configured(record: Record, files: Mapping[str, str] | None, now: Instant) -> Configured | None:
    """Give the configuration of now if it is to be written down: another than the last, or the first."""
    if not files:
        return None
    last, given = record.configured(), Configured(now, files)
    return None if last is not None and last.text == given.text else given


def _told(configured: Configured | None) -> list[Step]:
    if configured is None:
        return []
    names = ", ".join(sorted(configured.files))
    return [_note(CONFIGURED.format(digest=configured.digest, names=names), configured.at)]


def _begin(
    configuration: Configuration, record: Record, now: Instant, configured: Configured | None = None
) -> Started:
    engine = Engine(configuration, now)
    if record.anew is not None:
        log.error("%s", record.anew)
    lost = [_note(record.anew, now)] if record.anew is not None else _missed(record, now)
    begun = judged(Begin(anew=bool(lost)), now, engine.start(now, anew=bool(lost)))
    steps = [*lost, begun.step, *_told(configured)]
    return Started(Judge(engine), Latest(), Batch(steps, configured=configured), 0)


def _note(words: str, now: Instant) -> Step:
    return Step(now, None, (Entry(at=now, kind=EntryKind.NOTE, text=words),))


def _missed(record: Record, now: Instant) -> list[Step]:
    """Say in the log what of the log is missing."""
    return [] if record.missed is None else [_note(record.missed, now)]


def _restore(configuration: Configuration, record: Record) -> tuple[Engine | None, Latest, int]:
    for standing in record.standing():
        kept = standing.checkpoint
        try:
            return Engine.restore(configuration, kept.engine), Latest.load(kept.latest), standing.ordinal
        except ValueError as error:
            log.warning("the checkpoint at input %d cannot be used: %s", standing.ordinal, error)
    log.info(
        "no checkpoint can be used: every input of the record is handled again, some ten minutes for each day of "
        "eight beds; a new record (--record) starts at once, the old one stays as it is"
    )
    return None, Latest(), 0


def _replay(
    configuration: Configuration,
    inputs: Iterable[tuple[Event | Begin, Instant]],
    engine: Engine | None,
    latest: Latest,
) -> tuple[Judge | None, int]:
    judge = Judge(engine) if engine is not None else None
    count = 0
    before: Instant | None = None
    for event, at in inputs:
        count += 1
        if before is not None and at - before > _PAUSE_AT_MOST:  # to live through it would take for ever
            raise Damaged(
                f"input {count} after the checkpoint is {(at - before) / HOUR:.0f} h after the one before"
            )
        before = at
        if count % _TOLD_EVERY == 0:
            log.info("%d inputs handled again, up to %s", count, datetime.fromtimestamp(at // SECOND, UTC))
        if isinstance(event, Begin):
            engine = Engine(configuration, at)
            engine.start(at, anew=event.anew)
            judge = Judge(engine)
        elif judge is not None:
            latest.note(judge.handle(event, at).step.entries)
            if isinstance(event, Observed):
                read_of(event.observation, latest, judge.engine)
    return judge, count


def _is_known(judge: Judge, bed: str, now: Instant, record: Record) -> None:
    try:
        judge.engine.tile(bed, now)
    except KeyError:
        raise ConfigurationError(
            f"bed {bed} of unit.toml is not in the record {record.path}: "
            "begin a new record (--record); the old one stays as it is"
        ) from None
