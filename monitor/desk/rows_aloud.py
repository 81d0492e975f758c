"""Rows of a painted list as assistive technology is told of them: each an element of its own, with its place.

A row is no widget, so Qt keeps no count of it: what was made for one list is used again for the next once the list
is gone, and nothing is made before something asks.
"""

from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import Protocol, cast, runtime_checkable

from PySide6.QtCore import QObject, QPoint, QRect, QRectF
from PySide6.QtGui import QAccessible, QAccessibleInterface, QWindow
from PySide6.QtWidgets import QWidget
from shiboken6 import isValid

from shared.language.saying import say


@dataclass(frozen=True, slots=True)
class SpokenRow:
    """A row in words. ``box``: in pixels of its list, empty where it is turned out of sight."""

    name: str
    value: str = ""
    box: QRectF = field(default_factory=QRectF)
    chosen: bool = False


@runtime_checkable
class HasRows(Protocol):
    """A widget that paints rows."""

    def spoken_rows(self) -> Sequence[SpokenRow]:
        """Give every row, in order, those out of sight too."""


class RowAloud(QAccessibleInterface):
    """One row of a list; it asks the list each time, so it is never of before."""

    def __init__(self) -> None:
        super().__init__()
        self._list: QWidget | None = None
        self._place = 0

    def stand_for(self, one: QWidget | None, place: int) -> None:
        """Be this row of this list; ``None``: of none, until it is used again."""
        self._list, self._place = one, place

    def _row(self) -> SpokenRow | None:
        rows = rows_of(self._list) if self._list is not None and isValid(self._list) else ()
        return rows[self._place] if self._place < len(rows) else None

    def isValid(self) -> bool:
        """Tell whether the row still is."""
        return self._row() is not None

    def object(self) -> QObject:
        """Give no object: a row is none."""
        return cast("QObject", None)

    def window(self) -> QWindow:
        """Give none: the list has it."""
        return cast("QWindow", None)

    def parent(self) -> QAccessibleInterface:
        """Give the list."""
        return QAccessible.queryAccessibleInterface(cast("QObject", self._list))

    def child(self, index: int) -> QAccessibleInterface:
        """Give none."""
        return cast("QAccessibleInterface", None)

    def childAt(self, x: int, y: int) -> QAccessibleInterface:
        """Give none."""
        return cast("QAccessibleInterface", None)

    def childCount(self) -> int:
        """Give none."""
        return 0

    def indexOfChild(self, child: QAccessibleInterface) -> int:
        """Find none."""
        return -1

    def rect(self) -> QRect:
        """Give its place on the screen."""
        row = self._row()
        if row is None or self._list is None or row.box.isEmpty():
            return QRect()
        return row.box.toAlignedRect().translated(self._list.mapToGlobal(QPoint(0, 0)))

    def role(self) -> QAccessible.Role:
        """Give what it is."""
        return QAccessible.Role.ListItem

    def state(self) -> QAccessible.State:
        """Say whether it is the one in focus, and whether it is in sight."""
        state, row = QAccessible.State(), self._row()
        if row is None:
            state.invalid = True
        else:
            state.selectable = state.focusable = True
            state.selected = state.focused = row.chosen
            state.offscreen = row.box.isEmpty()
        return state

    def text(self, kind: QAccessible.Text) -> str:
        """Give its name, its value, or which of how many it is."""
        row = self._row()
        if row is None or self._list is None:
            return ""
        if kind is QAccessible.Text.Name:
            return row.name
        if kind is QAccessible.Text.Value:
            return row.value
        if kind is QAccessible.Text.Description:
            return say("{place} of {count}", place=self._place + 1, count=len(rows_of(self._list)))
        return ""

    def setText(self, kind: QAccessible.Text, text: str) -> None:
        """Take nothing."""


def rows_of(one: QWidget) -> Sequence[SpokenRow]:
    """Give the rows of a widget; none of one that paints none."""
    return one.spoken_rows() if isinstance(one, HasRows) else ()


_spare: list[RowAloud] = []
_made: dict[int, list[RowAloud]] = {}


def row_interface(one: QWidget, place: int) -> RowAloud:
    """Give the interface of a row of a list, always the same one."""
    key = id(one)
    if key not in _made:
        _made[key] = []
        one.destroyed.connect(lambda: _let_go(key))
    made = _made[key]
    while len(made) <= place:
        row = _spare.pop() if _spare else RowAloud()
        row.stand_for(one, len(made))
        made.append(row)
    return made[place]


def place_of(one: QWidget, row: QAccessibleInterface) -> int:
    """Give which row of a list an interface is; -1: none of its."""
    return next((place for place, made in enumerate(_made.get(id(one), ())) if made is row), -1)


def _let_go(key: int) -> None:
    for row in _made.pop(key, []):
        row.stand_for(None, 0)
        _spare.append(row)
