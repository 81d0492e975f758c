"""The head of a bed page: label, support and run, the need in words, freshness, the way back."""

from dataclasses import dataclass

from PySide6.QtCore import QRectF
from PySide6.QtGui import QMouseEvent, QPainter

from monitor.core.view import TileView
from monitor.desk import words
from monitor.desk.aloud import Spoken
from monitor.desk.bedpage.card import PAD, Card
from monitor.desk.need import leading
from monitor.desk.paint.fonts import text_width
from monitor.desk.paint.marks import draw_mark
from monitor.desk.paint.plates import Ground, draw_mark_block, draw_need_plate
from monitor.desk.paint.text import Align, draw_text, fit_text
from monitor.desk.pressed import press
from monitor.desk.store import Store
from monitor.desk.tile.face import Face, Plate
from monitor.desk.tile.moment import Moment
from shared.language.saying import say, to_say
from shared.look.marks import Mark
from shared.look.palette import Theme
from shared.look.sizes import SMALLEST_TEXT
from shared.messages import Origin

HEAD_H = 78
_ALSO_PX = (13.0, 12.0, 11.0)
#: A head narrower than this leaves out the run's name.
_NARROW_BELOW = 1_100


@dataclass(frozen=True, slots=True)
class HeadFace:
    """Everything in the head; equal faces paint alike. ``also``: what joined the leading need."""

    face: Face
    run_words: str
    also: tuple[str, ...]
    judged: str
    source: str


_SOURCES = {
    Origin.SIMULATED: to_say("SIMULATED"),
    Origin.REPLAYED: to_say("REPLAYED RECORDING"),
    Origin.ENTERED: to_say("ENTERED BY HAND"),
    Origin.CONSOLE: "",
}


def head_face(face: Face, tile: TileView, store: Store, moment: Moment) -> HeadFace:
    """Give the head of a bed from its tile's face and view."""
    runs = ", ".join(run.description.run_id for run in tile.runs)
    lead = leading(tile)
    others = tuple(alert.title for alert in lead.alerts if alert.id != lead.lead) if lead is not None else ()
    judged = (
        say("{judged} of {rules} rules judged", judged=tile.judged, rules=tile.rules)
        if tile.rules
        else say("nothing is watched")
    )
    if moment.veiled:
        judged = say("as it stood at {clock}", clock=words.clock(store.clock.last_word, moment.zone))
    source = say(_SOURCES[tile.origin]) if tile.origin is not None else ""
    return HeadFace(face, runs, others, judged, source)


