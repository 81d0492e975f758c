"""The possible pattern, on a dashed card: signs for and against, what also fits, what would tell them apart."""

from datetime import tzinfo

from PySide6.QtCore import QPointF, QRectF, Qt
from PySide6.QtGui import QPainter, QPaintEvent, QPolygonF

from monitor.core.meaning.hint_view import HintView, SignView
from monitor.desk import words
from monitor.desk.bedpage.card import PAD, RADIUS
from monitor.desk.bedpage.turning import TURN_H, TurnedCard
from monitor.desk.paint.flow import TextFlow, high_of
from monitor.desk.paint.fonts import text_width
from monitor.desk.paint.pens import kept, outline_box, pen
from monitor.desk.palette import qcolor
from shared.instant import SECOND, Instant
from shared.language.saying import say, to_say
from shared.look.palette import Theme

CAUTION = to_say("Possible pattern. Check at the bed. Other causes are possible. This never changes a priority.")
_TITLE, _POSSIBLE = to_say("Possible pattern"), to_say("Possible: ")
NOTHING = to_say("No pattern is suggested. That is not evidence of safety: some patterns cannot be judged here.")
NOT_LIVE = to_say("Not live: no pattern can be suggested here. That is not evidence of safety.")
_TICK, _MORE, _CAUTION_PX = 18.0, 17.0, 11.0
#: So many signs a small page has room for before those left are counted.
_SIGNS_TOLD = 5
#: Below this an age says nothing.
AGE_FROM_MS = 30 * SECOND


