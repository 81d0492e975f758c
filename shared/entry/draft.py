"""A set in the making: what is typed, what was confirmed, whether it can be sent.

Theory. A draft is TYPING while nothing in it could be sent, ASKED while something must be typed again or another
bed is resembled, READY while it could be sent as it stands. Which of these is decided by judging it anew after
every field that was typed into, never by remembering. Only a person sends it, and only what is READY: no time that
passes and no restart does. It can be put down and taken up again: a number typed too long ago is asked about,
nothing is lost. What was sent or thrown away is no draft any more. `TABLE` is the whole machine.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from enum import StrEnum
from types import MappingProxyType

from shared.entry.answers import Answer, looked_at, too_old
from shared.entry.findings import Key
from shared.entry.judging import Judgement, Situation, Standing, confirm, judge
from shared.entry.known import Known, Place
from shared.entry.round_table import RoundItem
from shared.entry.table import EntryTable
from shared.entry.times import is_late, must_be_read_again, read_at_fault
from shared.instant import Instant
from shared.language.saying import say
from shared.messages import Looked, RoundKind, Why
from shared.quantities import Quantity
from shared.quantities import Quantity as Q


class DraftState(StrEnum):
    """How a draft stands."""

    TYPING = "typing"
    ASKED = "asked"
    READY = "ready"
    SENT = "sent"
    THROWN_AWAY = "thrown_away"


class Step(StrEnum):
    """What happened: it was judged (to hold nothing, to ask, to fit), or a person sent it or threw it away."""

    HOLDS_NOTHING = "holds_nothing"
    ASKS = "asks"
    FITS = "fits"
    SEND = "send"
    THROW_AWAY = "throw_away"


_T, _A, _R = DraftState.TYPING, DraftState.ASKED, DraftState.READY
_OPEN = (_T, _A, _R)

#: (state, step) -> next state; what is not here cannot happen.
TABLE: Mapping[tuple[DraftState, Step], DraftState] = MappingProxyType(
    {
        (_T, Step.HOLDS_NOTHING): _T,
        (_T, Step.ASKS): _A,
        (_T, Step.FITS): _R,
        (_T, Step.THROW_AWAY): DraftState.THROWN_AWAY,
        (_A, Step.HOLDS_NOTHING): _T,
        (_A, Step.ASKS): _A,
        (_A, Step.FITS): _R,
        (_A, Step.THROW_AWAY): DraftState.THROWN_AWAY,
        (_R, Step.HOLDS_NOTHING): _T,
        (_R, Step.ASKS): _A,
        (_R, Step.FITS): _R,
        (_R, Step.SEND): DraftState.SENT,
        (_R, Step.THROW_AWAY): DraftState.THROWN_AWAY,
    }
)


@dataclass(frozen=True, slots=True)
class Typed:
    """The text of one field and when it was typed."""

    text: str
    at: Instant


@dataclass(frozen=True, slots=True)
class Here:
    """What a draft is judged by besides itself; ``stays``: the numbers of a set in correction, as they were."""

    table: EntryTable
    known: Known
    others: tuple[Known, ...] = ()
    stays: Mapping[Quantity, float] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class Corrects:
    """A draft that corrects a set which was sent: its id, and why."""

    set: str
    why: Why


@dataclass(frozen=True, slots=True)
class Draft:
    """One person's draft for one run at one bed.

    Attributes:
        place: the run that it is for; ``by``: the roster name of whoever types.
        read_at: when the numbers were read, as the person says; ``None``: when the first of them was typed.
        confirmed: questions answered by typing the same number again.
        not_from: beds that it resembled and is not from.
        ordered: quantities that an order changed, as the person says.
        round: the round whose items are asked for; ``answers``: what was said of them, by item.
        corrects: the set that it corrects; ``None``: it is for a new one.
        not_read: numbers of that set which were not read, and go, with when that was said.
    """

    place: Place
    by: str
    read_at: Instant | None = None
    typed: Mapping[Quantity, Typed] = field(default_factory=dict)
    confirmed: frozenset[Key] = frozenset()
    not_from: frozenset[str] = frozenset()
    ordered: frozenset[Quantity] = frozenset()
    state: DraftState = DraftState.TYPING
    round: RoundKind = RoundKind.HOURLY
    answers: Mapping[str, Answer] = field(default_factory=dict)
    corrects: Corrects | None = None
    not_read: Mapping[Quantity, Instant] = field(default_factory=dict)

    @property
    def is_blank(self) -> bool:
        """Tell whether nothing stands in it."""
        return (
            not self.typed
            and not self.answers
            and not self.not_read
            and (self.corrects is None or self.read_at is None)
        )


@dataclass(frozen=True, slots=True)
class EnteredSet:
    """What is sent: numbers that stood, both times, and who typed them; ``late`` as `times.is_late` has it.

    ``left_out`` are fields that hold something which cannot be sent: the form tells them, for nothing is left out
    unseen. ``round`` and ``looked`` stand where something was looked at.
    """

    place: Place
    by: str
    read_at: Instant
    entered_at: Instant
    values: Mapping[Quantity, float]
    late: bool
    left_out: tuple[Quantity, ...] = ()
    round: RoundKind | None = None
    looked: Mapping[str, Looked] = field(default_factory=dict)


def items_of(draft: Draft, here: Here) -> tuple[RoundItem, ...]:
    """Give the items of a draft's round at its run, in their order."""
    return here.table.rounds.items_of(draft.round, here.known.run)


