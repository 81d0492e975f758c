"""The page of key P: what was paged and how it stands, and the telephone list beside it. It answers nothing."""

from PySide6.QtCore import QRect, Qt
from PySide6.QtGui import QKeyEvent, QResizeEvent
from PySide6.QtWidgets import QWidget

from monitor.desk.answering import ACT_OF_KEY
from monitor.desk.pagespage.cards import LastPagesCard, TelephonesCard
from monitor.desk.pagespage.face import page_lines, phone_lines
from monitor.desk.pressed import press
from monitor.desk.session import Session
from monitor.desk.sheets.keys import KeysCard
from monitor.desk.sheets.leaves import KEY, Leaves
from monitor.desk.store import Changes
from monitor.desk.tile.moment import Moment
from shared.language.saying import to_say
from shared.look.palette import Theme

_MARGIN, _GAP, _KEYS_H, _PHONES_SHARE = 12, 10, 44, 0.36
_STEPS = {Qt.Key.Key_Up: -1, Qt.Key.Key_Down: 1}


class PagesPage(QWidget):
    """Both lists, from what the hub told last: they stay when it is lost."""

    def __init__(self, session: Session, theme: Theme) -> None:
        super().__init__()
        self._session = session
        self.pages = LastPagesCard(theme)
        self.phones = TelephonesCard(theme)
        self.keys = KeysCard(
            theme, lambda key: self._turn() if key == KEY else press(self, key), ((to_say("Esc"), to_say("back")),)
        )
        self._leaves = Leaves(self.keys, (self.pages,), (self.phones,))
        for card in (self.pages, self.phones, self.keys):
            card.setParent(self)

    def show_moment(self, moment: Moment, changes: Changes) -> None:
        """Show what stands."""
        self.pages.show_lines(page_lines(self._session.store, moment))
        self.phones.show_lines(phone_lines(self._session.store))

    def set_theme(self, theme: Theme) -> None:
        """Change the colours."""
        self.pages.set_theme(theme)
        self.phones.set_theme(theme)
        self.keys.set_theme(theme)

    def take_key(self, event: QKeyEvent) -> bool:
        """Take the keys that answer, and do nothing with them: no bed is chosen here."""
        if event.text() == KEY:
            self._turn()
            return True
        if event.key() in _STEPS:
            self.pages.step(_STEPS[Qt.Key(event.key())])
            return True
        return event.text().lower() in ACT_OF_KEY and event.text().lower() != "u"

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Lay the two lists side by side."""
        super().resizeEvent(event)
        self._lay_out()

    def _turn(self) -> None:
        self._leaves.turn()
        self._lay_out()

    def _lay_out(self) -> None:
        wide, high = self.width() - 2 * _MARGIN - _GAP, self.height() - 2 * _MARGIN - _KEYS_H - _GAP
        self.keys.setGeometry(_MARGIN, _MARGIN + high + _GAP, wide + _GAP, _KEYS_H)
        if self._leaves.lay(QRect(_MARGIN, _MARGIN, wide + _GAP, high), self.width()):
            return
        phones = round(wide * _PHONES_SHARE)
        self.pages.setGeometry(_MARGIN, _MARGIN, wide - phones, high)
        self.phones.setGeometry(_MARGIN + wide - phones + _GAP, _MARGIN, phones, high)
