"""The figures of a shift: plain records, the same for paper and for machines. Times are ms since 1970 UTC."""

from dataclasses import dataclass, field

from monitor.reports.shift.open_items import OpenItem
from shared.instant import Instant
from shared.quantities import CATALOGUE, Quantity
from shared.support import RunDescription, label_at


@dataclass(frozen=True, slots=True)
class Minutes:
    """Whole minutes of one run's quantity; the four numbers after ``minutes`` but the first add up to it.

    Attributes:
        outside: of those judged, with a median outside the target of that minute.
        judged: with at least half of the readings that were due, and a target.
        not_judged: with readings, but too few, doubtful, estimated, or without a target.
        no_reading: with none.
        low, high: the band at the end of these hours; ``None``: no bound, or no target.
    """

    minutes: int
    outside: int
    judged: int
    not_judged: int
    no_reading: int
    low: float | None
    high: float | None


@dataclass(frozen=True, slots=True)
class QuantityFigures:
    """What was read of a quantity; without sound readings there is neither median nor extreme.

    ``first`` and ``last``: medians of the first and the last half hour of these hours.
    """

    quantity: Quantity
    readings: int
    low: float | None
    median: float | None
    high: float | None
    first: float | None
    last: float | None
    minutes: Minutes | None


@dataclass(frozen=True, slots=True)
class TargetFigures:
    """A target that stands at the end."""

    quantity: Quantity
    value: float
    since: Instant
    by: str | None
    prescriber: str


@dataclass(frozen=True, slots=True)
class LimitFigures:
    """A limit that stands at the end; ``until``, ``by``, ``second`` and ``why``: of a limit of the bed's own."""

    rule: str
    quantity: Quantity
    above: bool
    value: float | None
    by: str | None = None
    second: str | None = None
    until: Instant | None = None
    why: str = ""


@dataclass(frozen=True, slots=True)
class RunFigures:
    """A run, for as long as it was at this bed within these hours.

    ``began``: at this bed. ``findings``: what was found on a round, by its words, and not found in order since.
    """

    slot: int
    words: str
    began: Instant
    ended: Instant | None
    targets: tuple[TargetFigures, ...]
    limits: tuple[LimitFigures, ...]
    call_me: tuple[str, ...]
    devices: dict[str, Instant]
    quantities: tuple[QuantityFigures, ...]
    description: RunDescription | None = None
    findings: dict[str, str] = field(default_factory=dict)

    def label(self, quantity: Quantity) -> str:
        """Give the word for a quantity at this run."""
        return CATALOGUE[quantity].label if self.description is None else label_at(quantity, self.description)


@dataclass(frozen=True, slots=True)
class Answered:
    """How soon, in seconds, of ``n`` answers; ``None``: of none."""

    n: int
    median_s: float | None
    longest_s: float | None


@dataclass(frozen=True, slots=True)
class AlertFigures:
    """Alerts and episodes that began in these hours.

    Attributes:
        high, medium, low: alerts by the priority of their raise.
        episodes_high, episodes_medium: by the highest priority that they reached in these hours.
        asked: medium and high alerts that needed an answer of their own; the times below are theirs.
        unanswered: of these, without any answer so far; ``longest_s``: the longest that one stood so.
    """

    high: int
    medium: int
    low: int
    episodes_high: int
    episodes_medium: int
    asked: int
    seen: Answered
    taken: Answered
    at_bed: Answered
    unanswered: int
    longest_s: float | None


@dataclass(frozen=True, slots=True)
class Event:
    """Something written down in the log, in its words."""

    at: Instant
    kind: str
    words: str


@dataclass(frozen=True, slots=True)
class BedFigures:
    """One bed.

    Attributes:
        changes: what differs from the beginning.
        open: at the end; ``carried``: when they began.
        planned: what is planned at the end and neither done nor taken back, the next first; ``at``: when.
    """

    bed: str
    origin: str | None
    nurse: str | None
    changes: tuple[str, ...]
    runs: tuple[RunFigures, ...]
    alerts: AlertFigures
    open: tuple[OpenItem, ...]
    carried: tuple[OpenItem, ...]
    events: tuple[Event, ...]
    planned: tuple[Event, ...] = ()


@dataclass(frozen=True, slots=True)
class UnitFigures:
    """What belongs to no bed.

    Attributes:
        bed_hours: with an open run and a running hub; ``silent_hours`` of these without a feed; ``away_hours``
            besides, with an open run and no running hub.
        uncovered_min: minutes in which nobody could be called, by rung; rung 1 is summed over beds with a run.
        pages: by the state in which each page that was begun in these hours was last known.
        longest: bed, title and seconds of what stood longest without an answer.
        configured: times and files of a changed configuration.
        log: first and last entry, and the first that is not as it was written.
        anew: how the unit stood was worked out from the record's beginning on (an update in between).
    """

    alerts: AlertFigures
    bed_hours: float
    silent_hours: float
    away_hours: float
    uncovered_min: dict[int, float]
    pages: dict[str, int]
    longest: tuple[str, str, float] | None
    open: tuple[OpenItem, ...]
    carried: tuple[OpenItem, ...]
    configured: tuple[Event, ...]
    events: tuple[Event, ...]
    log: tuple[int, int, int | None]
    anew: bool = False


@dataclass(frozen=True, slots=True)
class ShiftReport:
    """The whole. ``goes_on``: the hours that were asked for are not over, ``end`` is the last that is known."""

    unit: str
    shift: str
    begin: Instant
    end: Instant
    goes_on: bool
    whole: UnitFigures
    beds: tuple[BedFigures, ...]
