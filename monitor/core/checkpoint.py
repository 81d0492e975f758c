"""The engine's state as JSON and back, exactly: floats survive, signals are kept as their readings."""

from collections.abc import Mapping

from pydantic import TypeAdapter, ValidationError

from monitor.analysis.signal import kept, restored
from monitor.core.state import EngineState
from shared.frames import first_fault
from shared.quantities import Quantity

#: Raised with every change of the state's shape; another version is refused and the record replays further back.
VERSION = 18

_STATES: TypeAdapter[EngineState] = TypeAdapter(EngineState)
_HEAD = b"%d\n" % VERSION


def dump(state: EngineState) -> bytes:
    """Give the whole state: one line with the version, then JSON."""
    return _HEAD + _STATES.dump_json(state)


def load(checkpoint: bytes, windows: Mapping[Quantity, tuple[int, ...]]) -> EngineState:
    """Read a checkpoint; ``windows`` are those that today's rules ask of each quantity.

    Raises:
        ValueError: another version, or not a checkpoint.
    """
    if not checkpoint.startswith(_HEAD):
        raise ValueError(f"not a checkpoint of version {VERSION}")
    try:
        state = _STATES.validate_json(checkpoint[len(_HEAD) :])
    except ValidationError as error:
        raise ValueError(f"checkpoint cannot be read: {first_fault(error)}") from None
    for bed in state.beds.values():
        for run in bed.runs.values():
            for quantity, signal in run.signals.items():
                if signal.spans != windows[quantity]:
                    run.signals[quantity] = restored(windows[quantity], *kept(signal)[1:])
    return state
