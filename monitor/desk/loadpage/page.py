"""The page of alert load. It asks the hub, and shows what it was told last for as long as nothing newer comes."""

import uuid

from PySide6.QtCore import QRect, Qt
from PySide6.QtGui import QKeyEvent, QPalette, QResizeEvent
from PySide6.QtWidgets import QWidget

from monitor.analysis.alert_load import LoadFigures
from monitor.analysis.alert_rates import BIN_MS
from monitor.core.wire import AskLoad, Load, NotUnderstood
from monitor.desk import words
from monitor.desk.answering import ACT_OF_KEY
from monitor.desk.bedpage.card import Card
from monitor.desk.loadpage.bars import BarsCard
from monitor.desk.loadpage.figures import FiguresCard, answers_of, load_of
from monitor.desk.loadpage.head import SPANS, USUAL, HeadCard
from monitor.desk.loadpage.ranking import RankingCard, bed_rows, rule_rows
from monitor.desk.palette import qcolor
from monitor.desk.pressed import press
from monitor.desk.session import Session
from monitor.desk.sheets.keys import KeysCard
from monitor.desk.sheets.leaves import KEY, Leaves
from monitor.desk.store import Changes
from monitor.desk.tile.moment import Moment
from shared.instant import HOUR, MINUTE, SECOND, Instant
from shared.language.saying import say, to_say
from shared.language.writing import number
from shared.look.palette import Theme
from shared.look.sizes import SLIM_BELOW

_MARGIN, _GAP, _HEAD_H, _KEYS_H, _SIDE_SHARE = 12, 10, 64, 26, 0.3
_STEPS = {Qt.Key.Key_Up: -1, Qt.Key.Key_Down: 1}
#: Plots and figures lower than this stand otherwise.
_LOW = 420
_AGAIN_MS = MINUTE
#: An answer that has not come after so long (the hub's time) is asked for again.
_LOST_MS = 5 * SECOND


