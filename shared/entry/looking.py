"""How a set is looked at as a whole: its numbers against each other, against other beds, and its times."""

from typing import Annotated

from pydantic import BaseModel, ConfigDict, Field

from shared.mark import Mark

Positive = Annotated[float, Field(gt=0)]
Share = Annotated[float, Field(gt=0, le=1)]


class _Table(BaseModel):
    model_config = ConfigDict(frozen=True, extra="forbid", strict=True, allow_inf_nan=False, defer_build=True)


class CrossChecks(_Table):
    """Numbers of one set against each other; mmHg, L/min, rpm, %.

    Attributes:
        drop_refused_below: a pressure drop below this is refused where blood flows.
        still_flow: below this flow blood counts as standing, and the drop may have any sign.
        drop_above: a pressure drop above this is asked about.
        resistance_share: so is drop over flow, when it is above its usual by this share,
        resistance_least: and the drop by at least so many mmHg above what that flow usually makes.
        resistance_sets: usual is the median of so many sets at most; fewer than three say nothing.
        yield_share, yield_least: flow against what the last flow for each 1 000 rpm would give at this speed: asked
            about beyond this share and at least so many L/min.
        sweep_low, sweep_high: sweep gas for each litre of flow, asked about outside.
        charge_fall: percent points by which a charge may fall on mains.
        oxygen_ratio_below: post-oxygenator pO2 over the share of oxygen in the gas, asked about below.
        limb_difference: points between left and right limb, asked about above.
        pulse_low: a pulse pressure below this is asked about on VA; elsewhere a flat one is often intended.
        mean_slack: mmHg by which a mean, read at another moment, may lie beyond systolic and diastolic.
    """

    drop_refused_below: float = Field(default=-5, le=0)
    still_flow: Positive = 0.3
    drop_above: Positive = 60
    resistance_share: Positive = 0.30
    resistance_least: float = Field(default=15, ge=0)
    resistance_sets: int = Field(default=5, ge=3, le=24)
    yield_share: Share = 0.25
    yield_least: Positive = 0.3
    sweep_low: Positive = 0.2
    sweep_high: Positive = 3
    charge_fall: Positive = 5
    oxygen_ratio_below: Positive = 200
    limb_difference: Positive = 15
    pulse_low: Positive = 10
    mean_slack: float = Field(default=5, ge=0)
    mark: Mark = Mark.COMMON_PRACTICE


class AnotherBed(_Table):
    """When a set looks like another bed's.

    Attributes:
        fields: at least so many fields
        differ: differ by more than this share from this bed's last set,
        alike: and are within this share of another bed's last set.
    """

    fields: int = Field(default=3, ge=2, le=12)
    differ: Share = 0.20
    alike: Share = 0.05
    mark: Mark = Mark.COMMON_PRACTICE


class EntryTimes(_Table):
    """Times of a set.

    Attributes:
        late_min: entered more than so many minutes after it was read: marked late.
        back_h, back_charge_h: how far back a set may have been read; with the charge role.
        ahead_min: how far ahead of the clock it may seem to have been read.
        draft_min: numbers typed longer ago must be read again.
        undo_s: how long a posted set can be taken back; that is a correction like any other.
        second_min: within so many minutes a second person agrees to strike a set.
        last_counts_for: a last number counts for so many of its field's intervals; then there is none.
    """

    late_min: Positive = 15
    back_h: Positive = 12
    back_charge_h: Positive = 24
    ahead_min: float = Field(default=2, ge=0, le=10)
    draft_min: Positive = 15
    undo_s: Positive = 10
    second_min: Positive = 15
    last_counts_for: Positive = 4
    mark: Mark = Mark.COMMON_PRACTICE
