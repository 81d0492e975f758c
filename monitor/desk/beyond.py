"""Beyond a role at the desk: the reason for acting at somebody else's bed, and what the charge nurse has to see."""

import uuid
from collections.abc import Callable
from datetime import tzinfo

from monitor.core.bed_commands import ReviewBeyond
from monitor.core.commands import Command
from monitor.core.view import ENTERED_SET, BeyondView
from monitor.desk import words
from monitor.desk.command_life import Life
from monitor.desk.people import People
from monitor.desk.question import Choice, Question
from monitor.desk.store import Store
from monitor.desk.typed import WordsField
from shared.language.saying import say, to_say

_OTHER = to_say("other words")
_WHY = (
    Choice(to_say("Nobody else is here"), to_say("Nobody else is here")),
    Choice(to_say("Helping its nurse"), to_say("Helping its nurse")),
    Choice(to_say("Told to by the charge nurse"), to_say("Told to by the charge nurse")),
    Choice(_OTHER, to_say("Other: type it"), "o"),
)
_SHOWN = to_say("It is carried out, written down, and shown to the charge nurse.")


class BeyondRole:
    """Asks for the reason where a command is refused for the role alone, and gives it again with the reason.

    Args:
        ask: puts a question on the screen.
        give: hands a command to the hub.
        zone: where written clock times are; ``None``: that of this machine.
    """

    def __init__(
        self,
        store: Store,
        people: People,
        ask: Callable[[Question], None],
        give: Callable[[Command], None],
        zone: tzinfo | None = None,
    ) -> None:
        self._store = store
        self._people = people
        self._ask = ask
        self._give = give
        self._zone = zone
        self._asked = ""

    def heed(self) -> None:
        """Look at what became of the last command; each is asked about once."""
        given = self._store.commands.last()
        if given is None or given.life is not Life.REFUSED or not given.with_reason:
            return
        if given.command.id != self._asked:
            self._asked = given.command.id
            bed = getattr(given.command, "bed", None)
            self._why(given.command, say("{bed} is not your bed. Do it all the same?", bed=bed), given.reason)

    def _why(self, command: Command, title: str, note: str) -> None:
        def answer(why: str) -> None:
            if why == _OTHER:
                self._ask(Question(title, (), answer, say(_SHOWN), words=WordsField(say("Reason")), keeps=True))
            else:
                self._give(command.model_copy(update={"id": uuid.uuid4().hex, "break_glass": why}))

        self._ask(Question(title, _WHY, answer, f"{say(_SHOWN)} {note}", keeps=True))

    def review(self) -> bool:
        """Ask the charge nurse to say that what was done beyond a role was seen; false: there is nothing."""
        unit = self._store.unit
        if unit is None or not unit.beyond:
            return False
        up_to = unit.beyond[-1].number
        listed = " · ".join(self._line(one) for one in unit.beyond[-6:])
        more = say("{count} earlier · ", count=len(unit.beyond) - 6) if len(unit.beyond) > 6 else ""

        def answer(_: str) -> None:
            self._give(ReviewBeyond(id=uuid.uuid4().hex, person=self._people.name or "", up_to=up_to))

        of_sets = any(one.what == ENTERED_SET for one in unit.beyond)
        title = say(
            "Done beyond a role{of_sets}: {count}",
            of_sets=say(" or not checked") if of_sets else "",
            count=len(unit.beyond),
        )
        self._ask(Question(title, (Choice("", say("Seen"), "1"),), answer, f"{more}{listed}", keeps=True))
        return True

    def strip(self) -> str:
        """Say what the charge nurse has to see, the newest in full; nothing where there is nothing."""
        unit = self._store.unit
        if unit is None or not unit.beyond:
            return ""
        more = say(" · and {count} more", count=len(unit.beyond) - 1) if len(unit.beyond) > 1 else ""
        newest = unit.beyond[-1]
        head = say("Not checked") if newest.what == ENTERED_SET else say("Beyond a role")
        return say("{head}: {line}{more} · charge nurse: G", head=head, line=self._line(newest), more=more)

    def _line(self, one: BeyondView) -> str:
        where = f" {one.bed}" if one.bed else ""
        at = words.hhmm(one.at, self._zone)
        return f"{self._store.label(one.person)}{where} {at}, {one.what.replace('_', ' ')}: {one.why}"
