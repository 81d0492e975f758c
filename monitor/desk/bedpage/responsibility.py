"""Who has it: the staff with a name and what happened on each rung, and the four answers."""

from collections.abc import Callable, Sequence

from PySide6.QtCore import QRect, QRectF, Qt
from PySide6.QtGui import QPainter
from PySide6.QtWidgets import QPushButton

from monitor.core.grades import RUNG_LABEL, Rung
from monitor.core.pages.states import PageState
from monitor.core.view import EpisodeView, LadderView, RungState, RungView
from monitor.desk import words
from monitor.desk.answering import Act
from monitor.desk.bedpage.card import PAD, Card
from monitor.desk.need import is_of_the_past, need_of
from monitor.desk.pagespage.face import page_of_rung, page_words, short_page_words
from monitor.desk.paint.fonts import font, text_width
from monitor.desk.paint.pens import outline_box, pen
from monitor.desk.paint.plates import draw_name_plate
from monitor.desk.paint.staff import REST, StaffPicture, draw_staff
from monitor.desk.paint.text import Fitted, draw_text, fit_text
from monitor.desk.store import Store
from monitor.desk.tile.moment import Moment
from monitor.desk.tile.need_words import call_back_words, holder_words, next_call, without_help
from shared.language.saying import say, to_say
from shared.look.palette import Theme
from shared.look.screen import TOUCH_MM, here
from shared.look.sizes import SMALLEST_TEXT
from shared.look.tile import Rect

_KEYS = (
    (Act.SEEN, to_say("Seen"), "S"),
    (Act.TAKE, to_say("Take"), "T"),
    (Act.PASS_ON, to_say("Pass on"), "N"),
    (Act.BY_PHONE, to_say("Help by phone"), "A"),
)
_TITLE, _MORE = to_say("Who has it"), to_say("Write down")
_STAFF_W, _RUNG_H = 50.0, 58.0
#: On a slim page: the edge, the width of the staff, and the height of what is pressed.
_EDGE, _SLIM_STAFF_W, _SLIM_H, _APART = 8, 46, 40, 6
#: Where a strip leaves less for who has it, all is closer, *Write down* lower, and at last beside who has it.
_LOW_EDGE, _LOW_APART, _HOLDER_AT_LEAST, _MORE_W = 4, 4, 28, 72
#: A low staff is no narrower than this share, and each rung has one line beside it below the other.
_NARROWEST, _ONE_LINE_BELOW = 0.6, 0.45
#: Lower than this, on a window smaller than any screen of a desk, the ladder goes before the size of the answers.
_TOUCH_FROM = 350


