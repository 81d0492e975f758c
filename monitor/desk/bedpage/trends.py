"""The trends of a bed page on one time axis: bands, limits, events, gaps that are never bridged, a crosshair."""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import tzinfo
from itertools import pairwise

import numpy as np
import pyqtgraph as pg
from PySide6.QtCore import QLineF, QRectF, Qt, Signal
from PySide6.QtGui import QBrush, QPainter, QPaintEvent, QPen
from PySide6.QtWidgets import QGraphicsRectItem, QGridLayout, QWidget

from monitor.core.point_marks import JOIN_MS
from monitor.core.view import RunView
from monitor.desk import words
from monitor.desk.aloud import Spoken
from monitor.desk.bedpage.dot_items import draw_dots
from monitor.desk.bedpage.mark_items import draw_looked, draw_marks
from monitor.desk.bedpage.panels import LineSpec, PanelSpec, parts_of
from monitor.desk.bedpage.past import Floats, Line, Past, gaps
from monitor.desk.bedpage.trend_key import KEY_H, TrendKey, signs_of
from monitor.desk.bedpage.trend_marks import TrendMark
from monitor.desk.paint.fonts import font, text_width
from monitor.desk.paint.pens import pen
from monitor.desk.paint.text import Align, draw_text, fit_text, format_number
from monitor.desk.palette import qcolor
from shared.instant import HOUR, MINUTE, SECOND, Instant
from shared.language.saying import say, to_say
from shared.look.palette import Theme
from shared.look.sizes import SMALLEST_TEXT
from shared.quantities import CATALOGUE
from shared.quantities import Quantity as Q

ENDS_W, ENDS_DENSE_W = 128, 112
_STEPS_MS = (MINUTE, 2 * MINUTE, 5 * MINUTE, 10 * MINUTE, 30 * MINUTE, HOUR, 2 * HOUR, 4 * HOUR, 12 * HOUR)
#: So many at most, each with so many pixels.
_MOST_LABELS, _LABEL_W = 8, 52
#: From one number of a scale to the next, px at the least; the width of a scale; the smallest title.
_LABEL_H, _AXIS_W, _TITLE_LEAST = 13, 46, 11
#: Of what the console estimated.
ESTIMATED_DASH = (4.0, 3.0)

#: The names of what belongs to the oxygenator, where there is little room.
_SHORT = {Q.OXYGENATOR_RESISTANCE: to_say("ΔP / flow"), Q.OXYGENATOR_PRESSURE_DROP: to_say("ΔP")}


@dataclass(frozen=True, slots=True)
class TrendPicture:
    """What the trends show at one moment. ``stale``: whose newest reading is too old to be a number of now."""

    panels: tuple[PanelSpec, ...]
    run: RunView
    now: Instant
    by_hand: bool
    least_gap_ms: int
    live: bool
    marks: tuple[TrendMark, ...]
    looked_at: Instant | None
    zone: tzinfo | None
    stale: frozenset[Q] = frozenset()


