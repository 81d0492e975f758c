"""The panel that asks: large buttons, each with its key, or a field. Keyboard first; no hover, no long press."""

from collections.abc import Callable
from datetime import tzinfo
from functools import partial

from PySide6.QtCore import QEvent, QObject, QRect, Qt, QTimer, Signal
from PySide6.QtGui import QAccessible, QKeyEvent, QPainter, QPaintEvent
from PySide6.QtWidgets import QGridLayout, QHBoxLayout, QLabel, QPushButton, QVBoxLayout, QWidget

from monitor.desk import words
from monitor.desk.aloud import Spoken, tell
from monitor.desk.paint.fonts import font, text_width
from monitor.desk.paint.pens import fill_box, kept, outline_box, pen
from monitor.desk.paint.text import fit_text
from monitor.desk.panel_field import FieldBox
from monitor.desk.question import PAGE, Choice, Question
from monitor.desk.typed import Refused
from shared.language.saying import say, to_say
from shared.look.palette import Theme
from shared.look.screen import here
from shared.look.sizes import SLIM_BELOW, TILE_RADIUS

BUTTON_W = 174
NOT_SENT = to_say("Not live: nothing was sent. Telephone. What stands here is kept; Escape leaves.")
_APART, _HEADER, _FOOT, _SLIM_FOOT = 14, 90, 44, 60
_PAD_X, _PAD_Y, _SPACE, _TITLE_H = 24, 20, 12, 26
_ENTER = (Qt.Key.Key_Return, Qt.Key.Key_Enter)


