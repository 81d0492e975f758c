"""What is new at one hub to whoever sits there: asked for, and again each minute; one person's is nobody else's."""

import uuid

from monitor.core.wire import AskNews, News
from monitor.desk.stopwatch import Stopwatch
from monitor.desk.store import Changes
from monitor.desk.window import DeskWindow

#: In real time: it is asked for again so often, and whenever a page is left.
_ASK_AGAIN_MS = 60_000


class NewsAsked:
    """Asks the hub of one window. ``news``: the newest answer."""

    def __init__(self, window: DeskWindow) -> None:
        self._window = window
        self.news: News | None = None
        self._request = ""
        self._asked = Stopwatch(window.monotonic)
        self._asked_for: str | None = None

    def take(self, changes: Changes) -> None:
        """Take what the hub has answered."""
        for reply in changes.replies:
            if isinstance(reply, News) and reply.request == self._request:
                self.news = reply

    def ask(self) -> None:
        """Ask where that is due, in the name of whoever sits there."""
        who, session = self._window.people.name, self._window.session
        again = self._asked_for != who or not self._asked.is_running() or self._asked.has_expired(_ASK_AGAIN_MS)
        if who is not None and again and session.store.link.commands_allowed:
            self._request, self._asked_for = uuid.uuid4().hex, who
            self._asked.start()
            session.ask(AskNews(request=self._request, person=who))

    def ask_anew(self) -> None:
        """Ask at the next chance, whenever it was asked before."""
        self._asked.invalidate()
