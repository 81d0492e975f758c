"""A4 pages by Qt's PDF writer: head and cautions on every page, in mm. Ink alone: nothing is told by a colour."""

import errno
import math
import os
from collections.abc import Callable, Sequence
from contextlib import suppress
from functools import lru_cache
from pathlib import Path

from PySide6.QtCore import QMarginsF, QPointF, QRectF, Qt
from PySide6.QtGui import (
    QFont,
    QFontMetricsF,
    QGuiApplication,
    QPageSize,
    QPainter,
    QPainterPath,
    QPdfWriter,
    QPen,
    QPolygonF,
)

from monitor.core.drill import TEST, Drill
from monitor.core.point_marks import Marks, PointMark
from monitor.reports.in_language import on_paper
from shared.cautions import DRILL, LOCAL, NO_DEVICE, NO_EVIDENCE, SECOND_LOOK
from shared.errors import RecordError
from shared.language.saying import say

WIDE, HIGH, EDGE = 210.0, 297.0, 10.0
#: Where a page's own part begins and ends, mm from the top.
TOP, BOTTOM = 19.0, 284.0
#: Dots a mm.
_DOTS = 1200 / 25.4
#: From line to line of a hatch, mm.
_HATCH = 1.3
SMALL, PLAIN, HEAD = 2.3, 2.5, 4.2
#: How high the band of a drill is, at the head and at the foot of each page, and its mark across it; mm.
BAND, _MARK = 4.6, 66.0
#: So much of a page's edges printers may leave white, mm (common practice, no source): a band must not be there.
UNPRINTED = 4.5
#: What a PDF ends with, within so many bytes (ISO 32000-1, 7.5.5).
_END, _END_WITHIN = b"%%EOF", 1024
FAMILY = "DejaVu Sans Condensed"


def application() -> QGuiApplication:
    """Give the application that Qt's fonts need; without a screen it is one that draws into memory alone."""
    found = QGuiApplication.instance()
    if isinstance(found, QGuiApplication):
        return found
    os.environ.setdefault("QT_QPA_PLATFORM", "offscreen")
    return QGuiApplication(["weirkeeper"])


class Paper:
    """Pages being drawn, in mm. ``title`` and ``about`` stand at the head of each, the cautions at both ends.

    Pages of a ``drill`` have its band at both ends, and its mark across.
    """

    def __init__(
        self, painter: QPainter, writer: QPdfWriter, title: str, about: str, drill: Drill | None = None
    ) -> None:
        self.painter, self._writer, self._title, self._about, self._drill = painter, writer, title, about, drill
        self.number = 0
        if drill is not None:
            _draw_within_margins(painter)
        self.turn()

    def turn(self) -> None:
        """Begin a page."""
        if self.number:
            self._writer.newPage()
        self.number += 1
        if self._drill is not None:
            self._test(self._drill)
        self.text(EDGE, 12.5, on_paper(self._title), HEAD, bold=True)
        self.text(WIDE - EDGE, 12.5, on_paper(say("page {number}", number=self.number)), PLAIN, right=True)
        self.text(EDGE, 16.8, on_paper(self._about), PLAIN)
        self.text(EDGE, 8.0, on_paper(SECOND_LOOK), PLAIN, bold=True)
        self.line(EDGE, TOP - 1, WIDE - EDGE, TOP - 1, 0.3)
        self.text(EDGE, 288.0, f"{on_paper(NO_DEVICE)} {on_paper(NO_EVIDENCE)}", SMALL)
        self.text(EDGE, 291.5, on_paper(LOCAL), SMALL)

    def _test(self, drill: Drill) -> None:
        """Draw the bands of a drill, and its mark under what the page says."""
        words = f"{on_paper(DRILL)} {drill.title}"
        for top in (0.0, HIGH - BAND):
            self.hatch(0, top, WIDE, BAND)
            wide = width(words, PLAIN, bold=True) + 4
            box = QRectF((WIDE - wide) / 2 * _DOTS, top * _DOTS, wide * _DOTS, BAND * _DOTS)
            self.painter.fillRect(box, Qt.GlobalColor.white)
            self.text((WIDE - wide) / 2 + 2, top + 3.3, words, PLAIN, bold=True)
        letters = QPainterPath()
        letters.addText(QPointF(-width(TEST, _MARK, bold=True) * _DOTS / 2, 0), _font(_MARK, True), TEST)
        self.painter.save()
        self.painter.translate(WIDE / 2 * _DOTS, (HIGH / 2 + _MARK / 3) * _DOTS)
        self.painter.rotate(-52)
        self.painter.setPen(QPen(Qt.GlobalColor.lightGray, 0.4 * _DOTS))
        self.painter.drawPath(letters)
        self.painter.restore()

    def text(
        self,
        x: float,
        base: float,
        words: str,
        size: float,
        *,
        bold: bool = False,
        right: bool = False,
        room: float = math.inf,
    ) -> None:
        """Write a line; ``right``: it ends at ``x``. Longer words than have ``room``, mm, are written smaller."""
        if math.isfinite(room) and words:
            size *= min(1.0, room / width(words, size, bold))
        self.painter.setFont(_font(size, bold))
        if right:
            x -= width(words, size, bold)
        self.painter.drawText(QPointF(x * _DOTS, base * _DOTS), words)

    def line(self, x1: float, y1: float, x2: float, y2: float, wide: float = 0.15, *, dashed: bool = False) -> None:
        """Draw a line."""
        self.painter.setPen(_pen(wide, dashed))
        self.painter.drawLine(QPointF(x1 * _DOTS, y1 * _DOTS), QPointF(x2 * _DOTS, y2 * _DOTS))

    def path(self, points: Sequence[tuple[float, float]], wide: float = 0.3, *, dashed: bool = False) -> None:
        """Draw a line through points; one point alone is a dot."""
        self.painter.setPen(_pen(wide, dashed))
        if len(points) == 1:
            self.painter.drawPoint(QPointF(points[0][0] * _DOTS, points[0][1] * _DOTS))
        self.painter.drawPolyline(QPolygonF([QPointF(x * _DOTS, y * _DOTS) for x, y in points]))

    def dot(self, x: float, y: float, marks: Marks) -> None:
        """Draw a single reading: late is hollow, corrected ticked, unchecked underlined, doubtful a square."""
        radius = 0.4
        is_open = PointMark.LATE in marks or PointMark.DOUBTFUL in marks
        self.painter.setPen(_pen(0.15, False))
        self.painter.setBrush(Qt.GlobalColor.white if is_open else Qt.GlobalColor.black)
        box = QRectF((x - radius) * _DOTS, (y - radius) * _DOTS, 2 * radius * _DOTS, 2 * radius * _DOTS)
        if PointMark.DOUBTFUL in marks:
            self.painter.drawRect(box)
        else:
            self.painter.drawEllipse(box)
        self.painter.setBrush(Qt.BrushStyle.NoBrush)
        if PointMark.CORRECTED in marks:
            self.line(x, y - radius - 0.1, x, y - radius - 0.7, 0.2)
        if PointMark.UNCHECKED in marks:
            self.line(x - 0.6, y + radius + 0.25, x + 0.6, y + radius + 0.25, 0.2)

    def hatch(self, x: float, y: float, wide: float, high: float) -> None:
        """Fill a box with a hatch: nothing was read."""
        where = QRectF(x * _DOTS, y * _DOTS, wide * _DOTS, high * _DOTS)
        self.painter.save()
        self.painter.setClipRect(where)
        self.painter.setPen(_pen(0.06, False))
        at = (x - high) // _HATCH * _HATCH
        while at < x + wide:
            self.painter.drawLine(QPointF(at * _DOTS, (y + high) * _DOTS), QPointF((at + high) * _DOTS, y * _DOTS))
            at += _HATCH
        self.painter.restore()


