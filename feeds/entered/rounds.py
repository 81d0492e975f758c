"""Rounds at work, without a window: which bed, who types, the draft, what was sent and how far it got.

Everything that is found in what was typed is `shared.entry`'s; here it is kept, sent and told. Time comes from
``clock``; `tick` is called a few times a second.
"""

import secrets
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, replace
from types import MappingProxyType

from feeds.entered.folder import FormFolder, PersonRow
from feeds.entered.places import Places
from feeds.entered.post import Post, Way
from feeds.entered.shelf import Numbered, Shelf
from shared.beds_now import BedsNow
from shared.entry import draft as drafting
from shared.entry.answers import Answer, too_old, unanswered
from shared.entry.draft import Corrects, Draft, EnteredSet, Here, Typed
from shared.entry.judging import Judgement, Standing
from shared.entry.known import Known, Place
from shared.entry.round_table import RoundItem
from shared.entry.times import read_at_fault
from shared.entry.versions import SentSet, SetState, begin, correct, take_back
from shared.errors import RecordError
from shared.instant import SECOND, Instant
from shared.messages import Found, Looked, RoundKind, Unchecked, Why
from shared.quantities import Quantity

AUTOSAVE_MS = 2 * SECOND
#: What a pulse pressure follows from.
PULSE_OF = frozenset({Quantity.SYSTOLIC_PRESSURE, Quantity.DIASTOLIC_PRESSURE})


@dataclass(frozen=True, slots=True)
class Posted:
    """One set as the form lists it."""

    numbered: Numbered
    way: Way
    why_refused: str = ""


