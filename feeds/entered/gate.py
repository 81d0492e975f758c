"""Who may enter here, and whether they are who they say: the hub's word, where it is there.

Without the hub nobody can be asked for a secret, and whose bed a bed is now is not known: whoever enters readings
at all may type, what is sent is kept, and the form says that neither was checked,
on the screen and in what it sends.
"""

from collections.abc import Callable

from feeds.entered.folder import PersonRow
from feeds.entered.hub_line import HubLine
from feeds.entered.rounds import Rounds
from feeds.entered.secret import SecretSheet
from shared.entry.known import Known
from shared.entry.who import WHO_CAN
from shared.instant import SECOND, Instant
from shared.language.hearing import heard
from shared.language.saying import say, to_say
from shared.sign_in import SignedIn

UNCHECKED = to_say("The hub is not there: who types, and whose bed this is, is not checked. What is sent says so.")


class Gate:
    """Holds the form to the table of roles and to the secrets.

    Args:
        line: to the hub; ``None``: the form has none.
        sheet: asks for a secret. say: says why somebody is not let in.
        ticks: real ms, for the time without a key.
    """

    def __init__(
        self,
        rounds: Rounds,
        line: HubLine | None,
        sheet: SecretSheet,
        say: Callable[[str], None],
        ticks: Callable[[], Instant],
    ) -> None:
        self._rounds, self._line, self._sheet, self._say, self._ticks = rounds, line, sheet, say, ticks
        self._signed: set[str] = set()
        self._used = ticks()

    def refusal(self, seat: Known, person: PersonRow) -> str:
        """Say why somebody does not enter at a bed, and who can; nothing where they may."""
        beds = self._line.beds if self._line is not None else None
        here = next((bed for bed in beds.beds if bed.bed == seat.bed), None) if beds is not None else None
        if here is None or person.name in here.may_enter:
            return ""
        label = self._rounds.folder.label
        whose = (
            say("{bed} is {nurse}'s bed", bed=seat.bed, nurse=label(here.nurse))
            if here.nurse
            else say("{bed} is another nurse's bed", bed=seat.bed)
        )
        own = f"{label(here.nurse)}, " if here.nurse else ""
        return say(
            "{whose}, not {label}'s: {own}{who_can} enter readings there. F6: who types.",
            whose=whose,
            label=person.label,
            own=own,
            who_can=WHO_CAN,
        )

    def is_checked(self, bed: str) -> bool:
        """Tell whether the hub's word of who enters at a bed is there; without a line that is not asked."""
        if self._line is None:
            return True
        beds = self._line.beds
        return beds is not None and any(one.bed == bed for one in beds.beds)

    def let_in(self, seat: Known | None, person: PersonRow, then: Callable[[], None]) -> None:
        """Go on with ``then`` once somebody may enter at a bed and has given the secret, where one is asked for."""
        why = "" if seat is None else self.refusal(seat, person)
        if why:
            self._say(why)
        elif self.is_in(person):
            self._used = self._ticks()
            then()
        else:
            self._ask(person, "", lambda: self.let_in(seat, person, then))

    def is_in(self, person: PersonRow) -> bool:
        """Tell whether nothing more is asked of somebody."""
        return person.name in self._signed or self._line is None or not self._line.asks(person.name)

    def used(self) -> None:
        """Somebody pressed a key here."""
        self._used = self._ticks()

    def tick(self) -> None:
        """Let time pass: a form that nobody uses forgets who typed; what is typed stays."""
        beds = self._line.beds if self._line is not None else None
        if beds is not None and beds.idle_s and self._ticks() - self._used >= beds.idle_s * SECOND:
            self._signed.clear()

    def trouble(self) -> str:
        """Say what is not checked, for as long as it is not."""
        if self._line is None:
            return ""
        beds = self._line.beds
        if beds is None:
            return say(UNCHECKED)
        return say("Signing in is not checked: {fault}", fault=beds.fault) if beds.fault else ""

    def _ask(self, person: PersonRow, note: str, then: Callable[[], None]) -> None:
        self._sheet.ask(person.label, note, lambda secret: self._send(person, secret, then))

    def _send(self, person: PersonRow, secret: str, then: Callable[[], None]) -> None:
        assert self._line is not None, "without a line nobody is asked"
        self._line.sign_in(person.name, secret, lambda answer: self._answered(person, answer, then))

    def _answered(self, person: PersonRow, answer: SignedIn | None, then: Callable[[], None]) -> None:
        if answer is None:
            self._ask(person, say("Not signed in: no answer from the hub within 5 s."), then)
        elif answer.reason:
            self._ask(person, say("Not signed in: {reason}.", reason=heard(answer.reason)), then)
        else:
            self._signed.add(person.name)
            self.used()
            then()
