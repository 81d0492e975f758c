"""Marks drawn into a panel of the trends: a line through all panels, its sign at the top of the first."""

from collections.abc import Iterable
from functools import lru_cache

import pyqtgraph as pg
from PySide6.QtCore import QPointF, Qt
from PySide6.QtGui import QBrush, QPainterPath, QPen, QPolygonF, QTransform

from monitor.desk.bedpage.trend_marks import MarkKind, TrendMark
from monitor.desk.paint.fonts import font
from monitor.desk.paint.marks import mark_path
from monitor.desk.palette import qcolor
from shared.instant import SECOND, Instant
from shared.language.saying import say
from shared.look.marks import Mark
from shared.look.palette import Theme

#: So many marks at most are drawn in a panel, the newest: more are a grey wall and say nothing.
MOST = 60
_STYLES = {
    MarkKind.ORDER: Qt.PenStyle.DotLine,
    MarkKind.EXCHANGE: Qt.PenStyle.SolidLine,
    MarkKind.TRIAL: Qt.PenStyle.DashDotLine,
    MarkKind.RUN: Qt.PenStyle.SolidLine,
}
_SIGN = 13


def draw_marks(
    plot: pg.PlotItem, marks: Iterable[TrendMark], theme: Theme, scale: tuple[float, float], *, first: bool
) -> None:
    """Draw the marks that lie in the panel's window; ``scale``: its lowest and highest value."""
    begin, end = plot.vb.viewRange()[0]
    inside = [mark for mark in marks if begin <= mark.at / SECOND <= end or _reaches(mark, begin, end)]
    for mark in inside[-MOST:]:
        if mark.kind is MarkKind.CARE and mark.until is not None:
            _band(plot, mark, theme)
        elif mark.kind in _STYLES:
            pen = QPen(qcolor(theme.rule_strong), 0, _STYLES[mark.kind])
            plot.addItem(pg.InfiniteLine(mark.at / SECOND, 90, pen=pen), ignoreBounds=True)
        if first:
            _sign(plot, mark, theme, scale[1])


def draw_looked(plot: pg.PlotItem, at: Instant, theme: Theme, *, first: bool) -> None:
    """Draw where the person at this desk last looked, through the panel; with words in the first."""
    pen = QPen(qcolor(theme.focus), 0, Qt.PenStyle.DashLine)
    plot.addItem(pg.InfiniteLine(at / SECOND, 90, pen=pen), ignoreBounds=True)
    if first:
        begin, end = plot.vb.viewRange()[0]
        late = at / SECOND > (begin + end) / 2  # there the words stand at the left of the line
        label = pg.TextItem(say("you last looked"), color=qcolor(theme.focus), anchor=(1 if late else 0, 1))
        label.setFont(font(12, False))
        label.setPos(at / SECOND, plot.vb.viewRange()[1][0])
        plot.addItem(label, ignoreBounds=True)


def _reaches(mark: TrendMark, begin: float, end: float) -> bool:
    return mark.until is not None and mark.at / SECOND <= end and mark.until / SECOND >= begin


def _band(plot: pg.PlotItem, mark: TrendMark, theme: Theme) -> None:
    assert mark.until is not None
    band = pg.LinearRegionItem(
        (mark.at / SECOND, mark.until / SECOND), "vertical", QBrush(qcolor(theme.trough)), movable=False
    )
    for edge in band.lines:
        edge.setPen(pg.mkPen(None))
    band.setZValue(-25)
    plot.addItem(band, ignoreBounds=True)


def _sign(plot: pg.PlotItem, mark: TrendMark, theme: Theme, top: float) -> None:
    path, colour = _shape(mark.kind, mark.sign), theme.ink_2
    if mark.sign is not None:
        colour = getattr(theme.priority, mark.sign.value)
    item = pg.ScatterPlotItem(
        [mark.at / SECOND], [top], symbol=path, size=_SIGN, pen=None, brush=QBrush(qcolor(colour))
    )
    plot.addItem(item, ignoreBounds=True)


@lru_cache(maxsize=64)
def _shape(kind: MarkKind, sign: Mark | None) -> QPainterPath:
    """Give a sign around 0 with sides of 1: of an alert its mark, else a flag (order), a bar, a box."""
    if sign is not None:
        around = QTransform.fromScale(1 / _SIGN, 1 / _SIGN).translate(-_SIGN / 2, -_SIGN / 2)
        return around.map(mark_path(sign, _SIGN))
    corners = {
        MarkKind.ORDER: ((0, -0.5), (0.6, -0.25), (0, 0)),
        MarkKind.EXCHANGE: ((-0.4, -0.5), (0.4, -0.5), (0.4, 0.3), (-0.4, 0.3)),
        MarkKind.CARE: ((-0.5, -0.5), (0.5, -0.5), (0.5, -0.25), (-0.5, -0.25)),
        MarkKind.TRIAL: ((0, -0.5), (0.5, 0), (0, 0.5), (-0.5, 0)),
    }.get(kind, ((-0.15, -0.5), (0.15, -0.5), (0.15, 0.5), (-0.15, 0.5)))
    path = QPainterPath()
    path.addPolygon(QPolygonF([QPointF(x, y) for x, y in corners]))
    path.closeSubpath()
    return path