class Head(Card):
    """The painted head."""

    def __init__(self, theme: Theme) -> None:
        super().__init__("", theme)
        self.face: HeadFace | None = None
        #: The plate goes before everything beside it.
        self.slim = False

    def show_face(self, face: HeadFace) -> None:
        """Show a head."""
        if face != self.face:
            self.face = face
            self.update()

    def spoken(self) -> Spoken:
        """Give the bed; what is read is all that stands here."""
        return Spoken(say("Bed {bed}", bed=self.face.face.bed) if self.face is not None else "")

    def paint_content(self, painter: QPainter) -> None:
        """Paint the parts from left to right."""
        if self.face is None:
            return
        if self.slim:
            self._paint_slim(painter)
            return
        face, theme = self.face.face, self.theme
        upper, lower, label, label_px = (20, 40, 41, 45) if self.dense else (34, 58, 58, 58)
        end = draw_text(painter, PAD, label, face.bed, label_px, True, theme.ink) + PAD
        support_end = end + 18 + draw_text(painter, end + 18, upper, face.support, 15, False, theme.ink_2)
        if face.paused:
            draw_mark(painter, Mark.AUDIO_PAUSED, QRectF(support_end + 14, upper - 14, 16, 16), theme.ink)
            support_end += 36 + draw_text(
                painter,
                support_end + 36,
                upper,
                say("Sound paused {paused}", paused=face.paused),
                15,
                True,
                theme.ink,
            )
        if face.off:
            off = say("Off support {off}", off=face.off)
            support_end += 14 + draw_text(painter, support_end + 14, upper, off, 20, True, theme.ink)
        narrow = self.width() < _NARROW_BELOW
        who = " · ".join(part for part in (face.who, "" if narrow else self.face.run_words) if part)
        who_end = end + 18 + draw_text(painter, end + 18, lower, who, 15, False, theme.ink_2)
        right = self.width() - PAD
        draw_text(painter, right, upper, say("Back  Esc"), 15, False, theme.ink_2, Align.RIGHT)
        others = self._others()
        draw_text(painter, right, lower, others, 13, False, theme.ink_3, Align.RIGHT)
        fresh_right = right - text_width(others, 13) - (16 if narrow else 34)
        fresh = " · ".join(part for part in (self.face.source, face.fresh) if part)
        draw_text(painter, fresh_right, upper, fresh, 15, face.fresh_bold, theme.ink, Align.RIGHT)
        draw_text(painter, fresh_right, lower, self.face.judged, 13, False, theme.ink_2, Align.RIGHT)
        left = max(
            end + (90 if narrow else 190 if self.dense else 250),
            self.width() * (0.19 if self.dense else 0.27),
            support_end + 16,
            who_end + 16,
        )
        edge = fresh_right - max(text_width(self.face.judged, 13), text_width(fresh, 15, face.fresh_bold)) - 24
        inset = 5 if self.dense else 10
        self._need(painter, QRectF(left, inset, max(120, edge - left), self.height() - 2 * inset))

    def _paint_slim(self, painter: QPainter) -> None:
        """Two lines at the left and at the right; how many rules are judged where the need's title has its room."""
        assert self.face is not None
        face, theme, upper, lower = self.face.face, self.theme, 20, 40
        left = draw_text(painter, PAD, 41, face.bed, 45, True, theme.ink) + PAD + 12
        off = say("Off support {off}", off=face.off) if face.off else ""
        paused = say("Sound paused {paused}", paused=face.paused) if face.paused else ""
        ends = [
            left
            + draw_text(painter, left, upper, off or face.support, 14, bool(off), theme.ink if off else theme.ink_2)
        ]
        if paused:
            draw_mark(painter, Mark.AUDIO_PAUSED, QRectF(left, lower - 12, 14, 14), theme.ink)
        inset = 18 if paused else 0
        who = fit_text(paused or face.who, 150, 14, bool(paused), smallest=SMALLEST_TEXT)
        ends.append(
            left + inset + draw_text(painter, left + inset, lower, who.lines[0], who.px, bool(paused), theme.ink)
        )
        right = float(self.width() - PAD)
        fresh = " · ".join(part for part in (self.face.source, face.fresh) if part)
        begins = [
            right - draw_text(painter, right, upper, say("Back  Esc"), 14, False, theme.ink_2, Align.RIGHT),
            right - draw_text(painter, right, lower, fresh, 14, face.fresh_bold, theme.ink, Align.RIGHT),
        ]
        box = QRectF(max(ends) + 12, 5, min(begins) - max(ends) - 24, self.height() - 10)
        judged = text_width(self.face.judged, SMALLEST_TEXT) + 12
        title = text_width(face.need.title, 15, True) + text_width(face.need.since, 20, True) + 90
        less = max(0.0, box.right() + 12 - (begins[0] - judged))
        if box.width() - less >= title:
            base, ink = float(upper), theme.ink_2
            draw_text(painter, begins[0] - 12, base, self.face.judged, SMALLEST_TEXT, False, ink, Align.RIGHT)
            box.setWidth(box.width() - less)
        self._need(painter, box)

    def mousePressEvent(self, event: QMouseEvent) -> None:
        """Take a press on what leads away as its key: back, and the bed before or after."""
        wide, at = text_width(self._others(), 13), event.position()
        left = self.width() - PAD - wide
        if at.x() < left or (self.slim and at.y() >= self.height() / 2):
            event.ignore()
        elif at.y() < self.height() / 2:
            press(self, "esc")
        else:
            press(self, "page up" if at.x() < left + wide / 3 else "page down")

    def _others(self) -> str:
        return say("Page Up, Down") if self.width() < _NARROW_BELOW else say("Page Up, Page Down: other beds")

    def _need(self, painter: QPainter, box: QRectF) -> None:
        assert self.face is not None
        need, theme = self.face.face.need, self.theme
        if need.need is not None and need.plate is not Plate.LINE:
            draw_need_plate(painter, box, need.need, need.held, theme)
        inset = 4 if self.dense else 8
        block = QRectF(box.left() + 8, box.top() + inset, box.height() - 2 * inset, box.height() - 2 * inset)
        if (
            need.need is not None
            and need.plate is not Plate.NONE
            and need.plate is not Plate.LINE
            and not need.held
        ):
            draw_mark_block(painter, block, need.need, Ground.PALE, theme)
        elif need.mark is not None:
            if need.hue is not None:
                colour = theme.state[need.hue]
            else:
                colour = theme.priority[need.need] if need.need is not None else theme.ink
            side = min(block.width(), 30)
            centre = block.center()
            at = QRectF(centre.x() - side / 2, centre.y() - side / 2, side, side)
            draw_mark(painter, need.mark, at, colour)
        since, middle = need.since, box.center().y()
        draw_text(painter, box.right() - 12, middle + 7, since, 20, True, theme.ink, Align.RIGHT)
        room = box.width() - block.width() - 40 - text_width(since, 20, True)
        title = fit_text(need.title, room, 17 if self.dense else 20, bool(need.need), smallest=13, most_lines=1)
        also = also_words(self.face.also, room)
        base = middle + (7 if not also else -2 if self.dense else -3)
        draw_text(painter, block.right() + 12, base, title.lines[0], title.px, bool(need.need), theme.ink)
        if also:
            px = _also_px(also, room)
            draw_text(painter, block.right() + 12, middle + (14 if self.dense else 19), also, px, False, theme.ink)


def also_words(titles: tuple[str, ...], room: float) -> str:
    """Say what belongs to the episode besides its title: as many of it as fit, and how many more there are."""
    for told in range(len(titles), 0, -1):
        more = say(" and {count} more", count=len(titles) - told) if told < len(titles) else ""
        said = say(
            "Episode of {count}: with {titles}{more}",
            count=len(titles) + 1,
            titles="; ".join(titles[:told]),
            more=more,
        )
        if text_width(said, _ALSO_PX[-1]) <= room:
            return said
    return say("Episode of {count}", count=len(titles) + 1) if titles else ""


def _also_px(words: str, room: float) -> float:
    return next((px for px in _ALSO_PX if text_width(words, px) <= room), _ALSO_PX[-1])