class HintCard(TurnedCard):
    """The first hint in full, the next ones by name."""

    def __init__(self, theme: Theme) -> None:
        super().__init__(say(_TITLE), theme)
        self.hints: tuple[HintView, ...] = ()
        self.not_judged: tuple[str, ...] = ()
        self.without = say(NOTHING)
        #: What stands on the card, in order, as it was last painted.
        self.said: list[str] = []
        self._now: Instant = 0
        self._zone: tzinfo | None = None

    def show_hints(
        self,
        hints: tuple[HintView, ...],
        not_judged: tuple[str, ...],
        now: Instant,
        zone: tzinfo | None,
        live: bool = True,
    ) -> None:
        """Show hints, the likeliest first, as they stood at ``now``; none while the desk is not ``live``."""
        without = say(NOTHING) if live else say(NOT_LIVE)
        if (hints, not_judged, zone, without) != (self.hints, self.not_judged, self._zone, self.without) or (
            now != self._now
        ):
            self.hints, self.not_judged, self._now, self._zone = hints, not_judged, now, zone
            self.without = without
            self.aside = say("as of {hhmm}", hhmm=words.hhmm(now, zone)) if now else ""
            self.update()

    def paintEvent(self, event: QPaintEvent) -> None:
        """Paint the card, then its dashed edge."""
        named = self._named_in_title(self.width())
        self.title = f"{say(_POSSIBLE)}{self.hints[0].title}" if named else say(_TITLE)
        super().paintEvent(event)
        painter = QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        box = QRectF(self.rect()).adjusted(1, 1, -1, -1)
        outline_box(painter, box, RADIUS, pen(self.theme.rule_strong, 1.5, Qt.PenStyle.DashLine))
        painter.end()

    def wanted(self, width: float) -> float:
        """Give the height that shows everything, with the first signs; those left are counted."""
        room, px = width - 2 * PAD, self._px
        edges = self.top + high_of(say(CAUTION), room, 12) + 18
        if not self.hints:
            return (
                edges + high_of(self.without, room, px) + 6 + sum(high_of(one, room, 12) for one in self.not_judged)
            )
        hint = self.hints[0]
        signs = [self._sign_words(sign) for sign in (*hint.signs_for, *hint.signs_against)]
        told = signs if len(signs) <= _SIGNS_TOLD else signs[:_SIGNS_TOLD]
        more = _MORE if len(signs) > len(told) else 0
        named = self._named_in_title(width)
        title = 0 if named else high_of(hint.title, room, self._title_px, bold=True) + self._title_after
        below = sum(high_of(text, room, px) + 3 for text in _below(self.hints))
        return edges + title + below + more + sum(high_of(one, room - _TICK, px) + self._after for one in told) + 4

    def _named_in_title(self, width: float) -> bool:
        """Tell whether the title of a small card says which pattern, and that it is a possible one."""
        if not (self.dense and self.hints):
            return False
        words_ = f"{say(_POSSIBLE)}{self.hints[0].title}"
        return text_width(words_, 15, True) + text_width(self.aside, 12) + 12 <= width - 2 * PAD

    @property
    def _after(self) -> float:
        return 0 if self.dense else 2

    @property
    def _px(self) -> float:
        return 12 if self.dense else 13

    @property
    def _title_px(self) -> float:
        return 15 if self.dense else 18

    @property
    def _title_after(self) -> float:
        return 2 if self.dense else 4

    def paint_content(self, painter: QPainter) -> None:
        """Paint the hint, or that there is none; where that has no room, line by line."""
        if self.turns and self.dense and self.wanted(self.width()) > self.height():
            self._by_lines(painter)
            return
        self.shows(painter, 0, 0)
        theme = self.theme
        foot = TextFlow(painter, PAD, self.width() - PAD, 0, 1e6)
        floor = self.height() - 10 - foot.high(say(CAUTION), 12)
        if self.hints:
            self._hint(painter, self.hints, floor - 6)
        else:
            flow = TextFlow(painter, PAD, self.width() - PAD, self.top, floor - 6)
            flow.put(self.without, self._px, False, theme.ink_2, after=6)
            for text in self.not_judged:
                flow.put(text, 12, False, theme.ink_3)
            self.said = flow.said
        foot.y = floor
        foot.put(say(CAUTION), 12, False, theme.ink_2)

    def _by_lines(self, painter: QPainter) -> None:
        """All of it in lines of which some stand there; the caution stands below whatever is turned."""
        foot = TextFlow(painter, PAD, self.width() - PAD, 0, 1e6)
        high = foot.high(say(CAUTION), _CAUTION_PX)
        said = [(text, False) for text in (self.without, *self.not_judged)]
        if self.hints:
            hint = self.hints[0]
            signs = [(self._sign_words(sign), True) for sign in hint.signs_for]
            against = [
                (say("Against it: {sign}", sign=self._sign_words(sign)), False) for sign in hint.signs_against
            ]
            title = (
                () if self._named_in_title(self.width()) and not self.bare else (f"{say(_POSSIBLE)}{hint.title}",)
            )
            said = [
                *((one, True) for one in title),
                *signs,
                *against,
                *((one, False) for one in _below(self.hints)),
            ]
        foot.y = self.paint_lines(painter, said, high) + 2
        if self.is_turned:
            foot.y = self.height() - TURN_H - high
        foot.put(say(CAUTION), _CAUTION_PX, False, self.theme.ink_2)
        self.said = [text for text, _ in said]

    def _hint(self, painter: QPainter, hints: tuple[HintView, ...], floor: float) -> None:
        """Title and what tells apart stand whatever room there is; signs fill the rest, those left are counted."""
        hint, theme = hints[0], self.theme
        column = TextFlow(painter, PAD, self.width() - PAD, self.top, floor)
        if not self._named_in_title(self.width()):
            column.put(hint.title, self._title_px, True, theme.ink, after=self._title_after)
        below, px = _below(hints), self._px
        need = sum(column.high(text, px) + 3 for text in below)
        room = TextFlow(painter, PAD, self.width() - PAD, column.y, max(column.y, floor - need))
        signs = [(sign, True) for sign in hint.signs_for] + [(sign, False) for sign in hint.signs_against]
        for place, (sign, filled) in enumerate(signs):
            left = len(signs) - place
            text = self._sign_words(sign)
            last = (
                room.y + room.high(text, px, indent=_TICK) + self._after + (_MORE if left > 1 else 0) > room.bottom
            )
            if last:
                room.bottom = floor
                room.put(
                    say("and {left} more signs", left=left) if left > 1 else say("and 1 more sign"),
                    12,
                    False,
                    theme.ink_3,
                )
                break
            top = room.y
            room.put(text, px, False, theme.ink if filled else theme.ink_2, indent=_TICK, after=self._after)
            self._tick(painter, room.left + 6, top + 8, filled=filled)
        rest = TextFlow(painter, PAD, self.width() - PAD, room.y + 2, self.height())
        for text in below:
            rest.put(text, px, False, theme.ink, after=3)
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


def _below(hints: tuple[HintView, ...]) -> list[str]:
    """Give what stands below the signs, whatever room there is."""
    hint = hints[0]
    then = [say("Then: {title}", title="; ".join(one.title for one in hints[1:]))] if len(hints) > 1 else []
    return [
        say("Also fits: {also}", also="; ".join(hint.also)),
        *then,
        say("To tell apart: {apart}", apart=hint.apart),
    ]
