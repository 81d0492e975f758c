"""Judging some hours again: every input of a slice into a new engine, and its entries held against those recorded.

Byte for byte: an entry is its canonical JSON, and each input must bring the same entries in the same order. What
the hub itself wrote (notes, what became of a page, what was taken out) follows from no input, and is left out.
"""

from collections import deque
from collections.abc import Callable
from dataclasses import dataclass, field
from itertools import groupby, zip_longest

from monitor.core.effects import Effect, Persist
from monitor.core.engine import Engine
from monitor.core.entries import Entry, EntryKind
from monitor.core.events import Event
from monitor.core.unit import Configuration
from monitor.record import Begin
from monitor.record.chain import canonical
from monitor.record.configurations import Configured
from monitor.record.slice_reading import Slice, Written
from monitor.settings import configuration_of
from shared.errors import RecordError
from shared.instant import Instant

#: What the hub writes of its own.
OWN = frozenset({EntryKind.NOTE, EntryKind.PAGED, EntryKind.SIGN_IN, EntryKind.PEER, EntryKind.TAKEN_OUT})
#: So many differences are kept; a first one brings others.
MOST = 20
#: Inputs between two words on how far it is.
TOLD_EVERY = 5_000


@dataclass(frozen=True, slots=True)
class Difference:
    """An entry that only one side has, or another there: the recorded and the retraced; ``None``: missing."""

    at: Instant
    ordinal: int
    recorded: str | None
    retraced: str | None


@dataclass(slots=True)
class Retraced:
    """What came of it.

    Attributes:
        inputs: how many were handled again; ``entries``: how many entries were compared.
        own: entries of the hub's own, left out.
        differences: the first of them; ``different``: how many there are.
        failures: inputs on which the engine failed, as it may have done then.
    """

    inputs: int = 0
    entries: int = 0
    own: int = 0
    different: int = 0
    failures: int = 0
    differences: list[Difference] = field(default_factory=list)

    @property
    def is_same(self) -> bool:
        """Tell whether every entry came again, byte for byte."""
        return self.different == 0


def retrace(cut: Slice, told: Callable[[int], None] = lambda _: None) -> Retraced:
    """Judge a slice again.

    Args:
        told: called now and then with the number of inputs handled.

    Raises:
        RecordError: its state is of another version, or its configuration cannot be read today.
    """
    found = Retraced()
    written = deque((ordinal, list(rows)) for ordinal, rows in groupby(cut.entries(), lambda row: row.ordinal))
    configurations = cut.configurations()
    configuration = _read(cut.first_configuration())
    engine = _restored(configuration, cut.state())
    for ordinal, event, at in cut.inputs():
        if ordinal - 1 > cut.base and ordinal - 1 in configurations:
            configuration = _read(configurations[ordinal - 1])
            engine = _restored(configuration, engine.checkpoint() if engine is not None else None)
        if isinstance(event, Begin):
            engine = Engine(configuration, at)
            again = _entries(engine.start(at, anew=event.anew))
        elif engine is None:
            raise RecordError("the slice has neither a state nor the beginning of its record: it cannot be judged")
        else:
            again = _handled(found, engine, event, at)
        while written and written[0][0] < ordinal:  # its input is not there any more
            _compare(found, at, *written.popleft(), [])
        rows = written.popleft()[1] if written and written[0][0] == ordinal else []
        _compare(found, at, ordinal, rows, again)
        found.inputs += 1
        if found.inputs % TOLD_EVERY == 0:
            told(found.inputs)
    for ordinal, left in written:
        _compare(found, cut.hours.finish, ordinal, left, [])
    return found


def _read(configured: Configured) -> Configuration:
    return configuration_of(configured.files)


def _restored(configuration: Configuration, state: bytes | None) -> Engine | None:
    if state is None:
        return None
    try:
        return Engine.restore(configuration, state)
    except ValueError as error:
        raise RecordError(
            f"the state is of another Weirkeeper: retrace with the one that wrote it ({error})"
        ) from error


def _handled(found: Retraced, engine: Engine, event: Event, at: Instant) -> list[str]:
    """Handle an input as the hub did: a defect of ours costs this input and no more."""
    try:
        return _entries(engine.handle(event, at))
    except Exception:  # as the hub: it counted a defect, and went on
        found.failures += 1
        return []


def _entries(effects: list[Effect]) -> list[str]:
    return [canonical(effect.entry) for effect in effects if isinstance(effect, Persist)]


def _compare(found: Retraced, at: Instant, ordinal: int, rows: list[Written], again: list[str]) -> None:
    recorded = [row.body for row in rows]
    while len(recorded) > len(again) and _is_own(recorded[-1]):
        recorded.pop()
        found.own += 1
    found.entries += len(recorded)
    for one, other in zip_longest(recorded, again):
        if one != other:
            found.different += 1
            if len(found.differences) < MOST:
                found.differences.append(Difference(at, ordinal, one, other))


def _is_own(body: str) -> bool:
    return Entry.model_validate_json(body).kind in OWN
