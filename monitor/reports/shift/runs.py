"""When a run was open at a place, and which targets stood there when, from the log and the commands behind it."""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field

from monitor.core.entries import EntryKind
from monitor.core.unit import Unit
from monitor.record.hours_reading import Caused
from shared.instant import Instant
from shared.quantities import Quantity

K = EntryKind


@dataclass(frozen=True, slots=True)
class Aim:
    """A target in the quantity's unit, from ``since`` on; ``by`` ``None``: with the run's start."""

    quantity: Quantity
    value: float
    since: Instant
    by: str | None
    prescriber: str = ""


@dataclass(slots=True)
class RunSpan:
    """A run at one place: from ``begin`` (included) to ``end`` (excluded); ``end`` ``None``: it goes on.

    ``words``: support type and name of the run. ``aims``: its targets in the order in which they were set.
    """

    bed: str
    slot: int
    words: str
    begin: Instant
    end: Instant | None = None
    aims: list[Aim] = field(default_factory=list)

    def aim(self, quantity: Quantity, at: Instant) -> Aim | None:
        """Give the target that stood at a moment."""
        found = [aim for aim in self.aims if aim.quantity is quantity and aim.since <= at]
        return found[-1] if found else None


def run_spans(caused: Iterable[Caused], unit: Unit) -> list[RunSpan]:
    """Give every run of the record with its targets; ``unit``: as it was configured when the record began."""
    over: list[RunSpan] = []
    here: dict[tuple[str, int], RunSpan] = {}
    moved_from: str | None = None
    for one in caused:
        entry, place = one.entry, (one.entry.bed or "", one.entry.slot or 1)
        if entry.kind is K.RUN_STARTED:
            aims = [Aim(quantity, value, entry.at, None) for quantity, value in _first_targets(one, unit)]
            here[place] = RunSpan(*place, entry.text or "", entry.at, aims=aims)
        elif entry.kind is K.RUN_ENDED and place in here:
            here[place].end = entry.at
            over.append(here.pop(place))
        elif entry.kind is K.RUN_MOVED:
            if moved_from is None:
                moved_from = place[0]
                continue
            for old in [old for old in here if old[0] == moved_from]:
                left = here.pop(old)
                left.end = entry.at
                over.append(left)
                new = (place[0], old[1])
                here[new] = RunSpan(*new, left.words, entry.at, aims=list(left.aims))
            moved_from = None
        elif entry.kind in (K.TARGET, K.ORDER) and place in here:
            here[place].aims += _aim(one)
    return [*over, *here.values()]


def _first_targets(one: Caused, unit: Unit) -> Iterator[tuple[Quantity, float]]:
    if one.cause == "commanded":
        yield from ((Quantity(name), float(value)) for name, value in one.body.get("targets", {}).items())
        return
    for bed in unit.beds:
        for run in bed.runs:
            if (bed.label, run.description.slot) == (one.entry.bed, one.entry.slot or 1):
                yield from run.targets.items()


def _aim(one: Caused) -> list[Aim]:
    """An order is a target only where flow is ordered, as in the engine."""
    quantity = Quantity(one.body["quantity"])
    if one.entry.kind is K.ORDER and quantity is not Quantity.PUMP_FLOW:
        return []
    prescriber = str(one.body.get("prescriber", ""))
    return [Aim(quantity, float(one.body["value"]), one.entry.at, one.entry.person, prescriber)]
