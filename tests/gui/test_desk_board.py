"""The board as painted: states apart without colour, quiet without colour, nothing cut, nothing moving at rest."""

from datetime import UTC
from itertools import combinations
from typing import Any

import numpy as np
import pytest
from PySide6.QtCore import Qt
from pytestqt.qtbot import QtBot

from monitor.core.grades import AlertClass, Priority
from monitor.core.view import TileView
from monitor.desk import footer, header, header_banner
from monitor.desk.link_state import LinkState
from monitor.desk.paint import plates, staff
from monitor.desk.palette import load_palette
from monitor.desk.tile import far, paint_foot, paint_head, paint_need, paint_plain, paint_trends, painter
from monitor.desk.tile.compose import compose
from monitor.desk.tile.moment import Moment
from monitor.desk.tile.widget import TileWidget
from shared.instant import MINUTE, SECOND
from shared.look.need import Need
from shared.messages import Origin
from shared.quantities import Quantity as Q
from shared.support import Support
from tests.helpers.desk import Desk, beds, picture, press_key, type_keys
from tests.helpers.drawn import Texts, watch_texts
from tests.helpers.painting import Picture, coloured, grey
from tests.helpers.views import NOW, alert, beat, episode, filled, holder, ladder, latest, run, tile, unit

THEMES = ("day", "night")
SIZES = {  # beds, and the screen they stand on
    "6": (6, 1920, 1080),
    "8": (8, 1920, 1080),
    "12": (12, 1920, 1080),
    "16": (16, 1920, 1080),
    "24": (24, 1920, 1080),
    "12 small": (12, 1366, 768),
}
OLD = NOW - 400 * SECOND
STATES: dict[str, dict[str, Any]] = {
    "quiet": {},
    "circuit": {"episodes": (episode("No flow", Priority.HIGH, circuit_critical=True),)},
    "high": {"episodes": (episode("Flow 2.2", Priority.HIGH),)},
    "high taken": {"episodes": (episode("Flow 2.2", Priority.HIGH, holder=holder()),)},
    "medium": {"episodes": (episode("Flow 3.4"),)},
    "medium taken": {"episodes": (episode("Flow 3.4", holder=holder()),)},
    "low": {"episodes": (episode("Drain P −85", Priority.LOW),)},
    "technical": {"episodes": (episode("No feed", alert_class=AlertClass.TECHNICAL),)},
    "technical taken": {"episodes": (episode("No feed", alert_class=AlertClass.TECHNICAL, holder=holder()),)},
    "seen": {"episodes": (episode("Flow 3.4", seen_by=("charge",)),)},
    "latched": {"episodes": (episode("Flow 3.4", over=True, ladder=None),)},
    "not judged": {"stale": True, "judged": 0, "last_reading_at": OLD},
    "by hand": {"origin": Origin.ENTERED, "by_hand_note": "hourly"},
    "simulated": {"origin": Origin.SIMULATED},
    "no run": {"runs": ()},
    "two runs": {"runs": (run(Support.LV_AO, 1, 4.0), run(Support.RA_PA, 2, 3.6))},
    "VV": {"runs": (run(Support.VV),)},
}


def painted(
    qtbot: QtBot, view: TileView, theme: str = "day", size: tuple[int, int] = (466, 308), **more: Any
) -> Picture:
    """One tile, painted at NOW."""
    widget = widget_of(qtbot, view, theme, size, **more)
    return picture(widget)


def widget_of(
    qtbot: QtBot,
    view: TileView,
    theme: str = "day",
    size: tuple[int, int] = (466, 308),
    link: LinkState = LinkState.LIVE,
    is_far: bool = False,
) -> TileWidget:
    store = filled([view])
    widget = TileWidget(store, getattr(load_palette(), theme))
    qtbot.addWidget(widget)
    widget.resize(*size)
    widget.set_far(is_far)
    widget.show_face(compose(view, store, Moment(NOW, link, UTC)))
    return widget


