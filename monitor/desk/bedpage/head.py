"""The head of a bed page: label, support and run, the need in words, freshness, the way back."""

from dataclasses import dataclass

from PySide6.QtCore import QRectF
from PySide6.QtGui import QPainter

from monitor.core.view import TileView
from monitor.desk.bedpage.card import PAD, Card
from monitor.desk.need import leading
from monitor.desk.paint.fonts import text_width
from monitor.desk.paint.marks import draw_mark
from monitor.desk.paint.plates import Ground, draw_mark_block, draw_need_plate
from monitor.desk.paint.text import Align, draw_text, fit_text
from monitor.desk.tile.face import Face, Plate
from shared.look.marks import Mark
from shared.look.palette import Theme
from shared.messages import Origin

HEAD_H = 78


@dataclass(frozen=True, slots=True)
class HeadFace:
    """Everything in the head; equal faces paint alike."""

    face: Face
    run_words: str
    episode_words: str
    judged: str
    source: str


_SOURCES = {
    Origin.SIMULATED: "SIMULATED",
    Origin.REPLAYED: "REPLAYED RECORDING",
    Origin.ENTERED: "ENTERED BY HAND",
    Origin.CONSOLE: "",
}


def head_face(face: Face, tile: TileView) -> HeadFace:
    """Give the head of a bed from its tile's face and view."""
    runs = ", ".join(run.description.run_id for run in tile.runs)
    lead = leading(tile)
    members = len(lead.alerts) if lead is not None else 0
    others = [alert.title for alert in lead.alerts if alert.id != lead.lead] if lead is not None else []
    words = f"Episode of {members}: with {', '.join(others)}" if members > 1 else ""
    judged = f"{tile.judged} of {tile.rules} rules judged" if tile.rules else "nothing is watched"
    source = _SOURCES[tile.origin] if tile.origin is not None else ""
    return HeadFace(face, runs, words, judged, source)


class Head(Card):
    """The painted head."""

    def __init__(self, theme: Theme) -> None:
        super().__init__("", theme)
        self.face: HeadFace | None = None

    def show_face(self, face: HeadFace) -> None:
        """Show a head."""
        if face != self.face:
            self.face = face
            self.update()

    def paint_content(self, painter: QPainter) -> None:
        """Paint the parts from left to right."""
        if self.face is None:
            return
        face, theme = self.face.face, self.theme
        end = draw_text(painter, PAD, 58, face.bed, 58, True, theme.ink) + PAD
        support_end = end + 18 + draw_text(painter, end + 18, 34, face.support, 15, False, theme.ink_2)
        if face.paused:
            draw_mark(painter, Mark.AUDIO_PAUSED, QRectF(support_end + 14, 20, 16, 16), theme.ink)
            support_end += 36 + draw_text(
                painter, support_end + 36, 34, f"Sound paused {face.paused}", 15, True, theme.ink
            )
        if face.off:
            off = f"Off support {face.off}"
            support_end += 14 + draw_text(painter, support_end + 14, 34, off, 20, True, theme.ink)
        who = " · ".join(part for part in (face.who, self.face.run_words) if part)
        draw_text(painter, end + 18, 58, who, 15, False, theme.ink_2)
        right = self.width() - PAD
        draw_text(painter, right, 34, "Board  Esc", 15, False, theme.ink_2, Align.RIGHT)
        draw_text(painter, right, 58, "Page Up, Page Down: other beds", 13, False, theme.ink_3, Align.RIGHT)
        fresh_right = right - text_width("Page Up, Page Down: other beds", 13) - 34
        fresh = " · ".join(part for part in (self.face.source, face.fresh) if part)
        draw_text(painter, fresh_right, 34, fresh, 15, face.fresh_bold, theme.ink, Align.RIGHT)
        draw_text(painter, fresh_right, 58, self.face.judged, 13, False, theme.ink_2, Align.RIGHT)
        left = max(end + 250, self.width() * 0.27, support_end + 16)
        edge = fresh_right - max(text_width(self.face.judged, 13), text_width(fresh, 15, face.fresh_bold)) - 24
        self._need(painter, QRectF(left, 10, max(120, edge - left), HEAD_H - 20))

    def _need(self, painter: QPainter, box: QRectF) -> None:
        assert self.face is not None
        need, theme = self.face.face.need, self.theme
        if need.need is not None and need.plate is not Plate.LINE:
            draw_need_plate(painter, box, need.need, need.held, theme)
        block = QRectF(box.left() + 8, box.top() + 8, box.height() - 16, box.height() - 16)
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
        since = need.since
        draw_text(painter, box.right() - 12, box.top() + 34, since, 20, True, theme.ink, Align.RIGHT)
        room = box.width() - block.width() - 40 - text_width(since, 20, True)
        title = fit_text(need.title, room, 20, bool(need.need), smallest=13, most_lines=1)
        one_line = not self.face.episode_words
        base = box.top() + (36 if one_line else 26)
        draw_text(painter, block.right() + 12, base, title.lines[0], title.px, bool(need.need), theme.ink)
        if not one_line:
            words = fit_text(self.face.episode_words, room, 13, False, smallest=11, most_lines=1)
            draw_text(painter, block.right() + 12, box.top() + 48, words.lines[0], words.px, False, theme.ink)
