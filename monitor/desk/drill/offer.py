"""Offering a drill at the live desk: which one, then two people of the unit, each with their own sign-in there.

Escape at any step begins nothing. What is asked stands in the live window's own panel, over the live board.
"""

from collections.abc import Callable, Sequence

from monitor.desk.drill.given import DrillRuns
from monitor.desk.question import Choice, Question
from monitor.desk.window import DeskWindow
from shared.errors import ConfigurationError
from shared.language.saying import say, to_say

_NOTE = to_say("Invented beds under a band that says TEST. A live high takes the desk at once. Escape leaves.")


class Offer:
    """Asks, and tells ``begin`` the course and the two names.

    Attributes:
        step: what is asked for now, in words.
    """

    def __init__(self, live: DeskWindow, runs: DrillRuns, begin: Callable[[str, Sequence[str]], None]) -> None:
        self._live, self._runs, self._begin = live, runs, begin
        self.step = ""
        self._course, self._first = "", ""

    @property
    def is_asking(self) -> bool:
        """Whether somebody is still to answer, or the hub to say whether a secret is right."""
        return self._live.panel.question is not None or self._live.answering.signing.waits

    def ask(self) -> None:
        """Ask which; where there is one alone, ask who begins it."""
        try:
            courses = self._runs.courses()
        except ConfigurationError as error:
            self._live.say(say("No drill: {why}", why=error), True)
            return
        if len(courses) == 1:
            self._ask_first(courses[0][0])
            return
        self.step = say("which one")
        choices = tuple(Choice(name, title) for name, title in courses)
        self._live.panel.ask(Question(say("A drill: which one?"), choices, self._ask_first, say(_NOTE)))

    def leave(self) -> None:
        """Take back what is asked."""
        if self._live.panel.question is not None:
            self._live.panel.close_question()

    def _ask_first(self, course: str) -> None:
        self._course, self.step = course, say("who begins it")
        self._live.answering.signing.who(self._ask_second)

    def _ask_second(self) -> None:
        self._first = self._live.people.name or ""
        self.step = say("who begins it with {first}", first=self._live.session.store.label(self._first))
        self._live.answering.signing.who(self._both)

    def _both(self) -> None:
        second = self._live.people.name or ""
        if not self._first or second in ("", self._first):
            self._live.say(say("A drill beside live beds is begun by two people: choose another name."), True)
            self._live.answering.signing.who(self._both)
            return
        self._begin(self._course, (self._first, second))
