"""What a tile keeps as painted: whatever it showed before, it shows what a tile made anew shows."""

import math
from dataclasses import replace
from itertools import pairwise

import numpy as np
import pytest
from PySide6.QtGui import QImage, QPixmap
from pytestqt.qtbot import QtBot

from monitor.core.grades import AlertClass, Priority
from monitor.core.view import AudioPauseView, OffSupportView, TileView
from monitor.core.wire import ReadingsDelta
from monitor.desk.header import Header, places_for
from monitor.desk.header_face import compose_header
from monitor.desk.paint.noted import painted_on
from monitor.desk.palette import load_palette
from monitor.desk.store import Store
from monitor.desk.tile.compose import compose
from monitor.desk.tile.face import Face
from monitor.desk.tile.moment import Moment
from monitor.desk.tile.widget import TileWidget
from shared.instant import MINUTE, SECOND
from shared.messages import Origin
from shared.quantities import Quantity as Q
from shared.support import Support
from tests.helpers.desk import picture
from tests.helpers.views import NOW, episode, filled, hear, holder, latest, run, tile

OLD = NOW - 400 * SECOND
VIEWS: tuple[TileView, ...] = (
    tile(),
    tile(episodes=(episode("Flow 2.2", Priority.HIGH),)),
    tile(episodes=(episode("Flow 2.2", Priority.HIGH, holder=holder()),)),
    tile(audio_paused=AudioPauseView(by="charge", until=NOW + MINUTE)),
    tile(runs=(run().model_copy(update={"off_support": OffSupportView(by="charge", since=NOW - MINUTE)}),)),
    tile(episodes=(episode("No feed", alert_class=AlertClass.TECHNICAL),), stale=True, last_reading_at=OLD),
    tile(runs=()),
    tile(runs=(run(Support.LV_AO, 1, 4.0), run(Support.RA_PA, 2, 3.6))),
    tile(origin=Origin.ENTERED, by_hand_note="hourly"),
    tile(origin=Origin.SIMULATED),
    tile(),
)


def shown(qtbot: QtBot, store: Store, size: tuple[int, int]) -> TileWidget:
    widget = TileWidget(store, load_palette().day)
    qtbot.addWidget(widget)
    widget.resize(*size)
    return widget


@pytest.mark.parametrize("size", [(466, 308), (307, 229)], ids=["whole", "compact"])
def test_that_a_tile_looks_as_if_made_anew_whatever_it_showed_before(qtbot: QtBot, size: tuple[int, int]) -> None:
    stores = [filled([view]) for view in VIEWS]
    tiles = [shown(qtbot, store, size) for store in stores]
    for (before, after), (store, widget) in zip(pairwise(VIEWS), pairwise_last(stores, tiles), strict=True):
        widget.show_face(compose(before, store, Moment(NOW)))
        picture(widget)
        widget.show_face(compose(after, store, Moment(NOW)))
        anew = shown(qtbot, store, size)
        anew.show_face(compose(after, store, Moment(NOW)))
        assert np.array_equal(picture(widget), picture(anew))


def pairwise_last(stores: list[Store], tiles: list[TileWidget]) -> list[tuple[Store, TileWidget]]:
    return list(zip(stores[1:], tiles[1:], strict=True))


def test_that_flash_colours_and_reduced_motion_are_painted_at_once(qtbot: QtBot) -> None:
    view = VIEWS[1]
    store = filled([view])
    widget = shown(qtbot, store, (466, 308))
    widget.show_face(compose(view, store, Moment(NOW)))
    plain = picture(widget)
    seen = [plain]
    widget.set_inverted(True)
    seen.append(picture(widget))
    widget.set_still(True)
    seen.append(picture(widget))
    widget.set_theme(load_palette().night)
    seen.append(picture(widget))
    for one, other in pairwise(seen):
        assert not np.array_equal(one, other)
    widget.set_theme(load_palette().day)
    widget.set_still(False)
    widget.set_inverted(False)
    assert np.array_equal(picture(widget), plain)


def test_that_a_flash_paints_its_block_and_leaves_the_numbers(qtbot: QtBot) -> None:
    view = VIEWS[1]
    widget = shown(qtbot, filled([view]), (466, 308))
    widget.show_face(compose(view, filled([view]), Moment(NOW)))
    before = picture(widget)
    widget.set_inverted(True)
    block, part = widget.block(), QPixmap(widget.size())
    part.fill()
    widget.render(part, block.topLeft(), block)
    after = picture(widget)
    outside = np.ones(before.shape[:2], dtype=bool)
    outside[block.top() : block.bottom() + 1, block.left() : block.right() + 1] = False
    assert np.array_equal(before[outside], after[outside])
    assert not np.array_equal(before, after)


def test_that_a_tile_which_flashes_no_more_keeps_one_picture(qtbot: QtBot) -> None:
    quiet, calls = VIEWS[0], VIEWS[1]
    widget = shown(qtbot, filled([calls]), (466, 308))
    widget.show_face(compose(calls, filled([calls]), Moment(NOW)))
    picture(widget)
    widget.set_inverted(True)
    picture(widget)
    assert len(widget._kept.still) == 2
    widget.show_face(compose(quiet, filled([quiet]), Moment(NOW)))
    picture(widget)
    assert len(widget._kept.still) == 1


