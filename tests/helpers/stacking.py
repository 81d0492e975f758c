"""Which widget of a window lies over which, worked out once for as long as nothing moves."""

from PySide6.QtCore import QPoint, QRect, QRectF, Qt
from PySide6.QtWidgets import QWidget

from monitor.desk.key_map import KeyMap
from monitor.desk.panel import Panel

#: Sheets that lie over everything else on purpose, while they are open.
_OVER_ALL = (Panel, KeyMap)


class Stacking:
    """The visible widgets of a window, topmost first, each with what its ancestors leave of it."""

    def __init__(self, window: QWidget) -> None:
        self._window = window
        self._found: list[tuple[QWidget, QRect, bool]] = []
        self._add(window, window.rect(), QPoint(0, 0))
        self._found.append((window, window.rect(), False))
        self._places = {widget: place for widget, place, _ in self._found}
        self._sheets = [(one, place) for one, place, _ in self._found if _hides(one)]

    def _add(self, parent: QWidget, seen: QRect, at: QPoint) -> None:
        for child in reversed([one for one in parent.children() if isinstance(one, QWidget)]):
            place = child.geometry().translated(at)
            if child.isVisible() and not child.isWindow() and place.intersects(seen):
                self._add(child, place & seen, place.topLeft())
                self._found.append((child, place & seen, _is_seen_through(child)))

    def uncovered(self, widget: QWidget, box: QRectF) -> float:
        """How much of a box of the window its widget shows: 1, 0, or between where something lies over a part.

        What is veiled counts as shown: it is there to be seen through.
        """
        inner = box.adjusted(1, 1, -1, -1).toRect()
        for over, place in self._sheets:
            near = place.adjusted(-3, -3, 3, 3).intersects(inner)
            if near and over is not widget and not over.isAncestorOf(widget):
                return 0
        corners = (inner.topLeft(), inner.topRight(), inner.bottomLeft(), inner.bottomRight(), inner.center())
        return sum(self._is_on_top(widget, corner) for corner in corners) / len(corners)

    def _is_on_top(self, widget: QWidget, at: QPoint) -> bool:
        if self._window.rect().contains(at):
            for over, place, through in self._found:
                if place.contains(at):
                    if over is widget:
                        return True
                    if not through:
                        break
        return not widget.rect().contains(widget.mapFrom(self._window, at))


def _is_seen_through(widget: QWidget) -> bool:
    return bool(getattr(widget, "veils", False)) or widget.testAttribute(
        Qt.WidgetAttribute.WA_TransparentForMouseEvents
    )


def _hides(widget: QWidget) -> bool:
    return isinstance(widget, _OVER_ALL) or bool(getattr(widget, "hides", False))
