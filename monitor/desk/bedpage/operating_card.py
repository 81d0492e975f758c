"""The operating point of a run: the picture, and below it in words how the point lies and where curves are from."""

from datetime import tzinfo

from PySide6.QtCore import QRectF
from PySide6.QtGui import QPainter

from monitor.core.meaning.operating_view import Axes, OperatingView, UsualView
from monitor.desk import words
from monitor.desk.bedpage.card import PAD, Card
from monitor.desk.bedpage.operating_plot import Frame, draw_operating, frame_of
from monitor.desk.paint.text import Fitted, draw_text, fit_text, format_number
from shared.instant import Instant
from shared.language.saying import say, to_say
from shared.look.palette import Theme

_LINE, _PX = 15.0, 12.0
_LEAST_PLOT, _LEAST_DENSE = 130.0, 118.0
NOT_LIVE = to_say("Not live: no point of now")
NOTHING = to_say("Nothing known yet")


class OperatingCard(Card):
    """Where the pump works now and where it worked in the last four hours.

    Words that do not fit below the picture are left out from the end; the first, how the point lies, stays.
    """

    def __init__(self, theme: Theme) -> None:
        super().__init__(say("Operating point"), theme)
        self.view: OperatingView | None = None
        self._at: Instant = 0
        self._zone: tzinfo | None = None
        self._live = True

    def show_view(self, view: OperatingView | None, at: Instant, zone: tzinfo | None, live: bool = True) -> None:
        """Show a view that the hub made at ``at``; while the desk is not live there is no point of now."""
        shown = view if live or view is None else _without_now(view)
        if (shown, at, zone, live) != (self.view, self._at, self._zone, self._live):
            self.view, self._at, self._zone, self._live = shown, at, zone, live
            now = shown.now if shown is not None else None
            self.aside = words.clock(now.at, zone) if now is not None and now.at is not None else ""
            self.update()

    @property
    def frame(self) -> Frame | None:
        """Where the picture stands, and its scales; ``None`` without a view."""
        return frame_of(self.view, self._room(self._fitted()), dense=self.dense) if self.view is not None else None

    def lines(self) -> tuple[str, ...]:
        """Give the words below the picture, the most telling first."""
        view = self.view
        if view is None:
            return (say(NOTHING),)
        first = (view.why if self._live else say(NOT_LIVE), view.words, _point_words(view))
        more = (_least_words(view), _usual_words(view.usual, self._zone), _system_words(view))
        return tuple(line for line in (*first, *more) if line)

    def paint_content(self, painter: QPainter) -> None:
        """Paint picture and words."""
        fitted = self._fitted()
        frame = frame_of(self.view, self._room(fitted), dense=self.dense) if self.view is not None else None
        if frame is not None and self.view is not None:
            draw_operating(painter, frame, self.view, self._at, self.theme)
        base = self.height() - 8 - (_lines_in(fitted) - 1) * _LINE
        for number, one in enumerate(fitted):
            for line in one.lines:
                colour = self.theme.ink if number == 0 else self.theme.ink_2
                draw_text(painter, PAD, base, line, one.px, False, colour)
                base += _LINE

    def _fitted(self) -> list[Fitted]:
        """Give the words that leave the picture its least height."""
        room = self.height() - self.top - (_LEAST_DENSE if self.dense else _LEAST_PLOT) - 12
        taken: list[Fitted] = []
        for line in self.lines():
            one = fit_text(line, self.width() - 2 * PAD, _PX, False, smallest=_PX, most_lines=3)
            if taken and (_lines_in(taken) + len(one.lines)) * _LINE > room:
                break
            taken.append(one)
        return taken

    def _room(self, fitted: list[Fitted]) -> QRectF:
        below = _lines_in(fitted) * _LINE + 12
        return QRectF(PAD, self.top - 4, self.width() - 2 * PAD, self.height() - self.top - below + 4)


def _lines_in(fitted: list[Fitted]) -> int:
    return sum(len(one.lines) for one in fitted)


def _without_now(view: OperatingView) -> OperatingView:
    """What still stands while nothing is live: the trail and the own usual."""
    return OperatingView(axes=view.axes, trail=view.trail, usual=view.usual)


def _point_words(view: OperatingView) -> str:
    """Say the point in numbers where there is no head to speak of."""
    if view.now is None or view.axes is Axes.HEAD:
        return ""
    return say(
        "{format_number} L/min at {format_number2} rpm",
        format_number=format_number(view.now.y, 1),
        format_number2=format_number(view.now.x, 0),
    )


def _least_words(view: OperatingView) -> str:
    if view.least_speed is None:
        return ""
    return say(
        "Below {format_number} rpm blood would run back ({least_words})",
        format_number=format_number(view.least_speed, 0),
        least_words=view.least_words,
    )


def _usual_words(usual: UsualView | None, zone: tzinfo | None) -> str:
    if usual is None:
        return ""
    at = words.hhmm(usual.since, zone)
    return say(
        "Dashed: own usual since {by_order}",
        by_order=say("the order {at}", at=at) if usual.by_order else say("{at} (run or exchange)", at=at),
    )


def _system_words(view: OperatingView) -> str:
    return say("System: {system_words}", system_words=view.system_words) if view.system_words else ""
