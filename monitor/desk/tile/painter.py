"""One tile, part by part."""

from PySide6.QtCore import QRectF

from monitor.desk.paint.pens import fill_box, kept, outline_box, pen
from monitor.desk.paint.staff import draw_staff
from monitor.desk.paint.text import draw_text, fit_text
from monitor.desk.paint.veil import draw_veil
from monitor.desk.palette import qcolor
from monitor.desk.store import Store
from monitor.desk.tile.canvas import Canvas
from monitor.desk.tile.paint_foot import paint_foot
from monitor.desk.tile.paint_head import paint_head
from monitor.desk.tile.paint_need import paint_need
from monitor.desk.tile.paint_off_support import paint_off_support
from monitor.desk.tile.paint_paused import paint_paused
from monitor.desk.tile.paint_plain import paint_plain
from monitor.desk.tile.paint_trends import paint_trends
from shared.look.sizes import SMALLEST_TEXT, TILE_RADIUS, Px


def paint_tile(canvas: Canvas, store: Store) -> None:
    """Paint the whole tile into its widget; the corners keep the ground's colour."""
    box = QRectF(0, 0, canvas.width, canvas.height)
    canvas.painter.fillRect(box, qcolor(canvas.theme.ground))
    if canvas.face.no_run:
        _paint_no_run(canvas, box)
    else:
        with kept(canvas.painter):
            fill_box(canvas.painter, box, TILE_RADIUS, canvas.theme.tile)
        draw_staff(canvas.painter, canvas.parts.staff, canvas.face.staff, canvas.theme, canvas.parts.k)
        paint_head(canvas)
        paint_need(canvas)
        paint_trends(canvas, store)
        paint_plain(canvas)
        paint_foot(canvas)
        paint_paused(canvas)
        paint_off_support(canvas)
    if canvas.face.veiled:
        draw_veil(canvas.painter, box, canvas.theme)


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
