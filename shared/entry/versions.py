"""A set that was sent: corrections are new versions, a set of the wrong bed is struck, nothing is deleted.

Theory. A set STANDS; whoever corrects it adds a version, and the newest counts. To strike it, one person asks and
another agrees in time (common practice, no source: 15 min); until then it stands, and the request is seen. Whoever
sent it may take it back alone for a few seconds. A set that is struck can be put down at the bed where it belongs:
as a new set there, which names the old one, and both beds show it. `TABLE` is the whole machine; nobody, in any
state, has a way to a set with fewer versions.
"""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field, replace
from enum import StrEnum
from types import MappingProxyType

from shared.entry.draft import EnteredSet
from shared.entry.known import Known, Place
from shared.entry.looking import EntryTimes
from shared.instant import MINUTE, SECOND, Instant
from shared.language.saying import to_say
from shared.messages import Looked, RoundKind, Why
from shared.quantities import Quantity


class SetState(StrEnum):
    """How a set stands."""

    STANDS = "stands"
    STRIKE_ASKED = "strike_asked"
    STRUCK = "struck"


class SetStep(StrEnum):
    """What people do to a set, and what time does."""

    CORRECT = "correct"
    TAKE_BACK = "take_back"
    ASK_STRIKE = "ask_strike"
    AGREE = "agree"
    WITHDRAW = "withdraw"
    LAPSE = "lapse"


_S, _A = SetState.STANDS, SetState.STRIKE_ASKED
#: (state, step) -> next state; what is not here cannot happen.
TABLE: Mapping[tuple[SetState, SetStep], SetState] = MappingProxyType(
    {
        (_S, SetStep.CORRECT): _S,
        (_S, SetStep.TAKE_BACK): SetState.STRUCK,
        (_S, SetStep.ASK_STRIKE): _A,
        (_A, SetStep.AGREE): SetState.STRUCK,
        (_A, SetStep.WITHDRAW): _S,
        (_A, SetStep.LAPSE): _S,
    }
)
_WORDS: Mapping[SetState, str] = MappingProxyType(
    {
        SetState.STANDS: to_say("this set stands, nobody has asked to strike it"),
        SetState.STRIKE_ASKED: to_say("somebody has asked to strike this set: agree or withdraw first"),
        SetState.STRUCK: to_say("this set is struck; enter a new one"),
    }
)


@dataclass(frozen=True, slots=True)
class Version:
    """One version of a set; ``why`` is ``None`` for the first, ``round`` where nothing was looked at."""

    values: Mapping[Quantity, float]
    read_at: Instant
    at: Instant
    by: str
    why: Why | None = None
    round: RoundKind | None = None
    looked: Mapping[str, Looked] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class Strike:
    """A request to strike a set, and its end: ``second`` agreed at ``agreed_at``, or nobody has yet."""

    by: str
    at: Instant
    why: Why
    move_to: Place | None = None
    second: str | None = None
    agreed_at: Instant | None = None


@dataclass(frozen=True, slots=True)
class SentSet:
    """A set with all that became of it.

    Attributes:
        versions: the oldest first, never fewer.
        strikes: every request, the ones that lapsed or were withdrawn too.
        moved_from: id of the struck set that it was put down from.
    """

    id: str
    place: Place
    versions: tuple[Version, ...]
    state: SetState = SetState.STANDS
    strikes: tuple[Strike, ...] = ()
    moved_from: str | None = None

    @property
    def newest(self) -> Version:
        """The version that counts."""
        return self.versions[-1]


def begin(sent: EnteredSet, set_id: str) -> SentSet:
    """Keep what was sent."""
    first = Version(sent.values, sent.read_at, sent.entered_at, sent.by, None, sent.round, sent.looked)
    return SentSet(set_id, sent.place, (first,))


def correct(
    kept: SentSet,
    values: Mapping[Quantity, float],
    by: str,
    at: Instant,
    why: Why,
    read_at: Instant | None = None,
    looked: Mapping[str, Looked] | None = None,
) -> SentSet:
    """Add a version with these values in place of all of the newest; a value that is left out was not read.

    Args:
        read_at: where the time was wrong too. looked: in place of all that was looked at, where that was wrong.

    Raises:
        ValueError: it does not stand, nothing would change, or nothing would be left; in words.
    """
    state = _next(kept, SetStep.CORRECT)
    newest = kept.newest
    when = newest.read_at if read_at is None else read_at
    found = dict(newest.looked if looked is None else looked)
    if (dict(values), when, found) == (dict(newest.values), newest.read_at, dict(newest.looked)):
        raise ValueError("Nothing is changed by this correction.")
    if not values and not found:
        raise ValueError("Nothing would be left of this set: ask to strike it instead (F7).")
    version = Version(MappingProxyType(dict(values)), when, at, by, why, newest.round, MappingProxyType(found))
    return replace(kept, state=state, versions=(*kept.versions, version))


