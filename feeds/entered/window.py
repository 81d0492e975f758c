"""The window of the form: one screen a bed, keyboard only. It shows what `Rounds` holds."""

from collections.abc import Callable

from PySide6.QtCore import Qt, QTimer
from PySide6.QtGui import QCloseEvent, QKeyEvent, QKeySequence, QResizeEvent, QShortcut
from PySide6.QtWidgets import QLayout, QVBoxLayout, QWidget

from feeds.entered.choice import Choice
from feeds.entered.dress import sheet, themes
from feeds.entered.fields_area import FieldsArea
from feeds.entered.folder import PersonRow
from feeds.entered.foot import Foot
from feeds.entered.gate import Gate
from feeds.entered.head import Head
from feeds.entered.hub_line import HubLine
from feeds.entered.lists import Lists
from feeds.entered.look_area import LookArea
from feeds.entered.mending import Mending, corrected_words, correcting_words
from feeds.entered.parts import Parts
from feeds.entered.rounds import Rounds, texts_of
from feeds.entered.secret import SecretSheet
from feeds.entered.standing import parts_words, seat_words, sent_words, time_typed, times_words, trouble_words
from feeds.entered.sweep import rounds_of
from feeds.entered.words import clock_words, computed_words, due_words, posted_words, unanswered_words
from feeds.publisher import monotonic_ms
from shared.entry.computed import computed
from shared.entry.draft import EnteredSet
from shared.entry.known import Known
from shared.instant import Instant
from shared.language.saying import say, to_say
from shared.look.screen import ROOMY_FORM
from shared.messages import Found, RoundKind
from shared.quantities import Quantity

LOOK_MS = 50
_SHOW_EVERY = 10
_TAKEN_UP = to_say("A draft of yours is taken up again; nothing of it was sent.")