def said_at(draft: Draft) -> list[Instant]:
    """Give when each number of a draft was typed, or said to be none, and each item answered."""
    typed = (typed.at for typed in draft.typed.values())
    return [*typed, *draft.not_read.values(), *(one.at for one in draft.answers.values())]


def read_when(draft: Draft, now: Instant) -> Instant:
    """Give when the numbers were read and things looked at: as the person says, else when the first was typed."""
    if draft.read_at is not None:
        return draft.read_at
    return min(said_at(draft), default=now)


def look(draft: Draft, here: Here, now: Instant) -> Judgement:
    """Judge a draft as it stands at ``now``."""
    stays = {quantity: value for quantity, value in here.stays.items() if quantity not in draft.not_read}
    situation = Situation(here.table, here.known, read_when(draft, now), here.others, draft.ordered, stays)
    texts = {quantity: typed.text for quantity, typed in draft.typed.items()}
    old = frozenset(q for q, typed in draft.typed.items() if must_be_read_again(here.table.times, typed.at, now))
    return judge(situation, texts, draft.confirmed, draft.not_from, old)


def judged(draft: Draft, here: Here, now: Instant) -> Draft:
    """Bring a draft's state up to ``now``. Raises KeyError where it is no draft any more."""
    judgement = look(draft, here, now)
    if judgement.questions or judgement.resemblance is not None:
        step = Step.ASKS
    else:
        looked = any(one.id in draft.answers for one in items_of(draft, here))
        holds = judgement.values or draft.not_read or looked
        step = Step.FITS if holds else Step.HOLDS_NOTHING
    return replace(draft, state=TABLE[draft.state, step])


def type_into(draft: Draft, here: Here, quantity: Quantity, text: str, now: Instant) -> Draft:
    """Put a text into a field; typed into one that asks, the same number confirms it.

    For a field that a person has typed into anew, from empty; never for one that was only passed or left.

    Raises:
        KeyError: the form of this run has no such field, or it is no draft any more.
    """
    sure = confirm(look(draft, here, now), quantity, text)
    typed = {other: old for other, old in draft.typed.items() if other is not quantity}
    not_read = dict(draft.not_read)
    if text.strip():
        typed[quantity] = Typed(text, now)
        not_read.pop(quantity, None)
    confirmed, gone = draft.confirmed | sure, MappingProxyType(not_read)
    changed = replace(draft, typed=MappingProxyType(typed), confirmed=confirmed, not_read=gone)
    return judged(changed, here, now)


def say_not_read(draft: Draft, here: Here, quantity: Quantity, now: Instant) -> Draft:
    """Say of a number in a set being corrected that it was not read, or, said again, that it stands.

    A number that the set does not hold is left as it is.
    """
    if draft.corrects is None or quantity not in here.stays:
        return judged(draft, here, now)
    typed = {other: old for other, old in draft.typed.items() if other is not quantity}
    not_read = {other: at for other, at in draft.not_read.items() if other is not quantity}
    if quantity not in draft.not_read:
        not_read[quantity] = now
    changed = replace(draft, typed=MappingProxyType(typed), not_read=MappingProxyType(not_read))
    return judged(changed, here, now)


