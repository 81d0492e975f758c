"""What a review opens on: the beds in the order in which somebody elsewhere must know of them. Enter opens one."""

from monitor.desk.cover_words import extension
from monitor.desk.reviewpage.lines_page import LinesPage
from monitor.desk.reviewpage.news_asked import NewsAsked
from monitor.desk.reviewpage.words import Line, parts_of
from monitor.desk.store import Changes
from monitor.desk.window import DeskWindow
from monitor.desk.words import clock
from shared.language.saying import say, to_say

_COLUMNS = ((0.0, to_say("Bed")), (0.07, ""), (0.74, ""))
_KEYS = (
    (to_say("Up, Down"), to_say("bed")),
    (to_say("Enter"), to_say("its page")),
    ("U", to_say("who you are")),
    ("P", to_say("telephones")),
    ("O", to_say("all that is due")),
    ("J", to_say("board")),
)


class ReviewPage(LinesPage):
    """Rows under headings, always in the same order."""

    def __init__(self, window: DeskWindow) -> None:
        super().__init__(window, say("Review"), _COLUMNS, _KEYS, window.board.focus_bed)
        self._asked = NewsAsked(window)

    def refresh(self, changes: Changes) -> None:
        """Show how everything stands now; the focus stays at its bed."""
        assert self.moment is not None
        self._asked.take(changes)
        self._asked.ask()
        parts = parts_of(self.store, self._asked.news, self.window_.people.name, self.moment)
        stood = say("NOT LIVE: as it stood at {clock}", clock=clock(self.store.clock.last_word, self.moment.zone))
        aside = stood if self.moment.veiled else say("On call: {extension}", extension=extension(self.store))
        self.show_parts(parts, aside)

    def open_line(self, line: Line) -> None:
        """Open the bed's page."""
        self.window_.go_to(line.bed)