class FormWindow(QWidget):
    """The entry form.

    Args:
        rounds: what is typed and sent.
        turn: lets the feed speak and listen, called every `LOOK_MS`.
        line: to the hub's word of beds, people and secrets; ``None``: the files alone are known.
        ticks: real ms.
    """

    def __init__(
        self,
        rounds: Rounds,
        turn: Callable[[], None],
        theme: str = "day",
        line: HubLine | None = None,
        ticks: Callable[[], Instant] = monotonic_ms,
    ) -> None:
        super().__init__()
        self.rounds, self._turn, self._theme, self._line = rounds, turn, theme, line
        self._looks = 0
        self._said_sent = ""
        self._insists: frozenset[str] = frozenset()
        self.parts: Parts | None = None
        self.head, self.foot = Head(self), Foot(self)
        self.choice = Choice(self, self._back_to_fields)
        self.secret = SecretSheet(self, self._back_to_fields)
        self.gate = Gate(rounds, line, self.secret, self._remark, ticks)
        rounds.is_checked = self.gate.is_checked
        self.lists = Lists(rounds, self.gate, self.choice.offer, self.begin)
        self.mending = Mending(rounds, self.choice.offer, self._remark, self._corrects)
        self._column = QVBoxLayout(self)
        self._column.setSizeConstraint(QLayout.SizeConstraint.SetNoConstraint)
        self._column.setContentsMargins(0, 0, 0, 0)
        self._column.setSpacing(0)
        self._column.addWidget(self.head)
        self._column.addWidget(self.foot)
        self.foot.save.clicked.connect(self.save)
        self.foot.save.back.connect(self._back_from_save)
        self.foot.answer.returnPressed.connect(self._answer_bed)
        self.head.time.done.connect(self._take_time)
        self._bind()
        self.setStyleSheet(sheet(themes()[theme]))
        self._timer = QTimer(self)
        self._timer.timeout.connect(self.look)

    def _bind(self) -> None:
        keys: tuple[tuple[Qt.Key, Callable[[], None]], ...] = (
            (Qt.Key.Key_F1, lambda: self.lists.tell(self.foot.listed())),
            (Qt.Key.Key_F2, self.save),
            (Qt.Key.Key_F3, self.undo),
            (Qt.Key.Key_F4, self.head.ask_time),
            (Qt.Key.Key_F5, self.lists.offer_beds),
            (Qt.Key.Key_F6, self.lists.offer_people),
            (Qt.Key.Key_F7, self.mend),
            (Qt.Key.Key_F8, self.turn_part),
            (Qt.Key.Key_F9, self.turn_theme),
            (Qt.Key.Key_F10, self.turn_round),
            (Qt.Key.Key_PageDown, self.go_to_next),
        )
        for key, act in keys:
            shortcut = QShortcut(QKeySequence(key), self)
            shortcut.activated.connect(lambda act=act: None if self._is_asking else act())

    @property
    def _is_asking(self) -> bool:
        return self.choice.is_open or self.secret.is_open

    @property
    def fields(self) -> FieldsArea | None:
        """The fields of the open form."""
        return None if self.parts is None else self.parts.fields

    # -- for others ---------------------------------------------------------------------------------------------

    def start(self) -> None:
        """Begin to turn the feed and to show the time."""
        self._timer.start(LOOK_MS)

    def look(self) -> None:
        """Let the feed speak, hear the hub, keep the draft, show what changed."""
        self._turn()
        if self._line is not None:
            self._line.turn()
            news = self._line.news()
            if news is not None:
                self.rounds.take_unit(news)
        self.gate.tick()
        self.rounds.tick()
        self._looks += 1
        if self._looks % _SHOW_EVERY == 0:
            self.show_state()

    def begin(self, seat: Known | None, person: PersonRow | None) -> None:
        """Open the form of a run, or ask first who types and which bed; and for the secret, where that is asked."""
        if person is None:
            self.lists.offer_people(seat)
            return

        def then() -> None:
            if seat is None:
                self.rounds.person = person
                self.lists.offer_beds()
            else:
                self.open(seat, person)

        self.gate.let_in(seat, person, then)
        if self.parts is None and seat is not None and self.gate.refusal(seat, person):
            self.lists.offer_people(seat)

    def open(self, seat: Known, person: PersonRow) -> None:
        """Open the form of a run for somebody who may enter there."""
        if not self.rounds.places.is_open(seat.place):
            self._remark(say("That run at {bed} is over, or has moved: choose the bed anew (F5).", bed=seat.bed))
            return
        taken_up = self.rounds.open(seat, person)
        here = self.rounds.seat
        assert here is not None, "it was just opened"
        due = self.lists.here()
        if not taken_up:
            self.rounds.choose_round((*due.rounds, *rounds_of(person.roles))[0])
        parts = self._put_parts(here)
        parts.show_part(not taken_up and bool(due.rounds) and not due.due)
        self.head.show_seat(here.bed, seat_words(self.rounds.folder, here), person.label)
        self.foot.bed.setText(here.bed)
        self.foot.save.setText(say("Save  F2"))
        self.setWindowTitle(say("Bed {bed}: entering a round · Weirkeeper", bed=here.bed))
        self.foot.say(say(_TAKEN_UP) if taken_up else "", taken_up)
        if self.rounds.correcting is not None:
            self._corrects()
        self.show_state()
        parts.focus()
        if self._line is not None:
            self._line.ask_soon()

    def _put_parts(self, here: Known) -> Parts:
        """Put the fields and items of a run in place of those before."""
        if self.parts is not None:
            self._column.removeWidget(self.parts)
            self.parts.hide()
            self.parts.deleteLater()
        fields = FieldsArea(self.rounds.folder.table.fields_of(here.run), here.run, self)
        fields.typed.connect(self._typed)
        fields.ordered.connect(lambda quantity: self._say(self.rounds.say_ordered, quantity))
        fields.not_read.connect(lambda quantity: self._say(self.rounds.say_not_read, quantity))
        fields.past_end.connect(lambda: self._to_part(True))
        fields.past_begin.connect(self.head.ask_time)
        self._insists = frozenset()
        self.parts = Parts(fields, self._make_look(), self)
        self.parts.set_compact(self.foot.is_compact)
        self._column.insertWidget(1, self.parts, 1)
        self.parts.show()
        return self.parts

    def _make_look(self) -> LookArea:
        look = LookArea(self.rounds.items, self)
        look.said.connect(self._said_of)
        look.past_end.connect(self.foot.save.setFocus)
        look.past_begin.connect(lambda: self._to_part(False))
        return look

    def _to_part(self, look: bool) -> None:
        assert self.parts is not None
        self.parts.show_part(look)
        if look and not self.parts.look.rows:
            self.foot.save.setFocus()
        else:
            self.parts.focus()

    def turn_part(self) -> None:
        """Show the other part of the form."""
        if self.parts is not None and not self._holds_question():
            self._to_part(not self.parts.is_look)

    def turn_round(self) -> None:
        """Look at the items of the next kind of round."""
        if self.parts is None or self._holds_question():
            return
        if self.rounds.correcting is not None:
            self._remark(say("A set that is corrected stays of its round."))
            return
        kinds = list(RoundKind)
        self.rounds.choose_round(kinds[(kinds.index(self.rounds.draft.round) + 1) % len(kinds)])
        self._insists = frozenset()
        self.parts.put_look(self._make_look())
        self.show_state()
        self._to_part(True)

    def _holds_question(self) -> bool:
        """Hand over what is typed; tell whether its field asks and must be answered first."""
        fields = self.fields
        return fields is not None and fields.commit() and fields.asked(fields.current)

    # -- showing ------------------------------------------------------------------------------------------------

    def show_state(self) -> None:
        """Show everything as it stands now."""
        now, rounds = self.rounds.clock(), self.rounds
        zone = rounds.folder.zone
        self.head.clock.setText(clock_words(now, zone))
        if self.parts is None or rounds.seat is None:
            self.foot.warn(self.gate.trouble())
            return
        judgement, draft = rounds.judgement(), rounds.draft
        self.parts.fields.show_judgement(judgement, texts_of(draft), now, rounds.as_sent, draft.not_read)
        old = rounds.to_look_again()
        self.parts.look.show_answers(draft.answers, old, rounds.looked_as_sent, rounds.seat.findings)
        self.parts.say(*parts_words(rounds))
        self.foot.computed.setText(computed_words(computed(judgement, rounds.seat.run)))
        self.foot.ask_bed(judgement.resemblance.words if judgement.resemblance is not None else None)
        self.head.read_at.setText(times_words(rounds, now))
        self.head.due.setText(due_words(self.lists.here()))
        self.foot.list_sent([posted_words(one, now, zone) for one in rounds.posted()] or [say("Nothing sent yet.")])
        left = rounds.undo_left_s()
        self.foot.warn(trouble_words(rounds, self.gate.trouble()))
        if left > 0 and self._said_sent:
            self.foot.say(
                say("{said_sent} Take it back with F3 within {left:.0f} s.", said_sent=self._said_sent, left=left)
            )
        elif self._said_sent:
            self.foot.say(self._said_sent)

    # -- typing -------------------------------------------------------------------------------------------------

    def _typed(self, quantity: Quantity, text: str) -> None:
        assert self.fields is not None
        self.rounds.type_into(quantity, text)
        self._after(quantity)

    def _say(self, what: Callable[[Quantity], None], quantity: Quantity) -> None:
        what(quantity)
        self._after(quantity)

    def _said_of(self, item: str, found: Found | None, note: str) -> None:
        self.rounds.say_of(item, found, note)
        self.gate.used()
        self._said_sent = ""
        self._insists = frozenset()
        self._say_nothing()
        self.show_state()

    def _after(self, quantity: Quantity) -> None:
        assert self.fields is not None
        self.gate.used()
        self._said_sent = ""
        self._say_nothing()
        self.show_state()
        self.fields.take(quantity, texts_of(self.rounds.draft).get(quantity, ""))

    def _say_nothing(self) -> None:
        """Say nothing, or, while a set is corrected, that."""
        if self.rounds.correcting is None:
            self.foot.say("")
            return
        kept, why = self.rounds.correcting
        read_at = clock_words(kept.newest.read_at, self.rounds.folder.zone)
        self.foot.say(correcting_words(read_at, why), True)

    def _answer_bed(self) -> None:
        label = self.foot.answer.text()
        self.foot.answer.clear()
        if self.rounds.answer_bed(label):
            self._say_nothing()
            self.show_state()
            self.foot.save.setFocus()
        else:
            self.show_state()

    def _take_time(self) -> None:
        try:
            self.rounds.set_read_at(time_typed(self.rounds, self.head.time.text().strip()))
        except ValueError as error:
            self.foot.say(str(error), True)
            self.head.time.selectAll()
            return
        self._say_nothing()
        self.show_state()
        self._back_to_fields()

    # -- acts ---------------------------------------------------------------------------------------------------

    def save(self) -> None:
        """Send what stands, or say what must be done first."""
        seat, person = self.rounds.seat, self.rounds.person
        if self.fields is None or seat is None or person is None:
            return
        if self._holds_question():
            self._to_part(False)
            return
        self.gate.let_in(seat, person, self._send)

    def _send(self) -> None:
        if self.rounds.correcting is not None:
            self._correct()
            return
        left = self.rounds.unanswered()
        if left and self._insists != {one.id for one in left}:
            self._insists = frozenset(one.id for one in left)
            self._to_part(True)
            assert self.parts is not None
            self.parts.look.focus_on(left[0].id)
            self.foot.say(unanswered_words(len(left)), True)
            return
        try:
            sent = self.rounds.save()
        except ValueError as error:
            self._not_sent(str(error))
            return
        self._show_sent(sent)

    def _show_sent(self, sent: EnteredSet) -> None:
        fields = self.fields
        assert fields is not None
        left = [fields.rows[quantity].field.label for quantity in sent.left_out]
        self._said_sent = sent_words(sent, left)
        self._insists = frozenset()
        self.head.time.clear()
        self.foot.say(self._said_sent)
        for row in fields.rows.values():
            row.show_text("")
        self.show_state()
        fields.current = next(iter(fields.rows))
        self._to_part(False)

    def _correct(self) -> None:
        try:
            mended = self.rounds.correct()
        except ValueError as error:
            self._not_sent(str(error))
            return
        self._reopen(corrected_words(mended.place.bed, len(mended.versions)))

    def _reopen(self, words: str) -> None:
        assert self.rounds.seat is not None
        assert self.rounds.person is not None
        self.open(self.rounds.seat, self.rounds.person)
        self._said_sent = words
        self.show_state()

    def _not_sent(self, why: str) -> None:
        assert self.fields is not None
        judgement = self.rounds.judgement()
        self.show_state()
        self.foot.say(why, True)
        asks = next((v.field.quantity for v in judgement.fields if self.fields.must_answer(v.field.quantity)), None)
        old = self.rounds.to_look_again()
        if asks is not None:
            self._to_part(False)
            self.fields.focus_on(asks)
        elif old and self.parts is not None:
            self._to_part(True)
            self.parts.look.focus_on(next(item for item in self.parts.look.rows if item in old))
        elif judgement.resemblance is not None:
            self.foot.answer.setFocus()

    def undo(self) -> None:
        """Take back what was just sent."""
        try:
            self.rounds.undo()
        except ValueError as error:
            self.foot.say(str(error), True)
            return
        self._said_sent = ""
        self.foot.say(say("Taken back: the set is struck, its numbers stand here again."))
        self.show_state()
        self._back_to_fields()

    def go_to(self, seat: Known, person: PersonRow | None) -> None:
        """Open another bed's form from outside; what stands in this one is kept as a draft."""
        if self.fields is not None:
            self.fields.commit()
        self.begin(seat, person)

    def no_run_at(self, bed: str) -> None:
        """Say that a bed that was named has no run, as far as the form knows."""
        self._remark(say("No run is open at {bed}, as far as this form knows.", bed=bed))

    def go_to_next(self) -> None:
        """Open the bed that is due and waits longest, among those where this person may enter."""
        person = self.rounds.person
        if person is None:
            return
        seat = self.lists.next(person)
        if seat is None:
            self.foot.say(say("No other bed is due."))
        elif not self._holds_question():
            self.begin(seat, person)

    def mend(self) -> None:
        """Offer the sets that were sent, to be corrected or struck."""
        seat, person = self.rounds.seat, self.rounds.person
        if self.fields is not None and seat is not None and person is not None:
            self.fields.commit()
            self._said_sent = ""
            self.gate.let_in(seat, person, self.mending.begin)

    def _corrects(self) -> None:
        assert self.parts is not None
        for row in self.parts.fields.rows.values():
            row.show_text("")
        self.parts.put_look(self._make_look())
        self.show_state()
        self._say_nothing()
        self.foot.save.setText(say("Correct  F2"))
        looked_alone = not self.rounds.as_sent and bool(self.parts.look.rows)
        self.parts.fields.current = next(iter(self.parts.fields.rows))
        self._to_part(looked_alone)

    def turn_theme(self) -> None:
        """Change between day and night."""
        self._theme = "night" if self._theme == "day" else "day"
        self.setStyleSheet(sheet(themes()[self._theme]))

    # -- the window's own ---------------------------------------------------------------------------------------

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Leave to keys and lists what has no room, as with text of 200 %."""
        super().resizeEvent(event)
        compact = self.width() < ROOMY_FORM[0] or self.height() < ROOMY_FORM[1]
        for part in (self.head, self.foot, self.parts):
            if part is not None:
                part.set_compact(compact)

    def closeEvent(self, event: QCloseEvent) -> None:
        """Keep what is typed; it is there again next time."""
        if self.fields is not None:
            self.fields.commit()
        self.rounds.keep_draft()
        self._timer.stop()
        super().closeEvent(event)

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Escape goes back into the fields; it never sends, and never throws away."""
        if event.key() == Qt.Key.Key_Escape:
            if self.rounds.correcting is not None:
                self.rounds.throw_away()
                self._reopen(say("Nothing was corrected."))
            self._back_to_fields()
        else:
            super().keyPressEvent(event)

    def _back_to_fields(self) -> None:
        if self.parts is not None:
            self.parts.focus()

    def _remark(self, words: str) -> None:
        self._said_sent = ""
        self.show_state()
        self.foot.say(words, True)

    def _back_from_save(self) -> None:
        if self.parts is None:
            return
        if self.parts.look.rows:
            self._to_part(True)
            self.parts.look.focus_on(list(self.parts.look.rows)[-1])
        else:
            self._to_part(False)
            self.parts.fields.focus_on(list(self.parts.fields.rows)[-1])
