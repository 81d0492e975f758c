"""What a hub tells a review over a thin line: packs of deltas, and history in fewer bytes.

A **pack** carries deltas in order. Readings in it are the newest of each run, once in a few seconds; all else is
told as it comes. A pack without deltas says that the hub is alive. Packs are numbered in each start of the hub;
`Snapshot.seq` is, on this line, the number of the last pack before it.

A **lean history** has, column by column, whole steps of a hundredth of the digit that screens show, and differences
instead of values. It is turned back into `History` before a desk looks at it.
"""

from collections.abc import Iterable
from itertools import accumulate, pairwise
from typing import Annotated, Literal

from pydantic import Field, TypeAdapter, model_validator

from monitor.core.model import Frozen
from monitor.core.point_marks import PointMark
from monitor.core.wire import Column, Delta, History, Reply
from shared.instant import Instant
from shared.quantities import CATALOGUE, Quantity
from shared.when_asked import SAID_ONCE

#: More decimals than a screen shows: a value that was rounded here still rounds there as it would have.
_FINER = 2
_COLUMNS_AT_MOST = 10_000


class Pack(Frozen):
    """Deltas since the last pack, the hub's time, and its ``ticks``: real ms of its monotonic clock."""

    type: Literal["pack"] = "pack"
    boot: str
    number: int = Field(ge=1)
    hub_time: Instant
    ticks: int = Field(ge=0)
    deltas: tuple[Delta, ...] = ()


class Followed(Frozen):
    """The hub has heard a `Follow`, at ``ticks`` of its monotonic clock, in real ms: after that `Follow` had left.

    So a review knows of each later pack, by its ticks, since when at least it has been under way.
    """

    type: Literal["followed"] = "followed"
    request: str
    ticks: int = Field(ge=0)


class LeanSeries(Frozen):
    """Columns of one quantity. All tuples are equally long.

    ``steps``: columns of time since the one before, the first since 1970. ``last``: differences of the last values;
    ``below``, ``above``: how far the smallest and the largest lie from the last. ``marks``: by place in the tuples.
    """

    steps: tuple[int, ...] = Field(max_length=_COLUMNS_AT_MOST)
    last: tuple[int, ...]
    below: tuple[int, ...]
    above: tuple[int, ...]
    marks: dict[int, frozenset[PointMark]] = {}

    @model_validator(mode="after")
    def _alike(self) -> "LeanSeries":
        if not len(self.steps) == len(self.last) == len(self.below) == len(self.above):
            raise ValueError("steps, last, below and above must be equally long")
        return self


class LeanHistory(Frozen):
    """`History` in fewer bytes."""

    type: Literal["lean_history"] = "lean_history"
    request: str
    bed: str
    slot: int
    width_ms: int = Field(ge=1)
    series: dict[Quantity, LeanSeries]
    thinned_before: Instant | None = None


LeanReply = Annotated[Pack | Followed | LeanHistory | Reply, Field(discriminator="type")]
LEAN_REPLIES: TypeAdapter[LeanReply] = TypeAdapter(LeanReply, config=SAID_ONCE)


def lean_of(history: History) -> LeanHistory:
    """Give a history in fewer bytes; its columns start at whole multiples of their width."""
    series = {q: _lean(columns, history.width_ms, _scale(q)) for q, columns in history.series.items()}
    return LeanHistory(**(dict(history) | {"type": "lean_history", "series": series}))


def history_of(lean: LeanHistory) -> History:
    """Give the history that was made lean, its values rounded to a hundredth of the digit that screens show."""
    series = {q: tuple(_columns(one, lean.width_ms, _scale(q))) for q, one in lean.series.items()}
    return History(**(dict(lean) | {"type": "history", "series": series}))


def _scale(quantity: Quantity) -> int:
    return int(10 ** (CATALOGUE[quantity].decimals + _FINER))


def _lean(columns: tuple[Column, ...], width_ms: int, scale: int) -> LeanSeries:
    numbers = [column.at // width_ms for column in columns]
    last, low, high = ([round(getattr(one, what) * scale) for one in columns] for what in ("last", "low", "high"))
    return LeanSeries(
        steps=_differences(numbers),
        last=_differences(last),
        below=tuple(value - least for value, least in zip(last, low, strict=True)),
        above=tuple(most - value for value, most in zip(last, high, strict=True)),
        marks={place: column.marks for place, column in enumerate(columns) if column.marks},
    )


def _differences(values: list[int]) -> tuple[int, ...]:
    return tuple(later - earlier for earlier, later in pairwise([0, *values]))


def _columns(lean: LeanSeries, width_ms: int, scale: int) -> Iterable[Column]:
    together = zip(accumulate(lean.steps), accumulate(lean.last), lean.below, lean.above, strict=True)
    for place, (number, last, below, above) in enumerate(together):
        yield Column(
            at=number * width_ms,
            low=(last - below) / scale,
            high=(last + above) / scale,
            last=last / scale,
            marks=lean.marks.get(place),
        )
