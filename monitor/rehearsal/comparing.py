"""Two configurations over the same input: what one of them raises and the other does not.

Alerts are matched by bed, run and rule where their times overlap. Several short ones that one long one spans are
all matched by it. What is matched may still come later, or with a lower priority; both are told.
"""

from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from monitor.analysis.annunciations import GRADES, Annunciation
from monitor.core.annunciations import OF_LOAD, Annunciations
from monitor.core.entries import Entry, EntryKind
from shared.instant import SECOND, Instant

#: Differences of time up to this are not told: readings and medians move by as much.
LATER_MS = 10 * SECOND


@dataclass(frozen=True, slots=True)
class Called:
    """One call: who, on which rung, when."""

    at: Instant
    bed: str | None
    rung: int
    person: str


@dataclass(frozen=True, slots=True)
class Side:
    """What one configuration did: its alerts in order, its calls, and acts of people that found nothing open."""

    name: str
    alerts: tuple[Annunciation, ...]
    calls: tuple[Called, ...]
    idle_acts: int

    def people(self) -> Counter[str]:
        """How often each person was called."""
        return Counter(call.person for call in self.calls)


@dataclass(frozen=True, slots=True)
class Pair:
    """An alert of the first configuration, and the first of the second that matches it."""

    first: Annunciation
    second: Annunciation

    @property
    def later_ms(self) -> int:
        """How much later the second came; negative: earlier."""
        return self.second.at - self.first.at


@dataclass(frozen=True, slots=True)
class Comparison:
    """Both sides, and where they differ. High first, then by time.

    Attributes:
        missing: raised by the first and by nothing of the second.
        added: the other way round.
        lowered, raised: matched, with a lower or higher priority in the second.
        later, earlier: matched, in the second more than 10 s later or earlier.
    """

    first: Side
    second: Side
    missing: tuple[Annunciation, ...]
    added: tuple[Annunciation, ...]
    lowered: tuple[Pair, ...]
    raised: tuple[Pair, ...]
    later: tuple[Pair, ...]
    earlier: tuple[Pair, ...]


def side_of(name: str, entries: Iterable[Entry]) -> Side:
    """Gather what one configuration did."""
    found, calls, idle = Annunciations(), [], 0
    for entry in entries:
        if entry.kind in OF_LOAD:
            found.take(entry)
        if entry.kind is EntryKind.CALLED and entry.person is not None:
            calls.append(Called(entry.at, entry.bed, entry.rung or 1, entry.person))
        idle += entry.kind is EntryKind.NOTE and (entry.text or "").endswith("but nothing is open")
    return Side(name, tuple(found.alerts()), tuple(calls), idle)


def compare(first: Side, second: Side) -> Comparison:
    """Match the alerts of two sides."""
    pairs = [Pair(alert, match) for alert in first.alerts if (match := _match(alert, second.alerts)) is not None]
    own = [pair for pair in pairs if _match(pair.second, first.alerts) is pair.first]
    return Comparison(
        first=first,
        second=second,
        missing=_sorted(alert for alert in first.alerts if _match(alert, second.alerts) is None),
        added=_sorted(alert for alert in second.alerts if _match(alert, first.alerts) is None),
        lowered=tuple(pair for pair in pairs if _rank(pair.second) > _rank(pair.first)),
        raised=tuple(pair for pair in pairs if _rank(pair.second) < _rank(pair.first)),
        later=tuple(pair for pair in own if pair.later_ms > LATER_MS),
        earlier=tuple(pair for pair in own if pair.later_ms < -LATER_MS),
    )


def _match(alert: Annunciation, others: Sequence[Annunciation]) -> Annunciation | None:
    return next((other for other in others if other.tag == alert.tag and _overlap(alert, other)), None)


def _overlap(one: Annunciation, other: Annunciation) -> bool:
    return (one.ended_at is None or other.at <= one.ended_at) and (
        other.ended_at is None or one.at <= other.ended_at
    )


def _rank(alert: Annunciation) -> int:
    return GRADES.index(alert.priority)


def _sorted(alerts: Iterable[Annunciation]) -> tuple[Annunciation, ...]:
    return tuple(sorted(alerts, key=lambda alert: (_rank(alert), alert.at)))
