"""The models of the rules: what is judged. The numbers come from ``config/limits.toml``.

Every rule has an id, a priority, a class, a delay, a way back, the mark of its numbers and a title. The kind says
what is computed. Limits are in the unit of the quantity, or a share of a reference (0.85 = 85 %).
"""

from typing import Annotated, Literal

from pydantic import Field, model_validator

from monitor.core.grades import AlertClass, LadderClass, Priority
from monitor.core.model import Frozen
from shared.mark import Mark
from shared.messages import Condition
from shared.quantities import Quantity
from shared.support import Support
from shared.word import Word

RuleId = Annotated[str, Field(pattern=r"^[a-z][a-z0-9_]{1,39}$")]


#: Seconds of the running median that a rule reads unless it says otherwise.
USUAL_WINDOW_S = 10.0


class Reference(Word):
    """What a limit is measured against.

    Standing: what has stood since the last order, or, without any order, since the run began.
    """

    ABSOLUTE = "absolute"
    TARGET = "target"
    RUN_BASELINE = "run_baseline"
    ORDER_BASELINE = "order_baseline"
    STANDING = "standing"


class Gate(Frozen):
    """A further condition without which the rule may not speak, e.g. resistance only with flow >= 1."""

    quantity: Quantity
    at_least: float
    of: Reference = Reference.ABSOLUTE


class RuleBase(Frozen):
    """What all rules share.

    Attributes:
        id, title: the title is what a person reads; ``{value}`` and ``{limit}`` are filled in.
        priority, alert_class: see `grades`.
        circuit_critical: a high that calls everybody at once.
        patient_side: about MAP, SpO2 or pulse pressure; always sounds once when it joins.
        latching: stays listed after its condition ends, until a person in the unit has seen it.
        latching_below: latching only once the value was below this (reverse flow).
        delay_s: from the first sample beyond until the alert.
        mark, source: of the numbers.
        supports: only these support types; empty: all.
        priority_by_support: another priority for a support type.
        needs_oxygenator: only where one is fitted.
        estimated_cap: the most that it may be where its reading is estimated.
        ladder: the ladder row, where priority and class do not already say it.
        circulation_lost: counts as this many witnesses by itself.
        not_in_transport: does not begin while the bed is in transport.
    """

    id: RuleId
    title: str = Field(min_length=3, max_length=60)
    priority: Priority
    alert_class: AlertClass = Field(default=AlertClass.PHYSIOLOGICAL, alias="class")
    circuit_critical: bool = False
    patient_side: bool = False
    latching: bool = False
    latching_below: float | None = None
    delay_s: float = Field(default=0, ge=0, le=86_400)
    mark: Mark
    source: str = Field(default="", max_length=200)
    supports: frozenset[Support] = frozenset()
    priority_by_support: dict[Support, Priority] = {}
    needs_oxygenator: bool = False
    estimated_cap: Priority | None = None
    ladder: LadderClass | None = None
    circulation_lost: int = Field(default=0, ge=0, le=2)
    not_in_transport: bool = False

    @model_validator(mode="after")
    def _critical_is_high(self) -> "RuleBase":
        if self.circuit_critical and self.priority is not Priority.HIGH:
            raise ValueError("only a high rule can be circuit_critical")
        return self


class LimitRule(RuleBase):
    """A value beyond a limit: absolute, of the target, or of a baseline.

    ``window_s`` is the running median that is judged (10 by default, 0 raw). ``back_by`` is the deadband in the
    unit of the limit: the condition ends at the first sample back past the limit by that much. ``by_support``
    gives another limit for a support type, ``by_profile`` for a pump profile, which goes before it.
    ``counts_dips``: excursions shorter than the delay are noted.
    """

    kind: Literal["limit"] = "limit"
    quantity: Quantity
    below: float | None = None
    at_or_below: float | None = None
    above: float | None = None
    outside: tuple[float, float] | None = None
    of: Reference = Reference.ABSOLUTE
    window_s: float = Field(default=USUAL_WINDOW_S, ge=0, le=600)
    back_by: float = Field(default=0, ge=0)
    gates: tuple[Gate, ...] = ()
    by_support: dict[Support, float] = {}
    by_profile: dict[str, float] = {}
    counts_dips: bool = False

    @property
    def one_sided(self) -> float | None:
        """The limit of a rule that has one edge, for all support types and profiles alike; else ``None``."""
        if self.above is not None:
            return self.above
        return self.below if self.below is not None else self.at_or_below

    @property
    def is_settable(self) -> bool:
        """Tell whether a bed can have a limit of its own for it: one edge of a number, not circuit-critical."""
        is_state = self.quantity is Quantity.ON_MAINS  # yes or no: nothing to set
        return self.one_sided is not None and not is_state and not self.circuit_critical

    @property
    def lag_s(self) -> float:
        """How long ago the readings crossed when the median of a long window does: half the window.

        The ten seconds that most rules read are part of their delay; a longer window would add to it.
        """
        return self.window_s / 2 if self.window_s > USUAL_WINDOW_S else 0.0

    @model_validator(mode="after")
    def _one_limit(self) -> "LimitRule":
        named = [self.below, self.at_or_below, self.above, self.outside]
        if sum(limit is not None for limit in named) != 1:
            raise ValueError("exactly one of below, at_or_below, above, outside must be given")
        return self