@pytest.mark.parametrize("theme", THEMES)
def test_that_every_grade_and_taken_or_not_differ_without_colour(qtbot: QtBot, theme: str) -> None:
    names = (
        "quiet",
        "circuit",
        "high",
        "high taken",
        "medium",
        "medium taken",
        "low",
        "technical",
        "technical taken",
    )
    greys = {name: grey(painted(qtbot, tile(**STATES[name]), theme)) for name in names}
    for one, two in combinations(names, 2):
        difference = np.abs(greys[one] - greys[two])
        # an area as large as a mark must differ by a clear step of luminance
        assert (difference > 0.1).sum() > 26 * 26, (one, two)


@pytest.mark.parametrize("theme", THEMES)
@pytest.mark.parametrize(
    "state", [name for name in STATES if name in ("quiet", "not judged", "by hand", "no run", "VV")]
)
def test_that_a_tile_without_a_need_holds_no_colour_of_a_need(qtbot: QtBot, theme: str, state: str) -> None:
    pixels = painted(qtbot, tile(**STATES[state]), theme)
    palette = getattr(load_palette(), theme)
    for need in Need:
        assert not coloured(pixels, palette.priority[need], 1).any(), need


def test_that_nothing_on_any_tile_is_green(qtbot: QtBot) -> None:
    for name, fields in STATES.items():
        pixels = painted(qtbot, tile(**fields)).astype(int)
        red, green, blue = pixels[..., 0], pixels[..., 1], pixels[..., 2]
        assert not ((green > red + 25) & (green > blue + 25)).any(), name


@pytest.mark.parametrize("theme", THEMES)
@pytest.mark.parametrize("state", STATES)
def test_that_every_state_is_painted_and_veiled_when_the_hub_is_lost(qtbot: QtBot, theme: str, state: str) -> None:
    view = tile(**STATES[state])
    live = painted(qtbot, view, theme)
    lost = painted(qtbot, view, theme, link=LinkState.NOT_LIVE)
    assert len(np.unique(live.reshape(-1, 3), axis=0)) > 10
    palette = getattr(load_palette(), theme)
    for need in Need:
        assert not coloured(lost, palette.priority[need], 1).any()


# -- texts: nothing cut, nothing over anything else ---------------------------------------------------------


MODULES = (
    paint_head, paint_need, paint_trends, paint_plain, paint_foot, painter, far, plates, staff,
    header, header_banner, footer,
)  # fmt: skip


@pytest.fixture
def texts(monkeypatch: pytest.MonkeyPatch) -> Texts:
    return watch_texts(monkeypatch, MODULES)


LONGEST: dict[str, dict[str, Any]] = {
    "long title": {
        "episodes": (
            episode(
                "Oxygenator resistance up 134 %, last reading 14:26", since_s=72 * MINUTE, seen_by=("nurse-24",)
            ),
            episode("On battery", Priority.LOW, alert_class=AlertClass.TECHNICAL),
        )
    },
    "long holder": {
        "episodes": (
            episode(
                "Post-oxygenator pressure 412, limit 400",
                Priority.HIGH,
                circuit_critical=True,
                holder=holder("intensivist", told_to="perfusionist", where="going", eta_at=NOW + 30 * MINUTE),
                also=("perfusionist", "surgeon"),
            ),
        )
    },
    "long call": {
        "episodes": (episode("Drain P −104, limit −100", ladder=ladder(2, 4, 899), advising=("perfusionist",)),)
    },
    "out": {
        "episodes": (
            episode(
                "Drain P −104, limit −100",
                Priority.HIGH,
                alerts=(
                    alert(quantity=Q.INLET_PRESSURE, value=-104, limit=-100),
                    alert(id=12, value=2.2, limit=2.5),
                    alert(id=13, quantity=Q.MEAN_ARTERIAL_PRESSURE, value=105, limit=100),
                ),
            ),
        )
    },
    "old": {"stale": True, "judged": 0, "last_reading_at": NOW - 26 * 60 * MINUTE},
    "many words": {
        "judged": 20,
        "not_watched": ("Drain P", "Post-oxy P", "SpO₂ R", "MAP"),
        "notes": ("4 short dips in 10 min", "Flow estimated: low flow not watched"),
    },
}
ALL = STATES | LONGEST


