"""The look, proved on painted pixels: needs apart for every eye and in grey, day as loud as night, shapes, sizes.

Colour difference: CIEDE2000 (Sharma, Wu and Dalal 2005); colour-vision deficiency: Machado, Oliveira and Fernandes
2009, severity 1.0; contrast and luminance: WCAG 2.1. Floors are those of looks, sections 2 and 3. Flash: 1.4 to
2.8 Hz for high and 0.4 to 0.8 Hz for medium, on for 20 to 60 % (IEC 60601-1-8, from memory). Which test holds which
item of what the look has to keep stands in DEVELOPERS.md.
"""

from itertools import combinations, groupby

import numpy as np
import pytest
from PySide6.QtCore import QRectF
from pytestqt.qtbot import QtBot

from monitor.core.grades import AlertClass, Priority
from monitor.core.view import TileView
from monitor.core.wire import TileDelta
from monitor.desk.paint.marks import draw_mark
from monitor.desk.palette import load_palette
from shared.instant import SECOND
from shared.look.colour import MACHADO, Deficiency, contrast, difference, lab
from shared.look.marks import Mark
from shared.look.need import Need
from shared.look.palette import Hex
from shared.look.sizes import USUAL_PITCH, arc_minutes
from tests.helpers.desk import Desk, beds, picture, type_keys
from tests.helpers.painting import Flags, Picture, canvas, coloured, dark, grey
from tests.helpers.screens import Screen
from tests.helpers.shown import look_at
from tests.helpers.views import NOW, beat, episode, filled, hear, holder, tile

THEMES = ("day", "night")
EYES = (None, *Deficiency)
OF_NEED = {
    Need.HIGH_CIRCUIT: episode("No flow", Priority.HIGH, circuit_critical=True),
    Need.HIGH: episode("Flow 2.2", Priority.HIGH),
    Need.MEDIUM: episode("Flow 3.4"),
    Need.LOW: episode("Drain P −85", Priority.LOW),
    Need.TECHNICAL: episode("No feed", alert_class=AlertClass.TECHNICAL),
}


def board_of(qtbot: QtBot, theme: str, *tiles: TileView) -> Desk:
    """A board of twelve on a full screen, these tiles first."""
    rest = [tile(bed) for bed in beds(12)][len(tiles) :]
    return Desk(qtbot, filled([*tiles, *rest]), theme)


def needs(qtbot: QtBot, theme: str) -> dict[Need, Picture]:
    """The tile of each need, painted on a board."""
    desk = board_of(qtbot, theme, *(tile(f"B{n}", episodes=(one,)) for n, one in enumerate(OF_NEED.values(), 1)))
    return {need: picture(desk.window.board.tile(f"B{n}")) for n, need in enumerate(OF_NEED, 1)}


def commonest(pixels: Picture) -> Hex:
    flat = pixels.reshape(-1, 3)
    colours, counts = np.unique(flat, axis=0, return_counts=True)
    return Hex("#" + "".join(f"{one:02X}" for one in colours[int(np.argmax(counts))]))


def painted_colour(pixels: Picture, need: Need, theme: str) -> tuple[Hex, Hex]:
    """The colour of a need and that of its tile, as they are among the pixels."""
    wanted: Hex = getattr(load_palette(), theme).priority[need]
    found = pixels[coloured(pixels, wanted, 1)]
    assert len(found) > 60, f"{need} is not painted"
    return commonest(found[None]), commonest(pixels)


@pytest.mark.parametrize("theme", THEMES)
def test_that_painted_needs_are_apart_for_every_eye_and_in_grey(qtbot: QtBot, theme: str) -> None:
    colours = {need: painted_colour(pixels, need, theme)[0] for need, pixels in needs(qtbot, theme).items()}
    for one, two in combinations(Need, 2):
        for eyes in EYES:
            assert difference(colours[one], colours[two], eyes) >= (10 if eyes else 15), (one, two, eyes)
    greys = sorted(lab(colour)[0] for colour in colours.values())
    assert min(np.diff(greys)) >= 12, "steps of L*"


