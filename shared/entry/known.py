"""What is known of a bed before a set is typed: its run, its last numbers, what its oxygenator usually does."""

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from types import MappingProxyType

from shared.derived import derive
from shared.entry.table import EntryField, EntryTable
from shared.instant import MINUTE, Instant
from shared.messages import RoundKind
from shared.quantities import Quantity
from shared.support import RunDescription

#: How many sets' resistances are kept, at most.
_KEPT = 24


@dataclass(frozen=True, slots=True)
class Place:
    """Where a set belongs: one run on one pump of one bed. Whoever comes to a bed next has another run."""

    bed: str
    slot: int
    run: str


@dataclass(frozen=True, slots=True)
class Told:
    """A number that was accepted before, with the time at which it was read."""

    value: float
    read_at: Instant


def _nothing() -> Mapping[Quantity, Told]:
    return MappingProxyType({})


@dataclass(frozen=True, slots=True)
class Known:
    """One run at one bed, as far as earlier sets tell.

    Attributes:
        bed: its label.
        run: as it is fitted now.
        top_speed: highest speed of its pump, rpm, or ``None`` where its profile is not known.
        last: the last number of each quantity.
        resistances: drop over flow of the last sets, mmHg min/L, the newest last.
        rounds: when each kind of round was done last; ``due_at``: when the hub says that the next one is due.
        findings: what the hub says was found and not found in order since, by the words of the item.
    """

    bed: str
    run: RunDescription
    top_speed: float | None = None
    last: Mapping[Quantity, Told] = field(default_factory=_nothing)
    resistances: tuple[float, ...] = ()
    rounds: Mapping[RoundKind, Instant] = field(default_factory=dict)
    due_at: Mapping[RoundKind, Instant] = field(default_factory=dict)
    findings: Mapping[str, str] = field(default_factory=dict)

    @property
    def place(self) -> Place:
        """Where its sets belong."""
        return Place(self.bed, self.run.slot, self.run.run_id)

    def told(self, one: EntryField, read_at: Instant, table: EntryTable) -> Told | None:
        """Give the last number of a field, or ``None`` where there is none or it is too old to compare with."""
        told = self.last.get(one.quantity)
        longest = one.due_min * table.times.last_counts_for * MINUTE
        return told if told is not None and abs(read_at - told.read_at) <= longest else None

    def with_set(self, values: Mapping[Quantity, float], read_at: Instant) -> "Known":
        """Take an accepted set in. A number that was read before the last one changes nothing."""
        newer = self._newer({quantity: Told(value, read_at) for quantity, value in values.items()})
        resistance = dict(derive(values)).get(Quantity.OXYGENATOR_RESISTANCE)
        kept = self.resistances if resistance is None else (*self.resistances, resistance)[-_KEPT:]
        return replace(self, last=MappingProxyType({**self.last, **newer}), resistances=kept)

    def with_last(self, told: Mapping[Quantity, Told]) -> "Known":
        """Take in numbers that the hub has; what was read before a last number changes nothing."""
        return replace(self, last=MappingProxyType({**self.last, **self._newer(told)}))

    def _newer(self, told: Mapping[Quantity, Told]) -> dict[Quantity, Told]:
        last = self.last
        return {q: one for q, one in told.items() if q not in last or last[q].read_at <= one.read_at}

    def with_round(self, kind: RoundKind, read_at: Instant) -> "Known":
        """Note a round that was done; one before the last of its kind changes nothing."""
        newest = max(read_at, self.rounds.get(kind, read_at))
        return replace(self, rounds=MappingProxyType({**self.rounds, kind: newest}))

    def begun_anew(self, run: RunDescription) -> "Known":
        """Begin another run at this bed: nothing of the former one counts."""
        return Known(self.bed, run, self.top_speed)

    def oxygenator_exchanged(self) -> "Known":
        """Forget what the former oxygenator usually did."""
        return replace(self, resistances=())
