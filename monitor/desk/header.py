"""The header: unit, clock with the race, the list of needs, counts, holes in the cover, and the links.

Places never change. The race is the one thing that always moves: a frozen screen is seen within two seconds.
"""

from dataclasses import dataclass

from PySide6.QtCore import QLineF, QRectF, Qt, Signal
from PySide6.QtGui import QAccessible, QMouseEvent, QPainter, QPaintEvent
from PySide6.QtWidgets import QWidget

from monitor.desk.aloud import Spoken, tell
from monitor.desk.board import RING_ROOM
from monitor.desk.header_aside import asides
from monitor.desk.header_banner import paint_banner
from monitor.desk.header_face import HeaderFace, NeedLine
from monitor.desk.paint.fonts import text_width
from monitor.desk.paint.marks import draw_mark, draw_mark_on_ground
from monitor.desk.paint.noted import is_noting
from monitor.desk.paint.pens import kept, outline_box, pen
from monitor.desk.paint.text import Align, draw_fitted, draw_text, fit_text
from monitor.desk.palette import qcolor
from monitor.desk.tile.paint_foot import longest_that_fits
from shared.language.saying import say
from shared.look.marks import Mark, mark_of
from shared.look.need import Need
from shared.look.palette import Theme
from shared.look.sizes import CAP_SHARE, MARGIN, SLIM_BELOW, SMALLEST_TEXT, MarkPx

_FULL = (1920.0, 98.0)
#: A list narrower than this has one column.
_TWO_COLUMNS_FROM = 420.0
#: Width of the counts in a slim header, and what stands of cover and links below them: baselines of its lines.
_SLIM_COUNTS = 190.0
_ASIDE_BASES = (58.0, 73.0)
#: Lines of a column, in a slim header too, and how far one is from the next at full size.
_ROWS, _SLIM_ROWS, _LINE_H = 3, 4, 27.0


@dataclass(frozen=True, slots=True)
class Places:
    """Where the blocks stand, in pixels. ``s``: scale of sizes against 1920 x 98.

    ``slim``: cover and links have no block; what of them matters stands below the counts (`header_aside`).
    """

    s: float
    slim: bool
    clock: QRectF
    needs: QRectF
    cover: QRectF
    counts: QRectF
    links: QRectF


def places_for(width: float, height: float) -> Places:
    """Give the blocks of a header of this size."""
    s = min(1.0, (height + RING_ROOM) / _FULL[1], max(0.7, width / _FULL[0]))
    links, counts, cover = 152 * max(s, 0.8), 266 * s, 190 * max(s, 0.8)
    clock = 216 * s
    right = width - MARGIN
    gap = 16 * s
    slim = width < SLIM_BELOW
    if slim:
        links = cover = -gap
        counts = _SLIM_COUNTS
    x_links = right - links
    x_counts = x_links - gap - counts
    x_cover = x_counts - gap - cover
    x_needs = MARGIN + clock + 1.5 * gap
    return Places(
        s=s,
        slim=slim,
        clock=QRectF(MARGIN, 0, clock, height),
        needs=QRectF(x_needs, 0, x_cover - gap - x_needs, height),
        cover=QRectF(x_cover, 0, cover, height),
        counts=QRectF(x_counts, 0, counts, height),
        links=QRectF(x_links, 0, links, height),
    )