def write_pdf(to: Path, title: str, about: str, draw: Callable[[Paper], None], drill: Drill | None = None) -> int:
    """Draw a PDF under a hidden name and put it in place with one rename; give how many pages it has.

    ``drill``: what it shows is of one.

    Raises:
        RecordError: the file cannot be written.
    """
    if not to.parent.is_dir():
        raise RecordError(f"{to} cannot be written: there is no folder {to.parent}")
    kept = application()
    half = to.with_name(f".{to.name}.half")
    try:
        half.touch()  # tells in words why it may not be: Qt does not
        pages = _drawn(half, title, about, draw, drill)
        with half.open("rb") as written:
            os.fsync(written.fileno())
            written.seek(-min(_END_WITHIN, half.stat().st_size), os.SEEK_END)
            if _END not in written.read():  # Qt does not tell that the disk was full
                raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))
        half.replace(to)
    except OSError as error:
        raise RecordError(f"{to} cannot be written: {error.strerror or error}") from error
    finally:
        with suppress(OSError):
            half.unlink(missing_ok=True)
    del kept
    return pages


def _drawn(half: Path, title: str, about: str, draw: Callable[[Paper], None], drill: Drill | None) -> int:
    writer = QPdfWriter(str(half))
    writer.setPageSize(QPageSize(QPageSize.PageSizeId.A4))
    writer.setPageMargins(QMarginsF(0, 0, 0, 0))
    writer.setResolution(1200)
    writer.setTitle(title)
    painter = QPainter()
    if not painter.begin(writer):
        raise OSError(errno.EACCES, "is it allowed there, and is there room on the disk?")
    try:
        paper = Paper(painter, writer, title, about, drill)
        draw(paper)
    finally:
        is_whole = painter.end()
    if not is_whole:
        raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))
    return paper.number


def _draw_within_margins(painter: QPainter) -> None:
    """Draw pages a little smaller from here on: few printers reach the edge of the paper, where a band is."""
    share = 1 - 2 * UNPRINTED / WIDE
    painter.translate(UNPRINTED * _DOTS, HIGH * (1 - share) / 2 * _DOTS)
    painter.scale(share, share)


def width(words: str, size: float, bold: bool = False) -> float:
    """Give the width of a line in mm."""
    return QFontMetricsF(_font(size, bold)).horizontalAdvance(words) / _DOTS


def wrapped(words: str, wide: float, size: float, bold: bool = False, marks: bool = True) -> tuple[str, ...]:
    """Say a text in the language of the paper, in lines that are not wider than ``wide`` mm."""
    return broken(on_paper(words, marks), wide, size, bold)


@lru_cache(maxsize=4096)
def broken(words: str, wide: float, size: float, bold: bool = False) -> tuple[str, ...]:
    """Break a text as it is. Kept: layouts are tried with the same words."""
    lines: list[str] = []
    for word in words.split(" "):
        longer = f"{lines[-1]} {word}" if lines else word
        if lines and width(longer, size, bold) <= wide:
            lines[-1] = longer
        else:
            lines.append(word)
    return tuple(lines)


@lru_cache(maxsize=16)
def _font(size: float, bold: bool) -> QFont:
    font = QFont()
    font.setFamilies([FAMILY, "DejaVu Sans"])
    font.setPixelSize(round(size * _DOTS))
    font.setBold(bold)
    return font


def _pen(wide: float, dashed: bool) -> QPen:
    pen = QPen(Qt.GlobalColor.black)
    pen.setWidthF(wide * _DOTS)
    pen.setCapStyle(Qt.PenCapStyle.RoundCap)
    if dashed:
        pen.setStyle(Qt.PenStyle.DashLine)
    return pen
