"""The roster sheet: what it says, what its keys give, and how few they are."""

import pytest
from PySide6.QtCore import Qt
from pytestqt.qtbot import QtBot

from monitor.core.commands import ChangeRoster
from monitor.core.roster_commands import (
    AcceptOffer,
    DeclineOffer,
    DropPlan,
    EndBreak,
    OfferPosts,
    PlanPost,
    SayReachable,
    SayUnreachable,
    StartBreak,
    WithdrawOffer,
)
from monitor.desk.cover_words import everybody, extension, holes, nobody_there, phones
from monitor.desk.header_face import compose_header
from monitor.desk.rosterpage.lists import ListCard
from monitor.desk.rosterpage.words import Line, told_of
from monitor.desk.sound.face import SoundFace
from monitor.desk.store import Store
from monitor.desk.tile.moment import Moment
from shared.instant import HOUR, MINUTE
from tests.helpers.desk import click, picture, press_key
from tests.helpers.painting import coloured
from tests.helpers.views import NOW
from tests.helpers.ward import Ward, shift
from tests.helpers.ward_desk import WardDesk, ward_now

SIZES = [(1920, 1080), (1366, 768)]


def row(sheet: WardDesk, key: str) -> object:
    return next(one for one in sheet.page.table.rows if one.post.key == key)


def offered() -> Ward:
    ward = ward_now()
    ward.to(NOW - 12 * MINUTE)
    ward.does("offer", giver="charge-1", to="charge-2", posts=({"rung": 2},))
    return ward


# -- the keys: accept, break and a person on a post by at most three -----------------------------------------


def test_that_an_offer_is_accepted_by_two_keys_and_written_down_under_both_names(qtbot: QtBot) -> None:
    sheet = WardDesk(qtbot, offered(), who="nurse-1")
    sheet.press("a1")
    command = sheet.only()
    assert isinstance(command, AcceptOffer)
    assert (command.person, command.told_to, command.takes) == ("charge-2", "nurse-1", ())
    sheet.carried_out()
    assert sheet.ward.stands("2") == "charge-2"


def test_that_who_sits_here_accepts_for_themselves(qtbot: QtBot) -> None:
    sheet = WardDesk(qtbot, offered(), who="charge-2")
    sheet.press("a1")
    command = sheet.only()
    assert isinstance(command, AcceptOffer)
    assert command.told_to is None


def test_that_a_person_comes_to_a_post_by_two_keys(qtbot: QtBot) -> None:
    sheet = WardDesk(qtbot, ward_now())
    sheet.press("p")
    assert sheet.choices()[0] == "Charge-2"  # those of the post's role come first
    sheet.press("1")
    command = sheet.only()
    assert isinstance(command, ChangeRoster)
    assert (command.rung, command.bed, command.stands) == (2, None, "charge-2")
    sheet.carried_out()


def test_that_a_break_that_its_cover_agrees_to_begins_by_three_keys(qtbot: QtBot) -> None:
    sheet = WardDesk(qtbot, ward_now())
    sheet.focus("1:B1")
    sheet.press("b13")
    command = sheet.only()
    assert isinstance(command, StartBreak)
    assert (command.who, command.minutes, command.told_to) == ("nurse-1", 20, "charge-1")
    assert sheet.carried_out().breaks[0].cover == command.cover


def test_that_a_cover_may_be_asked_first(qtbot: QtBot) -> None:
    sheet = WardDesk(qtbot, ward_now())
    sheet.focus("1:B1")
    sheet.press("b1b")
    command = sheet.only()
    assert isinstance(command, StartBreak)
    assert (command.minutes, command.told_to) == (15, None)
    assert not sheet.carried_out().breaks


def test_that_takes_are_shown_before_they_go_along_all_or_none(qtbot: QtBot) -> None:
    for key, many in (("1", 2), ("2", 0)):
        ward = offered()
        for bed in ("B1", "B2"):
            ward.help(bed)
            ward.take(bed, "charge-1", reason="team_at_bed", where="at_bed")
        ward.now = NOW - 12 * MINUTE
        sheet = WardDesk(qtbot, _renewed(ward), who="charge-2")
        sheet.press("a")
        question = sheet.window.panel.question
        assert question is not None
        assert "B1 Help called: help needed · B2 Help called: help needed" in question.note
        sheet.press(key)
        command = sheet.only()
        assert isinstance(command, AcceptOffer)
        assert len(command.takes) == many


