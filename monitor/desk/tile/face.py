"""The face of a tile: everything that is painted, as words, marks and numbers. Two equal faces paint alike.

A face is compared with the one painted last; only when they differ is the tile painted again.
"""

from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from enum import StrEnum

from monitor.analysis.arrow import Arrow
from monitor.core.grades import Priority
from monitor.core.point_marks import MEASURED, UNSURE_WORDS, Marks
from monitor.desk.paint.staff import StaffPicture
from shared.instant import Instant
from shared.language.saying import say
from shared.look.marks import Mark
from shared.look.need import NEED_WORD, Need
from shared.look.palette import StateHue
from shared.quantities import Quantity


class Plate(StrEnum):
    """The area that a need takes: its grade."""

    NONE = "none"
    LINE = "line"
    ROW = "row"
    HEAD = "head"


@dataclass(frozen=True, slots=True)
class NeedFace:
    """The need row. ``need`` is ``None`` for a state that asks for nobody; its mark then has a state's hue.

    ``blinks``: the grade at whose pace the mark block flashes, while nobody has it.
    """

    need: Need | None = None
    plate: Plate = Plate.NONE
    held: bool = False
    mark: Mark | None = None
    hue: StateHue | None = None
    title: str = ""
    since: str = ""
    more: int = 0
    blinks: Priority | None = None


@dataclass(frozen=True, slots=True)
class LineFace:
    """A line of a trend. ``spread``: the range within each column is drawn, not the value."""

    slot: int
    quantity: Quantity
    second: bool = False
    spread: bool = False


@dataclass(frozen=True, slots=True)
class NumberFace:
    """A number with what stands beside it.

    ``value`` is ``--`` when lost or stale; ``was`` then says ``4.0 at 14:26``. ``side``: L or R of two runs.
    ``out``: the need whose bar stands under it. ``arrow``: which way it has moved, beyond its noise.
    ``unsure``: the marks for which it is not taken as plainly true, drawn beside it as the trend draws them.
    """

    value: str
    was: str = ""
    target: str = ""
    limit: str = ""
    hollow: bool = False
    side: str = ""
    out: Need | None = None
    arrow: Arrow = Arrow.NONE
    unsure: Marks = MEASURED


@dataclass(frozen=True, slots=True)
class TrendFace:
    """One of the three rows.

    ``began``: start of the run; before it nothing is missing. ``newest``: the last value of each line, to the
    fineness of a pixel, drawn as a point while ``live``. ``ends``: the newest column of each line, as fine; with
    ``column`` it tells whether the line must be painted again. ``end``: the trend ends here.
    """

    label: str
    unit: str
    numbers: tuple[NumberFace, ...]
    lines: tuple[LineFace, ...]
    scale: tuple[float, float]
    band: tuple[float, float] | None
    ticks: tuple[float, ...]
    orders: tuple[Instant, ...]
    began: Instant | None
    by_hand: bool
    live: bool
    newest: tuple[float, ...]
    ends: tuple[tuple[int, int, int], ...]
    end: Instant = field(default=0, compare=False)
    column: int = 0


@dataclass(frozen=True, slots=True)
class PlainFace:
    """One plain number; ``unsure`` as of a `NumberFace`."""

    label: str
    value: str
    unit: str
    out: Need | None = None
    unsure: Marks = MEASURED


@dataclass(frozen=True, slots=True)
class PowerFace:
    """Mains (outline) or battery (solid) with words; ``None`` for unknown."""

    on_mains: bool | None
    words: str = ""


class Foot(StrEnum):
    """How the last line is written."""

    QUIET = "quiet"
    NOBODY = "nobody"
    HOLDER = "holder"


@dataclass(frozen=True, slots=True)
class FootFace:
    """The last line. ``left`` and ``right`` have the same words long and short: the first that fit are painted."""

    kind: Foot
    left: tuple[str, ...]
    right: tuple[str, ...] = ("",)
    mark: Mark | None = None


@dataclass(frozen=True, slots=True)
class Face:
    """One tile. ``no_run``: nothing is watched here. ``veiled``: the hub is lost.

    ``paused``: the countdown of its sound. ``off``: how long it has been off support. ``gas``: in transport, with
    minutes of gas, while a need stands in the transport's row. ``origin``: the word of its mark.
    """

    bed: str
    support: str
    who: str
    fresh: str
    fresh_bold: bool
    need: NeedFace
    staff: StaffPicture
    trends: tuple[TrendFace, ...]
    plain: tuple[PlainFace, ...]
    power: PowerFace | None
    foot: FootFace
    origin_mark: Mark | None = None
    origin: str = ""
    changed: bool = False
    no_run: bool = False
    veiled: bool = False
    paused: str = ""
    gas: str = ""
    off: str = ""

    @property
    def strong(self) -> bool:
        """Tell whether the tile is written in full ink: somebody is needed here."""
        return self.need.need is not None and not self.veiled

    @property
    def spoken(self) -> str:
        """Give the tile in one sentence, its words as long as they are."""
        return self.spoken_where(lambda _: True)

    def spoken_where(self, stands: Callable[[str], bool]) -> str:
        """Give the tile in one sentence, of those of its words that stand on the screen."""
        left, right = (next(filter(stands, words), "") for words in (self.foot.left, self.foot.right))
        need, title = self.need.need, self.need.title if stands(self.need.title) else ""
        parts = (
            say("Bed {bed}", bed=self.bed),
            say("Off support {off}", off=self.off) if self.off else "",
            ": ".join(filter(None, (say(NEED_WORD[need]) if need is not None else "", title))),
            self.fresh if stands(self.fresh) else "",
            self.origin,
            say("Sound paused, {paused} left", paused=self.paused) if self.paused and stands(self.paused) else "",
            *self._unsure(stands),
            f"{left} {right}".strip(),
        )
        return ". ".join(filter(None, parts))

    def _unsure(self, stands: Callable[[str], bool]) -> Iterator[str]:
        """Say which numbers are not taken as plainly true: ``Drain P is doubtful``."""
        of_trends = ((trend.label, number.unsure) for trend in self.trends for number in trend.numbers)
        of_plain = ((plain.label, plain.unsure) for plain in self.plain)
        for label, marks in filter(lambda one: stands(one[0]), (*of_trends, *of_plain)):
            yield from (
                say("{label} is {word}", label=label, word=say(word))
                for mark, word in UNSURE_WORDS.items()
                if mark in marks
            )
