"""Plain records for figures of alert load: one for each alert that was announced, and where a run was open."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Literal

from shared.instant import HOUR, Instant

Grade = Literal["high", "medium", "low"]
Kind = Literal["physiological", "technical"]
GRADES: tuple[Grade, ...] = ("high", "medium", "low")


@dataclass(frozen=True, slots=True)
class Annunciation:
    """One alert from its raise on. Times are ms; ``None``: it has not happened.

    Attributes:
        bed: ``None``: the unit's own.
        priority: its own at the raise, not that of its episode.
        joined: it was folded into an episode that stood, or lifted that episode's priority.
        held: somebody already had its episode when it joined; it needed no answer of its own.
        seen_at: the first answer of any kind.
        taken_at: somebody took it.
        at_bed_at: somebody first said to be at the bed.
        reason: why it was taken, as the last word on it stands.
    """

    at: Instant
    bed: str | None
    rule: str
    priority: Grade
    kind: Kind
    slot: int | None = None
    circuit_critical: bool = False
    joined: bool = False
    held: bool = False
    ended_at: Instant | None = None
    seen_at: Instant | None = None
    taken_at: Instant | None = None
    at_bed_at: Instant | None = None
    reason: str | None = None

    @property
    def tag(self) -> tuple[str, int, str]:
        """What repeats: the same rule of the same run at the same bed."""
        return (self.bed or "", self.slot or 0, self.rule)

    @property
    def is_answered(self) -> bool:
        """Tell whether anybody answered it, or had its episode when it joined."""
        return self.held or self.seen_at is not None or self.taken_at is not None


@dataclass(frozen=True, slots=True)
class Span:
    """A stretch of time at one bed, ``begin`` included and ``end`` excluded (ms)."""

    bed: str
    begin: Instant
    end: Instant


@dataclass(frozen=True, slots=True)
class Observed:
    """When the beds were watched. A bed without an open run is not watched.

    Attributes:
        runs: a run was open and the hub ran. ``None``: what was given does not say.
        silent: of these, no run of the bed was read, from the moment at which the hub said so.
        away: the hub did not run although a run was open.
    """

    runs: tuple[Span, ...] | None = ()
    silent: tuple[Span, ...] = ()
    away: tuple[Span, ...] = ()


def hours(spans: Iterable[Span], begin: Instant, end: Instant) -> float:
    """Give the hours of all spans together inside ``begin`` to ``end``; spans of one bed do not overlap."""
    return sum(max(0, min(span.end, end) - max(span.begin, begin)) for span in spans) / HOUR


def within(alerts: Iterable[Annunciation], begin: Instant, end: Instant) -> Sequence[Annunciation]:
    """Give the alerts raised from ``begin`` (included) to ``end`` (excluded), oldest first."""
    return sorted((alert for alert in alerts if begin <= alert.at < end), key=lambda alert: alert.at)
