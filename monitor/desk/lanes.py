"""A picture of two rehearsals: for every rule at a bed two lanes, A above B, on one time axis."""

from collections.abc import Sequence
from dataclasses import dataclass

from PySide6.QtCore import QLineF, QRectF
from PySide6.QtGui import QColor, QImage, QPainter

from monitor.analysis.annunciations import Annunciation
from monitor.desk.loadpage.grades import draw_key, paint_part
from monitor.desk.paint.pens import fill_box, kept, pen
from monitor.desk.paint.text import Align, draw_text, fit_text
from monitor.desk.palette import load_palette
from shared.instant import MINUTE, SECOND, Instant
from shared.language.saying import say, to_say
from shared.look.palette import Theme

WIDTH = 1600
_LEFT, _RIGHT, _TOP, _ROW, _LANE = 320.0, 40.0, 150.0, 46.0, 13.0
_MOST_ROWS = 60
_STEPS = (1, 2, 5, 10, 20, 30, 60, 120, 240, 720, 1440)
_CAUTION = to_say("Second look only. Limits and timers are settings, not advice. Rehearsed, not measured at a bed.")


@dataclass(frozen=True, slots=True)
class LanePicture:
    """What the picture shows: titles, both lists of alerts, and the stretch of time."""

    title: str
    names: tuple[str, str]
    alerts: tuple[Sequence[Annunciation], Sequence[Annunciation]]
    missing: frozenset[tuple[str, int, str]]
    begin: Instant
    end: Instant


def paint_lanes(picture: LanePicture) -> QImage:
    """Paint it by day. Needs a QGuiApplication."""
    theme = load_palette().day
    tags = _tags(picture)
    shown = tags[:_MOST_ROWS]
    image = QImage(WIDTH, int(_TOP + max(1, len(shown)) * _ROW + 70), QImage.Format.Format_RGB32)
    image.fill(QColor(theme.ground))
    painter = QPainter(image)
    try:
        _head(painter, picture, theme, len(tags) - len(shown))
        box = QRectF(_LEFT, _TOP, WIDTH - _LEFT - _RIGHT, max(1, len(shown)) * _ROW)
        fill_box(painter, QRectF(12, _TOP - 8, WIDTH - 24, box.height() + 16), 6, theme.tile)
        _axis(painter, picture, theme, box)
        for place, tag in enumerate(shown):
            _row(painter, picture, theme, tag, QRectF(box.left(), box.top() + place * _ROW, box.width(), _ROW))
        if not shown:
            words = say("Neither raises anything here. That is no evidence of safety.")
            draw_text(painter, box.center().x(), box.center().y() + 5, words, 15, False, theme.ink_2, Align.CENTRE)
    finally:
        painter.end()
    return image


def _tags(picture: LanePicture) -> list[tuple[str, int, str]]:
    alerts = sorted([*picture.alerts[0], *picture.alerts[1]], key=lambda alert: alert.at)
    found = list(dict.fromkeys(alert.tag for alert in alerts))
    return sorted(found, key=lambda tag: tag not in picture.missing)


def _head(painter: QPainter, picture: LanePicture, theme: Theme, left_out: int) -> None:
    draw_text(painter, 26, 38, picture.title, 20, True, theme.ink)
    for place, (letter, name) in enumerate(zip("AB", picture.names, strict=True)):
        draw_text(painter, 26, 66 + 22 * place, f"{letter}   {name}", 15, False, theme.ink)
    draw_key(painter, 26, 118, theme)
    more = say("   {left_out} more rules at beds are not shown.", left_out=left_out) if left_out else ""
    draw_text(painter, WIDTH - 26, 118, say(_CAUTION) + more, 13, False, theme.ink_2, Align.RIGHT)


def _axis(painter: QPainter, picture: LanePicture, theme: Theme, box: QRectF) -> None:
    minutes = (picture.end - picture.begin) / MINUTE
    step = next((step for step in _STEPS if minutes / step <= 12), _STEPS[-1]) * MINUTE
    at = picture.begin
    while at <= picture.end:
        x = _x(picture, box, at)
        with kept(painter, smooth=False):
            painter.setPen(pen(theme.rule, 1))
            painter.drawLine(QLineF(x, box.top() - 8, x, box.bottom() + 8))
        seconds = (at - picture.begin) // SECOND
        words = f"{seconds // 60}:{seconds % 60:02}"
        draw_text(painter, x, box.bottom() + 30, words, 13, False, theme.ink_2, Align.CENTRE)
        at += step


def _row(painter: QPainter, picture: LanePicture, theme: Theme, tag: tuple[str, int, str], box: QRectF) -> None:
    bed, _, rule = tag
    missing = tag in picture.missing
    name = f"{bed or say('Unit')}  {rule.replace('_', ' ')}"
    fitted = fit_text(name, _LEFT - 70, 15, missing, smallest=12)
    draw_text(painter, 26, box.top() + 18, fitted.lines[0], fitted.px, missing, theme.ink)
    if missing:
        draw_text(painter, 26, box.top() + 36, say("not raised by B, at least once"), 13, True, theme.ink)
    for place, alerts in enumerate(picture.alerts):
        y = box.top() + 5 + place * (_LANE + 5)
        draw_text(painter, _LEFT - 12, y + 11, "AB"[place], 13, False, theme.ink_2, Align.RIGHT)
        with kept(painter, smooth=False):
            painter.fillRect(QRectF(box.left(), y, box.width(), _LANE), QColor(theme.trough))
        for alert in alerts:
            if alert.tag == tag:
                left, right = _x(picture, box, alert.at), _x(picture, box, alert.ended_at or picture.end)
                part = QRectF(left, y, max(3.0, right - left), _LANE)
                paint_part(painter, part, alert.priority, theme)


def _x(picture: LanePicture, box: QRectF, at: Instant) -> float:
    return box.left() + box.width() * (at - picture.begin) / max(1, picture.end - picture.begin)
