"""What feeds and hub say to each other: strict, frozen, one discriminated union. Fields: see PROTOCOL.md.

Times are whole milliseconds since 1970 UTC, by the sender's clock. Sequence numbers count from 1 within one
epoch; an epoch is a random id that a feed draws when it begins a new journal.
"""

from typing import Annotated, Literal

from pydantic import BaseModel, ConfigDict, Field, PlainSerializer, TypeAdapter, model_validator

from shared.quantities import CATALOGUE, Quantity
from shared.support import QuantitySet, RunDescription
from shared.when_asked import WHEN_ASKED
from shared.word import Word

PROTOCOL_VERSION = 1

Name = Annotated[str, Field(min_length=1, max_length=40, pattern=r"^[A-Za-z0-9._-]+$")]
BedLabel = Annotated[str, Field(min_length=1, max_length=8, pattern=r"^[A-Za-z0-9-]+$")]
Epoch = Annotated[str, Field(pattern=r"^[0-9a-f]{16}$")]
Sequence = Annotated[int, Field(ge=1, lt=2**53)]
Millis = Annotated[int, Field(ge=0, lt=2**53)]
Interval = Annotated[float, Field(ge=0.1, le=7200)]
SetId = Annotated[str, Field(pattern=r"^[0-9a-f]{16}$")]
ItemId = Annotated[str, Field(min_length=1, max_length=40, pattern=r"^[a-z0-9_]+$")]


class Message(BaseModel):
    """Base of all messages: nothing extra, nothing converted, nothing changed afterwards."""

    model_config = ConfigDict(frozen=True, extra="forbid", strict=True, allow_inf_nan=False, defer_build=True)


class Origin(Word):
    """Where a bed's readings come from; shown on every tile."""

    CONSOLE = "console"
    SIMULATED = "simulated"
    REPLAYED = "replayed"
    ENTERED = "entered"


class Condition(Word):
    """What a console says of itself besides its readings."""

    HOT = "hot"
    PACKS_OUT = "packs_out"
    SELF_TEST_FAILED = "self_test_failed"


ConditionSet = Annotated[
    frozenset[Condition], PlainSerializer(sorted, return_type=list[Condition], when_used="json")
]


class BedDeclared(Message):
    """A bed that a feed speaks for.

    ``interval`` is the declared time between readings in seconds; sets entered by hand have their own rules.
    """

    bed: BedLabel
    runs: tuple[RunDescription, ...] = Field(min_length=0, max_length=2)
    interval: Interval
    origin: Origin

    @model_validator(mode="after")
    def _slots_differ(self) -> "BedDeclared":
        if len({run.slot for run in self.runs}) != len(self.runs):
            raise ValueError("two runs of one bed stand in the same slot")
        return self


class Hello(Message):
    """A feed's first words, and again after every silence: who it is and what its journal still holds."""

    type: Literal["hello"] = "hello"
    version: int
    feed: Name
    epoch: Epoch
    first: Sequence
    next: Sequence
    sent_at: Millis
    beds: tuple[BedDeclared, ...] = Field(max_length=64)


class Why(Word):
    """Why a set entered by hand is corrected or struck."""

    MISTYPED = "mistyped"
    MISREAD = "misread"
    WRONG_TIME = "wrong_time"
    WRONG_BED = "wrong_bed"
    SENSOR_OR_LINE = "sensor_or_line"
    OTHER = "other"


class Edition(Message):
    """Which set entered by hand an observation is, and which version of it.

    A correction is the whole set again under the next ``version``. A set is struck by a version without readings,
    of ``by`` and a ``second`` person, or taken back by whoever sent it, alone. ``moved_to`` is the
    bed where a struck set was put down anew, ``moved_from`` on that new set names the struck one.
    """

    set: SetId
    version: int = Field(default=1, ge=1, le=99)
    why: Why | None = None
    struck: bool = False
    second: Name | None = None
    moved_to: BedLabel | None = None
    moved_from: SetId | None = None

    @model_validator(mode="after")
    def _fits(self) -> "Edition":
        if (self.why is None) != (self.version == 1):
            raise ValueError("why: a version after the first says why, the first does not")
        if self.struck and self.version == 1:
            raise ValueError("struck: a set that was never sent cannot be struck")
        if not self.struck and (self.second or self.moved_to):
            raise ValueError("second, moved_to: only of a set that is struck")
        return self


class Unchecked(Word):
    """Why it was not checked who entered a set by hand, or why whoever is named may not enter there."""

    NOT_ASKED = "not_asked"
    NO_PERSON = "no_person"
    ROLE = "role"
    OTHER_BED = "other_bed"
    ALONE = "alone"


class RoundKind(Word):
    """Which round at a bed a set belongs to."""

    HOURLY = "hourly"
    SAFETY_WALK = "safety_walk"
    PERFUSION = "perfusion"


class Found(Word):
    """What a person found who looked at an item of a round; nothing here is ever inferred."""

    IN_ORDER = "in_order"
    FINDING = "finding"
    NOT_LOOKED = "not_looked"


class Looked(Message):
    """The answer to one item of a round, with the words of whoever looked."""

    found: Found
    note: str | None = Field(default=None, min_length=1, max_length=80)


