"""One tile, part by part."""

from dataclasses import fields, replace
from operator import attrgetter

from PySide6.QtCore import QRectF, QSize
from PySide6.QtGui import QPainter, QPixmap

from monitor.desk.paint.noted import is_noting
from monitor.desk.paint.pens import fill_box, kept, outline_box, pen
from monitor.desk.paint.staff import draw_staff
from monitor.desk.paint.text import draw_text, fit_text
from monitor.desk.paint.to_keep import to_keep
from monitor.desk.paint.veil import draw_veil
from monitor.desk.palette import qcolor
from monitor.desk.store import Store
from monitor.desk.tile.canvas import Canvas, KeptStill
from monitor.desk.tile.face import Face
from monitor.desk.tile.paint_foot import paint_foot
from monitor.desk.tile.paint_head import paint_head
from monitor.desk.tile.paint_need import paint_need
from monitor.desk.tile.paint_off_support import paint_off_support
from monitor.desk.tile.paint_paused import paint_paused
from monitor.desk.tile.paint_plain import PlainPlaces, paint_plain, plain_places
from monitor.desk.tile.paint_trends import paint_standing, paint_trends, standing_in
from shared.look.sizes import SMALLEST_TEXT, TILE_RADIUS, Px

_ON_TOP = {"trends", "plain", "paused", "off"}
_STILL = attrgetter(*(part.name for part in fields(Face) if part.name not in _ON_TOP))


def paint_tile(canvas: Canvas, store: Store) -> None:
    """Paint the whole tile into its widget; the corners keep the ground's colour."""
    box = QRectF(0, 0, canvas.width, canvas.height)
    if canvas.face.no_run:
        canvas.painter.fillRect(box, qcolor(canvas.theme.ground))
        _paint_no_run(canvas, box)
    else:
        plain = plain_places(canvas)
        if is_noting():
            _paint_still(canvas)
        else:
            canvas.painter.drawPixmap(0, 0, _still(canvas, plain))
        if canvas.whole:
            paint_trends(canvas, store)
            paint_plain(canvas, plain, words=is_noting(), values=True)
            paint_paused(canvas)
            paint_off_support(canvas)
    if canvas.face.veiled:
        draw_veil(canvas.painter, box, canvas.theme)


def _still(canvas: Canvas, plain: PlainPlaces) -> QPixmap:
    """Give the picture of what is painted under the numbers and beside them."""
    ratio = canvas.painter.device().devicePixelRatio()
    beside = standing_in(canvas), plain, tuple((one.label, one.unit) for one in canvas.face.plain)
    made_of = (*_STILL(canvas.face), beside, canvas.parts, id(canvas.theme), canvas.width, ratio, canvas.still)
    if canvas.face.need.blinks is None:
        canvas.kept.still.pop(True, None)  # 270 kB at 64 beds, which every tile that ever flashed would keep
    kept_one = canvas.kept.still.get(canvas.inverted)
    if kept_one is None or kept_one.made_of != made_of:
        picture = QPixmap(QSize(canvas.width, canvas.height) * ratio)
        picture.setDevicePixelRatio(ratio)
        painter = QPainter(picture)
        try:
            drawn = replace(canvas, painter=painter)
            _paint_still(drawn)
            paint_standing(drawn)
            paint_plain(drawn, plain, words=True, values=False)
        finally:
            painter.end()
        kept_one = canvas.kept.still[canvas.inverted] = KeptStill(made_of, to_keep(picture))
    return kept_one.picture


def _paint_still(canvas: Canvas) -> None:
    box = QRectF(0, 0, canvas.width, canvas.height)
    canvas.painter.fillRect(box, qcolor(canvas.theme.ground))
    with kept(canvas.painter):
        fill_box(canvas.painter, box, TILE_RADIUS, canvas.theme.tile)
    draw_staff(canvas.painter, canvas.parts.staff, canvas.face.staff, canvas.theme, canvas.parts.k)
    paint_head(canvas)
    paint_need(canvas)
    paint_foot(canvas)


def _paint_no_run(canvas: Canvas, box: QRectF) -> None:
    dashed = pen(canvas.theme.rule_strong, 1.5)
    dashed.setDashPattern([4, 3])
    with kept(canvas.painter):
        outline_box(canvas.painter, box, TILE_RADIUS, dashed)
    paint_head(canvas)
    px, left = canvas.px(Px.TITLE), canvas.parts.bed_x
    fitted = fit_text(canvas.face.need.title, canvas.width - left - 40, px, smallest=SMALLEST_TEXT, most_lines=2)
    base = canvas.height / 2
    for number, line in enumerate(fitted.lines):
        draw_text(canvas.painter, left, base + number * 1.4 * px, line, fitted.px, False, canvas.theme.ink_2)