class _Clock(pg.AxisItem):  # type: ignore[misc]
    """The time axis: hh:mm of the hub's clock."""

    zone: tzinfo | None = None

    def tickValues(self, low: float, high: float, size: float) -> list[tuple[float, list[float]]]:
        """Give round times."""
        span = (high - low) * SECOND
        most = min(_MOST_LABELS, max(2, size / _LABEL_W))
        step = next((s for s in _STEPS_MS if span / s <= most), 24 * HOUR) / SECOND
        first = math.ceil(low / step) * step
        return [(step, [first + i * step for i in range(int((high - first) // step) + 1)])]

    def tickStrings(self, values: Sequence[float], scale: float, spacing: float) -> list[str]:
        """Write them."""
        return [words.hhmm(round(value * SECOND), self.zone) for value in values]


class _Scale(pg.AxisItem):  # type: ignore[misc]
    """A value axis whose numbers are written as everywhere else, never nearer than they are high."""

    def tickValues(self, low: float, high: float, size: float) -> list[tuple[float, list[float]]]:
        """Give those that have room; one where two have none."""
        levels: list[tuple[float, list[float]]] = super().tickValues(low, high, size)
        roomy = [one for one in levels if one[0] * size / ((high - low) or 1) >= _LABEL_H]
        return roomy or [(step, values[:1]) for step, values in levels[:1]]

    def tickStrings(self, values: Sequence[float], scale: float, spacing: float) -> list[str]:
        """Write them, with a real minus."""
        decimals = max(0, -math.floor(math.log10(spacing))) if spacing < 1 else 0
        return [format_number(value, decimals) for value in values]


class Trends(QWidget):
    """Panels one above the other and, at their right, each series' name and number.

    Signals:
        read_out: the crosshair stands at a time (ms); 0: it is away, numbers are the newest.
    """

    read_out = Signal(object)

    def __init__(self, theme: Theme) -> None:
        super().__init__()
        self.theme = theme
        self.view = pg.GraphicsLayoutWidget()
        self.view.ci.layout.setSpacing(4)
        self.ends = _Ends(theme)
        self.key = TrendKey(theme)
        row = QGridLayout(self)
        row.setContentsMargins(6, 4, 4, 4)
        row.setSpacing(0)
        row.addWidget(self.view, 0, 0)
        row.addWidget(self.ends, 0, 1)
        row.addWidget(self.key, 1, 0, 1, 2)
        row.setColumnStretch(0, 1)
        row.setRowStretch(0, 1)
        self.view.setFocusPolicy(Qt.FocusPolicy.NoFocus)
        self.view.scene().sigMouseMoved.connect(self._moved)
        self.plots: list[pg.PlotItem] = []
        self._lines: list[Line] = []
        self._panels: tuple[PanelSpec, ...] = ()
        self._picture: TrendPicture | None = None
        self._cursor: Instant | None = None
        self._dress()

    def set_dense(self, dense: bool) -> None:
        """Leave less room to the names at the lines' ends."""
        self.ends.set_least(ENDS_DENSE_W if dense else ENDS_W)

    def set_theme(self, theme: Theme) -> None:
        """Draw in another theme."""
        self.theme = self.ends.theme = self.key.theme = theme
        self._panels = ()
        self._dress()

    def draw(self, past: Past, picture: TrendPicture) -> None:
        """Draw the window that ends now."""
        if picture.panels != self._panels:
            self._build(picture.panels)
            self.ends.name(tuple(spec for panel in picture.panels for spec in panel.lines))
        self._picture = picture
        _Clock.zone = picture.zone
        begin = (picture.now - past.window_ms) / SECOND
        drawn: list[Line] = []
        has_gap = False
        for plot, panel in zip(self.plots, picture.panels, strict=True):
            plot.setXRange(begin, picture.now / SECOND, padding=0)
            lines = self._panel(plot, panel, past, picture)
            drawn += lines
            has_gap |= bool(gaps(lines[0], picture.least_gap_ms))
        self.key.show_signs(signs_of(drawn, has_gap))
        self._show_ends(past)

    @property
    def room(self) -> int:
        """The height for panels with the key below them, px: a sign that comes takes no panel away."""
        return self.height() - KEY_H

    def step(self, columns: int, past: Past) -> None:
        """Move the crosshair by columns; the first step puts it at the newest."""
        if self._picture is None:
            return
        newest = self._picture.now // past.width_ms * past.width_ms
        at = newest if self._cursor is None else self._cursor + columns * past.width_ms
        self._cursor = max(newest - past.window_ms + past.width_ms, min(newest, at))
        self.draw(past, self._picture)
        self.read_out.emit(self._cursor)

    def away(self) -> None:
        """Take the crosshair away."""
        self._cursor = None
        self.read_out.emit(0)

    def _moved(self, position: object) -> None:
        if not self.plots:
            return
        box = self.plots[0].vb
        seconds = box.mapSceneToView(position).x()
        if self._picture is not None and box.viewRange()[0][0] <= seconds <= box.viewRange()[0][1]:
            self._cursor = round(seconds * SECOND)
            self.read_out.emit(self._cursor)

    def _dress(self) -> None:
        self.view.setBackground(qcolor(self.theme.tile))
        self.setStyleSheet(f"background: {self.theme.tile}; border-radius: 6px;")

    def _build(self, panels: tuple[PanelSpec, ...]) -> None:
        self.view.clear()
        self.plots, self._panels = [], panels
        for number, panel in enumerate(panels):
            last = number == len(panels) - 1
            plot = self.view.addPlot(
                row=number, col=0, axisItems={"bottom": _Clock("bottom"), "left": _Scale("left")}
            )
            self.view.ci.layout.setRowStretchFactor(number, panel.share)
            plot.setMenuEnabled(False)
            plot.hideButtons()
            plot.setMouseEnabled(False, False)
            for side in ("left", "bottom"):
                axis = plot.getAxis(side)
                axis.setPen(qcolor(self.theme.rule))
                axis.setTextPen(qcolor(self.theme.ink_2))
                axis.setStyle(tickFont=font(12, False), tickLength=-4)
            plot.getAxis("left").setWidth(_AXIS_W)
            plot.getAxis("bottom").setStyle(showValues=last)
            plot.getAxis("bottom").setHeight(24 if last else 4)
            plot.showGrid(x=False, y=True, alpha=0.18)
            if self.plots:
                plot.setXLink(self.plots[0])
            self.plots.append(plot)

    def _panel(self, plot: pg.PlotItem, panel: PanelSpec, past: Past, picture: TrendPicture) -> list[Line]:
        plot.clear()
        lines = [self._line_of(past, spec, picture.now) for spec in panel.lines]
        low, high, own = _range_of(panel, lines)
        plot.setYRange(low, high, padding=0.02)
        title = say("{title} · own scale", title=panel.title) if own else panel.title
        first = panel.lines[0].quantity
        self._band_and_limits(plot, picture.run, first, picture)
        for begin, end in gaps(lines[0], picture.least_gap_ms):
            self._gap(plot, begin, end, low, high)
        draw_marks(plot, picture.marks, self.theme, (low, high), first=plot is self.plots[0])
        if picture.looked_at is not None:
            draw_looked(plot, picture.looked_at, self.theme, first=plot is self.plots[0])
        for spec, line in zip(panel.lines, lines, strict=True):
            self._series(plot, spec, line, picture)
        if self._cursor is not None:
            mark = pg.InfiniteLine(self._cursor / SECOND, pen=pg.mkPen(qcolor(self.theme.focus), width=1.5))
            plot.addItem(mark, ignoreBounds=True)
        label = pg.LabelItem(title, color=qcolor(self.theme.ink))
        room = self.width() - self.ends.width() - _AXIS_W - 8
        if room > 0 and text_width(title, _TITLE_LEAST, True) > room:
            title = ", ".join(spec.label for spec in panel.lines)
            label.setText(title)
        label.item.setFont(font(fit_text(title, room, 13, True, smallest=_TITLE_LEAST).px, True))
        label.setParentItem(plot.vb)
        for old in [item for item in plot.vb.childItems() if isinstance(item, pg.LabelItem) and item is not label]:
            old.setParentItem(None)
            if old.scene() is not None:
                old.scene().removeItem(old)
        label.setPos(2, -3)
        return lines

    def _line_of(self, past: Past, spec: LineSpec, now: Instant) -> Line:
        line = past.resistance(now) if spec.quantity is Q.OXYGENATOR_RESISTANCE else past.line(spec.quantity, now)
        return line if spec.per == 1.0 else line.per(spec.per)

    def _series(self, plot: pg.PlotItem, spec: LineSpec, line: Line, picture: TrendPicture) -> None:
        colour = qcolor(self.theme.series[spec.hue])
        seconds = line.at / SECOND
        for guessed in (False, True):
            shown = line.estimated == guessed
            dash = spec.dash or (ESTIMATED_DASH if guessed else ())
            # Smallest and largest of each column, one after the other: a spike survives any zoom.
            x = np.repeat(seconds, 2)
            y = np.where(shown, (line.low, line.high), np.nan).T.ravel()
            style = pg.mkPen(colour, width=1.8)
            if dash:
                style.setDashPattern(list(dash))
                x, y = seconds, np.where(shown, line.last, np.nan)
            if shown.any():
                plot.addItem(pg.PlotCurveItem(x, y, pen=style, connect="finite"))
        draw_dots(plot, line.dots, colour, qcolor(self.theme.tile), join_ms=JOIN_MS if picture.by_hand else 0)
        read = np.flatnonzero(~np.isnan(line.last))
        if picture.live and read.size and not _is_lost(spec, line, picture):
            at = read[-1]
            plot.addItem(pg.ScatterPlotItem([seconds[at]], [line.last[at]], size=7, pen=None, brush=QBrush(colour)))

    def _band_and_limits(self, plot: pg.PlotItem, run: RunView, quantity: Q, picture: TrendPicture) -> None:
        low, high = run.limits.get(quantity, (None, None))
        target = run.targets.get(quantity)
        if target is not None and quantity is Q.PUMP_FLOW:
            band = pg.LinearRegionItem(
                (0.85 * target, 1.15 * target), "horizontal", QBrush(qcolor(self.theme.band)), movable=False
            )
            for edge in band.lines:
                edge.setPen(pg.mkPen(None))
            band.setZValue(-20)
            plot.addItem(band, ignoreBounds=True)
        dashed = QPen(qcolor(self.theme.rule_strong), 0, Qt.PenStyle.DashLine)
        for limit in (low, high):
            if limit is not None:
                plot.addItem(pg.InfiniteLine(limit, 0, pen=dashed), ignoreBounds=True)
        dotted = QPen(qcolor(self.theme.rule_strong), 0, Qt.PenStyle.DotLine)
        baseline = run.order_baseline.get(quantity, run.baseline.get(quantity))
        if baseline is not None:
            plot.addItem(pg.InfiniteLine(baseline, 0, pen=dotted), ignoreBounds=True)

    def _gap(self, plot: pg.PlotItem, begin: Instant, end: Instant, low: float, high: float) -> None:
        hatch = QGraphicsRectItem(QRectF(begin / SECOND, low, (end - begin) / SECOND, high - low))
        hatch.setPen(QPen(Qt.PenStyle.NoPen))
        brush = QBrush(qcolor(self.theme.hatch), Qt.BrushStyle.BDiagPattern)
        brush.setTransform(plot.vb.childGroup.sceneTransform().inverted()[0])
        hatch.setBrush(brush)
        hatch.setZValue(-10)
        plot.addItem(hatch, ignoreBounds=True)

    def _show_ends(self, past: Past) -> None:
        assert self._picture is not None
        picture = self._picture
        rows: list[_End] = []
        for plot, panel in zip(self.plots, picture.panels, strict=True):
            box = plot.vb.sceneBoundingRect()
            for place, spec in enumerate(panel.lines):
                line = self._line_of(past, spec, picture.now)
                lost = self._cursor is None and _is_lost(spec, line, picture)
                value = None if lost else _value_at(line, self._cursor)
                y = box.top() + box.height() * (place + 0.5) / len(panel.lines)
                rows.append(_End(y, spec, value if value is None else value * spec.per))
        at = words.clock(self._cursor, picture.zone) if self._cursor is not None else ""
        self.ends.show_rows(tuple(rows), at, picture.live, "--" if past.told or not picture.live else "")


#: A number as long as any that stands at a line's end.
_LONGEST = "−300"
#: A name over a number, one under the other.
_ROW_H = 38.0
#: Closer than this a name and its number stand on one line.
_CLOSE_H = 30.0


@dataclass(frozen=True, slots=True)
class _End:
    y: float
    spec: LineSpec
    value: float | None


class _Ends(QWidget):
    """Names and numbers at the lines' ends; with the crosshair, the numbers at its time."""

    def __init__(self, theme: Theme) -> None:
        super().__init__()
        self.theme = theme
        self.rows: tuple[_End, ...] = ()
        self.at = ""
        self.live = True
        self.none = ""
        self._least = ENDS_W
        self._specs: tuple[LineSpec, ...] = ()
        self.setFixedWidth(ENDS_W)

    def name(self, specs: tuple[LineSpec, ...]) -> None:
        """Have room for these names, before anything is drawn beside them."""
        self._specs = specs
        self.set_least(self._least)

    def set_least(self, width: int) -> None:
        """Be no narrower than this, and wider where a name is long in its language."""
        self._least = width
        wants = (
            min(text_width(name, SMALLEST_TEXT) for name in _names(spec)) + 24 + text_width(_LONGEST, 15, True)
            for spec in self._specs
        )
        self.setFixedWidth(round(max(width, *wants, 0.0)))

    def show_rows(self, rows: tuple[_End, ...], at: str, live: bool, none: str) -> None:
        """Show these; ``none``: what stands for a value that is not there."""
        if (rows, at, live, none) != (self.rows, self.at, self.live, self.none):
            self.rows, self.at, self.live, self.none = rows, at, live, none
            self.update()

    def spoken(self) -> Spoken:
        """Say whose numbers these are, and of when."""
        return Spoken(say("Trends"), value=self.at)

    def _closest(self) -> float:
        """Give how close two rows stand, in pixels."""
        places = [row.y for row in self.rows]
        return min((below - above for above, below in pairwise(places)), default=_ROW_H)

    def paintEvent(self, event: QPaintEvent) -> None:
        """Paint a dash sample, the name and the number of each series; smaller, then on one line, where close."""
        painter = QPainter(self)
        painter.fillRect(self.rect(), qcolor(self.theme.tile))
        closest = self._closest()
        for row in self.rows:
            if closest < _CLOSE_H:
                self._one_line(painter, row)
            else:
                self._two_lines(painter, row, 1.0 if closest >= _ROW_H else _CLOSE_H / _ROW_H)
        if self.at:
            draw_text(painter, 6, self.height() - 6, say("at {at}", at=self.at), 13, True, self.theme.focus)
        painter.end()

    def _two_lines(self, painter: QPainter, row: _End, k: float) -> None:
        self._dash(painter, row, QLineF(6, row.y - 12 * k, 26, row.y - 12 * k))
        name, px = _name_that_fits(row.spec, self.width() - 36, max(SMALLEST_TEXT, 13 * k))
        draw_text(painter, 32, row.y - 8 * k, name, px, False, self.theme.ink_2)
        base = row.y + 14 * k
        wide = draw_text(painter, 6, base, self._number(row), 20 * k, True, self.theme.ink)
        draw_text(painter, 10 + wide, base, CATALOGUE[row.spec.quantity].unit, 11, False, self.theme.ink_3)

    def _one_line(self, painter: QPainter, row: _End) -> None:
        """Without its unit, which stands among the numbers."""
        base, number = row.y + 5, self._number(row)
        self._dash(painter, row, QLineF(2, row.y, 12, row.y))
        right = self.width() - 2
        room = right - text_width(number, 15, True) - 6 - 15
        name, px = _name_that_fits(row.spec, room, 12)
        draw_text(painter, 15, base, name, px, False, self.theme.ink_2)
        draw_text(painter, right, base, number, 15, True, self.theme.ink, Align.RIGHT)

    def _number(self, row: _End) -> str:
        lost = row.value is None or (not self.live and not self.at)
        return self.none if lost or row.value is None else words.reading(row.spec.quantity, row.value)

    def _dash(self, painter: QPainter, row: _End, at: QLineF) -> None:
        style = pen(self.theme.series[row.spec.hue], 2)
        if row.spec.dash:
            style.setDashPattern([part / 2 for part in row.spec.dash])
        painter.setPen(style)
        painter.drawLine(at)


def _range_of(panel: PanelSpec, lines: list[Line]) -> tuple[float, float, bool]:
    """Give the panel's scale, widened where readings go beyond it; then it is its own and says so."""
    low, high = panel.scale
    ends: list[Floats] = [part for line in lines for part in (line.low, line.high, line.known)]
    values = np.concatenate(ends)
    values = values[~np.isnan(values)]
    if not values.size:
        return low, high, False
    lowest, highest = float(values.min()), float(values.max())
    own = lowest < low or highest > high
    pad = 0.05 * (high - low)
    return (
        min(low, lowest - pad if lowest < low else low),
        max(high, highest + pad if highest > high else high),
        own,
    )


def _is_lost(spec: LineSpec, line: Line, picture: TrendPicture) -> bool:
    """Tell whether a line's newest value is no number of now: too old, or with a gap after it."""
    read = np.flatnonzero(~np.isnan(line.known))
    width = int(line.at[1] - line.at[0])
    gap = bool(read.size) and picture.now - int(line.at[read[-1]]) > picture.least_gap_ms + width
    return gap or bool(picture.stale & set(parts_of(spec.quantity)))


def _value_at(line: Line, cursor: Instant | None) -> float | None:
    """Give the last value of the cursor's column, or the newest; a gap has none."""
    known = line.known
    if cursor is None:
        read = known[~np.isnan(known)]
        return float(read[-1]) if read.size else None
    place = line.place(cursor)
    value = float(known[place]) if 0 <= place < known.size else math.nan
    return None if math.isnan(value) else value


def _names(spec: LineSpec) -> tuple[str, ...]:
    """Give the name of a line, and one without its part where it is the oxygenator's."""
    short = _SHORT.get(spec.quantity)
    return (spec.label,) if short is None else (spec.label, say(short))


def _name_that_fits(spec: LineSpec, room: float, px: float) -> tuple[str, float]:
    """Give the first name of a line that has room, and its size."""
    for name in _names(spec):
        if text_width(name, SMALLEST_TEXT) <= room:
            return name, fit_text(name, room, px, smallest=SMALLEST_TEXT).px
    return name, SMALLEST_TEXT
