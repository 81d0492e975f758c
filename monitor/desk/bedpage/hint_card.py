"""The possible pattern, on a dashed card: signs for and against, what also fits, what would tell them apart."""

from datetime import tzinfo

from PySide6.QtCore import QPointF, QRectF, Qt
from PySide6.QtGui import QPainter, QPaintEvent, QPolygonF

from monitor.core.meaning.hint_view import HintView, SignView
from monitor.desk import words
from monitor.desk.bedpage.card import PAD, RADIUS, Card
from monitor.desk.paint.flow import TextFlow
from monitor.desk.paint.pens import kept, outline_box, pen
from monitor.desk.palette import qcolor
from shared.instant import SECOND, Instant
from shared.look.palette import Theme

CAUTION = "Possible pattern. Check at the bed. Other causes are possible. This never changes a priority."
NOTHING = "No pattern is suggested. That is not evidence of safety: some patterns cannot be judged here."
_TICK = 18.0
#: Below this an age says nothing.
AGE_FROM_MS = 30 * SECOND


class HintCard(Card):
    """The first hint in full, the next ones by name."""

    def __init__(self, theme: Theme) -> None:
        super().__init__("Possible pattern", theme)
        self.hints: tuple[HintView, ...] = ()
        self.not_judged: tuple[str, ...] = ()
        #: What stands on the card, in order, as it was last painted.
        self.said: list[str] = []
        self._now: Instant = 0
        self._zone: tzinfo | None = None

    def show_hints(
        self, hints: tuple[HintView, ...], not_judged: tuple[str, ...], now: Instant, zone: tzinfo | None
    ) -> None:
        """Show hints, the likeliest first, as they stood at ``now``."""
        if (hints, not_judged, zone) != (self.hints, self.not_judged, self._zone) or now != self._now:
            self.hints, self.not_judged, self._now, self._zone = hints, not_judged, now, zone
            self.aside = f"as of {words.hhmm(now, zone)}" if now else ""
            self.update()

    def paintEvent(self, event: QPaintEvent) -> None:
        """Paint the card, then its dashed edge."""
        super().paintEvent(event)
        painter = QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        box = QRectF(self.rect()).adjusted(1, 1, -1, -1)
        outline_box(painter, box, RADIUS, pen(self.theme.rule_strong, 1.5, Qt.PenStyle.DashLine))
        painter.end()

    def paint_content(self, painter: QPainter) -> None:
        """Paint the hint, or that there is none."""
        theme = self.theme
        foot = TextFlow(painter, PAD, self.width() - PAD, 0, 1e6)
        floor = self.height() - 10 - foot.high(CAUTION, 12)
        if self.hints:
            self._hint(painter, self.hints, floor - 6)
        else:
            flow = TextFlow(painter, PAD, self.width() - PAD, self.top, floor - 6)
            flow.put(NOTHING, 13, False, theme.ink_2, after=6)
            for text in self.not_judged:
                flow.put(text, 12, False, theme.ink_3)
            self.said = flow.said
        foot.y = floor
        foot.put(CAUTION, 12, False, theme.ink_2)

    def _hint(self, painter: QPainter, hints: tuple[HintView, ...], floor: float) -> None:
        """Title and what tells apart stand whatever room there is; signs fill the rest, those left are counted."""
        hint, theme = hints[0], self.theme
        column = TextFlow(painter, PAD, self.width() - PAD, self.top, floor)
        column.put(hint.title, 18, True, theme.ink, after=4)
        below = [f"Also fits: {'; '.join(hint.also)}", f"To tell apart: {hint.apart}"]
        if len(hints) > 1:
            below.insert(1, f"Then: {'; '.join(one.title for one in hints[1:])}")
        need = sum(column.high(text, 13) + 3 for text in below)
        room = TextFlow(painter, PAD, self.width() - PAD, column.y, max(column.y, floor - need))
        signs = [(sign, True) for sign in hint.signs_for] + [(sign, False) for sign in hint.signs_against]
        for place, (sign, filled) in enumerate(signs):
            left = len(signs) - place
            text = self._sign_words(sign)
            last = room.y + room.high(text, 13, indent=_TICK) + 2 + (18 if left > 1 else 0) > room.bottom
            if last:
                room.bottom = floor
                room.put(f"and {left} more signs" if left > 1 else "and 1 more sign", 12, False, theme.ink_3)
                break
            top = room.y
            room.put(text, 13, False, theme.ink if filled else theme.ink_2, indent=_TICK, after=2)
            self._tick(painter, room.left + 6, top + 8, filled=filled)
        rest = TextFlow(painter, PAD, self.width() - PAD, room.y + 2, self.height())
        for text in below:
            rest.put(text, 13, False, theme.ink, after=3)
        self.said = [*column.said, *room.said, *rest.said]

    def _sign_words(self, sign: SignView) -> str:
        """Say a sign with its value, and its age once that is worth saying."""
        text = sign.words
        if sign.value is not None and sign.quantity is not None:
            text += f": {words.reading(sign.quantity, sign.value)}"
        if sign.at is not None and self._now - sign.at >= AGE_FROM_MS:
            text += f", {words.age(self._now - sign.at)}"
        return text

    def _tick(self, painter: QPainter, x: float, y: float, *, filled: bool) -> None:
        """A filled square speaks for it, a hollow one against it."""
        shape = QPolygonF([QPointF(x, y - 5), QPointF(x + 5, y), QPointF(x, y + 5), QPointF(x - 5, y)])
        with kept(painter):
            painter.setPen(pen(self.theme.ink, 1.4))
            painter.setBrush(qcolor(self.theme.ink) if filled else Qt.BrushStyle.NoBrush)
            painter.drawPolygon(shape)