def _renewed(ward: Ward) -> Ward:
    """Let time pass with both takes still held."""
    ward.to(NOW)
    for bed in ("B1", "B2"):
        ward.take(bed, "charge-1", reason="team_at_bed", where="at_bed")
    return ward


def test_that_takes_are_ticked_one_by_one(qtbot: QtBot) -> None:
    ward = offered()
    for bed in ("B1", "B2"):
        ward.help(bed)
    sheet = WardDesk(qtbot, _renewed(ward), who="charge-2")
    sheet.press("a320")
    command = sheet.only()
    assert isinstance(command, AcceptOffer)
    assert command.takes == (ward.episode("B2").id,)
    sheet.carried_out()


def test_that_with_several_offers_and_none_on_the_row_it_is_asked_which(qtbot: QtBot) -> None:
    ward = offered()
    ward.does("unreachable", who="perf-1", until=NOW + HOUR, instead="perf-2")
    sheet = WardDesk(qtbot, ward)
    sheet.focus("4")
    sheet.press("a")
    assert sheet.choices() == ["Charge-2 accepts Charge nurse from Charge-1", "Perf-2 is called instead of Perf-1"]
    sheet.press("21")
    assert sheet.carried_out().away[0].instead == "perf-2"


def test_that_all_posts_of_a_person_or_one_are_offered(qtbot: QtBot) -> None:
    for key, posts in (("1", 0), ("2", 1)):
        sheet = WardDesk(qtbot, ward_now())
        sheet.focus("1:B2")
        sheet.press(f"o1{key}")
        command = sheet.only()
        assert isinstance(command, OfferPosts)
        assert (command.giver, len(command.posts)) == ("nurse-2", posts)
        assert len(sheet.carried_out().offers[0].posts) == 2 - posts


def test_that_an_empty_post_is_offered_without_a_giver(qtbot: QtBot) -> None:
    sheet = WardDesk(qtbot, ward_now(charge=None))
    sheet.press("o1")
    command = sheet.only()
    assert isinstance(command, OfferPosts)
    assert command.giver is None
    sheet.carried_out()


def test_that_nobody_is_asked_for_once_more(qtbot: QtBot) -> None:
    sheet = WardDesk(qtbot, ward_now())
    sheet.press("n")
    assert sheet.desk.commands() == []
    sheet.press("1")
    command = sheet.only()
    assert isinstance(command, ChangeRoster)
    assert command.stands is None


@pytest.mark.parametrize(
    ("keys", "instead", "told_to"), [("x20", None, None), ("x211", True, "charge-1"), ("x212", True, None)]
)
def test_that_unreachable_asks_how_long_and_who_instead(
    qtbot: QtBot, keys: str, instead: bool | None, told_to: str | None
) -> None:
    sheet = WardDesk(qtbot, ward_now())
    sheet.focus("3")
    sheet.press(keys)
    command = sheet.only()
    assert isinstance(command, SayUnreachable)
    assert command.who == "perf-1"
    assert command.until - NOW == pytest.approx(HOUR, abs=2_000)
    assert (command.instead is not None) == bool(instead)
    assert command.told_to == told_to
    sheet.carried_out()


def test_that_ends_ends_a_break_or_an_absence_and_else_says_that_there_is_none(qtbot: QtBot) -> None:
    ward = ward_now()
    ward.to(NOW - MINUTE)
    ward.does("break", who="nurse-1", cover="nurse-3", minutes=20, told_to="charge-1")
    ward.does("unreachable", who="perf-1", until=NOW + HOUR)
    for key, kind in (("1:B1", EndBreak), ("3", SayReachable), ("4", None)):
        sheet = WardDesk(qtbot, ward)
        sheet.focus(key)
        sheet.press("e")
        assert [type(one) for one in sheet.desk.commands()] == ([kind] if kind else [])


