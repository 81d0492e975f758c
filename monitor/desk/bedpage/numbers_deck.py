"""The numbers and, on a small page, blood below them: one card of the deck."""

from PySide6.QtCore import QRect
from PySide6.QtGui import QResizeEvent
from PySide6.QtWidgets import QWidget

from monitor.desk.bedpage.blood_card import BloodCard
from monitor.desk.bedpage.table import NumbersCard

_GAP = 6


class NumbersDeck(QWidget):
    """Numbers alone, or numbers above blood. Each number has its row before blood has its second one."""

    def __init__(self, numbers: NumbersCard, blood: BloodCard) -> None:
        super().__init__()
        self.numbers, self.blood = numbers, blood
        self._dense = False
        for card in (numbers, blood):
            card.setParent(self)
        blood.hide()

    def set_dense(self, dense: bool) -> None:
        """Say whether blood stands below."""
        self._dense = self.numbers.dense = dense
        self.blood.setVisible(dense)
        self.lay_out()

    def lay_out(self) -> None:
        """Divide the height by what both need."""
        wide, high = self.width(), self.height()
        if not self._dense:
            self.numbers.setGeometry(self.rect())
            return
        blood = round(min(self.blood.wanted(wide), max(0.0, high - _GAP - self.numbers.least())))
        self.numbers.setGeometry(QRect(0, 0, wide, high - blood - _GAP))
        self.blood.setGeometry(QRect(0, high - blood, wide, blood))

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Lay both out."""
        super().resizeEvent(event)
        self.lay_out()
