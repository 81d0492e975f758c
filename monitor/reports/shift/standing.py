"""How the unit stood at a moment, without judging its readings again.

From the newest state of the record before that moment the engine is told what people did since, and no readings:
that is enough for who stands where, targets, limits, trials, transports and device ages, and takes a moment. What
alerts were open then is not asked of it, but of the log. Where that state is of another Weirkeeper, as after an
update in the middle of a shift, everything that people told since the record began is told again.
"""

import json
from collections.abc import Mapping
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
    """The unit and its beds at a moment.

    Attributes:
        configuration: the one in force then.
        files: the texts of its files.
        anew: worked out from the record's beginning on, since the state before is of another Weirkeeper.
    """

    configuration: Configuration
    unit: UnitView
    tiles: dict[str, TileView]
    files: Mapping[str, str]
    anew: bool = False


def standing_at(hours: HoursReading, at: Instant) -> Standing | None:
    """Give how it stood; ``None``: the record had not begun.

    Raises:
        RecordError: the record does not name its configuration.
    """
    known = hours.configured()
    base, state = hours.state(at)
    configured = _in_force(known, base)
    configuration = configuration_in(configured)
    engine = _restored(configuration, state) if state is not None else None
    anew = state is not None and engine is None
    if anew:
        base, configured = 0, _in_force(known, 0)
        configuration = configuration_in(configured)
    later = sorted(after for after in known if after > base)
    for ordinal, event, when in hours.told(base, at):
        while later and later[0] < ordinal:
            configured = known[later.pop(0)]
            configuration = configuration_in(configured)
            engine = Engine.restore(configuration, engine.checkpoint()) if engine is not None else None
        if isinstance(event, Begin):
            engine = Engine(configuration, when)
            engine.start(when)
        elif engine is not None:
            engine.handle(event, when)
    if engine is None:
        return None
    engine.handle(TimePassed(), at)
    tiles = {bed.label: engine.tile(bed.label, at) for bed in configuration.unit.beds}
    return Standing(configuration, engine.unit(at), tiles, configured.files, anew)


def _in_force(known: dict[int, Configured], base: int) -> Configured:
    before = [after for after in known if after <= base]
    if not before:
        raise RecordError("the record does not say by which configuration these hours were judged: it is older")
    return known[max(before)]


def configuration_in(configured: Configured) -> Configuration:
    """Give a configuration as the record has it. Raises SettingsError where it cannot be read today."""
    return _read(configured.text)


@lru_cache(maxsize=8)
def _read(text: str) -> Configuration:
    return configuration_of(json.loads(text))


def _restored(configuration: Configuration, state: bytes) -> Engine | None:
    try:
        return Engine.restore(configuration, state)
    except ValueError:  # of another Weirkeeper
        return None