def say_of(draft: Draft, here: Here, item: str, answer: Answer | None, now: Instant) -> Draft:
    """Answer one item of a round; ``None``: nothing is said of it."""
    answers = {other: old for other, old in draft.answers.items() if other != item}
    if answer is not None:
        answers[item] = answer
    return judged(replace(draft, answers=MappingProxyType(answers)), here, now)


def answer_bed(draft: Draft, here: Here, label: str, now: Instant) -> Draft:
    """Take a label typed in answer to a resemblance; only that of this bed changes anything."""
    resemblance = look(draft, here, now).resemblance
    if resemblance is None or label.strip().casefold() != draft.place.bed.casefold():
        return judged(draft, here, now)
    return judged(replace(draft, not_from=draft.not_from | {resemblance.bed}), here, now)


def throw_away(draft: Draft) -> Draft:
    """Throw a draft away. Raises KeyError where it is none any more."""
    return replace(draft, state=TABLE[draft.state, Step.THROW_AWAY])


def send(draft: Draft, here: Here, now: Instant, charge: bool = False) -> tuple[Draft, EnteredSet]:
    """Give the draft as sent, and what is sent of it.

    Args:
        charge: whoever types has the charge role.

    Raises:
        ValueError: it cannot be sent as it stands; the text says why, for whoever types.
    """
    if draft.state not in _OPEN:
        raise ValueError("This set was sent or thrown away already. Begin a new one.")
    if draft.place != here.known.place:
        raise ValueError(f"Another run has begun at {draft.place.bed} since this was typed. Throw it away.")
    judgement, read_at = look(draft, here, now), read_when(draft, now)
    current = judged(draft, here, now)
    looked = looked_at(items_of(draft, here), draft.answers)
    wrong = read_at_fault(here.table.times, read_at, now, charge) or _why_not(judgement, looked)
    wrong = wrong or why_look_again(draft, here, now)
    if wrong:
        raise ValueError(wrong)
    values = MappingProxyType(readings_of(judgement, here))
    late = is_late(here.table.times, read_at, now)
    left_out = tuple(v.field.quantity for v in judgement.fields if v.standing is Standing.REFUSED)
    kind = draft.round if looked else None
    sent = EnteredSet(draft.place, draft.by, read_at, now, values, late, left_out, kind, MappingProxyType(looked))
    return replace(current, state=TABLE[current.state, Step.SEND]), sent


def readings_of(judgement: Judgement, here: Here) -> dict[Quantity, float]:
    """Give the numbers that can be sent, with the pulse pressure where both of its parts were typed."""
    values = judgement.values
    if Q.PULSE_PRESSURE in here.known.run.sensors and {Q.SYSTOLIC_PRESSURE, Q.DIASTOLIC_PRESSURE} <= values.keys():
        values[Q.PULSE_PRESSURE] = values[Q.SYSTOLIC_PRESSURE] - values[Q.DIASTOLIC_PRESSURE]
    return values


def why_look_again(draft: Draft, here: Here, now: Instant) -> str:
    """Say what was answered too long ago to be sent, or nothing."""
    old = too_old(items_of(draft, here), draft.answers, here.table.times, now)
    if not old:
        return ""
    words = "; ".join(one.words for one in old[:3]) + (
        say(" and {count} more", count=len(old) - 3) if len(old) > 3 else ""
    )
    return say("Not sent: look again and answer again what was answered a while ago: {words}.", words=words)


def _why_not(judgement: Judgement, looked: Mapping[str, Looked]) -> str:
    if judgement.resemblance is not None:
        return judgement.resemblance.words
    if judgement.questions:
        labels = dict.fromkeys(v.field.label for v in judgement.fields if v.findings and not v.findings[0].refused)
        return say("Not sent: {labels} must be read and typed again first.", labels=", ".join(labels))
    if judgement.values or looked:
        return ""
    return say("Not sent: there is no number in it that can be sent, and nothing was looked at.")
