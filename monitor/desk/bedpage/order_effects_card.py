"""What orders of the last day changed: a small table for each, newest first."""

from collections.abc import Callable
from datetime import tzinfo

from PySide6.QtGui import QPainter

from monitor.core.meaning.operating_view import AfterView, OrderEffectView
from monitor.core.view import RunView
from monitor.desk import words
from monitor.desk.bedpage.card import PAD
from monitor.desk.bedpage.turning import TURN_H, TurnedCard
from monitor.desk.paint.pens import pen
from monitor.desk.paint.text import LOST, Align, draw_text, fit_text, format_number
from shared.language.saying import say, to_say
from shared.look.palette import Theme
from shared.quantities import CATALOGUE, Quantity
from shared.quantities import Quantity as Q
from shared.support import Support, label_for

_ROW, _HEAD, _APART, _FIRST = 16.0, 19.0, 8.0, 58.0
_SHORT = {Q.OXYGENATOR_RESISTANCE: to_say("ΔP/flow")}
NONE = to_say("No order in the last 24 h")
MEDIANS, BY_SET = to_say("medians of 5 min"), to_say("sets entered by hand")


class OrderEffectsCard(TurnedCard):
    """Orders with the values before, and 10 and 60 min after. ``label`` writes a person's name."""

    def __init__(self, theme: Theme, label: Callable[[str | None], str]) -> None:
        super().__init__(say("What orders changed"), theme)
        self.aside = say(MEDIANS)
        self.effects: tuple[OrderEffectView, ...] = ()
        self._label = label
        self._zone: tzinfo | None = None
        self._kind: tuple[Support, bool] | None = None

    def show_effects(
        self, effects: tuple[OrderEffectView, ...], zone: tzinfo | None, run: RunView | None = None
    ) -> None:
        """Show these, newest first."""
        kind = None if run is None else (run.description.support, run.description.oxygenator)
        if (effects, zone, kind) != (self.effects, self._zone, self._kind):
            self.effects, self._zone, self._kind = effects, zone, kind
            self.keep_within(len(effects))
            read_at = (at for one in effects for at in (one.before_at, *(after.at for after in one.after)))
            self.aside = say(BY_SET) if any(at is not None for at in read_at) else say(MEDIANS)
            self.update()

    def head_of(self, effect: OrderEffectView) -> str:
        """Say an order: when, what from what to what, by whom."""
        spec = CATALOGUE[effect.quantity]
        was = "" if effect.was is None else f"{words.reading(effect.quantity, effect.was)} → "
        value = f"{was}{words.reading(effect.quantity, effect.value)} {spec.unit}".rstrip()
        who = say("{prescriber}, written by ", prescriber=effect.prescriber) if effect.prescriber else ""
        what = f"{self._called(effect.quantity)} {value}"
        return f"{words.hhmm(effect.at, self._zone)}  {what} · {who}{self._label(effect.by)}"

    def rows_of(self, effect: OrderEffectView) -> tuple[tuple[str, ...], ...]:
        """Give the cells of a table, its first row the quantities; a row without any value says why in one cell."""
        head = ("", *(say(_SHORT.get(one, self._called(one))) for one in effect.quantities))
        first = say("before") if effect.before_at is None else words.hhmm(effect.before_at, self._zone)
        before = (first, *map(_value, effect.quantities, effect.before))
        return (head, before, *(self._after_row(effect, after) for after in effect.after))

    def _called(self, quantity: Quantity) -> str:
        return say(CATALOGUE[quantity].label) if self._kind is None else say(label_for(quantity, *self._kind))

    def _after_row(self, effect: OrderEffectView, after: AfterView) -> tuple[str, ...]:
        label = f"{after.minutes} min" if after.at is None else words.hhmm(after.at, self._zone)
        return (label, after.missing) if after.missing else (label, *map(_value, effect.quantities, after.values))

    def paint_content(self, painter: QPainter) -> None:
        """Paint the tables, whole ones only."""
        if not self.effects:
            draw_text(painter, PAD, self.top + 12, say(NONE), 13, False, self.theme.ink_2)
            return
        tables = [(effect, self.rows_of(effect)) for effect in self.effects]
        all_fit = self.top + sum(map(_high, tables)) - _APART <= self.height() - 4
        if all_fit:
            self.begin_anew()
        top, floor, shown = self.top, self.height() - (4 if all_fit else TURN_H), 0
        parts = [part for table in tables for part in _parts(table, int((floor - top - _HEAD) // _ROW))]
        for effect, rows in parts[self.first :]:
            high = _high((effect, rows))
            if shown and top + high - _APART > floor:
                break
            self._table(painter, top, effect, rows)
            top += high
            shown += 1
        self.shows(painter, shown, len(parts))

    def _table(
        self, painter: QPainter, top: float, effect: OrderEffectView, rows: tuple[tuple[str, ...], ...]
    ) -> None:
        theme, wide = self.theme, self.width() - 2 * PAD
        said = fit_text(self.head_of(effect), wide, 13, True, smallest=11, most_lines=1)
        draw_text(painter, PAD, top + 13, said.lines[0], said.px, True, theme.ink)
        painter.setPen(pen(theme.rule, 1))
        painter.drawLine(int(PAD), int(top + _HEAD), int(PAD + wide), int(top + _HEAD))
        step = (wide - _FIRST) / max(1, len(rows[0]) - 1)
        for number, row in enumerate(rows):
            base = top + _HEAD + 13 + number * _ROW
            draw_text(painter, PAD, base, row[0], 12, False, theme.ink_2)
            if len(row) == 2 and len(rows[0]) > 2:
                draw_text(painter, PAD + _FIRST + 8, base, row[1], 12, False, theme.ink_3)
                continue
            for place, cell in enumerate(row[1:], 1):
                px, right = (11.0 if number == 0 else 13.0), PAD + _FIRST + place * step
                fitted = fit_text(cell, step - 4, px, False, smallest=11, most_lines=1)
                colour = theme.ink_2 if number == 0 else theme.ink
                draw_text(painter, right, base, fitted.lines[0], fitted.px, False, colour, Align.RIGHT)


_Table = tuple[OrderEffectView, tuple[tuple[str, ...], ...]]


def _high(table: _Table) -> float:
    return _HEAD + _ROW * len(table[1]) + _APART


def _parts(table: _Table, fits: int) -> list[_Table]:
    """Give a table whole, or, where so few rows have room, in parts with the same head."""
    effect, (head, *rows) = table
    step = max(1, fits - 1)
    return [(effect, (head, *rows[at : at + step])) for at in range(0, len(rows), step)]


def _value(quantity: Q, value: float | None) -> str:
    """Write a value with a digit more than a tile, so that a small change is seen; ``--``: no readings."""
    decimals = CATALOGUE[quantity].decimals
    return LOST if value is None else format_number(value, decimals + 1 if decimals else 0)