class ResponsibilityCard(Card):
    """The ladder of the bed's leading need, in full. ``act`` does what a button says."""

    def __init__(self, theme: Theme, act: Callable[[Act], None], bed: str) -> None:
        super().__init__(say(_TITLE), theme)
        self.bed = bed
        self.episode: EpisodeView | None = None
        self.picture: StaffPicture = REST
        self._moment: Moment | None = None
        self._store: Store | None = None
        #: The staff stands at the left over the whole height, its words are on its rungs, and all can be written
        #: down from here.
        self.slim = self._beside = False
        #: Where a slim page says who has it.
        self.plate = QRectF()
        self.more = QPushButton(f"{say(_MORE)}    M", self)
        self.more.setFocusPolicy(Qt.FocusPolicy.NoFocus)
        self.more.clicked.connect(lambda _=False: act(Act.MENU))
        self.buttons: dict[Act, QPushButton] = {}
        for name, label, key in _KEYS:
            button = QPushButton(f"{say(label)}    {key}", self)
            button.setFocusPolicy(Qt.FocusPolicy.TabFocus)
            button.setAutoDefault(False)
            button.setDefault(False)
            button.clicked.connect(lambda _=False, chosen=name: act(chosen))
            self.buttons[name] = button
        self._dress()

    def show_need(
        self, episode: EpisodeView | None, picture: StaffPicture, store: Store, moment: Moment, allowed: bool
    ) -> None:
        """Show the leading need (or that there is none), and whether answers can be given."""
        self.episode, self.picture, self._store, self._moment = episode, picture, store, moment
        self.aside = say("as it stood") if moment.veiled and not self.slim else ""
        self.more.setEnabled(allowed)
        for button in self.buttons.values():
            button.setEnabled(allowed and episode is not None)
        self.update()

    def set_theme(self, theme: Theme) -> None:
        """Paint in another theme."""
        super().set_theme(theme)
        self._dress()

    def lay_out(self) -> float:
        """Place the buttons at the foot; give where they begin."""
        self.title = "" if self.slim else say(_TITLE)
        self.called = say(_TITLE)
        if self.slim:
            return self._lay_out_slim()
        self.more.hide()
        high = here().touch if self.height() >= _TOUCH_FROM else 40
        apart = 6 if self.dense else 12
        wide = (self.width() - 2 * PAD - apart) // 2
        top = self.height() - 2 * high - apart - (8 if self.dense else PAD)
        texts = [f"{say(label)}    {key}" for _, label, key in _KEYS]
        if any(text_width(text, SMALLEST_TEXT + 1, True) > wide - 16 for text in texts):
            texts = [f"{say(label)}\n{key}" for _, label, key in _KEYS]
        px = min(_button_px(text.split("\n")[0], wide - 16) for text in texts)
        for place, (name, _, _) in enumerate(_KEYS):
            column, row = place % 2, place // 2
            self.buttons[name].setText(texts[place])
            self.buttons[name].setFont(font(px, True))
            self.buttons[name].setGeometry(PAD + column * (wide + apart), top + row * (high + apart), wide, high)
        return float(top)

    def _lay_out_slim(self) -> float:
        left = 2 * _EDGE + _SLIM_STAFF_W + _EDGE
        wide = (self.width() - left - _EDGE - _APART) // 2
        edge, apart, high, more = _EDGE, _APART, _SLIM_H, _SLIM_H
        if self.height() - edge - 2 * (high + apart) - more < 2 * edge + _HOLDER_AT_LEAST + apart:
            edge, apart = _LOW_EDGE, _LOW_APART
            high, more = min(_SLIM_H, here().in_mm(TOUCH_MM)), min(_SLIM_H, here().aim)
        top = self.height() - edge - 2 * high - apart
        self._beside = top - more - apart < 2 * edge + _HOLDER_AT_LEAST
        if not self._beside:
            top -= more + apart
        texts = [_with_key(say(label), key, wide - 12) for _, label, key in _KEYS]
        px = min(
            14.0, *(_button_px(line, wide - 12, 17, SMALLEST_TEXT) for text in texts for line in text.split("\n"))
        )
        for place, (name, _, _) in enumerate(_KEYS):
            column, row = place % 2, place // 2
            x, y = left + column * (wide + _APART), top + row * (high + apart)
            self.buttons[name].setText(texts[place])
            self.buttons[name].setFont(font(px, True))
            self.buttons[name].setGeometry(x, y, wide, high)
        self._lay_out_more(left, edge, top, QRect(left, top + 2 * (high + apart), 2 * wide + _APART, more))
        return float(top)

    def _lay_out_more(self, left: int, edge: int, top: int, foot: QRect) -> None:
        """Place *Write down* at the foot, or beside who has it."""
        right, words = foot.right() + 1, say(_MORE)
        self.more.setText(f"{words}\nM" if self._beside else f"{words}    M")
        self.more.setFont(font(_button_px(words, (_MORE_W if self._beside else foot.width()) - 8, 13, 11), True))
        beside = QRect(right - _MORE_W, edge, _MORE_W, top - edge - _LOW_APART)
        self.more.setGeometry(beside if self._beside else foot)
        self.more.show()
        end = beside.left() - _LOW_APART if self._beside else right
        self.plate = QRectF(left, edge, end - left, min(60.0, top - 2.0 * edge))

    def _paint_slim(self, painter: QPainter) -> None:
        """The staff as a tile has it, and who has it beside it."""
        left = 2.0 * _EDGE + _SLIM_STAFF_W + _EDGE
        room, high = self.width() - left - _EDGE, self.height() - 2.0 * _EDGE
        rect = Rect(_EDGE + 2, _EDGE, _SLIM_STAFF_W, high)
        draw_staff(painter, rect, self.picture, self.theme, min(1.0, high / (5 * _RUNG_H)))
        if self.episode is None or self._moment is None or self._store is None:
            said = fit_text(say("Nobody is called for this bed."), room, 13, smallest=SMALLEST_TEXT)
            draw_text(painter, left, _EDGE + 14, said.lines[0], said.px, False, self.theme.ink_2)
            said = fit_text(say("No alert is no evidence of safety."), room, 13, smallest=SMALLEST_TEXT)
            draw_text(painter, left, _EDGE + 32, said.lines[0], said.px, False, self.theme.ink_3)
            return
        self._holder(painter, self.plate)

    def paint_content(self, painter: QPainter) -> None:
        """Paint staff, names and who has it."""
        foot = self.lay_out()
        if self.slim:
            self._paint_slim(painter)
            return
        if self.episode is None or self._moment is None or self._store is None:
            draw_text(
                painter, PAD, self.top + 22, say("Nobody is called for this bed."), 15, False, self.theme.ink_2
            )
            draw_text(
                painter, PAD, self.top + 44, say("No alert is no evidence of safety."), 13, False, self.theme.ink_3
            )
            return
        plate = QRectF(PAD, foot - (42 if self.dense else 44), self.width() - 2 * PAD, 34)
        self._holder(painter, plate)
        if self.episode.ladder is None:
            over = say("Of the past, not seen") if is_of_the_past(self.episode) else say("Ended, not seen")
            said = over if self.episode.over else say("Low: nobody is called")
            draw_text(painter, PAD, self.top + 22, said, 15, False, self.theme.ink_2)
            return
        self._ladder(painter, self.episode.ladder, plate.top() - (4 if self.dense else 10))

    def _ladder(self, painter: QPainter, ladder: LadderView, bottom: float) -> None:
        room = bottom - self.top - 4
        k = min(1.0, room / (5 * _RUNG_H))
        rect = Rect(PAD + 4, self.top + 4, _STAFF_W * max(k, _NARROWEST), 286 * k)
        draw_staff(painter, rect, self.picture, self.theme, k)
        for number, rung in enumerate(ladder.rungs):
            base = rect.y + rect.h - (number + 0.5) * _RUNG_H * k + 4 * k
            self._rung_words(painter, rung, base, k)

    def _rung_words(self, painter: QPainter, rung: RungView, middle: float, k: float) -> None:
        assert self._moment is not None
        assert self._store is not None
        left = PAD + _STAFF_W * max(k, _NARROWEST) + 22
        room = self.width() - left - PAD
        role = say(RUNG_LABEL[Rung(rung.rung)])
        who = self._store.label(rung.person) if rung.person else role
        phone = self._store.person(rung.person)
        if self.dense and phone is not None and phone.phone:
            who = f"{who} · {phone.phone}"
        when = words.hhmm(rung.at, self._moment.zone) if rung.at is not None else ""
        left_s = words.countdown((rung.at or 0) - self._moment.second)
        said = {
            RungState.EMPTY: say("not reached"),
            RungState.NEXT: say("was to be called next")
            if self._moment.veiled
            else say("called in {left_s} if still nobody", left_s=left_s),
            RungState.CALLED: say("called {when}", when=when),
            RungState.SKIPPED: say("nobody: skipped"),
            RungState.HELD: say("called {when}, held", when=when),
        }[rung.state]
        paged, short = self._paged(rung)
        # where both have no room, what became of the page: it says that somebody was called
        told = (f"{said}, {paged}", f"{said}, {short}", short) if k < 0.9 and paged else (said,)
        if self.dense and k >= _ONE_LINE_BELOW:
            bold = rung.state in (RungState.CALLED, RungState.HELD)
            self._two_lines(painter, left, middle, who, told, bold=bold)
            return
        if k < 0.7:
            label = self._store.label(rung.person) if rung.person else role
            soon = (
                say("{label} · in {left_s}", label=label, left_s=left_s)
                if rung.state is RungState.NEXT and not self._moment.veiled
                else told[-1]
            )
            texts = [*(f"{who} · {one}" for one in told), *(f"{label} · {one}" for one in told), soon]
            line = _first(texts, room, min(14, _RUNG_H * k))
            draw_text(painter, left, middle + (5 if k >= 0.5 else 2), line.lines[0], line.px, False, self.theme.ink)
            return
        name = fit_text(who, room, 15, rung.state in (RungState.CALLED, RungState.HELD), smallest=12)
        bold = rung.state in (RungState.CALLED, RungState.HELD)
        draw_text(painter, left, middle - 1, name.lines[0], name.px, bold, self.theme.ink)
        below = _first(told, room, 13)
        draw_text(painter, left, middle + 16 * max(k, 0.8), below.lines[0], below.px, False, self.theme.ink_2)
        if paged and k >= 0.9:
            last = _first((paged, short), room, 12)
            draw_text(painter, left, middle + 31 * k, last.lines[0], last.px, False, self.theme.ink_2)

    def _two_lines(
        self, painter: QPainter, left: float, middle: float, who: str, told: Sequence[str], *, bold: bool
    ) -> None:
        """Write a rung on a small page: name and telephone, and below them what became of the call."""
        room = self.width() - left - PAD / 2
        name = fit_text(who, room, 13, bold, smallest=11)
        draw_text(painter, left, middle - 1, name.lines[0], name.px, bold, self.theme.ink)
        below = _first(told, room, 12)
        draw_text(painter, left, middle + 12, below.lines[0], below.px, False, self.theme.ink_2)

    def _paged(self, rung: RungView) -> tuple[str, str]:
        """Say, long and short, how the newest page of a rung stands; empty where none went out."""
        if self.episode is None or self._store is None or self._moment is None:
            return "", ""
        page = page_of_rung(self._store, self.bed, self.episode, rung.rung)
        if page is None or page.state is PageState.DESKS_ONLY:
            return "", ""
        return say("page {page_words}", page_words=page_words(page, self._moment)), say(
            "page {short_page_words}", short_page_words=short_page_words(page, self._moment)
        )

    def _holder(self, painter: QPainter, plate: QRectF) -> None:
        assert self.episode is not None
        assert self._moment is not None
        assert self._store is not None
        holder, veiled = self.episode.holder, self._moment.veiled
        if holder is not None:
            name = holder_words(holder, self._store, self._moment)
            draw_name_plate(
                painter,
                plate,
                name,
                ""
                if veiled
                else say(
                    "calls again in {countdown}", countdown=words.countdown(holder.until - self._moment.second)
                ),
                self.theme,
            )
            return
        outline_box(painter, plate, 4, pen(self.theme.priority[need_of(self.episode)], 1.5))
        elsewhere = (*self.episode.advising, *without_help(self.episode))
        helping = [call_back_words(self.episode, name, self._store, self._moment)[0] for name in elsewhere]
        names = [self._store.label(name) for name in self.episode.seen_by if name not in elsewhere]
        seen = say("Seen by {names}", names=", ".join(names)) if names else ""
        of_now = not (self.episode.over or veiled)
        following = next_call(self.episode, self._store, self._moment)[0] if of_now else ""
        nobody = say("Nobody had it") if veiled else say("Nobody has it")
        # the first that fits: who has seen it goes first, then what the ladder above says too
        for parts in (
            [*helping, seen, nobody, following],
            [*helping, nobody, following],
            [*helping[-1:], nobody],
        ):
            text = " · ".join(filter(None, parts))
            fitted = fit_text(text, plate.width() - 20, 15, True, smallest=11, most_lines=3 if self.slim else 2)
            if fitted.fits:
                break
        step = fitted.px * 1.05
        base = plate.center().y() + fitted.px * 0.36 - (len(fitted.lines) - 1) * step / 2
        for number, line in enumerate(fitted.lines):
            draw_text(painter, plate.left() + 10, base + number * step, line, fitted.px, True, self.theme.ink)

    def _dress(self) -> None:
        theme = self.theme
        for name, button in (*self.buttons.items(), (Act.MENU, self.more)):
            back = theme.state.held_plate if name is Act.TAKE else theme.tile
            edge = theme.state.taken if name is Act.TAKE else theme.rule_strong
            button.setStyleSheet(
                f"QPushButton {{ background: {back}; color: {theme.ink}; border: 1.5px solid {edge};"
                " border-radius: 6px; }"
                f"QPushButton:disabled {{ color: {theme.ink_3}; background: {theme.trough};"
                f" border-color: {theme.rule_strong}; }}"
                f"QPushButton:focus {{ border: 3px solid {theme.focus}; }}"
            )


def _first(texts: Sequence[str], room: float, px: float) -> Fitted:
    """Give the first text that fits on a line, or the last."""
    fitted = [fit_text(text, room, px, smallest=SMALLEST_TEXT) for text in texts]
    return next((one for one in fitted if one.fits), fitted[-1])


def _with_key(words: str, key: str, room: float) -> str:
    """Give a button's words over its key; where they are longer than a line, the key after the second."""
    fitted = fit_text(words, room, 12, True, smallest=12, most_lines=2)
    if len(fitted.lines) == 1:
        return f"{words}\n{key}"
    middle = len(fitted.lines) // 2
    return f"{' '.join(fitted.lines[:middle])}\n{' '.join(fitted.lines[middle:])}  {key}"


def _button_px(text: str, room: float, most: float = 17, least: float = 12) -> float:
    """Give the largest size at which a button's words fit."""
    return fit_text(text, room, most, True, smallest=least).px
