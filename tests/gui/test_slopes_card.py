"""The card of slopes: values with intervals, what is usual and since when, and nothing where nothing is known."""

from datetime import UTC

import pytest
from pytestqt.qtbot import QtBot

from monitor.analysis.arrow import Arrow
from monitor.core.meaning.trend_view import SlopeView, TrendView
from monitor.desk.bedpage.slopes_card import SlopesCard, slope_rows
from monitor.desk.palette import load_palette
from shared.instant import HOUR, MINUTE
from shared.look.need import Need
from shared.quantities import Quantity as Q
from tests.helpers.desk import picture
from tests.helpers.painting import coloured
from tests.helpers.shown import look_at
from tests.helpers.views import NOW, run

FALLING = TrendView(
    quantity=Q.PUMP_FLOW,
    slopes=(
        SlopeView(window_ms=15 * MINUTE, slope=-0.62, low=-0.8, high=-0.41),
        SlopeView(window_ms=HOUR, slope=-0.1, low=-0.3, high=0.12),
        SlopeView(window_ms=4 * HOUR),
    ),
    noise=0.029,
    arrow=-1,
    run_baseline=4.2,
    run_baseline_from=NOW - 3 * HOUR,
    order_baseline=4.0,
    order_baseline_from=NOW - HOUR,
)
UNKNOWN = TrendView(quantity=Q.MEAN_ARTERIAL_PRESSURE)
STALE = TrendView(quantity=Q.MEAN_ARTERIAL_PRESSURE, run_baseline=72.0, run_baseline_from=NOW, noise=0.4)


def test_that_a_row_says_slope_interval_usual_and_noise() -> None:
    (row,) = slope_rows((FALLING,), run(), UTC)
    assert row.label == "Flow"
    assert row.unit == "L/min"
    assert row.arrow is Arrow.FALLS
    assert row.slopes == (("−0.62", "−0.80 to −0.41"), ("−0.10", "−0.30 to 0.12"), ("", ""))
    assert row.clear == (True, False, False)
    assert row.usual.startswith("Usual 4.0 since order ")
    assert ", 4.2 of run " in row.usual
    assert row.noise == "noise 0.03"


def test_that_what_is_neither_read_nor_usual_has_no_row_and_what_is_stale_no_slope() -> None:
    assert slope_rows((UNKNOWN,), run(), UTC) == ()
    (row,) = slope_rows((STALE,), run(), UTC)
    assert (row.slopes, row.clear, row.arrow) == ((), (), Arrow.NONE)


def test_that_a_long_label_is_never_cut(qtbot: QtBot) -> None:
    card = SlopesCard(load_palette().day)
    qtbot.addWidget(card)
    card.resize(272, 300)
    long = FALLING.model_copy(update={"quantity": Q.OXYGENATOR_RESISTANCE})
    card.show_rows(slope_rows((long,), run(), UTC))
    card.show()
    whole = look_at(card)
    assert {"Oxy ΔP / flow", "mmHg·min/L", "−0.62", "−0.80 to −0.41"} <= {one.what for one in whole.things}
    assert whole.overlapping() == []
    assert whole.cut() == []


@pytest.mark.parametrize("theme", ["day", "night"])
def test_that_the_card_is_painted_without_the_colour_of_a_need(qtbot: QtBot, theme: str) -> None:
    colours = getattr(load_palette(), theme)
    card = SlopesCard(colours)
    qtbot.addWidget(card)
    card.resize(360, 300)
    card.show_rows(slope_rows([FALLING] * 12, run(), UTC))
    pixels = picture(card)
    assert coloured(pixels, colours.ink, 4).sum() > 100
    for need in Need:
        assert not coloured(pixels, colours.priority[need], 1).any()