class ConditionRule(RuleBase):
    """What the console says of itself."""

    kind: Literal["condition"] = "condition"
    condition: Condition


class UnsteadyRule(RuleBase):
    """Raw range within a window above a share of the absolute median, in ``hits`` of the last ``of_windows``."""

    kind: Literal["unsteady"] = "unsteady"
    quantity: Quantity
    window_s: float = Field(gt=0)
    share: float = Field(gt=0)
    at_least: float = Field(ge=0)
    hits: int = Field(ge=1)
    of_windows: int = Field(ge=1)
    quiet_windows: int = Field(ge=1)


class RiseRule(RuleBase):
    """One value risen above its own median while another fell below its own, both before the first sample."""

    kind: Literal["rise"] = "rise"
    quantity: Quantity
    rise: float = Field(gt=0)
    with_fall_of: Quantity
    fall_share: float = Field(gt=0, lt=1)
    median_s: float = Field(gt=0)
    window_s: float = Field(default=10, ge=0)
    back_by: float = Field(default=0, ge=0)


class OpeningRule(RuleBase):
    """The return line open: both pressures fall within seconds while flow rises, at the same speed."""

    kind: Literal["opening"] = "opening"
    within_s: float = Field(gt=0)
    post_fall: float = Field(gt=0)
    pre_fall: float = Field(gt=0)
    flow_rise_share: float = Field(gt=0)
    flow_rise_share_no_pre: float = Field(gt=0)
    speed_within: float = Field(gt=0)
    below_baseline: float = Field(gt=0)


class UnorderedRule(RuleBase):
    """Speed moved without an order within the given minutes before or after."""

    kind: Literal["unordered"] = "unordered"
    quantity: Quantity
    change: float = Field(gt=0)
    change_share: float = Field(gt=0)
    within_s: float = Field(gt=0)
    order_within_s: float = Field(gt=0)
    at_least: float = Field(ge=0)


class AloneRule(RuleBase):
    """One of several signals moved from its own median while all others stayed."""

    kind: Literal["alone"] = "alone"
    quantities: tuple[Quantity, ...] = Field(min_length=2)
    change: float = Field(gt=0)
    others_within: float = Field(gt=0)
    steady: tuple[Quantity, ...]
    steady_share: float = Field(gt=0)
    median_s: float = Field(gt=0)
    back_by: float = Field(default=0, ge=0)


class FrozenRule(RuleBase):
    """Several readings identical for a while although the pump turns."""

    kind: Literal["frozen"] = "frozen"
    quantities: tuple[Quantity, ...] = Field(min_length=2)
    at_least: int = Field(ge=2)
    for_s: float = Field(gt=0)


class DifferenceRule(RuleBase):
    """Two pumps at one bed: the right run's value above the left run's by more than a limit."""

    kind: Literal["difference"] = "difference"
    quantity: Quantity
    above: float = Field(gt=0)
    back_by: float = Field(default=0, ge=0)


class ProjectionRule(RuleBase):
    """Battery minutes left, projected, below a limit; on battery only."""

    kind: Literal["projection"] = "projection"
    below_min: float = Field(gt=0)
    back_by: float = Field(default=0, ge=0)
    slope_s: float = Field(gt=0)
    slope_at_least_s: float = Field(gt=0)


class GasRule(RuleBase):
    """Minutes left of the gas cylinder of a transport, at the last known sweep, below a limit."""

    kind: Literal["gas"] = "gas"
    below_min: float = Field(gt=0)
    back_by: float = Field(default=0, ge=0)


class MissingRule(RuleBase):
    """No reading from a bed for ``delay_s`` or ``intervals`` declared intervals, whichever is longer.

    While the bed is in transport, for ``in_transport_s``; from ``on_list_s`` it then stands on the list of needs.
    """

    kind: Literal["missing"] = "missing"
    intervals: float = Field(ge=1)
    in_transport_s: float = Field(default=600, ge=0)
    on_list_s: float = Field(default=300, ge=0)


class OverdueRule(RuleBase):
    """A bed entered by hand: too long since the last set was read."""

    kind: Literal["overdue"] = "overdue"


