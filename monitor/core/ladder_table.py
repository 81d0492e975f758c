"""The model of the ladder: when each rung is called, how long a take holds. Numbers: ``config/ladder.toml``."""

from pydantic import Field, model_validator

from monitor.core.grades import LadderClass, Priority, Rung
from monitor.core.model import Frozen
from shared.mark import Mark


class LadderRow(Frozen):
    """One class of alert. Seconds after the alert was raised, while nobody has it; ``None``: never called.

    Attributes:
        r1..r5: when each rung is called.
        repeat_from_s, repeat_every_s: when the repeats begin and how often; ``None``: no repeats.
        repeat_all: repeats call every rung called so far, otherwise the charge nurse.
        mark: where the numbers come from.
    """

    r1: float | None = Field(default=None, ge=0)
    r2: float | None = Field(default=None, ge=0)
    r3: float | None = Field(default=None, ge=0)
    r4: float | None = Field(default=None, ge=0)
    r5: float | None = Field(default=None, ge=0)
    repeat_from_s: float | None = Field(default=None, gt=0)
    repeat_every_s: float | None = Field(default=None, ge=10)
    repeat_all: bool = False
    mark: Mark

    @model_validator(mode="after")
    def _rises(self) -> "LadderRow":
        times = [t for t in (self.r1, self.r2, self.r3, self.r4, self.r5) if t is not None]
        if not times:
            raise ValueError("no rung is ever called")
        if times != sorted(times):
            raise ValueError("a higher rung is called before a lower one")
        if (self.repeat_from_s is None) != (self.repeat_every_s is None):
            raise ValueError("repeat_from_s and repeat_every_s belong together")
        return self

    def seconds(self, rung: Rung) -> float | None:
        """Give the rung's time in seconds after the raise, or ``None`` where it is never called."""
        return (self.r1, self.r2, self.r3, self.r4, self.r5)[rung - 1]


class Holds(Frozen):
    """How long a take keeps the ladder still while the condition persists, in seconds."""

    high_s: float = Field(default=180, gt=0)
    medium_s: float = Field(default=900, gt=0)
    low_s: float = Field(default=3600, gt=0)
    team_at_bed_s: float = Field(default=600, gt=0)
    renewals_without_entry: int = Field(default=2, ge=0)
    advice_s: float = Field(default=900, gt=0)
    reason_within_s: float = Field(default=600, gt=0)
    mark: Mark = Mark.DEFAULT

    def of(self, priority: Priority) -> float:
        """Give the hold in seconds of a priority."""
        return {Priority.HIGH: self.high_s, Priority.MEDIUM: self.medium_s, Priority.LOW: self.low_s}[priority]


class WorseSteps(Frozen):
    """A further full step beyond the value at the take that ends a hold at once, in each quantity's unit."""

    pump_flow: float = Field(default=-0.5, lt=0)
    inlet_pressure: float = Field(default=-20, lt=0)
    post_oxygenator_pressure: float = Field(default=40, gt=0)
    mean_arterial_pressure: float = Field(default=-8, lt=0)
    spo2_right_hand: float = Field(default=-4, lt=0)
    mark: Mark = Mark.DEFAULT


class Witnesses(Frozen):
    """The signals that agree that circulation is lost."""

    speed_below: float = 500
    flow_at_most: float = 0.5
    pressure_drop_below: float = 5
    map_fall: float = 15
    inlet_rise: float = 30
    inlet_above: float = 0
    median_s: float = 300
    mark: Mark = Mark.DEFAULT


class Timings(Frozen):
    """Ages, episodes and notes, in seconds."""

    age_shown_s: float = Field(default=30, gt=0)
    age_shown_intervals: float = Field(default=1.5, ge=1)
    episode_closes_s: float = Field(default=120, gt=0)
    cause_joins_s: float = Field(default=120, gt=0)
    dips_within_s: float = Field(default=600, gt=0)
    dips_noted: int = Field(default=3, ge=1)
    run_baseline_s: float = Field(default=600, gt=0)
    order_baseline_from_s: float = Field(default=300, gt=0)
    order_baseline_to_s: float = Field(default=600, gt=0)
    median_at_least_s: float = Field(default=60, gt=0)
    entered_set_s: float = Field(default=900, gt=0)
    mark: Mark = Mark.DEFAULT


