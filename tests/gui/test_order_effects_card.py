"""The table of what orders changed: cells, reasons in words, and whole tables only."""

from datetime import UTC

import pytest
from pytestqt.qtbot import QtBot

from monitor.core.meaning.operating_view import AfterView, OrderEffectView
from monitor.desk.bedpage.order_effects_card import BY_SET, MEDIANS, OrderEffectsCard
from monitor.desk.paint.fonts import MINUS, THIN_GAP
from monitor.desk.palette import load_palette
from shared.instant import HOUR
from shared.look.palette import Theme
from shared.quantities import Quantity as Q
from tests.helpers.views import NOW

DAY, NIGHT = load_palette().day, load_palette().night


FLOW_AND_PRESSURE = (Q.PUMP_FLOW, Q.INLET_PRESSURE)
NOT_YET = AfterView(minutes=60, missing="not yet")


def order(**more: object) -> OrderEffectView:
    base = OrderEffectView(
        at=NOW,
        quantity=Q.PUMP_SPEED,
        was=3500.0,
        value=3000.0,
        by="charge",
        quantities=FLOW_AND_PRESSURE,
        before=(4.2, -60.0),
        after=(AfterView(minutes=10, values=(3.41, -38.0)), NOT_YET),
    )
    return base.model_copy(update=more)


def card(qtbot: QtBot, *orders: OrderEffectView, theme: Theme = DAY, high: int = 260) -> OrderEffectsCard:
    made = OrderEffectsCard(theme, lambda person: {"charge": "Charge 2"}.get(person or "", person or ""))
    qtbot.addWidget(made)
    made.resize(407, high)
    made.show_effects(orders, UTC)
    return made


def test_that_an_order_is_said_with_what_it_was_and_who_wrote_it_down(qtbot: QtBot) -> None:
    made = card(qtbot, order())
    assert made.head_of(order()) == f"14:32  Speed 3{THIN_GAP}500 → 3{THIN_GAP}000 rpm · Charge 2"
    by_voice = order(prescriber="the surgeon", was=None)
    assert made.head_of(by_voice).endswith(f"Speed 3{THIN_GAP}000 rpm · the surgeon, written by Charge 2")


def test_that_a_row_without_any_value_says_why_once(qtbot: QtBot) -> None:
    rows = card(qtbot).rows_of(order())
    assert rows == (
        ("", "Flow", "Drain P"),
        ("before", "4.20", f"{MINUS}60"),
        ("10 min", "3.41", f"{MINUS}38"),
        ("60 min", "not yet"),
    )


def test_that_sets_entered_by_hand_stand_at_the_times_at_which_they_were_read(qtbot: QtBot) -> None:
    after = (
        AfterView(minutes=10, at=NOW + HOUR, values=(3.41, -38.0)),
        AfterView(minutes=60, missing="no set yet"),
    )
    by_set = order(before_at=NOW - HOUR, after=after)
    made = card(qtbot, by_set)
    assert [row[0] for row in made.rows_of(by_set)] == ["", "13:32", "15:32", "60 min"]
    assert made.rows_of(by_set)[3] == ("60 min", "no set yet")
    assert made.aside == BY_SET
    late = order(before=(None, None), after=after)
    assert (card(qtbot, late).aside, card(qtbot, order()).aside) == (BY_SET, MEDIANS)


def test_that_a_value_that_alone_was_not_read_is_two_dashes(qtbot: QtBot) -> None:
    after = (AfterView(minutes=10, values=(3.4, None)), AfterView(minutes=60, values=(3.3, 70.0)))
    lost = order(quantities=(Q.PUMP_FLOW, Q.SVO2), before=(4.2, None), after=after)
    rows = card(qtbot).rows_of(lost)
    assert [row[2] for row in rows] == ["SvO₂", "--", "--", "70"]


@pytest.mark.parametrize("theme", [DAY, NIGHT], ids=["day", "night"])
def test_that_tables_are_painted_whole_or_counted(qtbot: QtBot, theme: Theme) -> None:
    orders = [order(at=NOW - hours * HOUR) for hours in range(9)]
    few, many = card(qtbot, *orders[:1], theme=theme), card(qtbot, *orders, theme=theme)
    assert few.grab().toImage() != many.grab().toImage()
    many.set_theme(NIGHT if theme is DAY else DAY)
    assert many.grab().toImage() != few.grab().toImage()


def test_that_without_an_order_the_card_says_so(qtbot: QtBot) -> None:
    empty = card(qtbot)
    assert empty.grab().toImage() != card(qtbot, order()).grab().toImage()
    assert empty.effects == ()
