"""The roster sheet: every post, who is called there, what is planned and offered, what will be empty."""

from PySide6.QtCore import QRect, Qt
from PySide6.QtGui import QKeyEvent, QPalette, QResizeEvent
from PySide6.QtWidgets import QWidget

from monitor.core.roster.view import PostView, RosterView
from monitor.desk import words
from monitor.desk.answering import ACT_OF_KEY
from monitor.desk.bedpage.card import Card
from monitor.desk.palette import qcolor
from monitor.desk.pressed import press
from monitor.desk.rosterpage.flows import DO_OF_KEY, RosterFlows
from monitor.desk.rosterpage.lists import ListCard
from monitor.desk.rosterpage.table import RosterTable
from monitor.desk.rosterpage.words import forecast_of, loads_of, rows_of, waiting_of
from monitor.desk.session import Session
from monitor.desk.sheets.keys import KeysCard
from monitor.desk.sheets.leaves import KEY, Leaves
from monitor.desk.store import Changes
from monitor.desk.tile.moment import Moment
from shared.language.saying import say, to_say
from shared.look.palette import Theme

_MARGIN, _GAP, _KEYS_H, _SIDE_SHARE = 12, 10, 44, 0.3
KEYS = (
    (to_say("Up, Down"), to_say("post")),
    ("A", to_say("accept")),
    ("O", to_say("offer")),
    ("P", to_say("person here")),
    ("B", to_say("break")),
    ("X", to_say("unreachable")),
    ("E", to_say("ends")),
    ("N", to_say("nobody")),
    ("W", to_say("not accepted, taken back")),
    ("V", to_say("plan")),
    (to_say("Esc"), to_say("back")),
)
_STEPS = {Qt.Key.Key_Up: -1, Qt.Key.Key_Down: 1, Qt.Key.Key_PageUp: -8, Qt.Key.Key_PageDown: 8}


class RosterPage(QWidget):
    """Who stands where. The keys that answer an alert do nothing here, so that nothing is answered unseen."""

    def __init__(self, session: Session, flows: RosterFlows, theme: Theme) -> None:
        super().__init__()
        self._session = session
        self._flows = flows
        self._theme = theme
        self._focus = "2"
        self._moment: Moment | None = None
        self.table = RosterTable(theme, self._chosen)
        self.waiting = ListCard(say("Open"), say("Nothing is offered, nobody is on a break or unreachable."), theme)
        self.forecast = ListCard(
            say("Empty within 24 h"), say("By plan and present roster every post has somebody."), theme
        )
        self.loads = ListCard(say("Load on a name"), say("Nothing yet."), theme)
        self.keys = KeysCard(theme, self._do, KEYS)
        for part in self._parts():
            part.setParent(self)
        self._leaves = Leaves(self.keys, (self.table,), (self.waiting, self.forecast, self.loads))
        self._dress()

    # -- what the window tells ------------------------------------------------------------------------------

    def show_moment(self, moment: Moment, changes: Changes) -> None:
        """Show the roster as the hub told it last."""
        self._moment = moment
        store, roster = self._session.store, self._roster
        rows = rows_of(store, roster, moment)
        keys = [row.post.key for row in rows]
        if keys and self._focus not in keys:
            self._focus = keys[0]
        aside = say("NOT LIVE: as it stood") if moment.veiled else _shift(roster, moment)
        self.table.show_rows(rows, keys.index(self._focus) if keys else 0, aside)
        self.waiting.show_lines(waiting_of(store, roster, moment))
        self.forecast.show_lines(forecast_of(roster, moment))
        self.loads.show_lines(loads_of(store, roster))

    def set_theme(self, theme: Theme) -> None:
        """Show in another theme."""
        self._theme = theme
        for part in self._parts():
            part.set_theme(theme)
        self._dress()

    def take_key(self, event: QKeyEvent) -> bool:
        """Take a key that belongs to this page; false: it is the window's."""
        step, text = _STEPS.get(Qt.Key(event.key())), event.text().lower()
        if step is not None:
            self._move(step)
            return True
        if text in DO_OF_KEY or text == KEY:
            self._do(text)
            return True
        return text in ACT_OF_KEY and text != "u"

    def _do(self, key: str) -> None:
        one = self.post()
        if key == KEY:
            self._turn()
        elif key not in DO_OF_KEY:
            press(self, key)
        elif one is not None:
            self._flows.begin(DO_OF_KEY[key], one)

    def post(self) -> PostView | None:
        """Give the post in focus."""
        return next((one for one in self._roster.posts if one.post.key == self._focus), None)

    # -- focus ----------------------------------------------------------------------------------------------

    def _move(self, step: int) -> None:
        rows = self.table.rows
        if rows:
            self._chosen(min(len(rows) - 1, max(0, self.table.focus + step)))

    def _chosen(self, number: int) -> None:
        self._focus = self.table.rows[number].post.key
        if self._moment is not None:
            self.show_moment(self._moment, Changes())

    @property
    def _roster(self) -> RosterView:
        unit = self._session.store.unit
        return unit.roster if unit is not None else RosterView()

    # -- geometry -------------------------------------------------------------------------------------------

    def resizeEvent(self, event: QResizeEvent) -> None:
        """The table at the left, lists at the right, the keys below."""
        super().resizeEvent(event)
        self._lay_out()

    def _turn(self) -> None:
        self._leaves.turn()
        self._lay_out()

    def _lay_out(self) -> None:
        wide, high = self.width() - 2 * _MARGIN, self.height() - 8
        side = max(330, round(wide * _SIDE_SHARE))
        left = wide - side - _GAP
        body = high - _KEYS_H - _GAP
        self.keys.setGeometry(_MARGIN, 4 + body + _GAP, wide, _KEYS_H)
        if self._leaves.lay(QRect(_MARGIN, 4, wide, body), self.width()):
            return
        self.table.setGeometry(_MARGIN, 4, left, body)
        x, third = _MARGIN + left + _GAP, (body - 2 * _GAP) // 3
        for number, part in enumerate((self.waiting, self.forecast, self.loads)):
            part.setGeometry(x, 4 + number * (third + _GAP), side, third)

    def _parts(self) -> tuple[Card, ...]:
        return (self.table, self.waiting, self.forecast, self.loads, self.keys)

    def _dress(self) -> None:
        palette = QPalette(self.palette())
        palette.setColor(QPalette.ColorRole.Window, qcolor(self._theme.ground))
        self.setPalette(palette)
        self.setAutoFillBackground(True)


def _shift(roster: RosterView, moment: Moment) -> str:
    if roster.shift is None or roster.shift_ends is None:
        return say("No shift is planned now")
    return say("{shift}, until {hhmm}", shift=roster.shift, hhmm=words.hhmm(roster.shift_ends, moment.zone))
