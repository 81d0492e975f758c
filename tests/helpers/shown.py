"""What a person sees of a window: every text and mark with its place, its colour and the ground under it.

Words, places and colours come from what the window paints (`paint/noted.py`), grounds from the pixels that are
there afterwards: so a text that something lies over, or that is cut, is found out. Contrast is that of WCAG 2.1.
"""

from collections import Counter
from collections.abc import Callable, Iterable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
import pytest
from PySide6.QtCore import QPoint, QPointF, QRect, QRectF, Qt
from PySide6.QtGui import QFontMetricsF, QImage
from PySide6.QtWidgets import QApplication, QLabel, QLineEdit, QPushButton, QWidget

from monitor.desk.paint import text
from monitor.desk.paint.noted import seen_on
from shared.look.colour import channels, contrast
from shared.look.marks import Mark
from tests.helpers.painting import Picture
from tests.helpers.stacking import Stacking

#: A colour stands for a second ground under a text from this share of its box on.
_SECOND = 0.12
#: How far letters hang below the baseline, as a share of the font's size.
TAIL = 0.2
#: The deepest of B612, measured with Qt's own metrics: what is cut below is looked for as far as that.
_DEEPEST, _DEEP = 0.27, frozenset("gjpqy()")
_TAILED = frozenset("gjpqy,;()/")
#: What is neither ink nor ground nor a mixture of both lies so far from them, in steps of 255.
_FAR = 40.0


@dataclass(frozen=True)
class Seen:
    """A text or mark that a window shows.

    Attributes:
        what: the words, or the mark's name.
        box: in pixels of the window.
        ink: its colour, "#RRGGBB"; of a native widget as measured.
        grounds: what it stands on, the widest first, "#RRGGBB".
        inked: the share of its box, from left to right, over which its ink reaches: 1 for a text that is all there.
        whole: it lies inside its widget, and nothing lies over a part of it.
        owner: the widget's class, with the bed of a tile.
    """

    what: str
    is_mark: bool
    box: QRectF
    ink: str
    px: float
    bold: bool
    grounds: tuple[str, ...]
    inked: float
    whole: bool
    owner: str

    @property
    def contrast(self) -> float:
        """The least contrast of its ink to what it stands on."""
        return min((contrast(self.ink, one) for one in self.grounds), default=21.0)

    @property
    def with_tails(self) -> QRectF:
        """Its box with what hangs below a baseline."""
        has_tails = not self.is_mark and _TAILED.intersection(self.what)
        return self.box.adjusted(0, 0, 0, TAIL * self.px) if has_tails else self.box


@dataclass(frozen=True)
class Shown:
    """A window as it is shown. ``picture``: its pixels, ``ratio`` of them to a pixel of the window each way."""

    things: tuple[Seen, ...]
    picture: Picture
    ratio: float
    #: Texts that were broken into lines of which the first alone was painted.
    lost: tuple[str, ...] = ()

    def words(self) -> list[str]:
        """Give all texts."""
        return [one.what for one in self.things if not one.is_mark]

    def faint(self, words: float = 4.5, graphics: float = 3.0) -> list[str]:
        """Name what has less contrast than WCAG 2.1 asks for: 1.4.3 for texts, 1.4.11 for marks."""
        return [
            f"{one.owner}: {one.what!r} {one.ink} on {', '.join(one.grounds)}: {one.contrast:.2f}"
            for one in self.things
            if one.contrast < (graphics if one.is_mark else words)
        ]

    def cut(self) -> list[str]:
        """Name what is cut, covered in part, or not painted from end to end."""
        return [
            f"{one.owner}: {one.what!r} at {_numbers(one.box)}, {one.inked:.2f} of it"
            for one in self.things
            if not one.whole or one.inked < (0.7 if one.box.width() > 12 and not one.is_mark else 0.3)
        ] + [f"only the first line: {one!r}" for one in self.lost]

    def overlapping(self) -> list[str]:
        """Name texts and marks that stand on one another by more than a pixel each way."""
        boxes = [one.with_tails for one in self.things]
        sides = np.array([(box.left(), box.top(), box.right(), box.bottom()) for box in boxes]).reshape(-1, 4)
        least, most = sides[:, None, :2], sides[:, None, 2:]
        common = np.minimum(most, sides[None, :, 2:]) - np.maximum(least, sides[None, :, :2])
        pairs = np.argwhere(np.triu((common > 1).all(axis=2), 1))
        both = ((self.things[a], self.things[b]) for a, b in pairs)
        return [
            f"{a.owner}: {a.what!r} at {_numbers(a.box)} and {b.owner}: {b.what!r} at {_numbers(b.box)}"
            for a, b in both
        ]

    def small(self, least: float = 11.0, in_rungs: float = 10.5) -> list[str]:
        """Name texts under the least size of looks; 10.5 inside a rung."""
        return [
            f"{one.owner}: {one.what!r} {one.px}"
            for one in self.things
            if not one.is_mark and one.px < (in_rungs if _is_rung(one.owner) else least)
        ]