class Rounds:
    """The rounds of a unit, one open at a time.

    Attributes:
        places: what is known of every run.
        seat: the run whose form is open; person: who types; both ``None`` before the first is opened.
        correcting: the set that the open form corrects, and why.
        disk_faults: what the disk refuses now, by what was to be kept: drafts, sets.
        is_checked: tells whether who enters at a bed is checked now.
    """

    def __init__(self, folder: FormFolder, shelf: Shelf, post: Post, clock: Callable[[], Instant]) -> None:
        self.places, self.clock = Places(folder), clock
        self._shelf, self._post = shelf, post
        self.seat: Known | None = None
        self.person: PersonRow | None = None
        self._draft: Draft | None = None
        self._saved: Draft | None = None
        self._saved_at: Instant = 0
        self._undone: dict[str, Draft] = {}
        self.correcting: tuple[SentSet, Why] | None = None
        self.disk_faults: dict[str, str] = {}
        self.is_checked: Callable[[str], bool] = lambda bed: True
        for numbered in shelf.sets(clock(), *post.next):
            self.places.add(numbered)

    @property
    def folder(self) -> FormFolder:
        """The unit, with the runs that are open now."""
        return self.places.folder

    # -- which form ---------------------------------------------------------------------------------------------

    def open(self, seat: Known, person: PersonRow) -> bool:
        """Open the form of a run; tell whether a draft of this person was taken up again.

        A correction that was begun and never sent goes before a new set: `correcting` then says which.
        """
        self.keep_draft()
        self.correcting = None
        self.seat, self.person = self.places.known(seat.place), person
        found = self._shelf.draft(seat.place, person.name)
        if found is not None and self._was_sent(found):
            self._drop(found)
            found = None
        self._draft = self._saved = found or Draft(seat.place, person.name)
        begun = self._shelf.correction(seat.place, person.name)
        if begun is not None:
            self._take_up(begun)
        self._bring_up()
        return found is not None or self.correcting is not None

    def take_unit(self, now: BedsNow) -> bool:
        """Take in what the hub says of beds and runs; tell whether other runs are open than before."""
        changed = self.places.take(now)
        if changed:
            self._post.declare(self.folder.declarations())
        if self.seat is not None and self.is_open:
            self.seat = self.places.known(self.seat.place)
        return changed

    @property
    def is_open(self) -> bool:
        """Tell whether the run of the open form is still there."""
        return self.seat is not None and self.places.is_open(self.seat.place)

    @property
    def draft(self) -> Draft:
        """The draft of the open form. Raises AssertionError before one was opened."""
        assert self._draft is not None, "no form is open"
        return self._draft

    @property
    def here(self) -> Here:
        """What the open draft is judged by."""
        assert self.seat is not None, "no form is open"
        others, known = self.places.others(self.seat.place), self.seat
        if self.correcting is None:
            return Here(self.folder.table, known, others)
        kept = self.correcting[0]
        if self.is_open:
            known = self.places.known_without(known.place, kept.id)
        return Here(self.folder.table, known, others, kept.newest.values)

    def judgement(self) -> Judgement:
        """Judge the open draft as it stands now."""
        return drafting.look(self.draft, self.here, self.clock())

    def known(self, place: Place) -> Known:
        """Give what is known of a run. Raises KeyError where none such is open."""
        return self.places.known(place)

    # -- typing -------------------------------------------------------------------------------------------------

    def type_into(self, quantity: Quantity, text: str) -> None:
        """Put into a field what was typed there anew; the same number again confirms what is asked."""
        self._draft = drafting.type_into(self.draft, self.here, quantity, text, self.clock())

    def say_ordered(self, quantity: Quantity) -> None:
        """An order since the last set explains the change of a quantity, says the person."""
        self._draft = replace(self.draft, ordered=self.draft.ordered | {quantity})
        self._bring_up()

    def say_not_read(self, quantity: Quantity) -> None:
        """A number of the set that is corrected was not read, says the person; said again, it stands."""
        self._draft = drafting.say_not_read(self.draft, self.here, quantity, self.clock())

    @property
    def items(self) -> tuple[RoundItem, ...]:
        """The items of the round that is looked at; a set without a round is corrected in its numbers alone."""
        if self.correcting is not None and not self.looked_as_sent:
            return ()
        return drafting.items_of(self.draft, self.here)

    def say_of(self, item: str, found: Found | None, note: str) -> None:
        """Answer one item of the round; nothing found: the answer is taken back."""
        now = self.clock()
        answer = None if found is None else Answer(found, now, note or None)
        self._draft = drafting.say_of(self.draft, self.here, item, answer, now)

    def choose_round(self, kind: RoundKind) -> None:
        """Look at the items of this round; what was answered stays."""
        self._draft = replace(self.draft, round=kind)
        self._bring_up()

    def unanswered(self) -> tuple[RoundItem, ...]:
        """Give the items that were not answered, where others of this round were."""
        items, answers = self.items, self.draft.answers
        begun = self.correcting is None and any(one.id in answers for one in items)
        return unanswered(items, answers) if begun else ()

    def to_look_again(self) -> frozenset[str]:
        """Give the items that were answered too long ago."""
        old = too_old(self.items, self.draft.answers, self.folder.table.times, self.clock())
        return frozenset(one.id for one in old)

    def answer_bed(self, label: str) -> bool:
        """Take the label typed in answer to a resemblance; tell whether it was this bed's."""
        self._draft = drafting.answer_bed(self.draft, self.here, label, self.clock())
        return self.judgement().resemblance is None

    def set_read_at(self, read_at: Instant | None) -> None:
        """The numbers were read then; ``None``: when the first of them was typed."""
        self._draft = replace(self.draft, read_at=read_at)
        self._bring_up()

    @property
    def read_at(self) -> Instant:
        """When the numbers of the open form were read."""
        return drafting.read_when(self.draft, self.clock())

    def throw_away(self) -> None:
        """Empty the form; what was sent stays sent."""
        self._drop(self.draft)
        self.correcting = None
        self._draft = self._saved = Draft(self.draft.place, self.draft.by, round=self.draft.round)

    # -- sending ------------------------------------------------------------------------------------------------

    def save(self) -> EnteredSet:
        """Send what stands; what cannot be sent stays in the form.

        Raises:
            ValueError: it cannot be sent as it stands; the text says why.
        """
        assert self.person is not None, "nobody types"
        self._refuse_closed()
        draft, now = self.draft, self.clock()
        sent, entered = drafting.send(draft, self.here, now, self.person.is_charge)
        kept = begin(entered, secrets.token_hex(8))
        self._undone[kept.id] = replace(draft, typed=MappingProxyType(dict(draft.typed)))
        self.tell(kept, now)
        self._drop(sent)
        left = {q: Typed(draft.typed[q].text, now + 1) for q in entered.left_out}
        self._draft = Draft(draft.place, draft.by, draft.read_at, MappingProxyType(left), round=draft.round)
        self._bring_up()
        return entered

    @property
    def as_sent(self) -> Mapping[Quantity, float]:
        """The numbers of the set that is corrected; nothing where none is."""
        return {} if self.correcting is None else self.correcting[0].newest.values

    @property
    def looked_as_sent(self) -> Mapping[str, Looked]:
        """What was looked at in the set that is corrected; nothing where none is."""
        return {} if self.correcting is None else self.correcting[0].newest.looked

    def begin_correction(self, kept: SentSet, why: Why) -> None:
        """Make the form one for correcting a set: only what is wrong is typed, the whole is sent again.

        What is typed is a draft like any other, beside that of a new set.
        """
        self.keep_draft()
        self.correcting = kept, why
        kind = kept.newest.round or RoundKind.HOURLY
        self._draft = self._saved = Draft(kept.place, self.draft.by, round=kind, corrects=Corrects(kept.id, why))

    def _take_up(self, begun: Draft) -> None:
        """Go on with a correction that was begun, unless it was sent, or its set is struck."""
        assert begun.corrects is not None
        numbered = self.places.sets(begun.place).get(begun.corrects.set)
        if numbered is None or numbered.kept.state is SetState.STRUCK or _is_in(begun, numbered.kept):
            self._drop(begun)
            return
        self.correcting = numbered.kept, begun.corrects.why
        self._draft = self._saved = begun

    def correct(self) -> SentSet:
        """Send the set that is corrected again, whole; the form then is for a new round.

        Raises:
            ValueError: what was typed must be typed again first, or changes nothing; the text says why.
        """
        assert self.correcting is not None, "nothing is corrected"
        self._refuse_closed()
        kept, why = self.correcting
        assert self.seat is not None, "a form is open"
        assert self.person is not None, "somebody types"
        judgement, now = self.judgement(), self.clock()
        refused = [verdict.field.label for verdict in judgement.fields if verdict.standing is Standing.REFUSED]
        if judgement.questions or refused:
            raise ValueError("Not sent: what asks, or cannot be, must be read and typed again first.")
        if judgement.resemblance is not None:
            raise ValueError(judgement.resemblance.words)
        read_at = self.draft.read_at
        times, charge = self.folder.table.times, self.person.is_charge
        wrong = "" if read_at is None else read_at_fault(times, read_at, now, charge)
        wrong = wrong or drafting.why_look_again(self.draft, self.here, now)
        if wrong:
            raise ValueError(wrong)
        stays = {q: value for q, value in kept.newest.values.items() if q not in self.draft.not_read}
        if PULSE_OF & self.draft.not_read.keys() and kept.newest.values.keys() >= PULSE_OF:
            stays.pop(Quantity.PULSE_PRESSURE, None)  # it followed from both
        values = with_pulse({**stays, **judgement.values}, self.seat)
        answers = {item: one.looked for item, one in self.draft.answers.items() if item in kept.newest.looked}
        looked = {**kept.newest.looked, **answers}
        mended = correct(kept, values, self.draft.by, now, why, read_at, looked)
        self.tell(mended, now)
        self._drop(self.draft)
        self._draft = None
        self.open(self.seat, self.person)
        return mended

    def _refuse_closed(self) -> None:
        if not self.is_open:
            bed = self.draft.place.bed
            raise ValueError(f"Not sent: the run that this was typed for is over, or has moved away from {bed}.")

    def tell(self, kept: SentSet, now: Instant) -> None:
        """Keep the newest step of a set, and publish it."""
        numbered = Numbered(kept, *self._post.next)
        self._keep(numbered)
        unchecked = None if self.is_checked(kept.place.bed) else Unchecked.NOT_ASKED
        numbered = Numbered(kept, *self._post.tell(kept, now, unchecked))
        if self._post.in_memory:
            self._keep(replace(numbered, seq=0))
        self._take(numbered)

    def hold(self, kept: SentSet, numbered: Numbered) -> None:
        """Keep a step of a set that the hub is not told of: a request that a second person has to agree to."""
        self._keep(changed := replace(numbered, kept=kept))
        self._take(changed)

    def undo(self) -> SentSet:
        """Take back what this person has just sent; the numbers stand in the form again.

        Raises:
            ValueError: there is nothing to take back any more; the text says why.
        """
        newest = next(iter(self.posted()), None)
        if newest is None or newest.numbered.kept.state is not SetState.STANDS:
            raise ValueError("Nothing was sent from this form that could be taken back.")
        kept = newest.numbered.kept
        now = self.clock()
        struck = take_back(kept, self.draft.by, now, self.folder.table.times)
        self.tell(struck, now)
        before = self._undone.pop(kept.id, None)
        if before is not None:
            self._draft = before
            self._bring_up()
        return struck

    def undo_left_s(self) -> float:
        """Seconds for which what was sent last can still be taken back; 0: it cannot."""
        newest = next(iter(self.posted()), None)
        if newest is None or newest.numbered.kept.state is not SetState.STANDS:
            return 0.0
        kept = newest.numbered.kept
        first = kept.versions[0]
        if first.by != self.draft.by or len(kept.versions) > 1:
            return 0.0
        return max(0.0, self.folder.table.times.undo_s - (self.clock() - first.at) / SECOND)

    def posted(self) -> Iterator[Posted]:
        """Give the sets of the open form's run, the last sent first."""
        found = self.places.sets(self.draft.place).values()
        for numbered in sorted(found, key=lambda one: one.kept.versions[0].at, reverse=True):
            yield Posted(numbered, self._post.way(numbered), self._post.why_refused(numbered))

    def waiting(self) -> int:
        """Count the sets of the whole unit that the hub has not stored."""
        return sum(self._post.way(numbered) is Way.WAITS for numbered in self.places.everywhere())

    @property
    def hub_is_there(self) -> bool:
        """Tell whether the hub answers."""
        return self._post.hub_is_there

    @property
    def in_memory(self) -> bool:
        """Tell whether the disk has refused the journal: what is sent now is lost with the program."""
        return self._post.in_memory

    @property
    def put_aside(self) -> list[str]:
        """What could not be read from the disk, in words."""
        return self._shelf.put_aside

    # -- keeping ------------------------------------------------------------------------------------------------

    def tick(self) -> None:
        """Let time pass: keep the draft every two seconds, where it has changed."""
        if self._draft is not None and self.clock() - self._saved_at >= AUTOSAVE_MS:
            self.keep_draft()

    def keep_draft(self) -> None:
        """Keep the open draft now, where it has changed."""
        draft = self._draft
        if draft is None or draft == self._saved:
            return
        self._saved_at = self.clock()
        try:
            if draft.is_blank:
                self._shelf.drop_draft(draft)
            else:
                self._shelf.save_draft(draft)
        except RecordError as error:
            self.disk_faults["drafts"] = str(error)
            return
        self._saved = draft
        self.disk_faults.pop("drafts", None)

    def _drop(self, draft: Draft) -> None:
        try:
            self._shelf.drop_draft(draft)
        except RecordError as error:
            self.disk_faults["drafts"] = str(error)
        self._saved = None

    def _keep(self, numbered: Numbered) -> None:
        try:
            self._shelf.keep_set(numbered)
        except RecordError as error:
            self.disk_faults["sets"] = str(error)
        else:
            self.disk_faults.pop("sets", None)

    def _take(self, numbered: Numbered) -> None:
        self.places.add(numbered)
        if self.seat is not None and self.is_open:
            self.seat = self.places.known(self.seat.place)

    def _was_sent(self, found: Draft) -> bool:
        """Tell whether a draft is what a set was made of, left behind by a kill between sending and forgetting."""
        typed_at = max(drafting.said_at(found), default=0)
        typed_here = (one.kept for one in self.places.sets(found.place).values() if one.kept.moved_from is None)
        own = (kept.versions[0] for kept in typed_here if kept.state is not SetState.STRUCK)
        return any(first.by == found.by and typed_at <= first.at for first in own)

    def _bring_up(self) -> None:
        self._draft = drafting.judged(self.draft, self.here, self.clock())


def _is_in(begun: Draft, kept: SentSet) -> bool:
    """Tell whether a correction was sent already, its draft left behind by a kill before it was forgotten."""
    typed_at = max(drafting.said_at(begun), default=0)
    return any(one.by == begun.by and one.why is not None and typed_at <= one.at for one in kept.versions)


def with_pulse(values: dict[Quantity, float], seat: Known) -> dict[Quantity, float]:
    """Give the numbers with the pulse pressure that follows from both of its parts, where that is fitted."""
    parts = values.get(Quantity.SYSTOLIC_PRESSURE), values.get(Quantity.DIASTOLIC_PRESSURE)
    if Quantity.PULSE_PRESSURE in seat.run.sensors and parts[0] is not None and parts[1] is not None:
        values[Quantity.PULSE_PRESSURE] = parts[0] - parts[1]
    return values


def texts_of(draft: Draft) -> Mapping[Quantity, str]:
    """Give what stands in each field of a draft."""
    return {quantity: typed.text for quantity, typed in draft.typed.items()}