def test_that_a_painted_need_is_as_loud_by_night_as_by_day(qtbot: QtBot) -> None:
    day, night = (needs(qtbot, theme) for theme in THEMES)
    for need in Need:
        by_day, by_night = (
            contrast(*painted_colour(at[need], need, theme)) for at, theme in zip((day, night), THEMES, strict=True)
        )
        assert min(by_day, by_night) >= 3
        assert 0.75 <= by_day / by_night <= 1.33, need


def as_seen(pixels: Picture, eyes: Deficiency | None) -> Picture:
    """A picture as these eyes see it, linear light, 0 to 1."""
    share = pixels / 255.0
    linear = np.where(share <= 0.04045, share / 12.92, ((share + 0.055) / 1.055) ** 2.4)
    seen: Picture = linear if eyes is None else np.clip(linear @ np.array(MACHADO[eyes]).T, 0, 1)
    return seen


@pytest.mark.parametrize("eyes", EYES, ids=lambda one: "all" if one is None else one.value)
@pytest.mark.parametrize("theme", THEMES)
def test_that_grade_and_who_has_it_are_apart_for_every_eye(
    qtbot: QtBot, theme: str, eyes: Deficiency | None
) -> None:
    """An area as large as a mark differs by a clear step of light, whatever colours these eyes lack."""
    held = holder()
    states = {need.value: (one,) for need, one in OF_NEED.items()} | {
        "quiet": (),
        "high taken": (episode("Flow 2.2", Priority.HIGH, holder=held),),
        "medium taken": (episode("Flow 3.4", holder=held),),
        "technical taken": (episode("No feed", alert_class=AlertClass.TECHNICAL, holder=held),),
    }
    desk = board_of(qtbot, theme, *(tile(f"B{n}", episodes=one) for n, one in enumerate(states.values(), 1)))
    weights = np.array([0.2126, 0.7152, 0.0722])
    seen = {
        name: as_seen(picture(desk.window.board.tile(f"B{n}")), eyes) @ weights for n, name in enumerate(states, 1)
    }
    for one, two in combinations(states, 2):
        assert (np.abs(seen[one] - seen[two]) > 0.1).sum() > 26 * 26, (one, two)


# -- shapes --------------------------------------------------------------------------------------------------


def painted_mark(mark: Mark, px: int) -> Flags:
    with canvas(2 * px, 2 * px, Hex("#FFFFFF")) as sheet:
        draw_mark(sheet.painter, mark, QRectF(px / 2, px / 2, px, px), Hex("#000000"))
    return dark(sheet.pixels)


def centred(shape: Flags) -> Flags:
    ys, xs = np.nonzero(shape)
    middle = shape.shape[0] // 2
    found: Flags = np.roll(shape, (middle - round(ys.mean()), middle - round(xs.mean())), axis=(0, 1))
    return found


@pytest.mark.parametrize("px", [14, 16, 26])
def test_that_painted_marks_differ_in_shape_the_paper_boat_among_them(qtbot: QtBot, px: int) -> None:
    shapes = {mark: centred(painted_mark(mark, px)) for mark in Mark}
    alike = {}
    for one, two in combinations(Mark, 2):
        both, either = (shapes[one] & shapes[two]).sum(), (shapes[one] | shapes[two]).sum()
        alike[one, two] = both / either
    assert len(alike) == 105
    assert max(alike.values()) <= 0.75, max(alike, key=lambda pair: alike[pair])
    boat = [value for pair, value in alike.items() if Mark.SIMULATED in pair]
    assert len(boat) == 14
    assert max(boat) <= 0.75


def test_that_simulated_is_told_by_boat_and_word_where_values_are(qtbot: QtBot) -> None:
    shown = look_at(Screen(qtbot, "board").window)
    for owner in ("TileWidget B9", "Footer"):
        said = [one for one in shown.things if one.owner == owner]
        boats = [one for one in said if one.is_mark and one.what == Mark.SIMULATED.value]
        assert len(boats) == 1, owner
        assert boats[0].contrast >= 3
        assert boats[0].box.width() >= 14


# -- sizes ---------------------------------------------------------------------------------------------------


#: What, and the distance in metres at which its digits or capitals subtend 22 minutes of arc (looks, section 4).
READ_FROM = (("B2", 1.5), ("−60", 1.0), ("4.2", 1.0), ("3 500", 0.75), ("Flow 2.2, limit 2.5", 0.55))