class Observation(Message):
    """Readings taken together at one time for one run of one bed.

    ``readings`` holds only values; a quantity that is lost is left out. ``estimated`` and ``doubtful`` name
    readings that the console computed or does not trust. ``entered_at`` and ``by`` stand on sets entered by
    hand, as do ``edition``, ``round`` and ``looked``: which set, of which round, and what was looked at.
    ``unchecked``: who entered the set was not checked, or may not; a message without it is taken as it is.
    """

    type: Literal["observation"] = "observation"
    feed: Name
    epoch: Epoch
    seq: Sequence
    bed: BedLabel
    slot: int = Field(default=1, ge=1, le=2)
    read_at: Millis
    sent_at: Millis
    readings: dict[Quantity, float] = Field(max_length=64)
    estimated: QuantitySet = frozenset()
    doubtful: QuantitySet = frozenset()
    conditions: ConditionSet = frozenset()
    entered_at: Millis | None = None
    by: Name | None = None
    edition: Edition | None = None
    round: RoundKind | None = None
    looked: dict[ItemId, Looked] | None = Field(default=None, min_length=1, max_length=40)
    unchecked: Unchecked | None = None

    @property
    def may_not(self) -> bool:
        """Tell whether whoever is named may not enter there: such a set stands against nothing that is known."""
        return self.unchecked not in (None, Unchecked.NOT_ASKED)

    @property
    def is_refused(self) -> bool:
        """Tell whether it is a correction or strike of somebody who may not: it is kept and changes nothing."""
        return self.may_not and self.edition is not None and self.edition.version > 1

    @model_validator(mode="after")
    def _by_hand(self) -> "Observation":
        if (self.edition or self.round or self.looked) and (self.by is None or self.entered_at is None):
            raise ValueError("edition, round, looked: only of a set entered by hand, with entered_at and by")
        if self.unchecked and self.by is None:
            raise ValueError("unchecked: only of a set entered by hand, with by")
        if self.looked and self.round is None:
            raise ValueError("looked: of a round, which must be named")
        if self.edition is not None and self.edition.struck and (self.readings or self.looked):
            raise ValueError("struck: a version that strikes a set holds nothing")
        return self

    @model_validator(mode="after")
    def _marks_name_readings(self) -> "Observation":
        derived = sorted(q for q in self.readings if CATALOGUE[q].derived)
        if derived:
            raise ValueError(f"derived quantities are never published: {', '.join(derived)}")
        stray = sorted((self.estimated | self.doubtful) - self.readings.keys())
        if stray:
            raise ValueError(f"marked but not read: {', '.join(stray)}")
        return self


class HubHeard(Message):
    """The hub's time in the last Welcome or Stored that a feed heard, and when it heard it by its own clock."""

    hub_time: Millis
    at: Millis


class FeedBeat(Message):
    """A feed is alive and has published up to ``next - 1``; ``heard``: once for each time of the hub's."""

    type: Literal["feed_beat"] = "feed_beat"
    feed: Name
    epoch: Epoch
    next: Sequence
    sent_at: Millis
    heard: HubHeard | None = None


class Welcome(Message):
    """The hub knows this feed: it holds everything up to ``stored`` of this epoch (0: nothing)."""

    type: Literal["welcome"] = "welcome"
    version: int
    feed: Name
    epoch: Epoch
    stored: int = Field(ge=0, lt=2**53)
    hub_time: Millis


class Resend(Message):
    """The hub missed ``first`` to ``last``, both included, and asks for them."""

    type: Literal["resend"] = "resend"
    feed: Name
    epoch: Epoch
    first: Sequence
    last: Sequence


class Stored(Message):
    """Everything of this epoch up to ``up_to`` is on the hub's disk; the feed may forget it."""

    type: Literal["stored"] = "stored"
    feed: Name
    epoch: Epoch
    up_to: Sequence
    hub_time: Millis | None = None


class RefusalReason(Word):
    """Why something was turned away at a door. Each has its counter at the hub."""

    MALFORMED = "malformed"
    OVERSIZED = "oversized"
    WRONG_VERSION = "wrong_version"
    UNKNOWN_FEED = "unknown_feed"
    UNKNOWN_BED = "unknown_bed"
    NOT_YOUR_BED = "not_your_bed"
    UNKNOWN_RUN = "unknown_run"
    IMPOSSIBLE_VALUE = "impossible_value"
    FUTURE_TIME = "future_time"
    OUT_OF_ORDER = "out_of_order"
    DUPLICATE = "duplicate"
    NOT_HELLO = "not_hello"
    NOT_ALLOWED = "not_allowed"


class Refused(Message):
    """The hub turned something away, in words for a person."""

    type: Literal["refused"] = "refused"
    reason: RefusalReason
    detail: str = Field(max_length=500)
    seq: Sequence | None = None


FeedMessage = Annotated[
    Hello | Observation | FeedBeat | Welcome | Resend | Stored | Refused, Field(discriminator="type")
]
FEED_MESSAGES: TypeAdapter[FeedMessage] = TypeAdapter(FeedMessage, config=WHEN_ASKED)