def tile_size(name: str) -> tuple[int, int]:
    from shared.look.grid import grid_for

    count, wide, high = SIZES[name]
    grid = grid_for(count, wide, high)
    return grid.tile_w, grid.tile_h


@pytest.mark.parametrize("size", SIZES)
@pytest.mark.parametrize("state", ALL)
def test_that_no_text_is_cut_or_stands_on_another(qtbot: QtBot, texts: Texts, size: str, state: str) -> None:
    wide, high = tile_size(size)
    view = tile("B24", nurse="nurse-24", **({"runs": (run(days=121),)} | ALL[state]))
    store = filled(
        [view],
        [
            latest("B24", r.description.slot, view.last_reading_at or NOW, inlet_pressure=-104, on_mains=0)
            for r in view.runs
        ],
    )
    widget = TileWidget(store, load_palette().day)
    qtbot.addWidget(widget)
    widget.resize(wide, high)
    widget.show_face(compose(view, store, Moment(NOW, zone=UTC)))
    widget.grab()
    for one in texts.drawn:
        assert one.left >= 0, one
        assert one.right <= wide, one
        assert one.top >= 0, one
        assert one.bottom <= high, one
        assert one.px >= 10.5, one
        assert "…" not in one.text
    for one, two in combinations(texts.drawn, 2):
        assert not one.meets(two), (one, two)


@pytest.mark.parametrize("size", SIZES)
@pytest.mark.parametrize("state", ["long title", "long holder", "out"])
def test_that_the_whole_title_is_on_the_tile(qtbot: QtBot, texts: Texts, size: str, state: str) -> None:
    view = tile("B24", **ALL[state])
    picture(widget_of(qtbot, view, size=tile_size(size)))
    all_words = " ".join(one.text for one in texts.drawn).replace("\u00a0", " ")
    for word in view.episodes[0].title.split():
        assert word in all_words


@pytest.mark.parametrize("size", SIZES)
@pytest.mark.parametrize("hole", [False, True])
def test_that_header_and_footer_cut_nothing(qtbot: QtBot, texts: Texts, size: str, hole: bool) -> None:
    count, wide, high = SIZES[size]
    tiles = [tile(bed, **ALL[name]) for bed, name in zip(beds(count), list(LONGEST) * 4, strict=False)]
    cover = tuple(
        one.model_copy(update={"person": None, "empty_since": NOW - 22 * MINUTE})
        if hole and one.rung in (3, 4)
        else one
        for one in unit().cover
    )
    store = filled(tiles, the_unit=unit(beds(count), cover=cover, feeds_live=count - 1, demonstration=True))
    desk = Desk(qtbot, store, size=(wide, high))
    texts.drawn.clear()
    desk.window.header.grab()
    for one in texts.drawn:
        assert one.left >= 0, one
        assert one.right <= wide, one
        assert one.px >= 10.5, one
    for one, two in combinations(texts.drawn, 2):
        assert not one.meets(two), (one, two)
    texts.drawn.clear()
    desk.window.footer.grab()
    assert any("Go to the bed." in one.text for one in texts.drawn)
    for one, two in combinations(texts.drawn, 2):
        assert not one.meets(two), (one, two)


def test_that_parts_keep_their_places_in_every_state(qtbot: QtBot, texts: Texts) -> None:
    places: dict[str, set[tuple[float, float]]] = {}
    for name, fields in STATES.items():
        if name in ("no run", "two runs", "VV"):
            continue
        texts.drawn.clear()
        picture(widget_of(qtbot, tile(**fields)))
        for one in texts.drawn:
            if one.text in ("B7", "Flow", "Drain P", "MAP", "L/min", "Speed", "VA · day 4", "Nurse 7"):
                places.setdefault(one.text, set()).add((one.left, one.bottom))
    assert set(places) == {"B7", "Flow", "Drain P", "MAP", "L/min", "Speed", "VA · day 4", "Nurse 7"}
    assert {text: len(found) for text, found in places.items()} == dict.fromkeys(places, 1)