def test_that_words_are_read_out_from_a_tile_that_was_painted_before(qtbot: QtBot) -> None:
    view = VIEWS[1]
    store = filled([view], [latest("B7", pump_flow=2.2)])
    widget = shown(qtbot, store, (466, 308))
    widget.show_face(compose(view, store, Moment(NOW)))
    first = painted_on(widget)
    picture(widget)
    assert painted_on(widget) == first
    assert {"B7", "Nobody has it", "2.2"} <= set(first)
    assert store.readings.latest("B7", 1, Q.PUMP_FLOW) is not None


@pytest.mark.parametrize("past", [True, False], ids=["past", "no past"])
@pytest.mark.parametrize("size", [(466, 308), (307, 229), (625, 468)], ids=["whole", "compact", "large"])
def test_that_a_line_that_grows_looks_as_if_drawn_at_once(qtbot: QtBot, size: tuple[int, int], past: bool) -> None:
    store = filled([tile()], trends=past)
    store.readings.merge("B7", 1, store.readings.width_ms("B7"), {})  # what is missing is a gap, and hatched
    widget = shown(qtbot, store, size)
    bases = set()
    for second in range(75):
        swing = math.sin(second) * (1 + second % 7)
        values = {
            Q.PUMP_FLOW: 4.2 + 0.2 * swing,
            Q.INLET_PRESSURE: -60 + 5 * swing,
            Q.MEAN_ARTERIAL_PRESSURE: 72 + (0 if second % 11 else 40),
        }
        at = NOW + second * SECOND
        hear(store, ReadingsDelta(boot="b", seq=second + 2, bed="B7", slot=1, read_at=at, values=values))
        if second == 40:  # one that comes late, into a column that was painted
            late = ReadingsDelta(
                boot="b", seq=99, bed="B7", slot=1, read_at=at - MINUTE, values={Q.PUMP_FLOW: 2.5}, late=True
            )
            hear(store, late)
        face = compose(store.tiles["B7"], store, Moment(at))
        widget.show_face(face)
        anew = shown(qtbot, store, size)
        anew.show_face(face)
        assert np.array_equal(picture(widget), picture(anew)), second
        bases |= {id(kept.base) for kept in widget._kept.lines.values() if kept.base is not None}
    assert 6 <= len(bases) <= 15, "once a column, or after what came late: most readings draw the end alone"


@pytest.mark.parametrize("size", [(466, 308), (307, 229), (625, 468)], ids=["whole", "compact", "large"])
def test_that_all_that_a_reading_changes_lies_where_it_is_painted(qtbot: QtBot, size: tuple[int, int]) -> None:
    """What stands outside of it is on the screen as it was: so nothing may differ there."""
    for view in VIEWS:
        store = filled([view])
        widget = shown(qtbot, store, size)
        place = widget.rect()
        for second in range(8):
            for one in view.runs:
                values = dict.fromkeys(one.description.sensors, 1.0) | {
                    Q.PUMP_FLOW: (4.2, 0.0, 10.5)[second % 3],
                    Q.INLET_PRESSURE: (-60.0, -299.0, 12.0)[second % 3],
                    Q.MEAN_ARTERIAL_PRESSURE: (72.0, 8.0, 180.0)[second % 3],
                    Q.PUMP_SPEED: (3200.0, 0.0, 11_000.0)[second % 3],
                }
                at, slot = NOW + second * SECOND, one.description.slot
                delta = ReadingsDelta(boot="b", seq=second + 2, bed=view.bed, slot=slot, read_at=at, values=values)
                hear(store, delta)
            before, old = widget.face, picture(widget)
            widget.show_face(compose(store.tiles[view.bed], store, Moment(NOW)))
            new = picture(widget)
            if before is None or _apart(before) != _apart(widget.face):
                continue
            place = widget.readings()
            outside = np.ones(new.shape[:2], dtype=bool)
            outside[place.top() : place.bottom() + 1, place.left() : place.right() + 1] = False
            assert np.array_equal(old[outside], new[outside])
        assert not view.runs or place != widget.rect()


def _apart(face: Face | None) -> Face | None:
    return replace(face, trends=(), plain=()) if face is not None else None


@pytest.mark.parametrize("size", [(1920, 96), (1280, 56)], ids=["wide", "slim"])
def test_that_a_header_whose_clock_goes_on_looks_as_if_painted_whole(qtbot: QtBot, size: tuple[int, int]) -> None:
    store = filled([VIEWS[1], VIEWS[2]])
    header = Header(load_palette().day)
    qtbot.addWidget(header)
    header.resize(*size)
    header.show_face(compose_header(store, Moment(NOW), 0.0))
    old = picture(header)
    header.show_face(compose_header(store, Moment(NOW + 7 * SECOND), 0.0))
    whole = picture(header)
    place = places_for(*size).clock.toAlignedRect()
    part = header.grab(place).toImage().convertToFormat(QImage.Format.Format_RGB888)
    flat = np.frombuffer(part.constBits(), np.uint8).reshape(part.height(), part.bytesPerLine())
    here = np.s_[place.top() : place.bottom() + 1, place.left() : place.right() + 1]
    assert np.array_equal(flat[:, : 3 * part.width()].reshape(part.height(), part.width(), 3), whole[here])
    assert not np.array_equal(old[here], whole[here])
