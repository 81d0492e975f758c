"""The table of numbers of a wide page: what it says of each where its rows are low."""

from pytestqt.qtbot import QtBot

from monitor.desk.bedpage.figures import Figure
from monitor.desk.bedpage.table import NumbersCard
from monitor.desk.palette import load_palette
from tests.helpers.shown import look_at


def test_that_low_rows_say_the_age_of_what_was_typed_before_its_target(qtbot: QtBot) -> None:
    card = NumbersCard(load_palette().day)
    qtbot.addWidget(card)
    card.resize(368, 18 * 24 + 20)
    figure = Figure("N", "4.2", "L/min", "4.2", "≥ 3.6", "by hand", "57 min old")
    card.show_figures((figure,) * 18, "")
    card.show()
    said = [one.what for one in look_at(card).things]
    assert len([one for one in said if "57 min" in one]) == 18
