"""The window of the form: one screen a bed, keyboard only. It shows what `Rounds` holds."""

from collections.abc import Callable, Iterable

from PySide6.QtCore import Qt, QTimer
from PySide6.QtGui import QCloseEvent, QKeyEvent, QKeySequence, QShortcut
from PySide6.QtWidgets import QLayout, QVBoxLayout, QWidget

from feeds.entered.choice import Choice, Offer
from feeds.entered.dress import sheet, themes
from feeds.entered.fields_area import FieldsArea
from feeds.entered.folder import PersonRow
from feeds.entered.foot import Foot
from feeds.entered.head import Head
from feeds.entered.mending import WHY_WORDS, Mending
from feeds.entered.rounds import Rounds, texts_of
from feeds.entered.sweep import DueBed, next_bed, sweep
from feeds.entered.words import age_words, clock_words, posted_words, read_clock
from shared.entry.another_bed import Resemblance
from shared.entry.computed import Computed, computed
from shared.entry.known import Known
from shared.entry.times import is_late, read_at_fault
from shared.instant import SECOND, Instant
from shared.quantities import Quantity
from shared.support import SUPPORT_LABEL

LOOK_MS = 50
_SHOW_EVERY = 10
_NOT_STORED = "NOT STORED YET"


class FormWindow(QWidget):
    """The entry form.

    Args:
        rounds: what is typed and sent.
        turn: lets the feed speak and listen, called every `LOOK_MS`.
    """

    def __init__(self, rounds: Rounds, turn: Callable[[], None], theme: str = "day") -> None:
        super().__init__()
        self.rounds, self._turn, self._theme = rounds, turn, theme
        self._ticks = 0
        self._said_sent = ""
        self.fields: FieldsArea | None = None
        self.head, self.foot = Head(self), Foot(self)
        self.choice = Choice(self, self._back_to_fields)
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
            (Qt.Key.Key_F2, self.save),
            (Qt.Key.Key_F3, self.undo),
            (Qt.Key.Key_F4, self._ask_time),
            (Qt.Key.Key_F5, self.offer_beds),
            (Qt.Key.Key_F6, self.offer_people),
            (Qt.Key.Key_F7, self.mend),
            (Qt.Key.Key_F9, self.turn_theme),
            (Qt.Key.Key_PageDown, self.go_to_next),
        )
        for key, act in keys:
            shortcut = QShortcut(QKeySequence(key), self)
            shortcut.activated.connect(lambda act=act: None if self.choice.is_open else act())

    # -- for others ---------------------------------------------------------------------------------------------

    def start(self) -> None:
        """Begin to turn the feed and to show the time."""
        self._timer.start(LOOK_MS)

    def look(self) -> None:
        """Let the feed speak, keep the draft, show what changed."""
        self._turn()
        self.rounds.tick()
        self._ticks += 1
        if self._ticks % _SHOW_EVERY == 0:
            self.show_state()

    def begin(self, seat: Known | None, person: PersonRow | None) -> None:
        """Open the form of a run, or ask first who types and which bed."""
        if person is None:
            self.offer_people(seat)
        elif seat is None:
            self.rounds.person = person
            self.offer_beds()
        else:
            self.open(seat, person)

    def open(self, seat: Known, person: PersonRow) -> None:
        """Open the form of a run."""
        taken_up = self.rounds.open(seat, person)
        here = self.rounds.seat
        assert here is not None, "it was just opened"
        if self.fields is not None:
            self._column.removeWidget(self.fields)
            self.fields.hide()
            self.fields.deleteLater()
        fields = FieldsArea(self.rounds.folder.table.fields_of(here.run), self)
        fields.typed.connect(self._typed)
        fields.ordered.connect(self._ordered)
        fields.past_end.connect(self.foot.save.setFocus)
        fields.past_begin.connect(self._ask_time)
        self.fields = fields
        self.foot.save.setText("Save  F2")
        self._column.insertWidget(1, fields, 1)
        fields.show()
        for label in (self.head.bed, self.foot.bed):
            label.setText(here.bed)
        two = f" · pump {here.run.slot}" if self._pumps_of(here) > 1 else ""
        note = self.rounds.folder.notes.get(here.bed, "")
        self.head.support.setText(f"{SUPPORT_LABEL[here.run.support]}{two}{f' · {note}' if note else ''}")
        self.head.who.setText(f"Entered by {person.label}")
        self.head.time.clear()
        self.setWindowTitle(f"Bed {here.bed}: entering a round · Weirkeeper")
        self.foot.say("A draft of yours is taken up again; nothing of it was sent." if taken_up else "", taken_up)
        self.show_state()
        fields.focus_on(fields.current)

    # -- showing ------------------------------------------------------------------------------------------------

    def show_state(self) -> None:
        """Show everything as it stands now."""
        now, rounds = self.rounds.clock(), self.rounds
        zone = rounds.folder.zone
        self.head.clock.setText(clock_words(now, zone))
        if self.fields is None or rounds.seat is None:
            return
        judgement = rounds.judgement()
        self.fields.show_judgement(judgement, texts_of(rounds.draft), now, rounds.as_sent)
        self.foot.computed.setText(_computed_words(computed(judgement, rounds.seat.run)))
        self._show_resemblance(judgement.resemblance)
        self.head.read_at.setText(self._times_words(now))
        here = next(one for one in self._beds() if one.seat.place == rounds.seat.place)
        self.head.due.setText(_due_words(here))
        self.foot.list_sent([posted_words(one, now, zone) for one in rounds.posted()] or ["Nothing sent yet."])
        left = rounds.undo_left_s()
        self.foot.warn(self._trouble())
        if left > 0 and self._said_sent:
            self.foot.say(f"{self._said_sent} Take it back with F3 within {left:.0f} s.")
        elif self._said_sent:
            self.foot.say(self._said_sent)

    def _show_resemblance(self, found: Resemblance | None) -> None:
        self.foot.answer.setVisible(found is not None)
        if found is not None:
            self.foot.say(found.words, True)

    def _times_words(self, now: Instant) -> str:
        rounds, zone = self.rounds, self.rounds.folder.zone
        if rounds.correcting is not None and rounds.draft.read_at is None:
            return f"Read at (F4): {clock_words(rounds.correcting[0].newest.read_at, zone)} as sent"
        late = " · will be marked late" if is_late(rounds.folder.table.times, rounds.read_at, now) else ""
        return f"Read at (F4): {clock_words(rounds.read_at, zone)} · entered {clock_words(now, zone)}{late}"

    def _trouble(self) -> str:
        rounds, parts = self.rounds, []
        if rounds.in_memory:
            parts.append("THE DISK REFUSES: what is sent is kept in memory only. Write it on paper too.")
        elif rounds.disk_faults:
            refused = " and ".join(sorted(rounds.disk_faults))
            parts.append(f"THE DISK REFUSES {refused}: write on paper what you type.")
        waiting = rounds.waiting()
        if waiting and not rounds.hub_is_there:
            sets = "1 set is" if waiting == 1 else f"{waiting} sets are"
            kept = "kept here and sent" if not rounds.in_memory else "sent"
            parts.append(f"The hub is not there: {sets} {_NOT_STORED}, {kept} when it is back.")
        parts += rounds.put_aside
        return " ".join(parts)

    # -- typing -------------------------------------------------------------------------------------------------

    def _typed(self, quantity: Quantity, text: str) -> None:
        assert self.fields is not None
        self.rounds.type_into(quantity, text)
        self._after(quantity)

    def _ordered(self, quantity: Quantity) -> None:
        self.rounds.say_ordered(quantity)
        self._after(quantity)

    def _after(self, quantity: Quantity) -> None:
        assert self.fields is not None
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
        words = f"CORRECTING the set read at {read_at} ({WHY_WORDS[why]}): type only what is wrong, F4: its time. "
        self.foot.say(f"{words}F2 sends the whole set again, Escape leaves it as it is.", True)

    def _answer_bed(self) -> None:
        label = self.foot.answer.text()
        self.foot.answer.clear()
        if self.rounds.answer_bed(label):
            self._say_nothing()
            self.show_state()
            self.foot.save.setFocus()
        else:
            self.show_state()

    def _ask_time(self) -> None:
        self.head.time.setFocus()
        self.head.time.selectAll()

    def _take_time(self) -> None:
        text, now, rounds = self.head.time.text().strip(), self.rounds.clock(), self.rounds
        read_at = None if not text else read_clock(text, now, rounds.folder.zone)
        fault = read_at if isinstance(read_at, str) else ""
        if isinstance(read_at, int):
            charge = rounds.person is not None and rounds.person.is_charge
            fault = read_at_fault(rounds.folder.table.times, read_at, now, charge)
        if fault:
            self.foot.say(fault, True)
            self.head.time.selectAll()
            return
        rounds.set_read_at(None if read_at is None else int(read_at))
        self._say_nothing()
        self.show_state()
        self._back_to_fields()

    # -- acts ---------------------------------------------------------------------------------------------------

    def save(self) -> None:
        """Send what stands, or say what must be done first."""
        fields = self.fields
        if fields is None:
            return
        if fields.commit() and fields.asked(fields.current):
            fields.focus_on(fields.current)
            return
        if self.rounds.correcting is not None:
            self._correct()
            return
        try:
            sent = self.rounds.save()
        except ValueError as error:
            self._not_sent(str(error))
            return
        left = (
            f" NOT sent: {', '.join(fields.rows[q].field.label for q in sent.left_out)}." if sent.left_out else ""
        )
        late = ", marked late" if sent.late else ""
        count = "1 number" if len(sent.values) == 1 else f"{len(sent.values)} numbers"
        self._said_sent = f"{sent.place.bed}: {count} sent{late}.{left}"
        self.head.time.clear()
        self.foot.say(self._said_sent)
        for row in fields.rows.values():
            row.show_text("")
        self.show_state()
        fields.focus_on(next(iter(fields.rows)))

    def _correct(self) -> None:
        try:
            mended = self.rounds.correct()
        except ValueError as error:
            self._not_sent(str(error))
            return
        self._reopen(f"{mended.place.bed}: corrected, version {len(mended.versions)} of the whole set is sent.")

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
        if asks is not None:
            self.fields.focus_on(asks)
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
        self.foot.say("Taken back: the set is struck, its numbers stand here again.")
        self.show_state()
        self._back_to_fields()

    def go_to(self, seat: Known, person: PersonRow | None) -> None:
        """Open another bed's form from outside; what stands in this one is kept as a draft."""
        if self.fields is not None:
            self.fields.commit()
        self.begin(seat, person)

    def go_to_next(self) -> None:
        """Open the bed that is due and waits longest."""
        person = self.rounds.person
        seat = next_bed(self._beds(), self.rounds.seat)
        if person is None:
            return
        if seat is None:
            self.foot.say("No other bed is due.")
            return
        if self.fields is not None and self.fields.commit() and self.fields.asked(self.fields.current):
            return
        self.open(seat, person)

    def offer_beds(self) -> None:
        """Show the beds, what is due first."""
        beds, person = self._beds(), self.rounds.person
        if person is None:
            self.offer_people()
            return
        rows = [f"{one.seat.bed:<6}{self._pump(one.seat)}   {_due_words(one)}" for one in beds]
        self.choice.offer(Offer("Beds: the longest overdue first", rows, lambda n: self.open(beds[n].seat, person)))

    def offer_people(self, seat: Known | None = None) -> None:
        """Show who may enter, and open the form for the one who is chosen."""
        people = self.rounds.folder.people
        seat = seat or self.rounds.seat
        rows = [f"{one.label}{'   (charge)' if one.is_charge else ''}" for one in people]
        self.choice.offer(Offer("Who enters?", rows, lambda n: self.begin(seat, people[n])))

    def mend(self) -> None:
        """Offer the sets that were sent, to be corrected or struck."""
        if self.fields is not None:
            self.fields.commit()
            self._said_sent = ""
            self.mending.begin()

    def _corrects(self) -> None:
        assert self.fields is not None
        for row in self.fields.rows.values():
            row.show_text("")
        self.show_state()
        self._say_nothing()
        self.foot.save.setText("Correct  F2")
        self.fields.focus_on(next(iter(self.fields.rows)))

    def turn_theme(self) -> None:
        """Change between day and night."""
        self._theme = "night" if self._theme == "day" else "day"
        self.setStyleSheet(sheet(themes()[self._theme]))

    # -- the window's own ---------------------------------------------------------------------------------------

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
                self._reopen("Nothing was corrected.")
            self._back_to_fields()
        else:
            super().keyPressEvent(event)

    def _back_to_fields(self) -> None:
        if self.fields is not None:
            self.fields.focus_on(self.fields.current)

    def _remark(self, words: str) -> None:
        self._said_sent = ""
        self.show_state()
        self.foot.say(words, True)

    def _back_from_save(self) -> None:
        if self.fields is not None:
            self.fields.focus_on(list(self.fields.rows)[-1])

    def _beds(self) -> tuple[DueBed, ...]:
        known = [self.rounds.known(seat.place) for seat in self.rounds.folder.seats]
        return sweep(self.rounds.folder.table, known, self.rounds.clock())

    def _pumps_of(self, seat: Known) -> int:
        return sum(one.bed == seat.bed for one in self.rounds.folder.seats)

    def _pump(self, seat: Known) -> str:
        two = f" pump {seat.run.slot}" if self._pumps_of(seat) > 1 else ""
        return f"{SUPPORT_LABEL[seat.run.support]}{two}"


def _computed_words(worked: Iterable[Computed]) -> str:
    parts = [f"{one.label} {one.value:.{one.decimals}f} {one.unit}".strip() for one in worked]
    return "Computed:  " + ("   ·   ".join(parts).replace("-", "\u2212") or "nothing yet")


def _due_words(one: DueBed) -> str:
    if one.never:
        return "nothing entered yet"
    if not one.due:
        return "nothing is due"
    fields = "1 field" if one.due == 1 else f"{one.due} fields"
    over = f", overdue by {age_words(one.overdue_ms)}" if one.overdue_ms >= 60 * SECOND else ""
    return f"{fields} due{over}"