class Panel(QWidget):
    """Shows one question at a time over the board. Escape leaves it unanswered; Enter confirms what is typed.

    Args:
        live: whether something can be sent now. While not, a question that keeps stays open.
        zone: where written clock times are.

    Signals:
        used: a key was pressed.
    """

    used = Signal()

    def __init__(
        self,
        theme: Theme,
        parent: QWidget,
        live: Callable[[], bool] = lambda: True,
        zone: tzinfo | None = None,
    ) -> None:
        super().__init__(parent)
        self._theme = theme
        self._live = live
        self._zone = zone
        self._question: Question | None = None
        #: The unit that is asked about, where several are watched: beds of two may have the same label.
        self.of = ""
        self._usual_note = ""
        self._page = 0
        self._typed = ""
        self._beside, self._top = QRect(), _HEADER
        self._buttons: list[QPushButton] = []
        self.field: FieldBox | None = None
        self._title, self._note = QLabel(self), QLabel(self)
        for label in (self._title, self._note):
            label.setWordWrap(True)
            label.setTextFormat(Qt.TextFormat.PlainText)
        self._grid = QGridLayout()
        self._grid.setSpacing(_SPACE)
        self._field_place, self._foot = QVBoxLayout(), QHBoxLayout()
        self._go, self._leave = self._foot_button(self._confirm), self._foot_button(self.close_question)
        self._foot.addWidget(self._note, 1)
        self._foot.addWidget(self._go)
        self._foot.addWidget(self._leave)
        self._column = column = QVBoxLayout(self)
        column.setContentsMargins(_PAD_X, _PAD_Y, _PAD_X, _PAD_Y)
        column.setSpacing(_SPACE)
        column.addWidget(self._title)
        column.addLayout(self._field_place)
        column.addLayout(self._grid)
        column.addLayout(self._foot)
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
        self._question, self._page, self._typed = question, 0, ""
        self._drop_field()
        asked = question.number or question.words or question.secret
        if asked is not None:
            self.field = FieldBox(asked, self._theme, self._heed)
            self._field_place.addWidget(self.field)
            self.field.show()
        self._build()
        self._timer.stop()
        if question.otherwise is not None:
            self._timer.start(round(question.within_s * 1000))
        self.show()
        self.raise_()
        self.take_focus()

    def take_focus(self) -> None:
        """Let keys come here."""
        (self.field.edit if self.field is not None else self).setFocus()

    def stand_beside(self, rect: QRect, top: int = _HEADER) -> None:
        """Keep away from a place of the window, the tile that is answered, and from what stands above ``top``.

        Both as far as there is room: the list of needs stands above, and it is read while a question is open.
        """
        self._beside, self._top = rect, top
        self._centre()

    def show_live(self, live: bool) -> None:
        """Say no longer that nothing can be sent, once it can."""
        if live and self._question is not None and self._note.text() == say(NOT_SENT):
            self._put_note(self._usual_note, False)

    def close_question(self) -> None:
        """Leave the question unanswered."""
        self._timer.stop()
        self._question = None
        self._drop_field()
        self.hide()
        parent = self.parentWidget()
        if parent is not None:
            parent.setFocus()

    def set_theme(self, theme: Theme) -> None:
        """Change the colours; what was typed stays."""
        self._theme = theme
        if self.field is not None:
            self.field.set_theme(theme)
        if self._question is not None:
            self._build()
        self.update()

    def choose(self, value: str) -> None:
        """Answer with a value; while nothing can be sent, a question that keeps stays as it is."""
        question = self._question
        if question is not None and question.keeps and not self._live():
            self._put_note(say(NOT_SENT), True)
            return
        self.close_question()
        if question is not None:
            question.answer(value)

    def spoken(self) -> Spoken:
        """Give the question with its choices and what is said beside them."""
        choices = [button.text().replace("&&", "&") for button in self._buttons]
        asked = ". ".join(" ".join(words.split()) for words in (*choices, self._note.text()) if words)
        return Spoken(self._title.text(), description=asked, role=QAccessible.Role.Dialog)

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """A choice's key answers or ticks, Enter confirms what is typed, Escape leaves; the rest is typed."""
        if not self._heed(event) and self.field is not None:
            self.field.take_key(event)

    def _heed(self, event: QKeyEvent) -> bool:
        """Take a key that is not for the field."""
        question = self._question
        self.used.emit()
        if question is None:
            return True
        if event.key() == Qt.Key.Key_Escape:
            self.close_question()
            return True
        if event.key() in _ENTER:
            self._confirm()
            return True
        if question.find and self._finds(question, event):
            return True
        pages, text = self._pages(), event.text().lower()
        typed = question.words is not None or question.secret is not None
        if typed or not text:
            return not typed and question.number is None
        if text == "0" and question.ticks is not None:
            self.choose("")
            return True
        if text == "0" and len(pages) > 1:
            self._page = (self._page + 1) % len(pages)
            self._build()
            return True
        for choice in (*pages[self._page], *(one for one in question.choices if one.key)):  # its own on every page
            if text == choice.key:
                self._pick(choice)
                return True
        return question.number is None

    def _finds(self, question: Question, event: QKeyEvent) -> bool:
        """Take a letter of a name, or what follows one."""
        text = event.text().lower()
        if event.key() == Qt.Key.Key_Backspace:
            self._typed = self._typed[:-1]
        elif not (text.isalpha() or (self._typed and text.isdigit())):
            return False
        elif self._pages(self._typed + text)[0]:
            self._typed, self._page = self._typed + text, 0
        else:
            self._put_note(
                say(
                    "No name begins with {typed}. Backspace takes a letter back.",
                    typed=(self._typed + text).upper(),
                ),
                True,
            )
            return True
        self._build()
        return True

    def _pick(self, choice: Choice) -> None:
        if choice.why_not:
            self._put_note(choice.why_not, True)
            return
        ticks = self._question.ticks if self._question is not None else None
        if ticks is None:
            self.choose(choice.value)
            return
        ticks.turn(choice.value)
        self._build()

    def _confirm(self) -> None:
        """Answer with what is typed, or with the ticks by mouse; with choices alone do nothing."""
        if self.field is None:
            left = self._pages(self._typed)[0] if self._question is not None and self._typed else ()
            if len(left) == 1:
                self._pick(left[0])
            return
        value = self.field.value()
        if isinstance(value, Refused):
            self.field.say(value.why)
        elif value is None:
            self.field.say(say("Nothing is typed yet. Escape leaves."))
        else:
            self.choose(value)

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
        """Stay in the middle of the window, with as many choices as have room in it."""
        if event.type() is QEvent.Type.Resize and self._question is not None:
            self._build()
        return False

    def _too_long(self) -> None:
        if self._question is not None and self._question.otherwise is not None:
            self.choose(self._question.otherwise)

    def _drop_field(self) -> None:
        if self.field is not None:
            self.field.hide()
            self._field_place.removeWidget(self.field)
            self.field.deleteLater()
            self.field = None

    def _build(self) -> None:
        question = self._question
        assert question is not None
        for button in self._buttons:
            self._grid.removeWidget(button)
            button.hide()
            button.deleteLater()
        self._buttons = []
        pages = self._pages(self._typed)
        self._page = min(self._page, len(pages) - 1)
        self._title.setText(" · ".join(filter(None, (self.of, say(question.title)))))
        self._title.setFont(font(20, True))
        self._title.setStyleSheet(f"color: {self._theme.ink}")
        more = say("0: more") if len(pages) > 1 else ""
        parts = (say(question.note) if question.note else "", more, self._how(question))
        self._usual_note = " · ".join(filter(None, parts))
        self._put_note(self._usual_note, False)
        count = len(question.choices) + (question.ticks is not None)
        columns = _columns(count)
        shown: list[tuple[str, Callable[[], None], bool]] = [
            (self._label(choice), partial(self._pick, choice), bool(choice.why_not)) for choice in pages[self._page]
        ]
        if question.ticks is not None:
            shown.append((say("0   Done: go on"), partial(self.choose, ""), False))
        for place, (label, act, closed) in enumerate(shown):
            button = self._button(label, columns, act, closed)
            self._grid.addWidget(button, place // columns, place % columns)
            button.show()  # else the layout would count it only later
            self._buttons.append(button)
        self._dress(self._go, say("Enter   Go on"))
        self._dress(self._leave, say("Esc   Leave"))
        self._go.setVisible(self.field is not None)
        self._centre()
        tell(self, QAccessible.Event.NameChanged)

    def _pages(self, typed: str = "") -> list[tuple[Choice, ...]]:
        """Give the choices by page, as many to each as have room in the window at their full size."""
        question, parent = self._question, self.parentWidget()
        assert question is not None
        touch, wide, high = (
            here().touch,
            *((parent.width(), parent.height()) if parent is not None else (1920, 1080)),
        )
        title = 2 if text_width(self._title.text(), 20, True) > wide - 40 - 2 * _PAD_X else 1
        field = 0 if self.field is None else self.field.sizeHint().height() + _SPACE
        beside = 2 * _PAD_Y + 2 * _SPACE + title * _TITLE_H + touch + field
        room = high - _HEADER // 4 - (_FOOT if wide >= SLIM_BELOW else _SLIM_FOOT) - beside
        rows = max(1, (room + _SPACE) // (touch + _SPACE))
        columns = _columns(len(question.choices) + (question.ticks is not None))
        return question.pages(typed, min(PAGE, rows * columns - (question.ticks is not None)))

    def _how(self, question: Question) -> str:
        if not question.find:
            return ""
        left = len(self._pages(self._typed)[0])
        then = say("Enter takes it") if left == 1 else say("type on")
        return (
            say("{typed} typed: {then}", typed=self._typed.upper(), then=then)
            if self._typed
            else say("Or type the first letters of the name")
        )

    def _label(self, choice: Choice) -> str:
        ticks, label = self._question.ticks if self._question is not None else None, say(choice.label)
        if ticks is None:
            return f"{choice.key.upper()}   {label}" if choice.key else label
        if choice.value not in ticks.at:
            return f"{choice.key.upper()}   {label}\n{say('not ticked')}"
        at = ticks.at[choice.value]
        when = f" {words.hhmm(at, self._zone)}" if at is not None else ""
        return f"{choice.key.upper()}   {label}\n{say('TICKED')}{when}"

    def _put_note(self, note: str, bold: bool) -> None:
        self._note.setText(note)
        self._note.setFont(font(14, bold))
        self._note.setStyleSheet(f"color: {self._theme.ink if bold else self._theme.ink_2}")

    def _foot_button(self, act: Callable[[], None]) -> QPushButton:
        button = QPushButton("", self)
        button.setFocusPolicy(Qt.FocusPolicy.NoFocus)
        button.clicked.connect(lambda: act())
        return button

    def _button(self, label: str, columns: int, act: Callable[[], None], closed: bool) -> QPushButton:
        button = QPushButton("", self)
        button.setFocusPolicy(Qt.FocusPolicy.NoFocus)
        button.clicked.connect(lambda: act())
        parent = self.parentWidget()
        wide = (parent.width() if parent is not None else 1366) - 40 - 2 * _PAD_X - (columns - 1) * _SPACE
        self._dress(button, label, wide / columns - 28, say("TICKED") in label, closed)
        button.setMinimumWidth(min(BUTTON_W, int(wide / columns)))
        return button

    def _dress(
        self, button: QPushButton, label: str, room: float = 1e9, on: bool = False, closed: bool = False
    ) -> None:
        """Give a button its words, on as many lines as they need, and its colours; ``closed``: no choice."""
        theme, parts = self._theme, label.split("\n")
        fitted = [fit_text(part, room, 16, True, smallest=13, most_lines=3) for part in parts]
        px = min(one.px for one in fitted)
        lines = [line for one in fitted for line in one.lines]
        button.setText("\n".join(lines).replace("&", "&&"))
        button.setMinimumSize(BUTTON_W if room < 1e9 else 130, here().touch)
        button.setFont(font(px, True))
        back = theme.state.held_plate if on else theme.tile if closed else theme.trough
        ink, line = (theme.ink_2, "dashed") if closed else (theme.ink, "solid")
        button.setStyleSheet(
            f"QPushButton {{ color: {ink}; background: {back}; border: 1px {line} {theme.rule_strong};"
            f" border-radius: 4px; padding: 0 12px; text-align: left; }}"
            f" QPushButton:pressed {{ background: {theme.state.held_plate}; }}"
        )

    def _centre(self) -> None:
        parent = self.parentWidget()
        if parent is None or self._question is None:
            return
        self._column.activate()
        wide = min(parent.width() - 40, max(640, self.sizeHint().width()))
        foot = _FOOT if parent.width() >= SLIM_BELOW else _SLIM_FOOT
        most = parent.height() - _HEADER // 4 - foot
        high = min(most, max(self.heightForWidth(wide), self.sizeHint().height()))
        beside, top = self._beside, self._top
        most, lowest = parent.width() - wide - 20, max(20, parent.height() - high - foot)
        middle = (parent.width() - wide) // 2, max(20, (parent.height() - high) // 2)
        places = [middle, (middle[0], lowest)]
        if beside.isValid():
            left, level = min(max(20, beside.center().x() - wide // 2), most), min(max(top, beside.top()), lowest)
            places = [
                (left, beside.top() - high - _APART),
                (left, beside.bottom() + _APART),
                (beside.right() + _APART, level),
                (beside.left() - wide - _APART, level),
                *((left, at[1]) for at in places),
            ]
        head = QRect(0, 0, parent.width(), top)
        edge = _APART // 2  # nearer to the edge of the screen than to what it is about
        right = max(20, parent.width() - wide - edge)
        fits = [QRect(x, y, wide, high) for x, y in places if edge <= x <= right and 20 <= y <= lowest]
        self.setGeometry(min(fits, key=lambda at: _area(at.intersected(beside)) + _area(at.intersected(head))))


def _columns(count: int) -> int:
    """In so many columns stand this many choices."""
    return 4 if count > 6 else max(2, min(4, count))


def _area(rect: QRect) -> int:
    return max(0, rect.width()) * max(0, rect.height())