def _is_rung(owner: str) -> bool:
    """Whether a staff stands on this widget."""
    return owner.startswith(("TileWidget", "ResponsibilityCard"))


def look_at(
    window: QWidget, ratio: float = 1.0, alter: Callable[[Picture], Picture] = lambda picture: picture
) -> Shown:
    """Paint a window as a screen of so many pixels to a pixel does, and say what it shows.

    ``alter``: what else becomes of the pixels on their way to the eye.
    """
    application = QApplication.instance()
    assert application is not None
    application.processEvents()
    picture = alter(painted_at(window, ratio))
    things: list[Seen] = []
    with _lines_broken() as broken:
        things = _things(window, picture, ratio)
    painted = Counter(one.what for one in things)
    # what was broken more than once, to find its size, is lost where no breaking is there as a whole
    whole = {" ".join(lines) for lines in broken if all(painted[_plain(one)] for one in lines)}
    lost = tuple(
        dict.fromkeys(
            " / ".join(lines)
            for lines in broken
            if len(lines) > 1 and painted[_plain(lines[0])] and " ".join(lines) not in whole
        )
    )
    return Shown(tuple(things), picture, ratio, lost)


@contextmanager
def _lines_broken() -> Iterator[list[tuple[str, ...]]]:
    """Note every text that is broken into lines, with these."""
    found: list[tuple[str, ...]] = []
    usual = text._wrapped

    def noted(words: str, width: float, px: float, bold: bool, hyphens: bool = False) -> tuple[str, ...]:
        lines = usual(words, width, px, bold, hyphens)
        found.append(lines)
        return lines

    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(text, "_wrapped", noted)
        yield found


def _plain(words: str) -> str:
    return words.replace("\u00a0", " ")


def _things(window: QWidget, picture: Picture, ratio: float) -> list[Seen]:
    things: list[Seen] = []
    stacking = Stacking(window)
    for widget in (window, *window.findChildren(QWidget)):
        if not widget.isVisible() or widget.size().isEmpty():
            continue
        if isinstance(widget, QLabel | QPushButton | QLineEdit):
            things += _native(window, stacking, widget, picture, ratio)
        elif type(widget).__module__.startswith("monitor.") and type(widget).paintEvent is not QWidget.paintEvent:
            things += _own(window, stacking, widget, picture, ratio)
    return things