class Care(Frozen):
    """The care marker: how much longer a delay of a medium or low rule may become, and how often one may begin."""

    longer_at_most_s: float = Field(default=120, ge=0)
    an_hour: int = Field(default=3, ge=1)
    mark: Mark = Mark.DEFAULT


class Trials(Frozen):
    """Trials: the longest, the countdown to who started one, and the reminder of a low flow in a turn-down."""

    at_most_min: float = Field(default=240, gt=0)
    countdown_min: tuple[float, ...] = (15, 5, 1)
    dwell_flow: float = Field(default=1.7, ge=0)
    dwell_again_above: float = Field(default=2.0, ge=0)
    dwell_s: float = Field(default=600, gt=0)
    mark: Mark = Mark.DEFAULT


class OwnLimits(Frozen):
    """A bed's own limits: how long one may stand at most, and how long before its end that is told."""

    at_most_h: float = Field(default=72, gt=0, le=336)
    told_before_min: float = Field(default=15, ge=0)
    mark: Mark = Mark.DEFAULT


class CallMe(Frozen):
    """Call me if: how long a value must be beyond what was asked, and the way back as a share of it."""

    delay_s: float = Field(default=60, ge=0)
    back_share: float = Field(default=0.03, ge=0, lt=1)
    mark: Mark = Mark.DEFAULT


class Trips(Frozen):
    """What battery and cylinder should last for a trip: so many times as long, never less than a margin more."""

    times: float = Field(default=2, ge=1)
    margin_min: float = Field(default=30, ge=0)
    mark: Mark = Mark.COMMON_PRACTICE


class HandingOver(Frozen):
    """Cover: offers, breaks, who cannot be reached, arrivals, and what is done when nobody can be called.

    Attributes:
        offer_told_after_s: an offer this old and not accepted is told to both.
        break_least_min, break_most_min: how long a break may be; ``break_told_before_s``: its end is announced.
        unreachable_most_h: for so long at most may somebody be unreachable.
        nobody_again_s: while nobody at all can be called, that is said again after so long.
        forecast_h: so far ahead are empty posts foretold.
        late_after_s: somebody who is going and was not written down at the bed so long after the time that they
            gave calls the next rung.
        call_back_s: within so long an answer is expected from a perfusionist who is not in the unit; so long after
            their "seen" without one the next rung is called.
        cards_within_min: who accepts a post for good has looked at the handover cards of its beds within so long;
            0: that is not asked for.
    """

    offer_told_after_s: float = Field(default=600, gt=0)
    break_least_min: float = Field(default=5, gt=0)
    break_most_min: float = Field(default=60, gt=0, le=240)
    break_told_before_s: float = Field(default=300, ge=0)
    unreachable_most_h: float = Field(default=12, gt=0, le=72)
    nobody_again_s: float = Field(default=60, ge=10)
    forecast_h: float = Field(default=24, gt=0, le=48)
    late_after_s: float = Field(default=300, ge=0)
    call_back_s: float = Field(default=180, gt=0)
    cards_within_min: float = Field(default=60, ge=0, le=720)
    mark: Mark = Mark.DEFAULT


class LadderTable(Frozen):
    """The whole of ``ladder.toml``."""

    rows: dict[LadderClass, LadderRow]
    holds: Holds = Holds()
    worse: WorseSteps = WorseSteps()
    witnesses: Witnesses = Witnesses()
    timings: Timings = Timings()
    care: Care = Care()
    trials: Trials = Trials()
    own_limits: OwnLimits = OwnLimits()
    call_me: CallMe = CallMe()
    handing_over: HandingOver = HandingOver()
    trips: Trips = Trips()

    @model_validator(mode="after")
    def _complete(self) -> "LadderTable":
        missing = [name.value for name in LadderClass if name not in self.rows]
        if missing:
            raise ValueError(f"no row for {', '.join(missing)}")
        return self
