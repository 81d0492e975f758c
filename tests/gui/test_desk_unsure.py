"""A number that is not taken as plainly true has the sign of its trend on the tile, in both themes, and is said."""

from datetime import UTC
from itertools import combinations

import numpy as np
import pytest
from pytestqt.qtbot import QtBot

from monitor.desk.link_state import LinkState
from monitor.desk.palette import load_palette
from monitor.desk.tile.compose import compose
from monitor.desk.tile.moment import Moment
from monitor.desk.tile.widget import TileWidget
from shared.quantities import Quantity as Q
from tests.helpers.desk import picture, read_out
from tests.helpers.painting import grey
from tests.helpers.views import NOW, filled, latest, tile


@pytest.mark.parametrize("theme", ["day", "night"])
@pytest.mark.parametrize("size", [(466, 308), (330, 210)])
@pytest.mark.parametrize("far", [False, True])
def test_that_a_number_in_doubt_has_the_sign_of_its_trend_and_is_said(
    qtbot: QtBot, theme: str, size: tuple[int, int], far: bool
) -> None:
    view, pictures = tile(), []
    for field in ("estimated", "doubtful", "unchecked"):
        of = frozenset() if field == "estimated" else frozenset({Q.PUMP_FLOW, Q.PULSE_PRESSURE})
        store = filled([view], [latest(view.bed).model_copy(update={field: of})])
        widget = TileWidget(store, getattr(load_palette(), theme))
        qtbot.addWidget(widget)
        widget.resize(*size)
        widget.set_far(far)
        widget.show_face(compose(view, store, Moment(NOW, LinkState.LIVE, UTC)))
        pictures.append(grey(picture(widget)))
        widget.show()
        said = read_out(widget).name
        assert (f"Flow is {field}" in said) == bool(of)
        stands = size == (466, 308) and not far  # a compact tile has no plain numbers
        assert (f"PP is {field}" in said) == (bool(of) and stands)
    for one, two in combinations(pictures, 2):
        assert (np.abs(one - two) > 0.1).sum() > 12, "signs differ without colour, from none and from each other"
