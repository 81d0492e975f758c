"""The model of ``config/patterns.toml``: what each pattern looks like, and from when on something has changed.

The table is the whole knowledge. A hint follows from it and from fresh readings, and from nothing else.
"""

from enum import StrEnum
from typing import Annotated

from pydantic import Field, ValidationError, ValidatorFunctionWrapHandler, WrapValidator, model_validator

from monitor.analysis.patterns import Role
from monitor.core.model import Frozen
from shared.language.saying import say
from shared.mark import Mark
from shared.quantities import Quantity
from shared.support import RunDescription, Support, label_at

Letter = Annotated[str, Field(pattern=r"^[A-Z]$")]
Words = Annotated[str, Field(min_length=1, max_length=80)]


class Feature(StrEnum):
    """What is not a quantity of its own.

    current_for_flow: motor current against what speed and flow ask for, as learned from the run's own minutes.
    head_against_curve: head of the pump against its curve at this speed and flow, in mmHg, as compared with before.
    post_oxygenator_ratio: post-oxygenator pO2 over the share of oxygen in the gas, in mmHg.
    one_pressure: one of drain, pre-oxygenator and post-oxygenator pressure. console: its readings as a whole.
    """

    CURRENT_FOR_FLOW = "current_for_flow"
    HEAD_AGAINST_CURVE = "head_against_curve"
    POST_OXYGENATOR_RATIO = "post_oxygenator_ratio"
    ONE_PRESSURE = "one_pressure"
    CONSOLE = "console"


def _known(value: object, check: ValidatorFunctionWrapHandler) -> object:
    try:
        return check(value)
    except ValidationError:
        raise ValueError("no quantity and no feature is called that") from None


#: What a sign or a move is about; one plain word for a slip in it, not one for each kind.
Subject = Annotated[Quantity | Feature, WrapValidator(_known)]


class Is(StrEnum):
    """What a quantity or feature does.

    up, down, unchanged: against what was usual. rose: at once, within the last minutes. unsteady: it swings.
    sudden, gradual: how the change came. leads: it changed before another one. lost: it is read no more while
    others are, or only estimated. stopped, reversed: about zero; below it. below, above: a value. alone: one moved,
    the others did not. frozen, moves: readings stand still; they go on.
    """

    UP = "up"
    DOWN = "down"
    UNCHANGED = "unchanged"
    ROSE = "rose"
    UNSTEADY = "unsteady"
    SUDDEN = "sudden"
    GRADUAL = "gradual"
    LEADS = "leads"
    LOST = "lost"
    STOPPED = "stopped"
    REVERSED = "reversed"
    BELOW = "below"
    ABOVE = "above"
    ALONE = "alone"
    FROZEN = "frozen"
    MOVES = "moves"


class Sign(Frozen):
    """One sign of a pattern. ``since_run``: against the run's usual value, whatever was ordered since."""

    of: Subject
    is_: tuple[Is, ...] = Field(alias="is", min_length=1, max_length=4)
    role: Role
    words: Words
    before: Quantity | None = None
    than: float | None = None
    one_of: str = Field(default="", max_length=20)
    if_fitted: bool = False
    since_run: bool = False

    def said(self, run: RunDescription) -> str:
        """Give its words, with what the run calls the quantity for ``{label}``."""
        return self.words.format(label="" if isinstance(self.of, Feature) else say(label_at(self.of, run)))


class Pattern(Frozen):
    """One row of the table.

    Attributes:
        supports: only these support types; empty: all.
        needs_oxygenator: only where one is in the circuit.
        alternatives: letters of patterns that are easily taken for this one.
        apart: what would tell them apart at the bed. Never a treatment, a speed, a gas or a drug.
        apart_oxygenator: said after it where there is an oxygenator.
    """

    id: Letter
    title: str = Field(min_length=1, max_length=60)
    supports: frozenset[Support] = frozenset()
    needs_oxygenator: bool = False
    sign: tuple[Sign, ...] = Field(min_length=1, max_length=24)
    alternatives: tuple[Letter, ...] = Field(min_length=1, max_length=6)
    apart: str = Field(min_length=1, max_length=240)
    apart_oxygenator: str = Field(default="", max_length=160)
    mark: Mark
    source: str = Field(min_length=1, max_length=160)

    def belongs_to(self, support: Support, oxygenator: bool) -> bool:
        """Tell whether the pattern can be there at all."""
        return (not self.supports or support in self.supports) and (oxygenator or not self.needs_oxygenator)