class LoadPage(QWidget):
    """Alert load of one stretch of time that ends now.

    No bed is chosen here: the keys that answer do nothing, so that nothing is answered unseen.
    """

    def __init__(self, session: Session, theme: Theme) -> None:
        super().__init__()
        self._session = session
        self._theme = theme
        self._key = USUAL
        self._request = ""
        self._asked_at: Instant | None = None
        self._asked_boot = ""
        self._refused = ""
        self.figures: LoadFigures | None = None
        self._moment: Moment | None = None
        self.head = HeadCard(theme, self.choose)
        self.bars = BarsCard(theme)
        self.rules = RankingCard(say("Rules, noisiest first"), theme)
        self.beds = RankingCard(say("Beds, noisiest first"), theme)
        self.load = FiguresCard(say("Load"), theme)
        self.answers = FiguresCard(say("Answers, from the raise"), theme)
        self.keys = KeysCard(
            theme, self._pressed, ((to_say("Up, Down"), to_say("further rows")), (to_say("Esc"), to_say("back")))
        )
        for part in self._parts():
            part.setParent(self)
        groups = ((self.bars,), (self.rules, self.beds), (self.load,), (self.answers,))
        self._leaves = Leaves(self.keys, *groups)
        self._dress()

    # -- what the window tells ------------------------------------------------------------------------------

    def show_moment(self, moment: Moment, changes: Changes) -> None:
        """Take answers; ask where something newer may be had; say how old the figures are."""
        self._moment = moment
        for reply in changes.replies:
            if isinstance(reply, Load) and reply.request == self._request:
                self._show(reply.figures)
            elif isinstance(reply, NotUnderstood) and self._request and self._request in reply.reason:
                self._request, self._refused = "", reply.reason.removeprefix(f"{self._request}: ")
        if not moment.veiled and self._is_due(moment):
            self._ask(moment)
        self._say(moment)

    def set_theme(self, theme: Theme) -> None:
        """Show in another theme."""
        self._theme = theme
        for part in self._parts():
            part.set_theme(theme)
        self._dress()

    def take_key(self, event: QKeyEvent) -> bool:
        """Take a key that belongs to this page; false: it is the window's."""
        text = event.text().lower()
        if text in SPANS:
            self.choose(text)
            return True
        step = _STEPS.get(Qt.Key(event.key()))
        if step is not None or text == KEY:
            self._turn(step)
            return True
        return text in ACT_OF_KEY and text != "u"

    def choose(self, key: str) -> None:
        """Show another stretch of time, by its key."""
        self._key, self._asked_at, self._request = key, None, ""
        if self._moment is not None:
            self.show_moment(self._moment, Changes())

    def _pressed(self, key: str) -> None:
        if key == KEY:
            self._turn(None)
        else:
            press(self, key)

    def _turn(self, step: int | None) -> None:
        """Show further rows of the lists, or what comes next on a slim window."""
        if step is None:
            self._leaves.turn()
            self._lay_out()
            return
        for card in (self.rules, self.beds):
            card.step(step)
        for figures in (self.load, self.answers):
            if figures.is_turned:
                figures.step(step)

    # -- asking and showing ---------------------------------------------------------------------------------

    def _is_due(self, moment: Moment) -> bool:
        if self._asked_at is None or self._asked_boot != self._session.store.boot:
            return True
        return moment.now - self._asked_at >= (_LOST_MS if self._request else _AGAIN_MS) * self._pace()

    def _pace(self) -> float:
        """A demonstration's clock may run fast; the hub is not asked more often for that."""
        return max(1.0, self._session.store.clock.speed)

    def _ask(self, moment: Moment) -> None:
        self._asked_at, self._asked_boot = moment.now, self._session.store.boot
        self._request = f"load:{uuid.uuid4().hex[:16]}"
        begin = max(0, moment.now - SPANS[self._key]) // BIN_MS * BIN_MS
        self._session.ask(AskLoad(request=self._request, begin=begin, end=moment.now))

    def _show(self, figures: LoadFigures) -> None:
        self.figures, self._request, self._refused = figures, "", ""
        zone = self._moment.zone if self._moment is not None else None
        self.bars.show_figures(figures, zone)
        self.rules.show_rows(rule_rows(figures))
        self.beds.show_rows(bed_rows(figures))
        self.load.show_figures(load_of(figures))
        self.answers.show_figures(answers_of(figures))

    def _say(self, moment: Moment) -> None:
        figures = self.figures
        warns = say("NOT LIVE") if moment.veiled else ""
        if figures is None:
            says = say("The hub cannot be asked.") if moment.veiled else say("The hub is asked.")
        else:
            end = words.hhmm(figures.end, moment.zone)
            if moment.veiled:
                warns = say("NOT LIVE: figures of {end}", end=end)
            begin = f"{words.day(figures.begin, moment.zone)} {words.hhmm(figures.begin, moment.zone)}"
            says = say("{begin} to {end}, {watched}", begin=begin, end=end, watched=_watched(figures))
        if self._refused:
            says = say("Refused: {refused}", refused=self._refused)
        self.head.say(self._key, says, warns)

    # -- geometry -------------------------------------------------------------------------------------------

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Plots at the left, figures at the right."""
        super().resizeEvent(event)
        self._lay_out()

    def _lay_out(self) -> None:
        wide, high = self.width() - 2 * _MARGIN, self.height() - 8
        side = max(310, round(wide * _SIDE_SHARE))
        left = wide - side - _GAP
        self.head.setGeometry(_MARGIN, 4, wide, _HEAD_H)
        top = 4 + _HEAD_H + _GAP
        below = high - top
        x = _MARGIN + left + _GAP
        slim = self.width() < SLIM_BELOW
        self.keys.setVisible(slim)
        self.keys.setGeometry(_MARGIN, top + below - _KEYS_H, wide, _KEYS_H)
        if self._leaves.lay(QRect(_MARGIN, top, wide, below - _KEYS_H - _GAP), self.width()):
            return
        for card in (self.rules, self.beds, self.answers):
            card.dense = below < _LOW
        if below < _LOW:
            self._lay_out_low(top, left, below, QRect(x, top, side, below))
            return
        bars_h = round(below * 0.48)
        self.bars.setGeometry(_MARGIN, top, left, bars_h)
        lists = below - bars_h - _GAP
        half = (left - _GAP) // 2
        self.rules.setGeometry(_MARGIN, top + bars_h + _GAP, half, lists)
        self.beds.setGeometry(_MARGIN + half + _GAP, top + bars_h + _GAP, left - half - _GAP, lists)
        load_h = round((below - _GAP) * 0.62)
        self.load.setGeometry(x, top, side, load_h)
        self.answers.setGeometry(x, top + load_h + _GAP, side, below - load_h - _GAP)

    def _lay_out_low(self, top: int, left: int, below: int, load: QRect) -> None:
        """On a low page the figures of the answers stand beside the two lists."""
        self.load.setGeometry(load)
        bars_h = round(below * 0.42)
        self.bars.setGeometry(_MARGIN, top, left, bars_h)
        x, y, high = _MARGIN, top + bars_h + _GAP, below - bars_h - _GAP
        for card, share in ((self.rules, 0.305), (self.beds, 0.31), (self.answers, 0.385)):
            wide = round((left - 2 * _GAP) * share)
            card.setGeometry(x, y, wide, high)
            x += wide + _GAP

    def _parts(self) -> tuple[Card, ...]:
        return (self.head, self.bars, self.rules, self.beds, self.load, self.answers, self.keys)

    def _dress(self) -> None:
        palette = QPalette(self.palette())
        palette.setColor(QPalette.ColorRole.Window, qcolor(self._theme.ground))
        self.setPalette(palette)
        self.setAutoFillBackground(True)


def _watched(figures: LoadFigures) -> str:
    if figures.bed_hours is None:
        return say("watched hours not known")
    away = (
        say(", hub away {away_hours} h", away_hours=number(figures.away_hours, 1))
        if figures.away_hours >= 0.05
        else ""
    )
    most = (figures.beds or 0) * (figures.end - figures.begin) / HOUR
    watched = say(
        "{beds} beds watched for {bed_hours} of {most} bed-hours",
        beds=figures.beds,
        bed_hours=number(figures.bed_hours, 1),
        most=number(most, 1),
    )
    return say(
        "{watched}; without a feed {silent_hours} h{away}",
        watched=watched,
        silent_hours=number(figures.silent_hours, 1),
        away=away,
    )
