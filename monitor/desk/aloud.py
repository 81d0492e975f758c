"""What assistive technology is told of the widgets that paint themselves: the words that they paint, when it asks.

Nothing is kept current for it. Names, values and descriptions are made when they are asked for, so a desk to which
nothing listens spends nothing on them.
"""

from collections.abc import Callable, Iterable
from dataclasses import dataclass

from PySide6.QtCore import QObject
from PySide6.QtGui import QAccessible, QAccessibleEvent, QAccessibleInterface
from PySide6.QtWidgets import QAccessibleWidget, QWidget

from monitor.desk.paint.noted import Note, painted_on
from monitor.desk.rows_aloud import place_of, row_interface, rows_of
from shared.language.saying import say, to_say
from shared.look.marks import Mark, mark_of
from shared.look.need import NEED_WORD

_OURS = "monitor.desk."
NOT_LIVE = to_say("not live")
#: The marks that stand for a word which does not always stand beside them.
_WORDS = {mark_of(need): word for need, word in NEED_WORD.items()} | {Mark.AUDIO_PAUSED: to_say("sound paused")}
_BREAK = "\u00a0"


@dataclass(frozen=True, slots=True)
class Spoken:
    """A widget in words. ``focused``: what keys do is done here, though the window has Qt's focus.

    ``name``: or what gives it, where it must be painted to be known. ``description``: ``None`` for all that is
    painted.
    """

    name: str | Callable[[], str]
    value: str = ""
    description: str | None = None
    role: QAccessible.Role = QAccessible.Role.Grouping
    focused: bool = False


def install() -> None:
    """Let assistive technology ask every widget of the desk that paints itself."""
    QAccessible.installFactory(_interface)


def tell(widget: QWidget, event: QAccessible.Event) -> None:
    """Say that something changed, if anything listens."""
    if QAccessible.isActive():
        QAccessible.updateAccessibility(QAccessibleEvent(widget, event))


def said(notes: Iterable[Note]) -> list[str]:
    """Give what was painted as words: of marks those that stand for one, unless it stands beside it."""
    found: list[str] = []
    of_mark = ""
    for one in notes:
        word = say(_WORDS.get(one, "")) if isinstance(one, Mark) else plain(one)
        if not word or (word == of_mark and not isinstance(one, Mark)):
            continue
        found.append(word)
        of_mark = word if isinstance(one, Mark) else ""
    return found


def plain(text: str) -> str:
    """Give a text with plain spaces."""
    return text.replace(_BREAK, " ").strip()


def painted_words(widget: QWidget) -> str:
    """Give everything that a widget paints, as one text."""
    return " ".join(said(painted_on(widget)))


def _now(widget: QObject) -> Spoken:
    spoken: Callable[[], Spoken] | None = getattr(widget, "spoken", None)
    return spoken() if spoken is not None else Spoken("")


class _Aloud(QAccessibleWidget):
    """A widget as it is told. It keeps no widget alive."""

    def __init__(self, widget: QWidget) -> None:
        super().__init__(widget, _now(widget).role)

    def text(self, kind: QAccessible.Text) -> str:
        """Give name, value or description; of what is covered the name alone."""
        widget = self.object()
        if not isinstance(widget, QWidget):
            return ""
        spoken = _now(widget)
        if kind is QAccessible.Text.Name:
            return spoken.name if isinstance(spoken.name, str) else spoken.name()
        if kind not in (QAccessible.Text.Value, QAccessible.Text.Description):
            return super().text(kind)
        if not widget.isVisible() or _lies_over(widget, "hides"):
            return ""
        if kind is QAccessible.Text.Value:
            return spoken.value
        described = painted_words(widget) if spoken.description is None else spoken.description
        return f"{say(NOT_LIVE)}: {described}" if _lies_over(widget, "veils") else described

    def _rows(self) -> int:
        widget = self.object()
        if not isinstance(widget, QWidget) or not widget.isVisible() or _lies_over(widget, "hides"):
            return 0
        return len(rows_of(widget))

    def childCount(self) -> int:
        """Give how many rows it has, after the widgets in it."""
        return super().childCount() + self._rows()

    def child(self, index: int) -> QAccessibleInterface:
        """Give a widget in it, or a row."""
        place, widget = index - super().childCount(), self.object()
        if place < 0 or not isinstance(widget, QWidget) or place >= self._rows():
            return super().child(index)
        return row_interface(widget, place)

    def indexOfChild(self, child: QAccessibleInterface) -> int:
        """Give which of them something is."""
        widget = self.object()
        place = place_of(widget, child) if isinstance(widget, QWidget) else -1
        return super().childCount() + place if place >= 0 else super().indexOfChild(child)

    def state(self) -> QAccessible.State:
        """Give the state, with the focus that the desk moves by itself."""
        state = super().state()
        widget = self.object()
        if isinstance(widget, QWidget) and _now(widget).focused:
            state.focusable = state.focused = state.selectable = state.selected = True
        return state


def _interface(key: str, thing: QObject | None) -> QAccessibleInterface | None:
    """Make the interface of a widget of this desk that paints itself; Qt's own do well for the others."""
    if not isinstance(thing, QWidget) or not type(thing).__module__.startswith(_OURS):
        return None
    return _Aloud(thing) if type(thing).paintEvent is not QWidget.paintEvent else None


def _lies_over(widget: QWidget, what: str) -> bool:
    """Tell whether something that ``hides`` or ``veils`` lies over the middle of a widget."""
    window = widget.window()
    middle = widget.mapTo(window, widget.rect().center())
    return any(
        one.isVisible() and one is not widget and one.rect().contains(one.mapFrom(window, middle))
        for one in window.findChildren(QWidget)
        if getattr(one, what, False)
    )