def test_that_an_offer_is_closed_by_who_does_not_accept_or_who_takes_it_back(qtbot: QtBot) -> None:
    for key, kind in (("1", DeclineOffer), ("2", WithdrawOffer)):
        sheet = WardDesk(qtbot, offered())
        sheet.press(f"w{key}")
        assert isinstance(sheet.only(), kind)
        assert not sheet.carried_out().offers


def test_that_a_post_is_planned_and_the_plan_taken_back(qtbot: QtBot) -> None:
    ward = ward_now()
    sheet = WardDesk(qtbot, ward)
    sheet.focus("4")
    sheet.press("v113")
    command = sheet.only()
    assert isinstance(command, PlanPost)
    assert (command.rung, command.stands is None, command.ends - command.begins) == (4, False, 4 * HOUR)
    sheet.carried_out()
    again = WardDesk(qtbot, ward)
    again.focus("4")
    again.press("v2")
    assert isinstance(again.only(), DropPlan)
    assert again.carried_out().plans == ()


def test_that_a_second_plan_may_stand_beside_the_first_and_begin_with_the_next_shift(qtbot: QtBot) -> None:
    ward = ward_now(shifts=[shift("All", "00:00", "00:00", charge="charge-1")])
    ward.does("plan", rung=2, stands="charge-2", begins=NOW + HOUR, ends=NOW + 2 * HOUR)
    sheet = WardDesk(qtbot, ward)
    sheet.press("v1")
    sheet.press("0")
    assert "At the end of this shift" in sheet.choices()
    sheet.press("21")
    command = sheet.only()
    assert isinstance(command, PlanPost)
    assert command.stands is None
    assert command.begins == pytest.approx(ward.roster.shift_ends, abs=2_000)


@pytest.mark.parametrize(
    ("keys", "said"),
    [("a", "Nothing is offered"), ("w", "is not offered"), ("b", "nobody stands"), ("x", "nobody stands")],
)
def test_that_what_cannot_be_is_said_at_the_foot(qtbot: QtBot, keys: str, said: str) -> None:
    sheet = WardDesk(qtbot, ward_now(charge=None))
    sheet.press(keys)
    assert sheet.desk.commands() == []
    assert said in sheet.window.footer.face.told


def test_that_who_acts_is_asked_first(qtbot: QtBot) -> None:
    sheet = WardDesk(qtbot, ward_now(), who=None)
    sheet.press("p")
    assert sheet.window.panel.question is not None
    assert sheet.window.panel.question.title == "Who are you?"
    sheet.press("11")
    assert isinstance(sheet.only(), ChangeRoster)


def test_that_nothing_is_changed_while_the_hub_is_lost(qtbot: QtBot) -> None:
    sheet = WardDesk(qtbot, ward_now())
    sheet.desk.at(40)
    sheet.press("p")
    assert sheet.window.panel.question is None
    assert sheet.desk.commands() == []
    assert "Not live" in sheet.window.footer.face.told
    assert sheet.page.table.aside == "NOT LIVE: as it stood"


def test_that_keys_that_answer_an_alert_do_nothing_here(qtbot: QtBot) -> None:
    ward = ward_now()
    ward.to(NOW - MINUTE)
    ward.help("B1")
    sheet = WardDesk(qtbot, ward)
    sheet.press("sthhcmy")
    assert sheet.desk.commands() == []
    assert sheet.window.panel.question is None
    sheet.press("r")
    assert sheet.window.page is None


# -- what stands there ---------------------------------------------------------------------------------------


def test_that_arrows_and_a_click_choose_a_post(qtbot: QtBot) -> None:
    sheet = WardDesk(qtbot, ward_now())
    assert sheet.page.post() is not None
    press_key(sheet.window, Qt.Key.Key_Down)
    press_key(sheet.window, Qt.Key.Key_Down)
    press_key(sheet.window, Qt.Key.Key_Up)
    assert sheet.page.post().post.key == "3"  # type: ignore[union-attr]
    press_key(sheet.window, Qt.Key.Key_PageUp)
    assert sheet.page.table.focus == 0
    click(sheet.page.table, sheet.page.table.box_of(4).center().toPoint())
    assert sheet.page.table.focus == 4