class BoardBlindRule(RuleBase):
    """So many beds without a feed that the board cannot see: one alert for the unit replaces theirs."""

    kind: Literal["board_blind"] = "board_blind"
    beds: int = Field(ge=2)


class UncoveredRule(RuleBase):
    """One of these rungs has nobody."""

    kind: Literal["uncovered"] = "uncovered"
    rungs: tuple[int, ...]


class TrialRule(RuleBase):
    """A limit only of a trial: the floor of a turn-down, the flow of a retrograde one, the length of a clamp."""

    kind: Literal["trial"] = "trial"
    quantity: Quantity = Quantity.PUMP_FLOW
    below_floor: bool = False
    retrograde_within: tuple[float, float] | None = None
    clamp_at_most_s: float | None = Field(default=None, gt=0)
    back_by: float = Field(default=0, ge=0)


class RateRule(RuleBase):
    """A quantity moves faster than a limit: its robust slope over a window, in its unit per minute.

    The slope is that of Theil and Sen over medians of ``block_s``, so that a spike moves it little. Judged once the
    blocks reach over three quarters of the window. Falls and rises are sizes, without a sign.
    """

    kind: Literal["rate"] = "rate"
    quantity: Quantity
    falls_by: float | None = Field(default=None, gt=0)
    rises_by: float | None = Field(default=None, gt=0)
    window_s: float = Field(default=300, ge=60, le=3600)
    block_s: float = Field(default=10, ge=1, le=600)
    back_by: float = Field(default=0, ge=0)

    @model_validator(mode="after")
    def _one_way(self) -> "RateRule":
        _check_one_way(self.falls_by, self.rises_by)
        if self.window_s < 6 * self.block_s:
            raise ValueError("the window holds fewer than six blocks")
        return self


class DriftRule(RuleBase):
    """A slow departure from a baseline: over hours the values trend one way and have come a share away from it.

    Judged by medians of ``block_s``: the last ``blocks`` of them must trend (score of Mann and Kendall at least
    ``score``), and the end of their robust line must be the share away. Blocks from before the baseline began
    do not count, so an exchange begins anew, and an order too where ``of`` is ``standing``.
    """

    kind: Literal["drift"] = "drift"
    quantity: Quantity
    of: Literal[Reference.RUN_BASELINE, Reference.STANDING] = Reference.STANDING
    falls_by: float | None = Field(default=None, gt=0, lt=1)
    rises_by: float | None = Field(default=None, gt=0, le=10)
    block_s: float = Field(default=600, ge=60, le=7200)
    blocks: int = Field(default=18, ge=8, le=200)
    score: float = Field(default=2.58, ge=1, le=6)
    back_by: float = Field(default=0, ge=0)

    @model_validator(mode="after")
    def _one_way(self) -> "DriftRule":
        _check_one_way(self.falls_by, self.rises_by)
        return self


class StaleRule(RuleBase):
    """One quantity of a run is read no more although the run's others go on; its delay says for how long."""

    kind: Literal["stale"] = "stale"
    quantity: Quantity


def _check_one_way(falls_by: float | None, rises_by: float | None) -> None:
    if (falls_by is None) == (rises_by is None):
        raise ValueError("exactly one of falls_by, rises_by must be given")


class TransportRule(RuleBase):
    """A transport that is late (``late``), or a return check that is not done, so long after its time."""

    kind: Literal["transport"] = "transport"
    late: bool
    after_s: float = Field(ge=0)


class HelpRule(RuleBase):
    """Called by hand."""

    kind: Literal["help"] = "help"


Rule = Annotated[
    LimitRule
    | ConditionRule
    | UnsteadyRule
    | RiseRule
    | OpeningRule
    | UnorderedRule
    | AloneRule
    | FrozenRule
    | DifferenceRule
    | ProjectionRule
    | GasRule
    | MissingRule
    | OverdueRule
    | BoardBlindRule
    | UncoveredRule
    | TrialRule
    | RateRule
    | DriftRule
    | StaleRule
    | TransportRule
    | HelpRule,
    Field(discriminator="kind"),
]


class Consequence(Frozen):
    """Which rules explain which. A pattern may end in ``*``; ``class:physiological`` names a whole class."""

    causes: tuple[str, ...] = Field(min_length=1)
    each_other: bool = False
    explains: tuple[str, ...] = ()


class Limits(Frozen):
    """The whole of ``limits.toml``: rules in table order, and what explains what."""

    rules: tuple[Rule, ...] = Field(alias="rule")
    consequences: tuple[Consequence, ...] = Field(default=(), alias="consequence")

    @model_validator(mode="after")
    def _ids_differ(self) -> "Limits":
        ids = [rule.id for rule in self.rules]
        twice = sorted({rule for rule in ids if ids.count(rule) > 1})
        if twice:
            raise ValueError(f"rules named twice: {', '.join(twice)}")
        return self
