"""The lists of the form: beds with what is due there, and who may enter."""

from collections.abc import Callable, Sequence

from feeds.entered.choice import Offer
from feeds.entered.folder import PersonRow
from feeds.entered.gate import Gate
from feeds.entered.rounds import Rounds
from feeds.entered.sweep import DueBed, next_bed, rounds_of, sweep
from feeds.entered.words import due_words
from shared.entry.known import Known, Place
from shared.language.saying import say
from shared.support import SUPPORT_LABEL


class Lists:
    """What can be chosen.

    Args:
        offer: shows a list. begin: opens the form of a run for a person.
    """

    def __init__(
        self,
        rounds: Rounds,
        gate: Gate,
        offer: Callable[[Offer], None],
        begin: Callable[[Known | None, PersonRow | None], None],
    ) -> None:
        self._rounds, self._gate, self._offer, self._begin = rounds, gate, offer, begin
        self._shown: set[Place] = set()

    def beds(self) -> tuple[DueBed, ...]:
        """Give every run that is open, what is due first."""
        rounds = self._rounds
        known = [rounds.known(seat.place) for seat in rounds.folder.seats]
        kinds = rounds_of(rounds.person.roles if rounds.person is not None else frozenset())
        return sweep(rounds.folder.table, known, rounds.clock(), kinds)

    def here(self) -> DueBed:
        """Give what is due at the open form's run; nothing where that is over."""
        seat = self._rounds.seat
        assert seat is not None, "a form is open"
        over = DueBed(seat, 0, (), 0, never=False)
        return next((one for one in self.beds() if one.seat.place == seat.place), over)

    def next(self, person: PersonRow) -> Known | None:
        """Give the run that is due and waits longest, of those where somebody may enter.

        One that was shown comes again only when all the others were: what is left undone there keeps nobody there.
        """
        beds, here = self.beds(), self._rounds.seat
        if here is not None:
            self._shown.add(here.place)
        may = [one for one in beds if not self._gate.refusal(one.seat, person)]
        found = next_bed([one for one in may if one.seat.place not in self._shown], here)
        if found is None:
            self._shown.clear()
            found = next_bed(may, here)
        return None if found is None else found.seat

    def offer_beds(self) -> None:
        """Show the beds, what is due first."""
        beds, person = self.beds(), self._rounds.person
        if person is None:
            self.offer_people()
            return
        rows = [f"{one.seat.bed:<6}{self._pump(one.seat)}   {due_words(one)}" for one in beds]
        names = [one.seat.bed for one in beds]
        title = say("Beds: the longest overdue first") if beds else say("No run is open at any bed")
        self._offer(Offer(title, rows, lambda n: self._begin(beds[n].seat, person), names=names))

    def offer_people(self, seat: Known | None = None) -> None:
        """Show who may enter, and open the form for the one who is chosen."""
        people = self._rounds.folder.people
        seat = seat or self._rounds.seat
        names = [one.label for one in people]
        rows = [f"{one.label}{_role(one)}{self._elsewhere(seat, one)}" for one in people]
        self._offer(Offer(say("Who enters?"), rows, lambda n: self._begin(seat, people[n]), names=names))

    def tell(self, lines: Sequence[str]) -> None:
        """Show lines that are read and not chosen from: what a small form has no room for."""
        foot = say("Arrows go on, Escape leaves.")
        self._offer(Offer(say("Sent from here, newest first, and the keys"), lines, lambda _: None, foot=foot))

    def _pump(self, seat: Known) -> str:
        pumps = sum(one.bed == seat.bed for one in self._rounds.folder.seats)
        two = say(" pump {slot}", slot=seat.run.slot) if pumps > 1 else ""
        return f"{say(SUPPORT_LABEL[seat.run.support])}{two}"

    def _elsewhere(self, seat: Known | None, person: PersonRow) -> str:
        return say("   not at {bed}", bed=seat.bed) if seat is not None and self._gate.refusal(seat, person) else ""


def _role(person: PersonRow) -> str:
    wider = (("charge_nurse", "charge"), ("perfusionist", "perfusionist"))
    return next((f"   ({word})" for role, word in wider if role in person.roles), "")
