"""The band over a review of several units: a block each, on every page, so that none is out of sight."""

from collections.abc import Sequence
from dataclasses import dataclass

from PySide6.QtCore import QRectF, Signal
from PySide6.QtGui import QAccessible, QMouseEvent, QPainter, QPaintEvent
from PySide6.QtWidgets import QWidget

from monitor.desk import words
from monitor.desk.aloud import Spoken
from monitor.desk.link_state import LinkState
from monitor.desk.need import is_open, need_of, wants_somebody
from monitor.desk.paint.marks import draw_mark
from monitor.desk.paint.pens import fill_box, kept, outline_box, pen
from monitor.desk.paint.text import Align, draw_text, fit_text
from monitor.desk.palette import qcolor
from monitor.desk.store import Store
from monitor.desk.tile.moment import Moment
from monitor.desk.tile.paint_foot import longest_that_fits
from shared.language.saying import say, to_say
from shared.look.marks import Mark, mark_of
from shared.look.need import Need
from shared.look.palette import Theme
from shared.look.sizes import MARGIN, PLATE_RADIUS, SLIM_BELOW, SMALLEST_TEXT

#: The place of the block that stands for all units together.
ALL = -1
_NO_CLOCK = "--:--:--"
_NOTHING = to_say("no open need: no proof of safety")
_ALL_W, _APART, _PAD, _CLOCK_W = 96, 8, 8, 70
_LIST = to_say("All units")
#: Two lines a block, or one where the window is small: a bed's page needs the room.
_TALL, _LOW = 40, 28


@dataclass(frozen=True, slots=True)
class UnitBlock:
    """One unit. ``says``: long and short; ``need``: its worst open one; ``lost``: nothing of it is current."""

    name: str
    clock: str
    says: tuple[str, ...]
    need: Need | None
    bold: bool = False
    lost: bool = False


def block_of(name: str, store: Store, moment: Moment | None, silent_s: float, unsaid: str = "") -> UnitBlock:
    """Say how a unit stands, in a few words.

    Args:
        unsaid: what became of the last command there, where somebody must act on it.
    """
    state = store.link.state
    if moment is None:
        found = (
            say("HUB NOT FOUND")
            if state is LinkState.NOT_LIVE
            else say("Looking for the hub · {silent_s:.0f} s", silent_s=silent_s)
        )
        return UnitBlock(
            name, _NO_CLOCK, (f"{found} · {say(store.link.reach.value)}", found), None, True, lost=True
        )
    if moment.veiled:
        since = say("NOT LIVE since {clock}", clock=words.clock(store.clock.last_word, moment.zone))
        long = " · ".join(filter(None, (since, unsaid)))
        return UnitBlock(name, _NO_CLOCK, (long, since), None, True, lost=True)
    open_ = [one for _, one in store.needs() if is_open(one)]
    alone = sum(wants_somebody(one) for one in open_)
    says = (
        say("{alone} that nobody has", alone=alone)
        if alone
        else say("{count} open, none alone", count=len(open_))
        if open_
        else say(_NOTHING)
    )
    late = say("Hub silent for {silent_s:.0f} s", silent_s=silent_s) if state is LinkState.LATE else ""
    long = " · ".join(filter(None, (late, unsaid, says)))
    need = need_of(open_[0]) if open_ else None
    clock = words.clock(moment.now, moment.zone)
    return UnitBlock(name, clock, (long, late or unsaid or says), need, bool(late or unsaid or alone))


def band_height(wide: int, high: int) -> int:
    """Give the height of the band over a window of this size."""
    return _TALL if wide < SLIM_BELOW or (wide >= 1600 and high >= 900) else _LOW


class UnitsBand(QWidget):
    """Paints the blocks. ``chosen``: the place of one that was pressed, or `ALL`."""

    chosen = Signal(int)

    def __init__(self, theme: Theme, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._theme = theme
        self.blocks: tuple[UnitBlock, ...] = ()
        self.shown = ALL

    def show_blocks(self, blocks: Sequence[UnitBlock], shown: int) -> None:
        """Show these; ``shown``: of which unit the page below is."""
        if (tuple(blocks), shown) != (self.blocks, self.shown):
            self.blocks, self.shown = tuple(blocks), shown
            self.update()

    def spoken(self) -> Spoken:
        """Give the block whose page stands below; what is read is all of them."""
        shown = say(_LIST) if self.shown == ALL or self.shown >= len(self.blocks) else self.blocks[self.shown].name
        return Spoken(say(_LIST), value=shown, role=QAccessible.Role.PageTabList)

    def set_theme(self, theme: Theme) -> None:
        """Change the colours."""
        self._theme = theme
        self.update()

    def place_of(self, number: int) -> QRectF:
        """Give the place of a block, or of that of all units."""
        high = self.height() - 4.0
        if number == ALL:
            return QRectF(MARGIN, 2, _ALL_W, high)
        left = MARGIN + _ALL_W + _APART
        wide = (self.width() - MARGIN - left + _APART) / max(1, len(self.blocks))
        return QRectF(left + number * wide, 2, wide - _APART, high)

    def mousePressEvent(self, event: QMouseEvent) -> None:
        """Choose a block."""
        for number in range(ALL, len(self.blocks)):
            place = self.place_of(number)
            if place.left() <= event.position().x() <= place.right():  # from the screen's edge on
                self.chosen.emit(number)

    def paintEvent(self, event: QPaintEvent) -> None:
        """Paint the blocks; a frame is round the one whose page stands below."""
        painter = QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        painter.fillRect(self.rect(), qcolor(self._theme.ground))
        box = self.place_of(ALL)
        fill_box(painter, box, PLATE_RADIUS, self._theme.tile)
        draw_text(painter, box.left() + _PAD, box.center().y() + 5, say(_LIST), 14, True, self._theme.ink)
        for number, block in enumerate(self.blocks):
            draw_block(painter, self.place_of(number), block, self._theme)
        with kept(painter):
            outline_box(painter, self.place_of(self.shown), PLATE_RADIUS, pen(self._theme.focus, 3))
        painter.end()


def draw_block(painter: QPainter, box: QRectF, block: UnitBlock, theme: Theme) -> None:
    """Paint one unit into a box."""
    ink = theme.on_priority[Need.TECHNICAL] if block.lost else theme.ink
    fill_box(painter, box, PLATE_RADIUS, theme.priority[Need.TECHNICAL] if block.lost else theme.tile)
    left, right, side = box.left() + _PAD, box.right() - _PAD, 0.65 * box.height()
    mark = Mark.TECHNICAL if block.lost else mark_of(block.need) if block.need is not None else None
    if mark is not None:
        hue = ink if block.lost or block.need is None else theme.priority[block.need]
        draw_mark(painter, mark, QRectF(left, box.center().y() - side / 2, side, side), hue)
    left += side + 8
    name = fit_text(block.name, right - _CLOCK_W - left, 14, True, smallest=SMALLEST_TEXT)
    tall = box.height() > _LOW
    base = box.top() + 14 if tall else box.center().y() + 5
    if name.fits:  # else the name has the whole line: units are told apart by it
        draw_text(painter, right, base, block.clock, 13, False, ink, Align.RIGHT)
    wide = draw_text(painter, left, base, block.name, name.px, True, ink)
    if tall:
        base += 16
    else:
        left, right = left + wide + 12, right - _CLOCK_W
    said = longest_that_fits(block.says, right - left, 13, block.bold)
    px = fit_text(said, right - left, 13, block.bold, smallest=SMALLEST_TEXT).px
    draw_text(painter, left, base, said, px, block.bold, ink)
