"""Plates over what is private on a bed page, while nobody is at the desk. Need and answers are never covered."""

from PySide6.QtCore import QRect, QRectF, Qt
from PySide6.QtGui import QPainter
from PySide6.QtWidgets import QWidget

from monitor.desk.aloud import Spoken
from monitor.desk.bedpage.card import Card
from monitor.desk.bedpage.layout import Room
from monitor.desk.paint.fonts import font
from monitor.desk.palette import qcolor
from shared.language.saying import say, to_say
from shared.look.palette import Theme

WORDS = to_say("Covered while nobody is here\nAny key or the pointer shows it again")


class _Plate(Card):
    """What lies under it is read out no more than it is seen."""

    hides = True

    def spoken(self) -> Spoken:
        return Spoken(say(WORDS), description="")

    def paint_content(self, painter: QPainter) -> None:
        painter.setFont(font(17, False))
        painter.setPen(qcolor(self.theme.ink_2))
        flags = Qt.AlignmentFlag.AlignCenter | Qt.TextFlag.TextWordWrap
        painter.drawText(QRectF(self.rect().adjusted(20, 20, -20, -20)), flags, say(WORDS))


class Covers:
    """Two plates: over numbers, trends and what they mean, and over the events."""

    def __init__(self, theme: Theme, page: QWidget) -> None:
        self.plates = (_Plate("", theme), _Plate("", theme))
        for plate in self.plates:
            plate.setParent(page)
            plate.hide()
        self.on = False

    def set_theme(self, theme: Theme) -> None:
        """Show in another theme."""
        for plate in self.plates:
            plate.set_theme(theme)

    def show(self, on: bool) -> None:
        """Put them on, or take them off."""
        if on != self.on:
            self.on = on
            for plate in self.plates:
                plate.setVisible(on)
                plate.raise_()

    def lay_out(self, room: Room) -> None:
        """Stand over the parts of the page."""
        left = QRect(room.changes)
        for part in (
            room.windows,
            room.trends,
            room.standing,
            room.ages,
            room.tabs,
            room.deck,
            room.point,
            room.pattern,
        ):
            left = left.united(part)
        for plate, place in zip(self.plates, (left, room.events), strict=True):
            plate.setGeometry(place)
            plate.raise_()
