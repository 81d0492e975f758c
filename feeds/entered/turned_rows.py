"""Rows down columns; where all have no room at once, whole ones about that in focus, and it is said which stand.

Nothing is cut through and nothing scrolls under a hand: the rows turn when the focus goes on past the last of them.
"""

from collections.abc import Sequence

from PySide6.QtCore import QSize, Signal
from PySide6.QtGui import QResizeEvent
from PySide6.QtWidgets import QGridLayout, QLabel, QWidget

from shared.language.saying import say


class TurnedRows(QWidget):
    """Base of the two parts.

    Signals:
        turned: other rows stand there than before.

    Args:
        column: pixels that a row needs from left to right. most: columns.
        apart: pixels between rows.
    """

    turned = Signal()

    def __init__(self, parent: QWidget, column: float, most: int, apart: int) -> None:
        super().__init__(parent)
        self._column, self._most, self._apart = column, most, apart
        self._lines: tuple[QWidget, ...] = ()
        self._above: QLabel | None = None
        self._first, self._end = 0, 0
        self.grid = QGridLayout(self)
        self.grid.setContentsMargins(8, 2, 8, 2)
        self.grid.setHorizontalSpacing(14)
        self.grid.setVerticalSpacing(apart)

    def put_rows(self, rows: Sequence[QWidget], above: QLabel | None = None) -> None:
        """Take these in, below what stands ``above`` them over the whole width."""
        self._lines, self._above = tuple(rows), above
        self._lay()

    @property
    def rows_there(self) -> str:
        """Say which rows stand there; nothing where all do."""
        if self._end - self._first >= len(self._lines):
            return ""
        return say("{first} to {last} of {all}", first=self._first + 1, last=self._end, all=len(self._lines))

    def bring(self, number: int, focus: QWidget, top: bool = False) -> None:
        """Give the focus to a row (``focus``: what of it takes that), among those that stand there.

        ``top``: nothing stands above it, so that what it asks has room below.
        """
        here = self._first <= number < self._end
        if not here or (top and self.rows_there and self._first != number):
            step = self._end - self._first
            before = max(0, number - step + 2)
            self._first = number if top else before if number < self._first else max(0, number - 1)
            self._lay(focus, top)
        focus.setFocus()

    def minimumSizeHint(self) -> QSize:
        """As many rows stand there as have room: none of them asks for more of it."""
        return QSize(0, 0)

    def sizeHint(self) -> QSize:
        """The same: the rest of the form takes what it needs first."""
        return QSize(0, 0)

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Place as many as have room."""
        super().resizeEvent(event)
        self._lay()

    def _lay(self, focus: QWidget | None = None, top: bool = False) -> None:
        if not self._lines or self.height() < 1:
            return
        grid, count = self.grid, len(self._lines)
        begin = 0 if self._above is None else 1
        columns = max(1, min(self._most, int(self.width() // self._column)))
        if self._above is not None:
            grid.addWidget(self._above, 0, 0, 1, columns)
        head = 0 if self._above is None else self._above.heightForWidth(self.width() - 16) + self._apart
        each = max(row.sizeHint().height() for row in self._lines) + self._apart
        fits = max(1, int((self.height() - 4 - head + self._apart) // each))
        high, shown = -(-count // columns), count
        if high > fits:
            high, shown = fits, columns * fits
        before = (self._first, self._end)
        self._first = min(self._first, count - 1 if top else max(0, count - shown))
        self._end = min(count, self._first + shown)
        for number, row in enumerate(self._lines[self._first : self._end]):
            grid.addWidget(row, begin + number % high, number // high)
            row.show()
        if focus is not None:
            focus.setFocus()  # before any other row goes: the focus would fall on the next one
        for number, row in enumerate(self._lines):
            row.setHidden(not self._first <= number < self._end)
        for column in range(max(columns, grid.columnCount())):
            grid.setColumnStretch(column, int(column < columns))
        for line in range(max(begin + high + 1, grid.rowCount())):
            grid.setRowStretch(line, int(line == begin + high))
        if before != (self._first, self._end):
            self.turned.emit()
