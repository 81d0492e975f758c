"""Operating point above, possible pattern below: where the pump works, and what that may be a sign of."""

from PySide6.QtGui import QResizeEvent
from PySide6.QtWidgets import QWidget

from monitor.desk.bedpage.hint_card import HintCard
from monitor.desk.bedpage.operating_card import OperatingCard
from shared.look.palette import Theme

_GAP = 10
_POINT_SHARE = 0.46


class PointAndPattern(QWidget):
    """Both cards in one column."""

    def __init__(self, theme: Theme) -> None:
        super().__init__()
        self.point = OperatingCard(theme)
        self.pattern = HintCard(theme)
        for card in (self.point, self.pattern):
            card.setParent(self)

    def set_theme(self, theme: Theme) -> None:
        """Paint both in another theme."""
        self.point.set_theme(theme)
        self.pattern.set_theme(theme)

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Lay them out."""
        super().resizeEvent(event)
        upper = round((self.height() - _GAP) * _POINT_SHARE)
        self.point.setGeometry(0, 0, self.width(), upper)
        self.pattern.setGeometry(0, upper + _GAP, self.width(), max(0, self.height() - upper - _GAP))