def take_back(kept: SentSet, by: str, at: Instant, times: EntryTimes) -> SentSet:
    """Strike what one has just sent oneself; nobody else is needed for a few seconds.

    Raises:
        ValueError: another person sent it, it was corrected since, or the seconds have passed; in words.
    """
    state = _next(kept, SetStep.TAKE_BACK)
    first = kept.versions[0]
    if by != first.by or len(kept.versions) > 1:
        raise ValueError(f"Only {first.by}, who sent it, can take it back, and only as it was sent. Correct it.")
    if at - first.at > times.undo_s * SECOND:
        raise ValueError(f"More than {times.undo_s:g} s have passed. Correct it, or ask to strike it.")
    return replace(kept, state=state, strikes=(*kept.strikes, Strike(by, at, Why.MISTYPED, None, None, at)))


def ask_strike(kept: SentSet, by: str, at: Instant, why: Why, move_to: Place | None = None) -> SentSet:
    """Ask that a set be struck; with ``move_to`` it is put down at that run instead.

    Raises:
        ValueError: it does not stand, or the bed is its own; in words.
    """
    state = _next(kept, SetStep.ASK_STRIKE)
    if move_to == kept.place:
        raise ValueError(f"This set is at {kept.place.bed} already. Name the bed where it belongs.")
    return replace(kept, state=state, strikes=(*kept.strikes, Strike(by, at, why, move_to)))


def agree(kept: SentSet, by: str, at: Instant, times: EntryTimes) -> tuple[SentSet, EnteredSet | None]:
    """Agree as the second person: the set is struck. Gives what is to be entered at the right bed, or ``None``.

    What is moved keeps when it was read and who typed it, and is judged there like any other set.

    Raises:
        ValueError: nobody has asked, the same person asked, or too long ago; in words.
    """
    state = _next(kept, SetStep.AGREE)
    asked = kept.strikes[-1]
    if by == asked.by:
        raise ValueError(f"{by} has asked to strike it; another person must agree.")
    if has_lapsed(kept, at, times):
        raise ValueError(f"That was asked more than {times.second_min:g} min ago. Ask again.")
    agreed = replace(asked, second=by, agreed_at=at)
    struck = replace(kept, state=state, strikes=(*kept.strikes[:-1], agreed))
    if asked.move_to is None:
        return struck, None
    newest = kept.newest
    late = at - newest.read_at > times.late_min * MINUTE
    again = EnteredSet(asked.move_to, newest.by, newest.read_at, at, newest.values, late)
    return struck, replace(again, round=newest.round, looked=newest.looked)


def moved(sent: EnteredSet, set_id: str, struck: SentSet) -> SentSet:
    """Keep what was moved, with the name of the set that was struck for it."""
    return replace(begin(sent, set_id), moved_from=struck.id)


def withdraw(kept: SentSet) -> SentSet:
    """Take a request back: the set stands. Raises ValueError where nobody has asked."""
    return replace(kept, state=_next(kept, SetStep.WITHDRAW))


def has_lapsed(kept: SentSet, now: Instant, times: EntryTimes) -> bool:
    """Tell whether a request is too old for a second person to agree."""
    return kept.state is SetState.STRIKE_ASKED and now - kept.strikes[-1].at > times.second_min * MINUTE


def lapse(kept: SentSet, now: Instant, times: EntryTimes) -> SentSet:
    """Let a request lapse that is too old; otherwise nothing changes."""
    return replace(kept, state=_next(kept, SetStep.LAPSE)) if has_lapsed(kept, now, times) else kept


def known_after(blank: Known, sets: Iterable[SentSet]) -> Known:
    """Give what is known of a run after its sets: the newest version of each that is not struck.

    Args:
        blank: the run without any set; sets of other runs are passed over.
    """
    newest = [one.newest for one in sets if one.place == blank.place and one.state is not SetState.STRUCK]
    known = blank
    for version in sorted(newest, key=lambda version: version.read_at):
        known = known.with_set(version.values, version.read_at)
        if version.round is not None:
            known = known.with_round(version.round, version.read_at)
    return known


def _next(kept: SentSet, step: SetStep) -> SetState:
    if (kept.state, step) not in TABLE:
        words = _WORDS[kept.state]
        raise ValueError(f"{words[0].upper()}{words[1:]}.")
    return TABLE[kept.state, step]
