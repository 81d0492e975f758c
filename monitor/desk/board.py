"""The board: every bed's tile in its place, pages when they do not fit, one focus, one shared flash."""

from collections.abc import Callable, Iterable

from PySide6.QtCore import QRect, QRectF, QSize, Qt, Signal
from PySide6.QtGui import QAccessible, QPainter, QPaintEvent, QRegion, QResizeEvent
from PySide6.QtWidgets import QWidget

from monitor.core.grades import Priority
from monitor.desk.aloud import Spoken, tell
from monitor.desk.board_order import hidden_needs, pages_of
from monitor.desk.flash import is_inverted
from monitor.desk.paint.pens import kept, outline_box, pen
from monitor.desk.paint.text import draw_fitted, fit_text
from monitor.desk.palette import qcolor
from monitor.desk.series import HAND_WINDOW_MS, LIVE_WINDOW_MS
from monitor.desk.store import Store
from monitor.desk.tile.kept_faces import KeptFaces
from monitor.desk.tile.moment import Moment
from monitor.desk.tile.widget import TileWidget
from shared.instant import HOUR
from shared.language.saying import say
from shared.look.grid import Grid, grid_for
from shared.look.palette import Theme
from shared.look.sizes import FOCUS_RING, TILE_RADIUS, frame_for
from shared.messages import Origin

_RING_AT = 3  # between tile and ring
_OUT = _RING_AT + FOCUS_RING
#: The board reaches so far into header and footer, so that the ring of an outer tile is whole.
RING_ROOM = 8
#: By how many columns and rows an arrow moves the focus.
ARROWS = {
    Qt.Key.Key_Left: (-1, 0),
    Qt.Key.Key_Right: (1, 0),
    Qt.Key.Key_Up: (0, -1),
    Qt.Key.Key_Down: (0, 1),
}


