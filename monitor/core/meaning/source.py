"""What the meaning of a run is worked out of: the configuration, the time, and readings that are still fresh."""

from dataclasses import dataclass

from monitor.core.judging.silence import stale_after_ms
from monitor.core.judging.silences import Silences
from monitor.core.state import BedState, RunState
from monitor.core.unit import Configuration
from shared.instant import Instant
from shared.quantities import Quantity


@dataclass(frozen=True, slots=True)
class Known:
    """A reading with the time at which it was read, in the quantity's unit."""

    value: float
    at: Instant


@dataclass(frozen=True, slots=True)
class Source:
    """The configuration and the moment of asking.

    Attributes:
        silences: the rules that speak when nothing is read.
        shift_began: when the shift of now began; ``None`` where the unit has no shifts.
    """

    configuration: Configuration
    silences: Silences
    now: Instant
    shift_began: Instant | None = None

    def last(self, run: RunState, quantity: Quantity) -> Known | None:
        """Give the newest reading, however old; ``None`` where there never was one."""
        signal = run.signals.get(quantity)
        return Known(signal.last, signal.last_at) if signal else None

    def fresh(self, bed: BedState, run: RunState, quantity: Quantity) -> Known | None:
        """Give the newest reading unless it is too old for any rule to speak from."""
        known = self.last(run, quantity)
        return known if known is not None and self.now - known.at < self.stale_after_ms(bed) else None

    def settled(self, bed: BedState, run: RunState, quantity: Quantity, span_ms: int = 10_000) -> Known | None:
        """Give the running median over ``span_ms``, at the newest reading, unless that is too old."""
        known = self.fresh(bed, run, quantity)
        if known is None:
            return None
        signal = run.signals[quantity]
        return Known(signal.median(span_ms), known.at) if span_ms in signal.spans else known

    def stale_after_ms(self, bed: BedState) -> int:
        """Give the age in ms from which nothing of a bed is judged."""
        return stale_after_ms(self.silences, bed)
