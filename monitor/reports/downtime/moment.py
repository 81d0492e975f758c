"""The unit as a record ends: the newest state, and every input since judged again, as a hub that starts would."""

from collections.abc import Mapping
from contextlib import suppress
from dataclasses import dataclass

from monitor.core.effects import Persist
from monitor.core.engine import Engine
from monitor.core.events import Observed, TimePassed
from monitor.core.judging.editions import is_later
from monitor.core.unit import Configuration
from monitor.core.view import TileView, UnitView
from monitor.core.wire import LatestReadings
from monitor.record import Begin
from monitor.record.latest import Latest
from monitor.record.reading import RecordToRead
from monitor.settings import configuration_of
from shared.errors import RecordError
from shared.instant import Instant


@dataclass(frozen=True, slots=True)
class LastMoment:
    """How everything stood at ``at``; ``files``: the texts of the configuration; ``readings`` by bed and slot."""

    configuration: Configuration
    files: Mapping[str, str]
    at: Instant
    unit: UnitView
    tiles: tuple[TileView, ...]
    readings: dict[tuple[str, int], LatestReadings]


def last_moment(record: RecordToRead, now: Instant | None = None) -> LastMoment:
    """Give how the unit stood at the last input of a record.

    Args:
        now: how it stands now instead, beside a hub that runs: what fell due since without an input is due.

    Raises:
        RecordError: the record cannot be read, does not name its configuration, or has not begun.
    """
    configured = record.configured()
    if configured is None:
        raise RecordError(f"{record.path} does not say by which configuration it was judged: a hub of now adds it")
    configuration = configuration_of(configured.files)
    engine, latest, after = _newest(record, configuration)
    at: Instant = 0
    for event, at in record.replay(after):
        if isinstance(event, Begin):
            engine = Engine(configuration, at)
            engine.start(at, anew=event.anew)
        elif engine is not None:
            with suppress(Exception):  # as the hub: a defect of ours costs this input and no more
                effects = engine.handle(event, at)
                latest.note(effect.entry for effect in effects if isinstance(effect, Persist))
                if isinstance(event, Observed):
                    _take(latest, event, engine)
    if engine is None:
        raise RecordError(f"{record.path} has not begun: there is nothing to print yet")
    at = max(at, record.ends()[1], now or 0)
    if now is not None:
        engine.handle(TimePassed(), at)
    tiles = tuple(engine.tile(bed.label, at) for bed in configuration.unit.beds)
    readings = {(view.bed, view.slot): view for view in latest.views()}
    return LastMoment(configuration, configured.files, at, engine.unit(at), tiles, readings)


def _newest(record: RecordToRead, configuration: Configuration) -> tuple[Engine | None, Latest, int]:
    for standing in record.standing():
        kept = standing.checkpoint
        with suppress(ValueError):  # of another Weirkeeper: the one before, or the whole record again
            return Engine.restore(configuration, kept.engine), Latest.load(kept.latest), standing.ordinal
    return None, Latest(), 0


def _take(latest: Latest, event: Observed, engine: Engine) -> None:
    observation = event.observation
    if is_later(observation):
        bed, slot = observation.bed, observation.slot
        latest.renew(bed, slot, engine.newest(bed, slot), engine.unchecked(bed, slot))
    else:
        latest.take(observation)
