"""What hub and desks say to each other, in the frames of `shared.frames`. Fields: shared/PROTOCOL.md.

Deltas carry one sequence number over all kinds, which begins anew with each start of the hub, and the ``boot`` of
that start: a desk that sees a gap, or another start, asks for a snapshot again.
"""

from typing import Annotated, Literal

from pydantic import Field, TypeAdapter, model_validator

from monitor.analysis.alert_load import LoadFigures
from monitor.core.cards import CardFigures
from monitor.core.commands import Command
from monitor.core.entries import Entry
from monitor.core.equipment.table import ItemId
from monitor.core.meaning.news import BedNews
from monitor.core.meaning.view import Meaning
from monitor.core.model import Frozen
from monitor.core.point_marks import MEASURED, Marks, PointMark
from monitor.core.view import TileView, UnitView
from shared.beds_now import AskBeds
from shared.instant import HOUR, Instant
from shared.messages import Millis, Name
from shared.quantities import Quantity
from shared.sign_in import Session, SignedIn, SignIn, SignOut
from shared.when_asked import SAID_ONCE

#: The longest stretch of alert load that a desk may ask for.
LOAD_AT_MOST_MS = 31 * 24 * HOUR


class LatestReadings(Frozen):
    """The newest readings of one run of a bed, each with the time it was read.

    ``doubtful``: the console does not trust these; ``unchecked``: it was not checked who entered them.
    """

    bed: str
    slot: int
    values: dict[Quantity, tuple[Instant, float]]
    estimated: frozenset[Quantity] = frozenset()
    doubtful: frozenset[Quantity] = frozenset()
    unchecked: frozenset[Quantity] = frozenset()


class ReadingsDelta(Frozen):
    """Readings that the hub has just accepted. ``late``: older than what stands; for trends only.

    ``marks``: how trends show them; a reading without any was measured.
    """

    type: Literal["readings"] = "readings"
    boot: str
    seq: int
    bed: str
    slot: int
    read_at: Instant
    values: dict[Quantity, float]
    estimated: frozenset[Quantity] = frozenset()
    marks: dict[Quantity, frozenset[PointMark]] | None = None
    by_hand: bool = False
    late: bool = False

    def marks_of(self, quantity: Quantity) -> Marks:
        """Give how a trend shows a reading."""
        marks = (self.marks or {}).get(quantity, MEASURED)
        return marks | {PointMark.ESTIMATED} if quantity in self.estimated else marks


class ReadingsAnew(LatestReadings):
    """What a run's newest readings are after a set was corrected or struck, in place of all told before."""

    type: Literal["readings_anew"] = "readings_anew"
    boot: str
    seq: int


class TileDelta(Frozen):
    """A bed's view has changed."""

    type: Literal["tile"] = "tile"
    boot: str
    seq: int
    tile: TileView


class UnitDelta(Frozen):
    """The unit's view has changed."""

    type: Literal["unit"] = "unit"
    boot: str
    seq: int
    unit: UnitView


class EntryDelta(Frozen):
    """Something was written into the alert log. ``recorded`` is false while the record refuses writes."""

    type: Literal["entry"] = "entry"
    boot: str
    seq: int
    entry: Entry
    recorded: bool = True


class Beat(Frozen):
    """The hub is alive; ``seq`` is the last sequence number given to a delta (0: none yet)."""

    type: Literal["beat"] = "beat"
    boot: str
    seq: int
    hub_time: Instant


Delta = Annotated[
    ReadingsDelta | ReadingsAnew | TileDelta | UnitDelta | EntryDelta | Beat, Field(discriminator="type")
]
DELTAS: TypeAdapter[Delta] = TypeAdapter(Delta, config=SAID_ONCE)


class AskSnapshot(Frozen):
    """A desk asks for everything as it stands."""

    type: Literal["ask_snapshot"] = "ask_snapshot"
    request: str = Field(max_length=40)


class Follow(Frozen):
    """A review asks to be told from now on, over the line it asks on; said again every few seconds.

    ``boot``, ``pack``: the last pack that it has taken. 0, or what the hub does not know: everything anew.
    """

    type: Literal["follow"] = "follow"
    request: str = Field(max_length=40)
    boot: str = Field(default="", max_length=40)
    pack: int = Field(default=0, ge=0)


class AskHistory(Frozen):
    """A desk asks for the series of a run: min, max and last per column of ``width_ms``."""

    type: Literal["ask_history"] = "ask_history"
    request: str = Field(max_length=40)
    bed: str
    slot: int = Field(ge=1, le=2)
    quantities: tuple[Quantity, ...] = Field(max_length=64)
    begin: Millis
    end: Millis
    width_ms: int = Field(ge=100, le=86_400_000)


class AskEntries(Frozen):
    """A desk asks for the newest entries of a bed (``None``: of all beds and the unit).

    ``item``: only those of an item of the equipment, as far back as the hub looks for them.
    """

    type: Literal["ask_entries"] = "ask_entries"
    request: str = Field(max_length=40)
    bed: str | None = None
    most: int = Field(ge=1, le=500)
    item: ItemId | None = None