@pytest.mark.parametrize("is_far", [False, True])
@pytest.mark.parametrize("size", SIZES)
def test_that_no_digit_stands_at_number_size_once_stale(
    qtbot: QtBot, texts: Texts, size: str, is_far: bool
) -> None:
    view = tile(**STATES["not judged"])
    widget = widget_of(qtbot, view, size=tile_size(size), is_far=is_far)
    widget.grab()
    k = widget.parts().k
    values = [one for one in texts.drawn if one.text != "B7" and one.px > max(17.5 * k, 13)]
    assert not any(any(c.isdigit() for c in one.text) for one in values), values


# -- the whole board ----------------------------------------------------------------------------------------


def crowd(count: int = 12, **needs: Any) -> list[TileView]:
    return [tile(bed, **needs.get(bed, {})) for bed in beds(count)]


def test_that_a_quiet_board_paints_nothing_but_the_clock(qtbot: QtBot) -> None:
    desk = Desk(qtbot, filled(crowd()))
    qtbot.waitUntil(lambda: desk.window.board.tile("B1").painted > 0)
    counts = [desk.window.board.tile(bed).painted for bed in beds(12)]
    for step in range(1, 9):
        beat(desk.store, step * 0.25, NOW + step * 250)
        desk.at(step * 0.25)
        qtbot.wait(1)
    assert [desk.window.board.tile(bed).painted for bed in beds(12)] == counts


def test_that_clock_and_race_move_with_the_hub_and_stop_with_it(qtbot: QtBot) -> None:
    desk = Desk(qtbot, filled(crowd(2)))
    window = desk.window

    def shown() -> tuple[str, int | None]:
        face = window.header.face
        assert face is not None
        return face.clock, face.second

    assert shown() == ("14:32:51", 51)
    before = picture(window.header)
    beat(desk.store, 1.5, NOW + 1500)
    desk.at(1.5)
    assert shown() == ("14:32:52", 52)
    assert (picture(window.header) != before).any()
    desk.at(6.0)
    stopped = shown()
    desk.at(14.0)
    assert shown() == stopped == ("14:32:55", 55)


def test_that_countdowns_follow_the_hubs_clock_not_the_walls(qtbot: QtBot) -> None:
    store = filled(crowd(2, B1=STATES["medium"]), the_unit=unit(beds(2), speed=10.0))
    desk = Desk(qtbot, store)
    desk.at(2.0)
    face = desk.window.board.tile("B1").face
    assert face is not None
    assert face.foot.right[0] == "Charge nurse called in 0:14"


def test_that_after_15_s_of_silence_the_whole_desk_says_not_live(qtbot: QtBot, texts: Texts) -> None:
    desk = Desk(qtbot, filled(crowd(4, B1=STATES["high"])))
    desk.at(15.2)
    texts.drawn.clear()
    desk.window.grab()
    everything = [one.text for one in texts.drawn]
    assert "Not live since 14:32:51" in everything
    assert all("live" not in text.lower().replace("not live", "") for text in everything)
    assert any("Go to the bed." in text for text in everything)


@pytest.mark.parametrize("theme", THEMES)
def test_that_the_focus_ring_is_3_px_and_outside_its_tile(qtbot: QtBot, theme: str) -> None:
    desk = Desk(qtbot, filled(crowd()), theme)
    for bed in ("B1", "B4", "B12"):
        desk.window.board.set_focus_bed(bed)
        pixels = picture(desk.window.board)
        ring = coloured(pixels, getattr(load_palette(), theme).focus, 2)
        place = desk.window.board.place_of(bed)
        row, column = place.center().y(), place.center().x()
        assert ring[row, : place.left()][-8:].sum() == 3
        assert ring[row, place.right() + 1 :][:8].sum() == 3
        assert ring[: place.top(), column][-8:].sum() == 3
        assert ring[place.bottom() + 1 :, column][:8].sum() == 3
        assert not ring[place.top() : place.bottom(), place.left() : place.right()].any()