def test_that_a_press_on_a_key_is_the_key(qtbot: QtBot) -> None:
    sheet = WardDesk(qtbot, ward_now())
    (box,) = [box for key, _, box in sheet.page.keys.boxes() if key == "P"]
    click(sheet.page.keys, box.center().toPoint())
    assert sheet.window.panel.question is not None
    assert sheet.window.panel.question.title == "Charge nurse: who stands there now?"


def test_that_rows_say_who_is_called_in_whose_place_until_when(qtbot: QtBot) -> None:
    ward = ward_now()
    ward.does("unreachable", who="perf-1", until=NOW + HOUR, instead="perf-2", told_to="charge-1")
    ward.does("unreachable", who="surg-1", until=NOW + HOUR)
    ward.to(NOW - 16 * MINUTE)
    ward.does("break", who="nurse-1", cover="nurse-3", minutes=20, told_to="charge-1")
    ward.does("roster", rung=4, stands=None)
    sheet = WardDesk(qtbot, ward)
    said = {one.post.key: (one.who, one.hole) for one in sheet.page.table.rows}
    assert said["3"][0].startswith("Perf-2 instead of Perf-1 until ")
    assert said["5"][0].startswith("Surg-1: unreachable until ")
    assert said["5"][1]
    assert said["4"] == ("nobody", True)
    assert said["1:B1"][0].startswith("Nurse-3 for Nurse-1, back ")
    assert said["2"] == ("Charge-1", False)
    assert "1:B4" not in said  # an empty bed with nobody
    assert [line.left for line in sheet.page.waiting.lines] == [
        "Break: Nurse-1, Nurse-3 covers",
        "Unreachable: Perf-1",
        "Unreachable: Surg-1",
    ]
    # the longest hole first
    assert [(line.left, line.bold) for line in sheet.page.forecast.lines] == [
        ("Surgeon: unreachable", True),
        ("Intensivist: nobody", True),
    ]


def test_that_both_are_told_of_an_old_offer_and_of_a_break_that_ends_soon_at_the_foot(qtbot: QtBot) -> None:
    sheet = WardDesk(qtbot, offered())
    assert sheet.window.footer.face.told.startswith("Charge nurse: Offered to Charge-2, not accepted for 12 min")
    assert sheet.window.footer.face.told.endswith("Charge-1 keeps it")
    assert sheet.window.footer.face.told_bold
    ward = ward_now()
    ward.to(NOW - 16 * MINUTE)
    ward.does("break", who="nurse-1", cover="nurse-3", minutes=20, told_to="charge-1")
    ward.does("break", who="deputy", cover="nurse-4", minutes=20, told_to="charge-1")
    sheet = WardDesk(qtbot, ward)
    assert sheet.window.footer.face.told.endswith("and 1 more: R")
    assert "Bedside nurse B1 returns to Nurse-1 in 4:00" in sheet.window.footer.face.told


def test_that_plans_and_loads_stand_in_words(qtbot: QtBot) -> None:
    ward = ward_now(shifts=[shift("All", "00:00", "00:00", charge="charge-2")])
    ward.does("plan", rung=2, begins=NOW + HOUR, ends=NOW + 2 * HOUR)
    ward.to(NOW - MINUTE)
    ward.help("B2")
    ward.take("B2", "nurse-2")
    sheet = WardDesk(qtbot, ward)
    charge = next(one for one in sheet.page.table.rows if one.post.key == "2")
    assert charge.plan.startswith("now Charge-2, ")
    assert charge.plan.endswith("nobody planned")
    assert charge.old
    first = sheet.page.loads.lines[0]
    assert (first.left, first.right) == ("Nurse-2", "2 beds · 1 high held")
    assert sheet.page.waiting.lines[-1].left == "Plan: Charge nurse nobody"
    assert sheet.page.table.aside.startswith("All, until ")