class AskLoad(Frozen):
    """A desk asks for the alert load of ``begin`` (included) to ``end`` (excluded)."""

    type: Literal["ask_load"] = "ask_load"
    request: str = Field(max_length=40)
    begin: Millis
    end: Millis

    @model_validator(mode="after")
    def _some_time(self) -> "AskLoad":
        if not 0 < self.end - self.begin <= LOAD_AT_MOST_MS:
            raise ValueError("begin must be before end, by at most 31 days")
        return self


class AskCards(Frozen):
    """A desk asks for the figures of the handover cards: of the last 12 h of every bed."""

    type: Literal["ask_cards"] = "ask_cards"
    request: str = Field(max_length=40)


class AskMeaning(Frozen):
    """A desk asks what the numbers of a run mean now, and to ``person``: what has changed since they looked."""

    type: Literal["ask_meaning"] = "ask_meaning"
    request: str = Field(max_length=40)
    bed: str
    slot: int = Field(ge=1, le=2)
    person: Name | None = None


class AskNews(Frozen):
    """A desk asks what is new to ``person`` at every bed since they last looked there."""

    type: Literal["ask_news"] = "ask_news"
    request: str = Field(max_length=40)
    person: Name


class GiveCommand(Frozen):
    """A desk gives a command; the request's id is the command's.

    ``session``: of who speaks, once signed in; ``second``: of the second person, where the command names one.
    ``given_at``: the hub's time as the desk knew it when the key was pressed; what comes too long after is refused.
    """

    type: Literal["give_command"] = "give_command"
    command: Command
    session: Session = Field(default="", repr=False)
    second: Session = Field(default="", repr=False)
    given_at: Millis | None = None


Request = Annotated[
    AskSnapshot
    | Follow
    | AskHistory
    | AskEntries
    | AskLoad
    | AskCards
    | AskMeaning
    | AskNews
    | AskBeds
    | GiveCommand
    | SignIn
    | SignOut,
    Field(discriminator="type"),
]
REQUESTS: TypeAdapter[Request] = TypeAdapter(Request, config=SAID_ONCE)


class Snapshot(Frozen):
    """Everything as it stood after delta ``seq``. ``boot`` changes when the hub was started anew."""

    type: Literal["snapshot"] = "snapshot"
    request: str
    seq: int
    boot: str
    hub_time: Instant
    unit: UnitView
    tiles: tuple[TileView, ...]
    readings: tuple[LatestReadings, ...]


class Column(Frozen):
    """One column of a series: start, smallest, largest and last value.

    ``marks``: of all that is in it; readings with other marks have a column of their own at the same start.
    """

    at: Instant
    low: float
    high: float
    last: float
    marks: frozenset[PointMark] | None = None


class History(Frozen):
    """The answer to `AskHistory`: columns with readings only, oldest first; a gap is a missing column.

    ``thinned_before``: what was read before then is no longer there, within what was asked for.
    """

    type: Literal["history"] = "history"
    request: str
    bed: str
    slot: int
    width_ms: int
    series: dict[Quantity, tuple[Column, ...]]
    thinned_before: Instant | None = None


class Entries(Frozen):
    """The answer to `AskEntries`, newest first."""

    type: Literal["entries"] = "entries"
    request: str
    bed: str | None = None
    entries: tuple[Entry, ...]


class Load(Frozen):
    """The answer to `AskLoad`: figures of the unit from the record, what still waits to be written included."""

    type: Literal["load"] = "load"
    request: str
    figures: LoadFigures


class Cards(Frozen):
    """The answer to `AskCards`: figures from the record, at most a minute old."""

    type: Literal["cards"] = "cards"
    request: str
    figures: CardFigures


class Meant(Frozen):
    """The answer to `AskMeaning`; ``None``: there is no such run, or it could not be worked out."""

    type: Literal["meaning"] = "meaning"
    request: str
    meaning: Meaning | None = None


class News(Frozen):
    """The answer to `AskNews`: every bed with a run, in the unit's order."""

    type: Literal["news"] = "news"
    request: str
    person: str
    beds: tuple[BedNews, ...]


class CommandAnswer(Frozen):
    """What became of a command: recorded at a time, or refused with a reason in words.

    ``recorded`` false with no reason: it counts, but the record refuses writes (NOT RECORDED). ``with_reason``: it
    is refused for the role alone, and would be carried out with `break_glass`. ``sign_in``: nothing was looked at,
    because this name is not signed in.
    """

    type: Literal["command_answer"] = "command_answer"
    id: str
    accepted: bool
    at: Instant
    recorded: bool
    reason: str = ""
    with_reason: bool = False
    sign_in: str = ""


class NotUnderstood(Frozen):
    """The hub could not read a request."""

    type: Literal["not_understood"] = "not_understood"
    reason: str


Reply = Annotated[
    Snapshot | History | Entries | Load | Cards | Meant | News | CommandAnswer | SignedIn | NotUnderstood,
    Field(discriminator="type"),
]
REPLIES: TypeAdapter[Reply] = TypeAdapter(Reply, config=SAID_ONCE)