class Board(QWidget):
    """Tiles in the unit's own order. ``screen`` is the size for which the grid is chosen: with header and footer.

    Signals:
        answer: a tile was clicked where one answers; it has the focus already.
        focused: the focus has moved to a bed ("" for none).
    """

    answer = Signal(str)
    focused = Signal(str)

    def __init__(self, store: Store, theme: Theme, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._store = store
        self._theme = theme
        self._faces = KeptFaces(store)
        self._tiles: dict[str, TileWidget] = {}
        self._shown: tuple[str, ...] = ()
        self._grid: Grid | None = None
        self._placed: tuple[tuple[str, ...], Grid] | None = None
        self._page = 0
        self._pages = 1
        self._focus = ""
        self._far = self._still = False
        #: Whether somebody used the desk just now.
        self.in_use: Callable[[], bool] = lambda: False
        self._held = False
        self.setAttribute(Qt.WidgetAttribute.WA_OpaquePaintEvent)

    # -- showing --------------------------------------------------------------------------------------------

    def show_moment(self, moment: Moment, only: Iterable[str] | None = None) -> None:
        """Show what has changed: anything, or something of some beds alone. Faces that differ are painted."""
        only = None if only is None else tuple(only)
        self._faces.forget(only)
        if only is None:
            self.let_pass(moment)
        else:
            self._show(moment, [bed for bed in only if bed in self._shown])

    def let_pass(self, moment: Moment) -> None:
        """Show what time alone has changed. A bed that has a need since the last time may come to another page.

        No tile moves under the hand of whoever uses the desk; what is new is in the header at once.
        """
        self._lay_out(waits=self.in_use())
        self._show(moment, self._shown)

    def _show(self, moment: Moment, beds: Iterable[str]) -> None:
        for bed in beds:
            tile = self._store.tiles.get(bed)
            if tile is not None:
                self._tiles[bed].show_face(self._faces.face(tile, moment))

    def show_phase(self, phase_ms: int) -> set[Priority]:
        """Show the flash of this phase; give the grades that flash at all."""
        flashing: set[Priority] = set()
        for bed in self._shown:
            face = self._tiles[bed].face
            if face is not None and face.need.blinks is not None:
                flashing.add(face.need.blinks)
                self._tiles[bed].set_inverted(is_inverted(face.need.blinks, phase_ms))
        return set() if self._still else flashing

    def refresh(self, beds: Iterable[str]) -> None:
        """Paint beds again whose trends were filled."""
        for bed in beds:
            if bed in self._shown:
                self._tiles[bed].refresh()

    def tile(self, bed: str) -> TileWidget:
        """Give a bed's tile."""
        return self._tiles[bed]

    def place_of(self, bed: str) -> QRect:
        """Give where a bed's tile stands on this page; an empty place when it does not."""
        return self._tiles[bed].geometry() if bed in self._shown else QRect()

    def shown(self) -> tuple[str, ...]:
        """Give the beds of this page, in order of their places."""
        return self._shown

    def page_words(self) -> str:
        """Say what is not shown: ``12 of 24 beds shown, 0 needs hidden``; nothing when all beds are."""
        beds = self._store.beds()
        if self._pages == 1:
            return ""
        hidden = hidden_needs(beds, self._shown, self._store.tiles)
        said = say(
            "{count} of {count2} beds shown, {hidden} needs hidden · Page keys",
            count=len(self._shown),
            count2=len(beds),
            hidden=hidden,
        )
        return f"{said} · {say('order held')}" if self._held else said

    def hides_needs(self) -> bool:
        """Whether a bed that is on another page has an open need."""
        return self._pages > 1 and hidden_needs(self._store.beds(), self._shown, self._store.tiles) > 0

    def trend_words(self) -> str:
        """Say how far back the trends of the beds shown go: those entered by hand have a longer window."""
        tiles = [tile for bed in self._shown if (tile := self._store.tiles.get(bed)) is not None and tile.runs]
        by_hand = sum(tile.origin is Origin.ENTERED for tile in tiles)
        live, hand = (f"{window // HOUR} h" for window in (LIVE_WINDOW_MS, HAND_WINDOW_MS))
        if not by_hand:
            return say("Trends {live}", live=live)
        return (
            say("Trends {hand}", hand=hand)
            if by_hand == len(tiles)
            else say("Trends {live}, by hand {hand}", live=live, hand=hand)
        )

    # -- settings -------------------------------------------------------------------------------------------

    def set_theme(self, theme: Theme) -> None:
        """Change the colours."""
        self._theme = theme
        for tile in self._tiles.values():
            tile.set_theme(theme)
        self.update()

    def set_far(self, far: bool) -> None:
        """Show the layer for reading across the room."""
        self._far = far
        for tile in self._tiles.values():
            tile.set_far(far)

    def set_still(self, still: bool) -> None:
        """Reduce motion."""
        self._still = still
        for tile in self._tiles.values():
            tile.set_still(still)

    def turn_page(self, step: int) -> None:
        """Show another page."""
        self._page = (self._page + step) % self._pages
        self._lay_out()

    # -- focus ----------------------------------------------------------------------------------------------

    @property
    def focus_bed(self) -> str:
        """The bed that has the focus, or nothing."""
        return self._focus

    def set_focus_bed(self, bed: str) -> None:
        """Give a bed the focus, turning to its page; an empty label takes it away."""
        if bed and bed not in self._store.tiles:
            return
        if bed and bed not in self._shown and self._grid is not None:
            self._page = next((n for n, page in enumerate(self._all_pages()) if bed in page), 0)
            self._lay_out()
        if bed != self._focus:
            self._paint_ring()
            self._focus = bed
            self._paint_ring()
            for one, tile in self._tiles.items():
                tile.in_focus = one == bed
            if bed in self._shown:
                tell(self._tiles[bed], QAccessible.Event.Focus)
            self.focused.emit(bed)

    def spoken(self) -> Spoken:
        """Give what is not shown, or why nothing is; each tile speaks for itself."""
        return Spoken(say("Beds"), value=self.page_words(), role=QAccessible.Role.List)

    def move_focus(self, columns: int, rows: int) -> None:
        """Move the focus by so many places; from no focus it comes to the first tile."""
        if not self._shown or self._grid is None:
            return
        if self._focus not in self._shown:
            self.set_focus_bed(self._shown[0])
            return
        place = self._shown.index(self._focus) + columns + rows * self._grid.columns
        self.set_focus_bed(self._shown[min(max(place, 0), len(self._shown) - 1)])

    # -- geometry and painting ------------------------------------------------------------------------------

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Choose the grid anew."""
        super().resizeEvent(event)
        self._lay_out()

    def paintEvent(self, event: QPaintEvent) -> None:
        """Paint the ground and the focus ring; tiles paint themselves."""
        painter = QPainter(self)
        try:
            painter.fillRect(event.rect(), qcolor(self._theme.ground))
            if not self._shown:
                words = say("Looking for the hub. Until it is found nothing is shown here. Go to the beds.")
                fitted = fit_text(words, self.width() - 48, 20, True, smallest=16, most_lines=3)
                draw_fitted(painter, 24, 60, fitted, True, self._theme.ink_2)
            if self._focus in self._shown:
                ring = QRectF(self._ring())
                with kept(painter):
                    outline_box(painter, ring, TILE_RADIUS + _OUT, pen(self._theme.focus, FOCUS_RING))
        finally:
            painter.end()

    def _ring(self) -> QRect:
        return self._tiles[self._focus].geometry().adjusted(-_OUT, -_OUT, _OUT, _OUT)

    def _paint_ring(self) -> None:
        """Paint where the ring stands, and no tile for it."""
        if self._focus in self._shown:
            self.update(QRegion(self._ring()) - QRegion(self._tiles[self._focus].geometry()))

    def _all_pages(self) -> list[tuple[str, ...]]:
        assert self._grid is not None
        return pages_of(self._store.beds(), self._store.tiles, self._grid.per_page)

    def _lay_out(self, waits: bool = False) -> None:
        """Place the beds of this page; ``waits``: beds that are shown stay where they are."""
        beds = self._store.beds()
        if not beds or self.width() < 50 or self.height() < 50:
            return
        frame = frame_for(self.window().width(), self.window().height())
        bars = frame.header + frame.footer - 2 * RING_ROOM
        self._grid = grid_for(len(beds), self.width(), self.height() + bars, frame=frame)
        pages = self._all_pages()
        self._pages = len(pages)
        self._page = min(self._page, self._pages - 1)
        wanted = pages[self._page]
        can_stay = len(wanted) == len(self._shown) and set(self._shown) <= set(beds)
        self._held = waits and can_stay and wanted != self._shown and self._is_placed_on(self._grid)
        self._place(self._shown if self._held else wanted, self._grid)
        for bed in self._tiles.keys() - set(beds):
            self._tiles.pop(bed).deleteLater()

    def _is_placed_on(self, grid: Grid) -> bool:
        return self._placed is not None and self._placed[1] == grid

    def _place(self, shown: tuple[str, ...], grid: Grid) -> None:
        if (shown, grid) == self._placed:
            return
        size = QSize(grid.tile_w, grid.tile_h)
        changed = shown != self._shown
        self._shown, self._placed = shown, (shown, grid)
        for place, bed in enumerate(shown):
            tile = self._tiles.get(bed) or self._make(bed)
            x, y = grid.place(place, RING_ROOM)
            tile.setGeometry(QRect(x, y, size.width(), size.height()))
            tile.show()
        if changed:
            for bed in self._tiles.keys() - set(shown):
                self._tiles[bed].hide()
            self.update()

    def _make(self, bed: str) -> TileWidget:
        tile = TileWidget(self._store, self._theme, self)
        tile.set_far(self._far)
        tile.set_still(self._still)
        tile.clicked.connect(self._clicked)
        self._tiles[bed] = tile
        return tile

    def _clicked(self, bed: str, answers: bool) -> None:
        self.set_focus_bed(bed)
        if answers:
            self.answer.emit(bed)
