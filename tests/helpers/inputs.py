"""Small inputs for tests of record and hub: observations, entries, commands, declarations."""

from monitor.core.commands import ChangeRoster
from monitor.core.entries import Entry, EntryKind
from monitor.core.events import Commanded, Declared, Observed
from monitor.core.grades import Rung
from monitor.core.wire import CommandAnswer
from monitor.record import Step
from shared.messages import BedDeclared, Observation, Origin
from shared.quantities import Quantity as Q
from shared.support import DEFAULT_SENSORS, Support, describe_run

EPOCH = "0123456789abcdef"
AT = 1_800_000_000_000


def observation(seq: int, **fields: object) -> Observation:
    """An observation of bed B1, one a second, with three readings."""
    said: dict[str, object] = {
        "feed": "ward",
        "epoch": EPOCH,
        "seq": seq,
        "bed": "B1",
        "read_at": AT + 1000 * seq,
        "sent_at": AT + 1000 * seq + 3,
        "readings": {Q.PUMP_SPEED: 3500.0, Q.PUMP_FLOW: 4.2, Q.INLET_PRESSURE: -60.1},
    }
    return Observation.model_validate(said | fields)


def observed(seq: int, *entries: Entry, at: int | None = None, **fields: object) -> Step:
    said = observation(seq, **fields)
    return Step(said.read_at + 5 if at is None else at, Observed(said), entries)


def entry(text: str, at: int = AT, bed: str | None = "B1") -> Entry:
    return Entry(at=at, kind=EntryKind.NOTE, bed=bed, text=text)


def declared(interval: float = 1.0) -> Declared:
    run = describe_run(Support.VA, "B1-1", 1, "broad", DEFAULT_SENSORS[Support.VA])
    bed = BedDeclared(bed="B1", runs=(run,), interval=interval, origin=Origin.SIMULATED)
    return Declared("ward", (bed,))


def commanded(name: str, at: int = AT) -> Step:
    command = ChangeRoster(id=name, person="charge", rung=Rung.PERFUSIONIST, stands=None)
    answer = CommandAnswer(id=name, accepted=True, at=at, recorded=True)
    return Step(at, Commanded(command), (entry(f"roster by {name}", at, None),), answer)
