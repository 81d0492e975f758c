"""How the unit stood at a moment, without judging its readings again.

From the newest state of the record before that moment the engine is told what people did since, and no readings:
that is enough for who stands where, targets, limits, trials, transports and device ages, and takes a moment. What
alerts were open then is not asked of it, but of the log.
"""

import json
from dataclasses import dataclass
from functools import lru_cache

from monitor.core.engine import Engine
from monitor.core.events import TimePassed
from monitor.core.unit import Configuration
from monitor.core.view import TileView, UnitView
from monitor.record.batch import Begin
from monitor.record.configurations import Configured
from monitor.record.hours_reading import HoursReading
from monitor.settings import configuration_of
from shared.errors import RecordError
from shared.instant import Instant


@dataclass(frozen=True, slots=True)
class Standing:
    """The unit and its beds at a moment; ``configuration``: the one in force then."""

    configuration: Configuration
    unit: UnitView
    tiles: dict[str, TileView]


def standing_at(hours: HoursReading, at: Instant) -> Standing | None:
    """Give how it stood; ``None``: the record had not begun.

    Raises:
        RecordError: the record does not name its configuration, or its state is of another Weirkeeper.
    """
    known = hours.configured()
    base, state = hours.state(at)
    before = [after for after in known if after <= base]
    if not before:
        raise RecordError("the record does not say by which configuration these hours were judged: it is older")
    configuration = configuration_in(known[max(before)])
    engine = _restored(configuration, state) if state is not None else None
    later = sorted(after for after in known if after > base)
    for ordinal, event, when in hours.told(base, at):
        while later and later[0] < ordinal:
            configuration = configuration_in(known[later.pop(0)])
            engine = _restored(configuration, engine.checkpoint()) if engine is not None else None
        if isinstance(event, Begin):
            engine = Engine(configuration, when)
            engine.start(when)
        elif engine is not None:
            engine.handle(event, when)
    if engine is None:
        return None
    engine.handle(TimePassed(), at)
    tiles = {bed.label: engine.tile(bed.label, at) for bed in configuration.unit.beds}
    return Standing(configuration, engine.unit(at), tiles)


def configuration_in(configured: Configured) -> Configuration:
    """Give a configuration as the record has it. Raises SettingsError where it cannot be read today."""
    return _read(configured.text)


@lru_cache(maxsize=8)
def _read(text: str) -> Configuration:
    return configuration_of(json.loads(text))


def _restored(configuration: Configuration, state: bytes) -> Engine:
    try:
        return Engine.restore(configuration, state)
    except ValueError as error:
        raise RecordError(f"the state is of another Weirkeeper: use the one that wrote it ({error})") from error
