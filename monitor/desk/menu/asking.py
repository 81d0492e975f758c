"""What all flows of the menu share: asking step by step, and giving the command at the end with who."""

import uuid
from collections.abc import Callable
from datetime import tzinfo
from typing import TypedDict

from monitor.core.commands import Command
from monitor.core.view import RunView, TileView
from monitor.core.wire import AskMeaning
from monitor.desk import words
from monitor.desk.people import People
from monitor.desk.question import Choice, Question, Ticks
from monitor.desk.session import Session
from monitor.desk.tile.content import label_of
from monitor.desk.typed import NumberField, WordsField, number_field
from shared.instant import HOUR, MINUTE, Instant
from shared.language.saying import say, to_say
from shared.quantities import Quantity
from shared.support import SUPPORT_LABEL

_OTHER = to_say("other words")
#: When something is planned, in hours from now or by the clock.
_AT_CLOCK = Choice("clock", to_say("A clock time: type it"), "o")
_CLOCK_AS = to_say("At, as 15:30")
_UNTIL = (
    Choice("1", "1 h"),
    Choice("4", "4 h"),
    Choice("12", "12 h"),
    Choice("24", "24 h"),
)


class Who(TypedDict):
    """What every command names."""

    id: str
    person: str


class Asking:
    """Asks, step by step, and gives the command at the end. Escape at any step: nothing is written.

    Args:
        ask: puts a question on the screen.
        give: hands a command to the hub.
        tell: says something at the foot of the screen; ``True`` when somebody must act on it.
        now: the hub's time, ``None`` before its first word.
        zone: where written clock times are.
    """

    def __init__(
        self,
        session: Session,
        people: People,
        ask: Callable[[Question], None],
        give: Callable[[Command], None],
        tell: Callable[[str, bool], None],
        now: Callable[[], Instant | None],
        zone: tzinfo | None = None,
    ) -> None:
        self.session = session
        self.people = people
        self.now = now
        self._ask = ask
        self._give = give
        self._tell = tell
        self._zone = zone

    # -- steps ----------------------------------------------------------------------------------------------

    def choose(self, title: str, choices: tuple[Choice, ...], then: Callable[[str], None], note: str = "") -> None:
        """Ask for one of some choices."""
        self._ask(Question(title, choices, then, note, keeps=True))

    def number(
        self,
        title: str,
        field: NumberField,
        then: Callable[[float], None],
        instead: dict[str, tuple[Choice, Callable[[], None]]] | None = None,
        note: str = "",
    ) -> None:
        """Ask for a number; ``instead``: what can be chosen in its place, by value."""
        others = instead or {}

        def answer(value: str) -> None:
            if value in others:
                others[value][1]()
            else:
                then(float(value))

        choices = tuple(choice for choice, _ in others.values())
        self._ask(Question(title, choices, answer, note, number=field, keeps=True))

    def ticks(
        self, title: str, choices: tuple[Choice, ...], ticks: Ticks, then: Callable[[], None], note: str = ""
    ) -> None:
        """Ask for ticks, each with its time."""
        self._ask(Question(title, choices, lambda _: then(), note, ticks=ticks, keeps=True))

    def words(
        self,
        title: str,
        usual: tuple[str, ...],
        then: Callable[[str], None],
        none: str = "",
        label: str = to_say("Reason"),
    ) -> None:
        """Ask for a few words: the usual ones by key, others typed; ``none``: the choice to give none."""
        choices = tuple(Choice(one, one) for one in usual)
        choices += (Choice(_OTHER, say("Other: type it"), "o"),)
        if none:
            choices += (Choice("", none, "0"),)

        def answer(value: str) -> None:
            if value == _OTHER:
                self.text(title, label, then)
            else:
                then(value)

        self.choose(title, choices, answer)

    def text(self, title: str, label: str, then: Callable[[str], None]) -> None:
        """Ask for words that are typed."""
        self._ask(Question(title, (), then, words=WordsField(label), keeps=True))

    def person(self, title: str, then: Callable[[str], None], but: str | None = None, note: str = "") -> None:
        """Ask for a person of the roster other than ``but``."""
        people = tuple(one for one in self.people.choices() if one.value != but)
        self._ask(Question(title, people, then, note, keeps=True, find=True))

    def until(self, title: str, then: Callable[[Instant], None], note: str = "") -> None:
        """Ask until when."""

        def answer(hours: str) -> None:
            now = self.now()
            if now is not None:
                then(now + int(hours) * HOUR)

        self.choose(title, _UNTIL, answer, note)

    def moment(self, title: str, then: Callable[[Instant], None], note: str = "") -> None:
        """Ask when something is: in some hours, or at a clock time that is typed."""
        choices = (*(Choice(hours, say("In {hours} h", hours=hours)) for hours in ("1", "2", "4", "8")), _AT_CLOCK)

        def answer(hours: str) -> None:
            now = self.now()
            if hours == _AT_CLOCK.value:
                self._ask(Question(title, (), typed, note, words=WordsField(say(_CLOCK_AS)), keeps=True))
            elif now is not None:
                then(now + int(hours) * HOUR)

        def typed(text: str) -> None:
            now = self.now()
            at = None if now is None else words.next_clock(text, now, self._zone)
            if at is None:
                self.tell(say("{text} is no clock time: write it as 15:30", text=text), True)
                answer(_AT_CLOCK.value)
            else:
                then(at)

        self.choose(title, choices, answer, note)

    def pump(self, tile: TileView, then: Callable[[RunView], None], among: tuple[RunView, ...] = ()) -> None:
        """Ask which pump is meant where a bed has two; ``among``: those that it can be."""
        found = among or tile.runs
        if len(found) == 1:
            then(found[0])
            return
        runs = {str(run.description.slot): run for run in found}
        choices = tuple(Choice(slot, run_label(run), slot) for slot, run in runs.items())
        self.choose(say("{bed}: which pump?", bed=tile.bed), choices, lambda slot: then(runs[slot]))

    # -- what is known --------------------------------------------------------------------------------------

    def tell(self, said: str, act: bool = False) -> None:
        """Say something at the foot of the screen."""
        self._tell(said, act)

    def hhmm(self, at: Instant) -> str:
        """Write a time of the day."""
        return words.hhmm(at, self._zone)

    def after(self, minutes: float) -> Instant | None:
        """Give the hub's time in so many minutes."""
        now = self.now()
        return None if now is None else now + round(minutes * MINUTE)

    def field_of(self, tile: TileView, run: RunView, quantity: Quantity, **more: float | str | None) -> NumberField:
        """Give the field of a quantity at a run, under the name that it has there, the last reading beside it."""
        read = self.session.store.readings.latest(tile.bed, run.description.slot, quantity)
        stands: dict[str, float | str | None] = {"label": label_of(quantity, run)}
        if read is not None:
            stands |= {"standing": read.value, "standing_words": say("last read") if tile.stale else say("now")}
        return number_field(quantity, **(stands | more))

    def ask_meaning(self, bed: str, slot: int) -> None:
        """Ask the hub what the numbers of a run mean; the answer comes into the store a moment later."""
        self.session.ask(AskMeaning(request=f"menu:{uuid.uuid4().hex[:16]}", bed=bed, slot=slot))

    # -- giving ---------------------------------------------------------------------------------------------

    def who(self) -> Who:
        """Give the id of a new command and the person who gives it."""
        return Who(id=uuid.uuid4().hex, person=self.people.name or "")

    def give(self, begun: TileView, command: Command) -> None:
        """Give a command about a bed as it stood when its flow began; another run since: nothing is given."""
        tile = self.session.store.tiles.get(begun.bed)
        if tile is None or _runs(tile) != _runs(begun):
            self._tell(
                say("{bed} has other runs than when you began: nothing was sent. Look again.", bed=begun.bed), True
            )
        else:
            self.send(command)

    def send(self, command: Command) -> None:
        """Give a command about no run; nothing where nobody sits here any more."""
        if self.people.name is None:
            self._tell(say("Nobody is signed in any more: nothing was sent. U: who sits here."), True)
        else:
            self._give(command)


def run_label(run: RunView) -> str:
    """Name a run of a bed with two."""
    return say(
        "{support_label}, pump {slot}",
        support_label=say(SUPPORT_LABEL[run.description.support]),
        slot=run.description.slot,
    )


def _runs(tile: TileView) -> list[str]:
    return sorted(run.description.run_id for run in tile.runs)