def test_that_only_the_mark_block_flashes_and_a_take_stops_it(qtbot: QtBot) -> None:
    from monitor.core.wire import TileDelta
    from tests.helpers.views import hear

    desk = Desk(qtbot, filled(crowd(12, B1=STATES["high"])))
    board, widget = desk.window.board, desk.window.board.tile("B1")
    board.show_phase(0)
    on = picture(widget)
    board.show_phase(200)
    off = picture(widget)
    changed = (on != off).any(axis=2)
    block = widget.block()
    assert changed.sum() > 100
    changed[block.top() : block.bottom() + 1, block.left() : block.right() + 1] = False
    assert not changed.any()
    hear(desk.store, TileDelta(boot="b", seq=2, tile=tile("B1", **STATES["high taken"])))
    desk.window.take(_changes("B1"))
    board.show_phase(0)
    taken = picture(widget)
    assert board.show_phase(200) == set()
    assert (picture(widget) == taken).all()


def test_that_all_blocks_of_a_grade_share_one_phase(qtbot: QtBot) -> None:
    desk = Desk(qtbot, filled(crowd(3, B1=STATES["high"], B3=STATES["high"])))
    for phase in (0, 100, 250, 499):
        desk.window.board.show_phase(phase)
        blocks = []
        for bed in ("B1", "B3"):
            widget = desk.window.board.tile(bed)
            at = widget.block()
            blocks.append(picture(widget)[at.top() : at.bottom(), at.left() : at.right()])
        assert (blocks[0] == blocks[1]).all()


def test_that_reduced_motion_has_a_frame_in_place_of_the_flash(qtbot: QtBot) -> None:
    desk = Desk(qtbot, filled(crowd(1, B1=STATES["high"])))
    moving = picture(desk.window.board.tile("B1"))
    desk.window.set_still(True)
    assert desk.window.board.show_phase(0) == set()
    one = picture(desk.window.board.tile("B1"))
    desk.window.board.show_phase(250)
    assert (picture(desk.window.board.tile("B1")) == one).all()
    assert (one != moving).any()


def test_that_the_theme_changes_with_one_key_and_the_caution_stays(qtbot: QtBot, texts: Texts) -> None:
    desk = Desk(qtbot, filled(crowd(2)))
    type_keys(desk.window, "d")
    texts.drawn.clear()
    night = picture(desk.window)
    assert coloured(night, load_palette().night.ground, 1).any()
    assert not coloured(night, load_palette().day.tile, 1).any()
    assert footer.CAUTION in [one.text for one in texts.drawn]


def test_that_a_record_that_refuses_writes_is_said_across_the_board(qtbot: QtBot) -> None:
    # at this size the strip leaves less than the height from which the bars are large
    refuses = unit(beds(8), not_recorded=NOW - 5 * MINUTE)
    desk = Desk(qtbot, filled(crowd(8), the_unit=refuses), size=(1600, 900))
    board = desk.window.board
    assert all(board.rect().contains(board.tile(bed).geometry()) for bed in beds(8)), "a row is cut"
    assert desk.window.strip.isVisible()
    assert desk.window.strip.text().startswith("NOT RECORDED since 14:27:51")
    assert not desk.window.board.geometry().intersects(desk.window.strip.geometry())


def test_that_beds_that_do_not_fit_stand_on_pages_and_no_need_is_hidden(qtbot: QtBot) -> None:
    desk = Desk(qtbot, filled(crowd(24, B20=STATES["high"])), size=(1366, 768))
    board = desk.window.board
    assert len(board.shown()) == 12
    assert "B20" in board.shown()
    assert board.page_words().startswith("12 of 24 beds shown, 0 needs hidden")
    press_key(desk.window, Qt.Key.Key_PageDown)
    assert "B20" not in board.shown()
    assert board.page_words().startswith("12 of 24 beds shown, 1 needs hidden")


def _changes(bed: str) -> Any:
    from monitor.desk.store import Changes

    return Changes(beds={bed})
