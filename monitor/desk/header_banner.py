"""The solid slate plate over the header: the board is blind, or the hub is lost."""

from PySide6.QtCore import QRectF
from PySide6.QtGui import QPainter

from monitor.desk.header_face import Banner
from monitor.desk.paint.fonts import text_width
from monitor.desk.paint.marks import draw_mark
from monitor.desk.paint.pens import fill_box, kept
from monitor.desk.paint.text import LINE_SHARE, Align, draw_fitted, draw_text, fit_text
from shared.look.marks import Mark
from shared.look.need import Need
from shared.look.palette import Hex, Theme
from shared.look.sizes import CAP_SHARE, PLATE_RADIUS, SMALLEST_TEXT

#: A plate narrower than this has its words one below the other.
_STACKED_BELOW = 780.0


def paint_banner(painter: QPainter, box: QRectF, banner: Banner, theme: Theme) -> None:
    """Paint the plate into ``box``: what is lost at the left, what to do in the middle, since when at the right."""
    ink = theme.on_priority[Need.TECHNICAL]
    with kept(painter):
        fill_box(painter, box, PLATE_RADIUS, theme.priority[Need.TECHNICAL])
    if box.width() < _STACKED_BELOW:
        _stacked(painter, box, banner, ink)
        return
    k = box.height() / 80
    side = 44 * k
    draw_mark(painter, Mark.TECHNICAL, QRectF(box.left() + 18 * k, box.center().y() - side / 2, side, side), ink)
    since_px = 34 * k
    since_left = box.right() - 20 * k - text_width(banner.since, since_px, True)
    base = box.center().y() + CAP_SHARE * since_px / 2
    draw_text(painter, box.right() - 20 * k, base, banner.since, since_px, True, ink, Align.RIGHT)
    left = box.left() + 80 * k
    middle = left + 0.36 * (since_left - left)
    room = middle - left - 20 * k
    title = fit_text(banner.title, room, (28 if banner.below else 36) * k, True, smallest=16)
    base = box.top() + 36 * k if banner.below else box.center().y() + CAP_SHARE * title.px / 2
    draw_text(painter, left, base, banner.title, title.px, True, ink)
    below = fit_text(banner.below, room, max(15 * k, SMALLEST_TEXT), smallest=SMALLEST_TEXT, most_lines=2)
    draw_fitted(painter, left, box.top() + (62 if len(below.lines) == 1 else 56) * k, below, False, ink)
    room = since_left - middle - 20 * k
    said, phones = (
        fit_text(words, room, max(17 * k, SMALLEST_TEXT), bold, smallest=SMALLEST_TEXT, most_lines=2)
        for words, bold in ((banner.words, False), (banner.phones, True))
    )
    spare = (3 - max(len(said.lines) + len(phones.lines), 2)) * 6 * k  # the more lines, the nearer to the edges
    draw_fitted(painter, middle, box.top() + 26 * k + spare, said, False, ink)
    last = box.bottom() - (14 * k + spare) - (len(phones.lines) - 1) * LINE_SHARE * phones.px
    draw_fitted(painter, middle, last, phones, True, ink)


def _stacked(painter: QPainter, box: QRectF, banner: Banner, ink: Hex) -> None:
    """What is lost and since when on the first line; below it where, what to do, and whom to telephone."""
    left, right = box.left() + 44, box.right() - 10
    draw_mark(painter, Mark.TECHNICAL, QRectF(box.left() + 9, box.center().y() - 13, 26, 26), ink)
    since, room = text_width(banner.since, 16, True), right - left
    said = (banner.below, banner.words)
    lines = _lines_of(room, *said, phones=banner.phones)
    if SMALLEST_TEXT * LINE_SHARE * len(lines) > box.height() - 22:  # one paragraph has no line that is half empty
        lines = _lines_of(room, " · ".join(filter(None, said)), phones=banner.phones)
    step = min(15.0, (box.height() - 22) / max(1, len(lines)))
    base = box.bottom() - 6 - step * len(lines)
    draw_text(painter, right, base, banner.since, 16, True, ink, Align.RIGHT)
    title = fit_text(banner.title, room - since - 10, 16, True, smallest=12)
    draw_text(painter, left, base, banner.title, title.px, True, ink)
    for number, (line, px, bold) in enumerate(lines, start=1):
        draw_text(painter, left, base + step * number, line, px, bold, ink)


def _lines_of(room: float, *said: str, phones: str) -> list[tuple[str, float, bool]]:
    """Give the lines of what is said, then of whom to telephone, with size and weight."""
    texts = [*((words, False) for words in said), (phones, True)]
    fitted = [(fit_text(words, room, 13, bold, most_lines=4), bold) for words, bold in texts if words]
    return [(line, one.px, bold) for one, bold in fitted for line in one.lines]