class Move(Frozen):
    """From when on a quantity or feature counts as changed, beyond its noise.

    Attributes:
        moved, still: changed from ``moved`` on, unchanged up to ``still``; between them neither is said.
        share: both are shares of what was usual.
        median_s: seconds of the running median that is compared.
        at_flow: only with a flow of at least this, in L/min.
        stopped, reversed: about zero up to this; below zero by more than this.
        explain: a pattern should explain this change.
    """

    of: Subject
    moved: float = Field(gt=0)
    still: float = Field(gt=0)
    share: bool = False
    median_s: float = Field(default=10, gt=0, le=600)
    at_flow: float | None = Field(default=None, ge=0)
    stopped: float | None = Field(default=None, gt=0)
    reversed: float | None = Field(default=None, gt=0)
    explain: bool = False
    mark: Mark = Mark.DEFAULT

    @model_validator(mode="after")
    def _in_order(self) -> "Move":
        if self.still > self.moved:
            raise ValueError("still is above moved: nothing could be both unchanged and changed")
        return self


class Looking(Frozen):
    """How the signs are looked for; times in seconds. Defaults of ours: nothing here is clinical.

    Attributes:
        every_s: between two looks while an alert is present; a new alert is looked at at once.
        hold_s: a changed order must hold for so long before it is written down.
        unread_s: a reading that is missing or doubtful for so long counts as unread.
        first_s: until a baseline stands, usual is the median of the first so many seconds of the run.
        sudden_s, sudden_share: so much of a change within so long came at once.
        rose_s: how far back a rise at once is remembered.
        unsteady_*: a window swings when its range is above the share of its median and at least so many times what
            counts as changed; ``unsteady_hits`` of the last ``unsteady_windows``.
        moves_s: a reading that changed within so long is alive.
        leads_s: onsets nearer to each other than this have no order.
    """

    every_s: float = Field(default=10, ge=10, le=120)
    hold_s: float = Field(default=10, ge=0, le=120)
    unread_s: float = Field(default=10, ge=2, le=60)
    first_s: float = Field(default=60, ge=20, le=300)
    sudden_s: float = Field(default=10, ge=2, le=60)
    sudden_share: float = Field(default=0.7, gt=0.3, le=1)
    rose_s: float = Field(default=600, ge=60, le=600)
    unsteady_window_s: float = Field(default=10, ge=5, le=60)
    unsteady_share: float = Field(default=0.15, gt=0, le=2)
    unsteady_moves: float = Field(default=1.5, gt=0, le=5)
    unsteady_hits: int = Field(default=3, ge=1, le=12)
    unsteady_windows: int = Field(default=6, ge=1, le=12)
    moves_s: float = Field(default=30, ge=5, le=120)
    leads_s: float = Field(default=10, ge=0, le=120)
    mark: Mark = Mark.DEFAULT


class Patterns(Frozen):
    """The whole of ``patterns.toml``. Without patterns there are no hints."""

    looking: Looking = Looking()
    move: tuple[Move, ...] = ()
    pattern: tuple[Pattern, ...] = Field(default=(), max_length=26)

    def here(self, support: Support, oxygenator: bool) -> tuple[Pattern, ...]:
        """Give the patterns that can be at a run, in the order of the table."""
        return tuple(row for row in self.pattern if row.belongs_to(support, oxygenator))

    def title(self, letter: str) -> str:
        """Give the title of a pattern. Raises KeyError for a letter that is not in the table."""
        for row in self.pattern:
            if row.id == letter:
                return row.title
        raise KeyError(letter)