@pytest.mark.parametrize(("what", "metres"), READ_FROM)
def test_that_painted_letters_are_as_high_as_their_distance_asks(qtbot: QtBot, what: str, metres: float) -> None:
    shown = look_at(Screen(qtbot, "board").window)
    thin = what.replace(" ", "\u2009") if what[0].isdigit() else what
    one = next(one for one in shown.things if one.owner == "TileWidget B2" and one.what == thin)
    box = one.box.toAlignedRect()
    part = shown.picture[box.top() - 3 : box.bottom() + 3, box.left() : box.right()].astype(float)
    ink = np.array([int(one.ink[n : n + 2], 16) for n in (1, 3, 5)])
    ground = np.array([int(one.grounds[0][n : n + 2], 16) for n in (1, 3, 5)])
    near = np.linalg.norm(part - ink, axis=2) < 0.5 * np.linalg.norm(ink - ground)
    rows = np.flatnonzero(near.any(axis=1))
    high = rows[-1] - rows[0] + 1
    assert arc_minutes(float(high), metres, USUAL_PITCH) >= 22 - 1.0, f"{high} px"


# -- motion --------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(("bed", "hertz", "duty"), [("B1", 2.0, 0.4), ("B2", 0.5, 0.5), ("B3", 0.0, 0.0)])
def test_that_painted_frames_flash_as_often_and_as_long_as_they_should(
    qtbot: QtBot, bed: str, hertz: float, duty: float
) -> None:
    desk = board_of(
        qtbot,
        "day",
        tile("B1", episodes=(OF_NEED[Need.HIGH],)),
        tile("B2", episodes=(OF_NEED[Need.MEDIUM],)),
        tile("B3", episodes=(OF_NEED[Need.LOW],)),
    )
    board, step, long = desk.window.board, 50, 4_000
    widget = board.tile(bed)
    place = widget.block()
    frames = []
    for phase in range(0, long, step):
        board.show_phase(phase)
        part = grey(picture(widget))[place.top() : place.bottom(), place.left() : place.right()]
        frames.append(float(part.mean()))
    first = frames[0]
    on = [abs(one - first) < 0.02 for one in frames]
    runs = [(state, len(list(group))) for state, group in groupby(on)]
    if hertz == 0:
        assert runs == [(True, long // step)]
        return
    flashes = sum(state for state, _ in runs)
    assert flashes / (long / 1000) == hertz
    assert sum(on) / len(on) == pytest.approx(duty)
    assert hertz < 3, "fewer than three a second (WCAG 2.1, 2.3.1)"


def test_that_no_tile_moves_within_3_s_of_a_key_and_colour_does_not_wait(qtbot: QtBot) -> None:
    """24 beds on a small screen stand on two pages; a bed that gets a need comes to the first."""
    desk = Desk(qtbot, filled([tile(bed) for bed in beds(24)]), size=(1366, 768))
    board = desk.window.board
    desk.at(10.0)
    before = board.shown()
    assert "B20" not in before
    type_keys(desk.window, "3")  # a bed by its number

    def tell(bed: str, seq: int, seconds: float) -> None:
        desk.seconds = seconds
        beat(desk.store, seconds, NOW + round(seconds * SECOND))
        told = hear(
            desk.store, TileDelta(boot="b", seq=seq, tile=tile(bed, episodes=(OF_NEED[Need.HIGH],))), seconds
        )
        desk.window.take(told)

    tell("B20", 2, 10.2)
    tell("B5", 3, 10.4)
    desk.at(11.0)
    assert board.shown() == before, "nothing moves under the hand"
    assert "order held" in board.page_words()
    assert "1 needs hidden" in board.page_words()
    ember = load_palette().day.priority.high
    assert coloured(picture(board.tile("B5")), ember).any(), "what is shown has its colour at once"
    assert desk.window.header.face is not None
    assert "B20" in [line.bed for line in desk.window.header.face.needs], "and the list of needs has it"
    desk.at(12.9)
    assert board.shown() == before
    for seconds in (13.5, 14.5):
        beat(desk.store, seconds, NOW + round(seconds * SECOND))
        desk.at(seconds)
    assert "B20" in board.shown()
    assert "order held" not in board.page_words()