def painted_at(window: QWidget, ratio: float) -> Picture:
    """The window's pixels, RGB, uint8, rows by columns by 3, painted for a screen of this device pixel ratio."""
    image = QImage(window.size() * ratio, QImage.Format.Format_RGB32)
    image.setDevicePixelRatio(ratio)
    image.fill(Qt.GlobalColor.black)
    window.render(image, QPoint())
    raw = np.frombuffer(image.constBits(), np.uint8).reshape(image.height(), image.bytesPerLine() // 4, 4)
    return raw[:, : image.width(), 2::-1].copy()


def _own(window: QWidget, stacking: Stacking, widget: QWidget, picture: Picture, ratio: float) -> Iterable[Seen]:
    """What a widget paints by itself, where it can be seen."""
    at = QPointF(widget.mapTo(window, QPoint(0, 0)))
    for one in seen_on(widget):
        if one.box.isEmpty() or (isinstance(one.what, str) and not one.what.strip()):
            continue
        box = one.box.translated(at)
        share = stacking.uncovered(widget, box)
        if share == 0:
            continue
        is_deep = not isinstance(one.what, Mark) and _DEEP.intersection(one.what)
        all_of_it = one.box.adjusted(0, 0, 0, _DEEPEST * one.px) if is_deep else one.box
        inside = QRectF(widget.rect()).adjusted(-0.6, -0.6, 0.6, 0.6).contains(all_of_it)
        is_mark = isinstance(one.what, Mark)
        grounds, inked = _measured(picture, box, one.ink, ratio)
        what = one.what.value if isinstance(one.what, Mark) else _plain(one.what)
        whole = inside and share == 1
        yield Seen(what, is_mark, box, one.ink, one.px, one.bold, grounds, inked, whole, _name(widget))


def _native(window: QWidget, stacking: Stacking, widget: QWidget, picture: Picture, ratio: float) -> Iterable[Seen]:
    """A label, a button or a field: its ink is measured, since a style sheet has it."""
    words = widget.text().replace("&&", "&")  # type: ignore[attr-defined]
    box = QRectF(QRect(widget.mapTo(window, QPoint(0, 0)), widget.size()))
    if not words.strip() or stacking.uncovered(widget, box) == 0:
        return
    inner = widget.contentsRect() if isinstance(widget, QLabel) else widget.rect()
    metrics = QFontMetricsF(widget.font())
    flags = Qt.TextFlag.TextWordWrap if isinstance(widget, QLabel) and widget.wordWrap() else 0
    needed = metrics.boundingRect(QRectF(inner), int(flags), words)
    fits = needed.width() <= inner.width() + 1 and needed.height() <= inner.height() + 2
    parent = widget.parentWidget()
    inside = parent is None or parent.rect().contains(widget.geometry())
    inset = 1 if isinstance(widget, QLabel) else 4  # past the edge of a button
    ground, ink = _two_colours(picture, box.adjusted(inset, inset, -inset, -inset), ratio)
    whole = (fits or isinstance(widget, QLineEdit)) and inside
    px = widget.font().pixelSize()
    yield Seen(words, False, box, ink, px, widget.font().bold(), (ground,), 1.0, whole, _name(widget))


def _name(widget: QWidget) -> str:
    face = getattr(widget, "face", None)
    bed = getattr(face, "bed", "")
    return f"{type(widget).__name__} {bed}".rstrip()


def _pixels(picture: Picture, box: QRectF, ratio: float) -> Picture:
    top, bottom = (max(0, round(y * ratio)) for y in (box.top(), box.bottom()))
    left, right = (max(0, round(x * ratio)) for x in (box.left(), box.right()))
    return picture[top : bottom + 1, left : right + 1]


def _measured(picture: Picture, box: QRectF, ink: str, ratio: float) -> tuple[tuple[str, ...], float]:
    """The grounds of a text or mark, and over which share of its width its ink reaches."""
    part = _pixels(picture, box.adjusted(-2, -1, 2, 2), ratio)
    if part.size == 0:
        return (), 0.0
    flat = part.reshape(-1, 3).astype(float)
    of_ink = np.array([255 * one for one in channels(ink)])
    colours, counts = _counted(part)
    common = [one.astype(float) for one in colours[:12]]
    ground = next((one for one in common if np.abs(one - of_ink).sum() > 24), of_ink)
    along = _along(flat, ground, of_ink)
    found = [_hex(ground)]
    for one, count in zip(common, counts, strict=False):
        if count > _SECOND * len(flat) and _off(one, ground, of_ink) > _FAR:
            found.append(_hex(one))
    reach = (along.reshape(part.shape[:2]) > 0.35).any(axis=0)
    columns = np.flatnonzero(reach)
    wide = max(1.0, box.width() * ratio)
    share = (columns[-1] - columns[0] + 1) / wide if columns.size else 0.0
    return tuple(found), float(share)


def _along(flat: npt.NDArray[np.float64], ground: npt.NDArray[np.float64], ink: npt.NDArray[np.float64]) -> Picture:
    """How far each pixel is from the ground (0) to the ink (1); 0 for what is off that way."""
    way = ink - ground
    length = float(way @ way) or 1.0
    share = (flat - ground) @ way / length
    off = np.linalg.norm(flat - ground - share[:, None] * way, axis=1)
    found: Picture = np.where(off < _FAR, share, 0.0)
    return found


def _off(one: npt.NDArray[np.float64], ground: npt.NDArray[np.float64], ink: npt.NDArray[np.float64]) -> float:
    way = ink - ground
    share = float(np.clip((one - ground) @ way / (float(way @ way) or 1.0), 0, 1))
    return float(np.linalg.norm(one - ground - share * way))


def _two_colours(picture: Picture, box: QRectF, ratio: float) -> tuple[str, str]:
    """The ground of a native widget, and of its common colours that which stands out most from it."""
    part = _pixels(picture, box, ratio)
    if part.size == 0:
        return "#000000", "#FFFFFF"
    colours, _ = _counted(part)
    ground = _hex(colours[0])
    inks = [_hex(one) for one in colours]
    return ground, max(inks, key=lambda one: contrast(one, ground), default=ground)


def _counted(part: Picture) -> tuple[Picture, npt.NDArray[np.int64]]:
    """The colours of some pixels, the commonest first, and how often each is there."""
    flat = part.reshape(-1, 3).astype(np.uint32)
    packed, counts = np.unique(flat[:, 0] << 16 | flat[:, 1] << 8 | flat[:, 2], return_counts=True)
    packed, counts = packed[np.argsort(-counts)], np.sort(counts)[::-1]
    colours = np.stack([packed >> 16, packed >> 8 & 255, packed & 255], axis=1).astype(np.uint8)
    return colours, counts


def _hex(colour: npt.NDArray[np.generic]) -> str:
    return "#" + "".join(f"{round(float(one)):02X}" for one in colour)


def _numbers(box: QRectF) -> str:
    return f"{box.left():.0f},{box.top():.0f} {box.width():.0f}x{box.height():.0f}"