class Header(QWidget):
    """Paints a `HeaderFace`. ``chosen``: a need of the list was clicked; it names the bed."""

    chosen = Signal(str)

    def __init__(self, theme: Theme, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._theme = theme
        self._face: HeaderFace | None = None
        self.setAttribute(Qt.WidgetAttribute.WA_OpaquePaintEvent)

    @property
    def face(self) -> HeaderFace | None:
        """The face that is shown."""
        return self._face

    def show_face(self, face: HeaderFace) -> None:
        """Show a face; only the clock is painted again when only the clock has moved."""
        before, self._face = self._face, face
        if before == face:
            return
        if face.banner is not None and (before is None or before.banner is None):
            tell(self, QAccessible.Event.Alert)
        if before is not None and _same_but_clock(before, face):
            self.update(places_for(self.width(), self.height()).clock.toAlignedRect())
        else:
            self.update()

    def spoken(self) -> Spoken:
        """Give the unit, what is lost, and all that stands here."""
        face = self._face
        if face is None:
            return Spoken("")
        return Spoken(face.unit, value=face.banner.title if face.banner is not None else face.clock)

    def set_theme(self, theme: Theme) -> None:
        """Change the colours."""
        self._theme = theme
        self.update()

    def paintEvent(self, event: QPaintEvent) -> None:
        """Paint the face."""
        painter = QPainter(self)
        try:
            painter.fillRect(event.rect(), qcolor(self._theme.ground))
            if self._face is not None:
                clock = places_for(self.width(), self.height()).clock.toAlignedRect()
                self._paint(painter, self._face, clock_alone=clock.contains(event.rect()) and not is_noting())
        finally:
            painter.end()

    def mousePressEvent(self, event: QMouseEvent) -> None:
        """Choose the bed of a need in the list."""
        if self._face is None or self._face.banner is not None:
            return
        places = places_for(self.width(), self.height())
        for box, line in _placed(self._face, places):
            if box.contains(event.position()) and line.bed != "Unit":
                self.chosen.emit(line.bed)

    def _paint(self, painter: QPainter, face: HeaderFace, *, clock_alone: bool) -> None:
        places = places_for(self.width(), self.height())
        if face.banner is not None and face.banner.whole:
            paint_banner(painter, QRectF(8, 8, self.width() - 16, self.height() - 10), face.banner, self._theme)
            return
        self._clock(painter, face, places)
        if clock_alone:  # once a second: nothing else stands there
            return
        if face.banner is not None:
            left = places.needs.left()
            box = QRectF(left, 8, self.width() - left - MARGIN, self.height() - 10)
            paint_banner(painter, box, face.banner, self._theme)
            return
        self._needs(painter, face, places)
        if places.slim:
            self._counts(painter, face, places)
            self._asides(painter, face, places.counts)
            return
        self._cover(painter, face, places)
        self._counts(painter, face, places)
        self._links(painter, face, places)

    def _clock(self, painter: QPainter, face: HeaderFace, places: Places) -> None:
        box, s, theme = places.clock, places.s, self._theme
        small = max(12.0, 15 * s)
        name = fit_text(face.unit, box.width() + 14, small, smallest=SMALLEST_TEXT)
        draw_text(painter, box.left(), 23 * s, face.unit, name.px, False, theme.ink_2)
        px = 46 * s
        draw_text(painter, box.left(), 66 * s, face.clock, px, True, theme.ink)
        wide = text_width("00:00:00", px, True)
        pitch = wide / 60
        for tick in range(60):
            full = face.second is not None and tick <= face.second
            colour = theme.ink if full else theme.rule
            spot = QRectF(box.left() + tick * pitch, 75 * s, max(1.5, pitch * 0.6), 8 * s)
            painter.fillRect(spot, qcolor(colour))

    def _needs(self, painter: QPainter, face: HeaderFace, places: Places) -> None:
        s, theme = places.s, self._theme
        if not face.needs or face.needs[0].need is None:
            px = max(12.0, 14 * s)
            base = 34 * s if not face.needs else need_boxes(places)[0].center().y() + CAP_SHARE * px / 2
            lines = 2 if places.slim and face.needs else 3 if len(need_boxes(places)) <= 4 and not face.needs else 1
            said = fit_text(face.no_needs, places.needs.width(), px, smallest=px, most_lines=lines)
            draw_fitted(painter, places.needs.left(), base - (8 * s if lines > 1 else 0), said, False, theme.ink_3)
        for box, line in _placed(face, places):
            if line.need is None:
                self._quiet(painter, box, line, s)
            else:
                self._need(painter, box, line, line.need, s)

    def _quiet(self, painter: QPainter, box: QRectF, line: NeedLine, s: float) -> None:
        """A line that calls nobody: plain, without a need's mark; its words long or short."""
        theme, px = self._theme, max(12.0, 15 * s)
        side, base = max(14.0, 18 * s), box.center().y() + CAP_SHARE * px / 2
        if line.mark is not None:
            spot = QRectF(box.left(), box.center().y() - side / 2, side, side)
            draw_mark(painter, line.mark, spot, theme.ink_2)
        x = box.left() + side + 8 * s
        draw_text(painter, x, base, line.bed, px, False, theme.ink_2)
        x += max(text_width(line.bed, px), 40 * s) + 10 * s
        for size in (px, SMALLEST_TEXT):
            said = longest_that_fits((line.title, *line.who), box.right() - x, size, False)
            if text_width(said, size) <= box.right() - x:
                break
        draw_text(painter, x, base, said, size, False, theme.ink_2)

    def _need(self, painter: QPainter, place: QRectF, line: NeedLine, need: Need, s: float) -> None:
        """One need; where its place has two lines, who has it or is called next stands on the second."""
        theme, px = self._theme, max(12.0, 15 * s)
        box = QRectF(place.left(), place.top(), place.width(), min(place.height(), _LINE_H * s))
        side = max(14.0, 18 * s)
        base = box.center().y() + CAP_SHARE * px / 2
        spot = QRectF(box.left(), box.center().y() - side / 2, side, side)
        draw_mark_on_ground(painter, mark_of(need), spot, theme.priority[need], theme)
        x = box.left() + side + 8 * s
        draw_text(painter, x, base, line.bed, px, True, theme.ink)
        x += max(text_width(line.bed, px, True), 40 * s) + 10 * s
        if line.paused:
            draw_mark(painter, Mark.AUDIO_PAUSED, QRectF(x, box.center().y() - 7, 14, 14), theme.ink)
            x += 18 + draw_text(painter, x + 18, base, line.paused, px - 1, True, theme.ink) + 10 * s
        small = px - 1
        bold = not line.held and bool(line.who[0]) and need is not Need.LOW
        below = place.height() - box.height()
        room = box.right() - x - _beside(line, s)
        title = fit_text(line.title, box.right() - x, px, smallest=SMALLEST_TEXT, most_lines=2)
        past = text_width(title.lines[1], title.px) if below and len(title.lines) > 1 else 0.0
        who = longest_that_fits(line.who, room - past, small, bold) if below else _who(line, room, px, bold)
        wide = text_width(who, small, bold)
        draw_text(painter, box.right(), base + below, who, small, bold, theme.ink, Align.RIGHT)
        end = box.right() - wide - 10 * s
        if line.held:
            tally = QRectF(box.right() - wide - 17, box.center().y() + below - 7, 14, 14)
            draw_mark(painter, Mark.TAKEN, tally, theme.state.taken)
            end = tally.left() - 6
        if not below:
            draw_text(painter, x, base, line.title, fit_text(line.title, end - x, px).px, False, theme.ink)
            return
        for number, words in enumerate(title.lines[:2]):
            draw_text(painter, x, base + number * below, words, title.px, False, theme.ink)

    def _cover(self, painter: QPainter, face: HeaderFace, places: Places) -> None:
        box, s, theme = places.cover, places.s, self._theme
        px = max(SMALLEST_TEXT, 13 * s)
        top = 8 * s
        high = max(33.0, 36 * s)
        if len(face.holes) > 1:  # two stand one above the other, however low the header is
            high = min(high, (box.height() - top - 4 * s - 2) / 2)
        for role, words in face.holes[:2]:
            frame = QRectF(box.left(), top, box.width(), high)
            dashed = pen(theme.priority.technical, 1.5)
            dashed.setDashPattern([4, 3])
            with kept(painter):
                outline_box(painter, frame, 4, dashed)
            left, room = frame.left() + 7, frame.width() - 14
            fitted = fit_text(words, room, px, True, smallest=SMALLEST_TEXT)
            draw_text(painter, left, frame.top() + 12, role, SMALLEST_TEXT, False, theme.ink_2)
            draw_text(painter, left, frame.bottom() - 5 * s, words, fitted.px, True, theme.ink)
            top = frame.bottom() + 4 * s
        if len(face.holes) > 2:
            base = top - 4 * s - high + 12
            more = say("and {count} more", count=len(face.holes) - 2)
            draw_text(painter, box.right() - 7, base, more, SMALLEST_TEXT, True, theme.ink, Align.RIGHT)
        elif len(face.holes) == 2 and box.height() - top < 16:
            return
        elif face.extension:
            base = top + max(13.0, 14 * s) if face.holes else 23 * s
            if not face.holes:
                draw_text(painter, box.left(), base, say("On call by telephone"), px, False, theme.ink_2)
                base += 22 * s
            fitted = fit_text(face.extension, box.width(), max(12.0, 15 * s), smallest=SMALLEST_TEXT)
            draw_text(painter, box.left(), base, face.extension, fitted.px, False, theme.ink)

    def _counts(self, painter: QPainter, face: HeaderFace, places: Places) -> None:
        box, s, theme = places.counts, places.s, self._theme
        px, side = max(16.0, 24 * s), max(16.0, 24 * s)
        pitch = box.width() / len(Need)
        middle = 14.0 if places.slim else 30 * s
        for place, need in enumerate(Need):
            count = face.counts.get(need)
            x = box.left() + place * pitch
            colour = theme.priority[need] if count else theme.ink_3
            spot = QRectF(x, middle - side / 2, side, side)
            if count:
                draw_mark_on_ground(painter, mark_of(need), spot, colour, theme)
            else:
                draw_mark(painter, mark_of(need), spot, colour)
            base = middle + CAP_SHARE * px / 2
            ink = theme.ink if count else theme.ink_3
            draw_text(painter, x + side + 5 * s, base, _counted(count), px, bool(count), ink)
        with kept(painter, smooth=False):
            painter.setPen(pen(theme.rule, 1.0))
            rule = 28.0 if places.slim else 52 * s
            painter.drawLine(QLineF(box.left(), rule, box.right() - 10 * s, rule))
        ink = theme.ink if face.not_taken else theme.ink_3
        base = 43.0 if places.slim else 80 * s
        width = draw_text(
            painter, box.left(), base, _counted(face.not_taken), max(15.0, 22 * s), bool(face.not_taken), ink
        )
        small = max(12.0, 14 * s)
        words = say("not taken")
        draw_text(painter, box.left() + width + 7, base, words, small, bool(face.not_taken), ink)
        right = box.right() - 10 * s
        room = right - box.left() - width - 16 - text_width(words, small, bool(face.not_taken))
        if not places.slim:
            self._spares(painter, face, right, room, s)
        unlisted = face.unlisted + max(0, len(face.needs) - len(_placed(face, places)))
        if unlisted:
            more = say("+{unlisted} not listed", unlisted=unlisted)
            base = 43.0 if places.slim else (68 if face.spares else 80) * s
            px = fit_text(more, room, small, True, smallest=SMALLEST_TEXT).px
            draw_text(painter, right, base, more, px, True, theme.ink, Align.RIGHT)

    def _asides(self, painter: QPainter, face: HeaderFace, box: QRectF) -> None:
        """What else matters, as far as there are lines for it, and how much more of it there is."""
        told = asides(face)
        hidden = max(0, len(told) - len(_ASIDE_BASES))
        for number, (base, (words, bold)) in enumerate(zip(_ASIDE_BASES, told, strict=False)):
            more = say(" · and {count} more", count=hidden) if hidden and number else ""
            said = longest_that_fits(tuple(one + more for one in words), box.width(), SMALLEST_TEXT, bold)
            px = fit_text(said, box.width(), 12, bold, smallest=SMALLEST_TEXT).px
            ink = self._theme.ink if bold else self._theme.ink_2
            draw_text(painter, box.left(), base, said, px, bold, ink)

    def _spares(self, painter: QPainter, face: HeaderFace, right: float, room: float, s: float) -> None:
        """How many spares are ready, at the right below the counts; marked where the unit wants more."""
        if not face.spares:
            return
        theme, short, px = self._theme, face.spares_short, max(12.0, 14 * s)
        side = px if short else 0
        said = longest_that_fits((face.spares, face.spares.replace(" ready", "")), room - side - 5, px, short)
        px = fit_text(said, room - side - 5, px, short, smallest=SMALLEST_TEXT).px
        base, ink = 86 * s, theme.ink if short else theme.ink_2
        draw_text(painter, right, base, said, px, short, ink, Align.RIGHT)
        if short:
            left = right - text_width(said, px, True) - side - 5
            spot = QRectF(left, base - CAP_SHARE * px / 2 - side / 2, side, side)
            draw_mark(painter, Mark.TECHNICAL, spot, theme.priority.technical)

    def _links(self, painter: QPainter, face: HeaderFace, places: Places) -> None:
        s, right = places.s, places.links.right()
        px = max(SMALLEST_TEXT, 13 * s)
        lines = ((face.link, face.link_bold), (face.feeds, face.feeds_bold), (face.sound, face.sound_bold))
        for number, (words, bold) in enumerate(lines):
            room = places.links.width() - (22 if face.sound_off else 0)
            if number == 0 and face.link_short:
                words = longest_that_fits((words, face.link_short), room, SMALLEST_TEXT, bold)
            fitted = fit_text(words, room, px, bold, smallest=SMALLEST_TEXT)
            ink = self._theme.ink if bold else self._theme.ink_2
            base = (23 + 22 * number) * s
            draw_text(painter, right, base, words, fitted.px, bold, ink, Align.RIGHT)
            if face.sound_off and number == len(lines) - 1:
                left = right - text_width(words, fitted.px, bold) - MarkPx.HOLE - 6
                middle = base - CAP_SHARE * fitted.px / 2
                spot = QRectF(left, middle - MarkPx.HOLE / 2, MarkPx.HOLE, MarkPx.HOLE)
                draw_mark(painter, Mark.AUDIO_OFF, spot, self._theme.ink)
        if face.due:
            said = longest_that_fits(face.due, places.links.width(), SMALLEST_TEXT, False)
            px = fit_text(said, places.links.width(), px, smallest=SMALLEST_TEXT).px
            draw_text(painter, right, 87 * s, said, px, False, self._theme.ink, Align.RIGHT)


def need_boxes(places: Places) -> list[QRectF]:
    """Give the places of the list: two columns of three, filled downwards; one where there is little room."""
    s, box = places.s, places.needs
    gap = 26 * s
    columns = 2 if box.width() >= _TWO_COLUMNS_FROM else 1
    wide = (box.width() - (columns - 1) * gap) / columns
    high, rows = _LINE_H * s, _rows(places)
    top = (3 if places.slim else 7) * s  # the mark of the last line stands whole
    return [
        QRectF(box.left() + (place // rows) * (wide + gap), top + (place % rows) * high, wide, high)
        for place in range(rows * columns)
    ]


def _placed(face: HeaderFace, places: Places) -> list[tuple[QRectF, NeedLine]]:
    """Give each line its place, two of them where one has no room for who has it, and who is called.

    Quiet lines alone stand below the words for an empty list.
    """
    boxes, found, rows, at = need_boxes(places), [], _rows(places), 0
    if face.needs and face.needs[0].need is None:
        at = 2 if places.slim else 1
    for line in face.needs:
        lines = 1 if at >= len(boxes) or _has_room(line, boxes[at].width(), places.s) else 2
        if lines == 2 and at % rows == rows - 1:
            at += 1
        if at + lines > len(boxes):
            break
        box = boxes[at]
        found.append((QRectF(box.left(), box.top(), box.width(), lines * box.height()), line))
        at += lines
    return found


def _rows(places: Places) -> int:
    """How many lines a column has."""
    return _SLIM_ROWS if places.slim else _ROWS


def _has_room(line: NeedLine, wide: float, s: float) -> bool:
    """Tell whether who has it, or is called, can stand beside the title; what calls nobody needs none."""
    if line.need is None or "" in line.who:
        return True
    px = max(12.0, 15 * s)
    before = max(14.0, 18 * s) + 8 * s + max(text_width(line.bed, px, True), 40 * s) + 10 * s
    if line.paused:
        before += 18 + text_width(line.paused, px - 1, True) + 10 * s
    return bool(_who(line, wide - before - _beside(line, s), px, not line.held))


def _beside(line: NeedLine, s: float) -> float:
    """What stands between title and who, in pixels: air, and the mark of a holder."""
    return 12 * s + (24 if line.held else 0)


def _who(line: NeedLine, room: float, px: float, bold: bool) -> str:
    """The longest words beside the title at its full size, else at its smallest; the title comes first."""
    for size in (px, SMALLEST_TEXT):
        who = longest_that_fits((*line.who, ""), room - text_width(line.title, size), px - 1, bold)
        if who:
            return who
    return ""


def _same_but_clock(one: HeaderFace, other: HeaderFace) -> bool:
    names = [name for name in HeaderFace.__slots__ if name not in ("clock", "second")]
    return all(getattr(one, name) == getattr(other, name) for name in names)


def _counted(count: int | None) -> str:
    """Write a count; before the hub's first word nothing is counted, and no nought is claimed."""
    return "--" if count is None else str(count)
