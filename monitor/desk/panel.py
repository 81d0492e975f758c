"""The panel that asks: large buttons, each with its key; keyboard first. Nothing happens by hover or long press."""

from PySide6.QtCore import QEvent, QObject, QRect, Qt, QTimer
from PySide6.QtGui import QKeyEvent, QPainter, QPaintEvent
from PySide6.QtWidgets import QGridLayout, QLabel, QPushButton, QVBoxLayout, QWidget

from monitor.desk.paint.fonts import font
from monitor.desk.paint.pens import fill_box, kept, outline_box, pen
from monitor.desk.question import Choice, Question
from shared.look.palette import Theme
from shared.look.sizes import TILE_RADIUS

#: 20 mm on a panel of 0.277 mm a pixel: a gloved finger.
BUTTON_H = 72
BUTTON_W = 174
_APART, _HEADER = 14, 90


class Panel(QWidget):
    """Shows one question at a time over the board. Escape closes it without an answer; Enter does nothing."""

    def __init__(self, theme: Theme, parent: QWidget) -> None:
        super().__init__(parent)
        self._theme = theme
        self._question: Question | None = None
        self._page = 0
        self._beside = QRect()
        self._buttons: list[QPushButton] = []
        self._title, self._note = QLabel(self), QLabel(self)
        for label in (self._title, self._note):
            label.setWordWrap(True)
            label.setTextFormat(Qt.TextFormat.PlainText)
        self._grid = QGridLayout()
        self._grid.setSpacing(12)
        self._column = column = QVBoxLayout(self)
        column.setContentsMargins(24, 20, 24, 20)
        column.setSpacing(12)
        column.addWidget(self._title)
        column.addLayout(self._grid)
        column.addWidget(self._note)
        self._timer = QTimer(self)
        self._timer.setSingleShot(True)
        self._timer.timeout.connect(self._too_long)
        self.hide()
        parent.installEventFilter(self)

    @property
    def question(self) -> Question | None:
        """The question that is asked now."""
        return self._question

    def ask(self, question: Question) -> None:
        """Ask; a question that stands is replaced."""
        self._question, self._page = question, 0
        self._build()
        self._timer.stop()
        if question.otherwise is not None:
            self._timer.start(round(question.within_s * 1000))
        self.show()
        self.raise_()
        self.setFocus()

    def stand_beside(self, rect: QRect) -> None:
        """Keep away from a place of the window, as far as there is room: the tile that is answered."""
        self._beside = rect
        self._centre()

    def close_question(self) -> None:
        """Leave the question unanswered."""
        self._timer.stop()
        self._question = None
        self.hide()
        parent = self.parentWidget()
        if parent is not None:
            parent.setFocus()

    def set_theme(self, theme: Theme) -> None:
        """Change the colours."""
        self._theme = theme
        if self._question is not None:
            self._build()
        self.update()

    def choose(self, value: str) -> None:
        """Answer with a value."""
        question = self._question
        self.close_question()
        if question is not None:
            question.answer(value)

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """A choice's key answers; Escape leaves; every other key does nothing."""
        if self._question is None:
            return
        if event.key() == Qt.Key.Key_Escape:
            self.close_question()
            return
        pages = self._question.pages()
        if event.text() == "0" and len(pages) > 1:
            self._page = (self._page + 1) % len(pages)
            self._build()
            return
        for choice in pages[self._page]:
            if event.text() and event.text().lower() == choice.key:
                self.choose(choice.value)
                return

    def paintEvent(self, event: QPaintEvent) -> None:
        """Paint the ground of the panel."""
        painter = QPainter(self)
        try:
            with kept(painter):
                fill_box(painter, self.rect().toRectF(), TILE_RADIUS, self._theme.tile_raised)
                outline_box(painter, self.rect().toRectF(), TILE_RADIUS, pen(self._theme.focus, 3))
        finally:
            painter.end()

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:
        """Stay in the middle of the window."""
        if event.type() is QEvent.Type.Resize:
            self._centre()
        return False

    def _too_long(self) -> None:
        if self._question is not None and self._question.otherwise is not None:
            self.choose(self._question.otherwise)

    def _build(self) -> None:
        question = self._question
        assert question is not None
        for button in self._buttons:
            self._grid.removeWidget(button)
            button.hide()
            button.deleteLater()
        self._buttons = []
        theme, pages = self._theme, question.pages()
        self._title.setText(question.title)
        self._title.setFont(font(20, True))
        self._title.setStyleSheet(f"color: {theme.ink}")
        more = " · 0: more" if len(pages) > 1 else ""
        self._note.setText(f"{question.note}{more}" or "Escape: leave")
        self._note.setFont(font(14))
        self._note.setStyleSheet(f"color: {theme.ink_2}")
        columns = 4 if len(question.choices) > 6 else max(2, min(4, len(question.choices)))
        for place, choice in enumerate(pages[self._page]):
            button = self._button(choice)
            self._grid.addWidget(button, place // columns, place % columns)
            self._buttons.append(button)
        self._centre()

    def _button(self, choice: Choice) -> QPushButton:
        theme = self._theme
        button = QPushButton(f"{choice.key.upper()}   {choice.label}".replace("&", "&&"), self)
        button.setFocusPolicy(Qt.FocusPolicy.NoFocus)
        button.setMinimumSize(BUTTON_W, BUTTON_H)
        button.setFont(font(16, True))
        button.setStyleSheet(
            f"QPushButton {{ color: {theme.ink}; background: {theme.trough}; border: 1px solid {theme.rule_strong};"
            f" border-radius: 4px; padding: 0 12px; text-align: left; }}"
            f" QPushButton:pressed {{ background: {theme.state.held_plate}; }}"
        )
        button.clicked.connect(lambda: self.choose(choice.value))
        return button

    def _centre(self) -> None:
        parent = self.parentWidget()
        if parent is None or self._question is None:
            return
        self._column.activate()
        wide = min(parent.width() - 40, max(640, self.sizeHint().width()))
        high = min(parent.height() - 40, max(self.heightForWidth(wide), self.sizeHint().height()))
        beside, most = self._beside, parent.width() - wide - 20
        left = (
            min(max(20, beside.center().x() - wide // 2), most)
            if beside.isValid()
            else (parent.width() - wide) // 2
        )
        lowest = parent.height() - high - 44
        tops = [beside.top() - high - _APART, beside.bottom() + _APART] if beside.isValid() else []
        inside = [top for top in tops if _HEADER <= top <= lowest]
        rest = [max(20, (parent.height() - high) // 2), 20, max(20, lowest)]
        places = [QRect(left, top, wide, high) for top in (*inside, *rest)]
        self.setGeometry(min(places, key=lambda place: _area(place.intersected(beside))))


def _area(rect: QRect) -> int:
    return max(0, rect.width()) * max(0, rect.height())
