"""The tile's widget: holds the face painted last, and paints again only when a face differs from it."""

from dataclasses import fields
from operator import attrgetter

from PySide6.QtCore import QPointF, QRect, QRectF, Qt, Signal
from PySide6.QtGui import QAccessible, QMouseEvent, QPainter, QPaintEvent, QResizeEvent
from PySide6.QtWidgets import QWidget

from monitor.desk.aloud import Spoken, plain, said, tell
from monitor.desk.paint.noted import painted_on
from monitor.desk.paint.pens import to_qrect
from monitor.desk.store import Store
from monitor.desk.tile.canvas import Canvas, Kept, LinePlace, line_places, readings_in
from monitor.desk.tile.face import Face
from monitor.desk.tile.far import paint_far
from monitor.desk.tile.news import news_of
from monitor.desk.tile.painter import paint_tile
from shared.look.palette import Theme
from shared.look.screen import here
from shared.look.tile import TileParts, tile_parts

#: All of a face but what is read.
_APART = attrgetter(*(part.name for part in fields(Face) if part.name not in {"trends", "plain"}))


class TileWidget(QWidget):
    """One bed. It shows what it is given and knows no clock.

    Signals:
        clicked: the tile was clicked; with ``True`` on its need row or last line, where one answers.
    """

    clicked = Signal(str, bool)

    def __init__(self, store: Store, theme: Theme, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._store = store
        self._theme = theme
        self._face: Face | None = None
        self._far = False
        self._still = False
        self._inverted = False
        self._text_scale = 1.0
        self._parts: TileParts | None = None
        self._places: tuple[LinePlace, ...] = ()
        self._block = self._read = QRect()
        self._kept = Kept()
        self.painted = 0
        #: Whether what keys do is done at this bed.
        self.in_focus = False
        self.setAttribute(Qt.WidgetAttribute.WA_OpaquePaintEvent)
        self.setFocusPolicy(Qt.FocusPolicy.NoFocus)

    @property
    def face(self) -> Face | None:
        """The face that is shown."""
        return self._face

    def show_face(self, face: Face) -> None:
        """Show a face; nothing is painted when it is the one that stands."""
        if face == self._face:
            return
        before, self._face = self._face, face
        if before is not None and not self._far and not face.no_run and _APART(face) == _APART(before):
            self.update(self.readings())  # the window system is handed a part of the tile, and no more is drawn
        else:
            self.update()
        if QAccessible.isActive() and (event := news_of(before, face)) is not None:
            tell(self, event)

    def spoken(self) -> Spoken:
        """Give those of the face's words that are painted at this size, and everything painted besides."""
        return Spoken(self._sentence, role=QAccessible.Role.ListItem, focused=self.in_focus)

    def _sentence(self) -> str:
        words, face = said(painted_on(self)), self._face
        whole = " ".join(words)

        def stands(text: str) -> bool:
            text = plain(text)
            return text in words or (" " in text and text in whole)

        return face.spoken_where(stands) if face is not None else ""

    def refresh(self) -> None:
        """Paint all of it anew although the words stand: the trends were filled."""
        self._kept = Kept()
        self.update()

    def set_theme(self, theme: Theme) -> None:
        """Change the colours."""
        self._theme = theme
        self.update()

    def set_far(self, far: bool) -> None:
        """Show the layer that is read from across the room, or the near one."""
        if far != self._far:
            self._far = far
            self.update()

    def set_still(self, still: bool) -> None:
        """Reduce motion: a double frame in place of the flash."""
        self._still = still
        self.update()

    def set_inverted(self, inverted: bool) -> None:
        """Show one half of a flash. Only the mark block is painted again."""
        if inverted == self._inverted:
            return
        self._inverted = inverted
        if self._face is not None and self._face.need.blinks is not None:
            self.update(self.block())

    def block(self) -> QRect:
        """Give the place of the mark block, the only thing that flashes."""
        self.parts()
        return self._block

    def readings(self) -> QRect:
        """Give the place of all that a reading changes."""
        self.parts()
        return self._read

    def parts(self) -> TileParts:
        """Give where everything stands."""
        if self._parts is None:
            self._parts = tile_parts(self.width(), self.height(), self._text_scale)
            self._places = line_places(self._parts)
            self._read = readings_in(self._parts, self._places, self.width())
            self._block = to_qrect(self._parts.mark_block).toAlignedRect().adjusted(-1, -1, 1, 1)
        return self._parts

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Measure again."""
        self._parts = None
        super().resizeEvent(event)

    def paintEvent(self, event: QPaintEvent) -> None:
        """Paint the face that stands."""
        painter = QPainter(self)
        try:
            if self._face is None:
                painter.fillRect(self.rect(), self.palette().window())
                return
            self.painted += 1
            canvas = Canvas(
                painter=painter,
                face=self._face,
                parts=self.parts(),
                places=self._places,
                theme=self._theme,
                width=self.width(),
                height=self.height(),
                inverted=self._inverted and self._face.need.blinks is not None and not self._still,
                still=self._still,
                kept=self._kept,
                whole=not self.block().contains(event.rect()),
            )
            if self._far:
                paint_far(canvas)
            else:
                paint_tile(canvas, self._store)
        finally:
            painter.end()

    def mousePressEvent(self, event: QMouseEvent) -> None:
        """Tell that the tile was clicked, and whether where one answers."""
        if self._face is None or event.button() is not Qt.MouseButton.LeftButton:
            return
        self.clicked.emit(self._face.bed, self._answers_at(event.position()))

    def _answers_at(self, point: QPointF) -> bool:
        parts = self.parts()
        head = QRectF(parts.head.x, 0, parts.head.w, max(parts.head.bottom, float(here().touch)))
        return head.contains(point) or to_qrect(parts.who).contains(point)
