"""The line at the top beside a drill: how the live unit stands, and what keys do."""

from PySide6.QtCore import QRectF, Signal
from PySide6.QtGui import QAccessible, QMouseEvent, QPainter, QPaintEvent
from PySide6.QtWidgets import QWidget

from monitor.desk.aloud import Spoken, tell
from monitor.desk.need import is_open, need_of
from monitor.desk.paint.fonts import text_width
from monitor.desk.paint.marks import draw_mark
from monitor.desk.paint.pens import fill_box
from monitor.desk.paint.text import Align, draw_text, fit_text
from monitor.desk.palette import qcolor
from monitor.desk.tile.paint_foot import longest_that_fits
from monitor.desk.units.band import UnitBlock, block_of, draw_block
from monitor.desk.window import DeskWindow
from shared.language.saying import say, to_say
from shared.look.marks import mark_of
from shared.look.need import Need
from shared.look.palette import Theme
from shared.look.sizes import CAP_SHARE, MARGIN, PLATE_RADIUS, SMALLEST_TEXT

#: A window so low, as one with text of 200 %, needs the room for its pages.
_SMALL = 700
LIVE = to_say("LIVE")
_TALL, _LOW, _LEAST, _PAD, _MARK = 44, 32, 26, 8, 16
#: Of the width: the unit's block, and in a narrow window; the rest is for its needs, or for what the drill does.
_BLOCK, _NARROW_BLOCK, _NARROW = 0.42, 0.52, 1200
_NEEDS = 3


class LiveLine(QWidget):
    """Paints it. ``pressed``: somebody wants to see the live board."""

    pressed = Signal()

    def __init__(self, theme: Theme, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._theme = theme
        self.block: UnitBlock | None = None
        self.needs: tuple[tuple[Need, str], ...] = ()
        self.says: tuple[str, ...] = ("",)

    def show_live(self, window: DeskWindow, monotonic: float, says: tuple[str, ...]) -> None:
        """Show how the live unit stands. ``says``: what the drill does, the longest words first."""
        store, moment = window.session.store, window.moment()
        name = store.unit.name if store.unit is not None else store.link.hub.address
        unsaid = window.footer.face.told if window.footer.face.told_bold else ""
        block = block_of(name, store, moment, store.link.silent(monotonic), unsaid)
        needs: tuple[tuple[Need, str], ...] = ()
        if not block.lost:
            open_ = [(bed, one) for bed, one in store.needs() if is_open(one)]
            needs = tuple((need_of(one), f"{bed or say('Unit')} {one.title}") for bed, one in open_[:_NEEDS])
        if (block, needs, says) != (self.block, self.needs, self.says):
            is_new = self.block is None or (block.says, needs) != (self.block.says, self.needs)
            self.block, self.needs, self.says = block, needs, says
            self.update()
            if is_new:
                tell(self, QAccessible.Event.ValueChanged)

    def height_over(self, wide: int, high: int) -> int:
        """Give its height over a window of this size."""
        return _TALL if wide >= 1600 and high >= 900 else _LOW if high >= _SMALL else _LEAST

    def spoken(self) -> Spoken:
        """Say how the live unit stands; what is read is all that stands here."""
        block = self.block
        value = "" if block is None else ", ".join((block.name, block.says[0], *(words for _, words in self.needs)))
        return Spoken(say(LIVE), value=value, role=QAccessible.Role.StatusBar)

    def set_theme(self, theme: Theme) -> None:
        """Change the colours."""
        self._theme = theme
        self.update()

    def mousePressEvent(self, event: QMouseEvent) -> None:
        """Somebody wants to see it."""
        self.pressed.emit()

    def paintEvent(self, event: QPaintEvent) -> None:
        """Paint LIVE, the unit's block, its worst needs, and what the drill does."""
        theme, box = self._theme, QRectF(self.rect()).adjusted(MARGIN, 2, -MARGIN, -2)
        painter = QPainter(self)
        try:
            painter.setRenderHint(QPainter.RenderHint.Antialiasing)
            painter.fillRect(self.rect(), qcolor(theme.ground))
            px = 18.0 if box.height() > _LOW else 15.0
            plate = QRectF(box.left(), box.top(), text_width(say(LIVE), px, True) + 2 * _PAD, box.height())
            fill_box(painter, plate, PLATE_RADIUS, theme.ink)
            base = plate.center().y() + CAP_SHARE * px / 2
            draw_text(painter, plate.left() + _PAD, base, say(LIVE), px, True, theme.tile)
            left = plate.right() + _PAD
            unit = QRectF(
                left, box.top(), (_BLOCK if box.width() >= _NARROW else _NARROW_BLOCK) * box.width(), box.height()
            )
            if self.block is not None:
                draw_block(painter, unit, self.block, theme)
            self._beside(painter, unit.right() + 2 * _PAD, box)
        finally:
            painter.end()

    def _beside(self, painter: QPainter, left: float, box: QRectF) -> None:
        theme, right, rows = self._theme, box.right(), 2 if box.height() > _LOW else 1
        step = box.height() / rows
        keys_room = (right - left) if rows > 1 or not self.needs else 0.5 * (right - left)
        said = longest_that_fits(self.says, keys_room, 13, True)
        px = fit_text(said, keys_room, 13, True, smallest=SMALLEST_TEXT).px
        base = box.bottom() - step / 2 + CAP_SHARE * px / 2
        wide = draw_text(painter, right, base, said, px, True, theme.ink, Align.RIGHT)
        end = right if rows > 1 else right - wide - _PAD
        middle = box.top() + step / 2
        for need, words in self.needs:
            room = end - left - _MARK - 6
            if text_width(words, SMALLEST_TEXT) > room:
                break  # the block says how many there are
            shown = fit_text(words, room, 13, smallest=SMALLEST_TEXT)
            draw_mark(painter, mark_of(need), QRectF(left, middle - _MARK / 2, _MARK, _MARK), theme.priority[need])
            left += _MARK + 6
            left += draw_text(painter, left, middle + CAP_SHARE * shown.px / 2, words, shown.px, False, theme.ink)
            left += 2 * _PAD