# -- the header ----------------------------------------------------------------------------------------------


def test_that_the_header_names_unreachable_rungs_and_who_is_called_instead(qtbot: QtBot) -> None:
    ward = ward_now()
    ward.does("unreachable", who="perf-1", until=NOW + HOUR, instead="perf-2", told_to="charge-1")
    ward.does("unreachable", who="int-1", until=NOW + HOUR)
    sheet = WardDesk(qtbot, ward)
    face = sheet.window.header.face
    assert face is not None
    (empty, why), (called, who) = face.holes
    assert (empty, why[:18], who) == ("Intensivist", "unreachable until ", "Perf-2")
    assert called.startswith("Perfusionist until ")
    assert face.extension == "Perf-2"


def test_that_nobody_at_all_stands_as_a_banner_with_the_list_and_on_the_tile(qtbot: QtBot) -> None:
    ward = ward_now(nurses={}, deputy=None, charge=None, perfusionist=None, intensivist=None, surgeon=None)
    ward.to(NOW - MINUTE)
    ward.help("B2")
    sheet = WardDesk(qtbot, ward)
    face = sheet.window.header.face
    assert face is not None
    assert face.banner is not None
    assert face.banner.title == "Nobody can be called"
    assert face.banner.below.startswith("B2 · since ")  # the holes themselves stand in the cover
    assert face.banner.phones == "Telephone: the list on paper at the desk"  # nobody of this ward has a number
    ward.does("roster", rung=2, stands="charge-1")
    sheet = WardDesk(qtbot, ward)
    assert sheet.window.header.face is not None
    assert sheet.window.header.face.banner is None


def test_that_before_the_first_word_of_the_hub_nothing_is_said() -> None:
    store = Store(0.0)
    assert holes(store, None) == ()
    assert extension(store) == ""
    assert phones(store) == everybody(store) == "the list on paper at the desk"
    assert nobody_there(store) is None
    face = compose_header(store, None, 0.0, SoundFace(""))
    assert face.banner is None
    assert list(told_of(store, Moment(NOW, store.link.state, None))) == []


# -- pictures ------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("theme", ["day", "night"])
@pytest.mark.parametrize("size", SIZES)
def test_that_the_sheet_is_painted_in_both_themes_and_sizes_within_its_cards(
    qtbot: QtBot, theme: str, size: tuple[int, int]
) -> None:
    sheet = WardDesk(qtbot, offered(), theme=theme, size=size)
    page, window = sheet.page, sheet.window
    seen = picture(page)
    assert seen.shape[:2] == (page.height(), page.width())
    assert coloured(seen, window.theme.focus).sum() > 500  # the row in focus
    assert coloured(seen, window.theme.ink).sum() > 1_000
    last = page.table.box_of(len(page.table.rows) - 1)
    assert last.bottom() <= page.table.height()
    window.set_theme("night" if theme == "day" else "day")
    assert coloured(picture(page), window.theme.focus).sum() > 500


def test_that_a_list_that_is_too_long_is_counted(qtbot: QtBot) -> None:
    sheet = WardDesk(qtbot, ward_now())
    card: ListCard = sheet.page.loads
    card.show_lines(tuple(Line(f"Nurse {n}", "1 bed") for n in range(200)))
    assert coloured(picture(card), sheet.window.theme.ink).sum() > 100


def test_that_needs_elsewhere_stay_in_sight_beside_nobody_at_all(qtbot: QtBot) -> None:
    ward = ward_now(
        nurses={"B1": "nurse-1"}, deputy=None, charge=None, perfusionist=None, intensivist=None, surgeon=None
    )
    ward.to(NOW - MINUTE)
    ward.help("B2")
    ward.help("B1")
    sheet = WardDesk(qtbot, ward)
    face = sheet.window.header.face
    assert face is not None
    assert face.banner is None
    assert {"B1", "B2"} <= {line.bed for line in face.needs}
    assert sheet.window.strip.text().startswith("NOBODY CAN BE CALLED for B2 since ")
    assert sheet.window.strip.isVisible()
