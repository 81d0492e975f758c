"""What a review opens on: the order of its parts, what is new and how it is ranked, and where the keys lead."""

from typing import Any

from PySide6.QtCore import Qt
from pytestqt.qtbot import QtBot

from monitor.core.entries import Entry, EntryKind
from monitor.core.grades import Priority
from monitor.core.meaning.looked_view import LookedView, ShiftView
from monitor.core.meaning.news import BedNews
from monitor.core.wire import AskNews, News
from monitor.desk.bedpage.page import BedPage
from monitor.desk.hearing import Heard
from monitor.desk.reviewpage.page import ReviewPage
from monitor.desk.reviewpage.words import CHANGED, DEVICES, NOBODY_HAS, NONE, OVERDUE, WHO, WITH_SOMEBODY
from shared.instant import HOUR, MINUTE
from shared.language.saying import say
from shared.quantities import Quantity as Q
from shared.support import SUPPORT_LABEL, Support
from tests.helpers.desk import Desk, press_key, type_keys
from tests.helpers.due_ward import due_store
from tests.helpers.views import NOW

SIZES = ((1366, 768), (1920, 1080))


def desk_of(qtbot: QtBot, who: str | None = "perfusionist", size: tuple[int, int] = SIZES[0]) -> Desk:
    desk = Desk(qtbot, due_store(), size=size, who=who)
    window = desk.window
    window.add_page("j", lambda: ReviewPage(window))
    window.set_bed_page_factory(
        lambda bed: BedPage(bed, window.session, window.answering, window.theme, window.go_to)
    )
    window.home = "j"
    type_keys(window, "j")
    return desk


def page_of(desk: Desk) -> ReviewPage:
    page = desk.window.page
    assert isinstance(page, ReviewPage)
    return page


def parts(desk: Desk) -> dict[str, list[list[str]]]:
    found: dict[str, list[list[str]]] = {}
    for bed, text, aside in page_of(desk).rows.cells:
        if not bed.text and text.bold and not aside.text and text.text not in (WHO,):
            rows = found.setdefault(text.text, [])
        else:
            rows.append([bed.text, text.text, aside.text])
    return found


def look(at: int | None, *shifts: ShiftView) -> dict[int, LookedView]:
    return {1: LookedView(person="perfusionist", at=at, shifts=shifts)}


def answer(desk: Desk, *beds: BedNews) -> None:
    asked = [one for one in desk.sent if isinstance(one, AskNews)][-1]
    said = News(request=asked.request, person=asked.person, beds=beds)
    desk.window.take(desk.window.session.take([Heard(desk.seconds, said)], desk.seconds))


def entry(kind: EntryKind, **more: Any) -> Entry:
    return Entry(at=NOW - 20 * MINUTE, kind=kind, bed="B1", slot=1, person="charge", **more)


def test_that_the_parts_stand_in_their_order_and_the_rest_is_collapsed(qtbot: QtBot) -> None:
    desk = desk_of(qtbot)
    answer(desk)
    found = parts(desk)
    assert list(found) == [NOBODY_HAS, CHANGED, OVERDUE, DEVICES, WITH_SOMEBODY, "Everything else"]
    nobody = found[NOBODY_HAS]
    assert nobody[0][1].endswith("high")
    assert "low" in found[WITH_SOMEBODY][-1][1] or "over" in found[WITH_SOMEBODY][-1][1]
    assert found[CHANGED] == [["", NONE[CHANGED], ""]]
    assert [row[0] for row in found[OVERDUE]] == ["B3", "B2", "B6"], "late rounds and readings; no draw, no event"
    named = {bed for rows in found.values() for row in rows for bed in row[0].split()}
    rest = " ".join(row[1] for row in found["Everything else"])
    assert "no proof of safety" in rest
    for bed in desk.store.beds():
        assert (bed in named) != (f"{bed}," in rest or f"{bed}:" in rest)


def test_that_what_is_new_is_ranked_by_own_noise_and_says_what_moved_and_what_was_done(qtbot: QtBot) -> None:
    desk, since = desk_of(qtbot), NOW - HOUR
    small = ShiftView(quantity=Q.INLET_PRESSURE, before=-60, now=-72, noise=6.0)
    large = ShiftView(quantity=Q.PUMP_FLOW, before=4.2, now=3.9, noise=0.03)
    done = (
        entry(EntryKind.ORDER, text="Speed 3 600 rpm"),
        entry(EntryKind.EXCHANGE, text="Oxygenator exchanged"),
    )
    corrected = entry(EntryKind.SET_CORRECTED)
    answer(
        desk,
        BedNews(bed="B5", looked=look(None)),
        BedNews(bed="B1", looked=look(since), entries=(*done, corrected), more=2),
        BedNews(bed="B7", looked=look(since, small)),
        BedNews(bed="B2", looked=look(since, small, large)),
        BedNews(bed="B4", looked=look(since)),
    )
    rows = parts(desk)[CHANGED]
    assert [row[0] for row in rows] == ["B2", "B7", "B1", "B5"]
    assert rows[0][1].startswith("Flow 4.2 → 3.9 (10 × noise)")
    assert "Drain P −60 → −72 (2 × noise)" in rows[0][1]
    assert "3 600" in rows[2][1]
    assert "and 3 more" in rows[2][1]
    assert "not looked" in rows[3][1]
    assert rows[3][2] == " + ".join(
        say(SUPPORT_LABEL[one.description.support]) for one in desk.store.tiles["B5"].runs
    )


def test_that_beds_not_looked_at_yet_take_one_line_and_leave_what_is_overdue_in_sight(qtbot: QtBot) -> None:
    desk = desk_of(qtbot)
    answer(desk, *(BedNews(bed=bed, looked=look(None)) for bed in ("B1", "B2", "B3", "B5")))
    said = "You have not looked at this run yet"
    assert parts(desk)[CHANGED] == [["B1", f"{said} · also B2, B3, B5", ""]]
    answer(desk, BedNews(bed="B5", looked=look(None)))
    assert parts(desk)[CHANGED] == [["B5", said, SUPPORT_LABEL[Support.VA]]]


def test_that_news_is_asked_for_one_person_and_shown_to_nobody_else(qtbot: QtBot) -> None:
    desk = desk_of(qtbot, who=None)
    assert parts(desk)[CHANGED] == [["", WHO, ""]]
    assert not [one for one in desk.sent if isinstance(one, AskNews)]
    desk.window.people.sign_in("perfusionist")
    desk.at(1.5)
    answer(desk, BedNews(bed="B2", looked=look(None)))
    assert [row[0] for row in parts(desk)[CHANGED]] == ["B2"]
    desk.window.people.sign_in("charge")
    desk.at(2.5)
    assert [one.person for one in desk.sent if isinstance(one, AskNews)] == ["perfusionist", "charge"]
    assert [row[0] for row in parts(desk)[CHANGED]] == [""], "another's news is not shown"


def test_that_keys_lead_to_the_bed_and_back_and_answer_nothing(qtbot: QtBot) -> None:
    for size in SIZES:
        desk = desk_of(qtbot, size=size)
        answer(desk)
        first = parts(desk)[NOBODY_HAS][0][0]
        for key in "stna":
            type_keys(desk.window, key)
        assert not desk.commands()
        press_key(desk.window, Qt.Key.Key_Return)
        assert isinstance(desk.window.page, BedPage)
        assert desk.window.page.bed == first
        press_key(desk.window, Qt.Key.Key_Escape)
        press_key(page_of(desk).window_, Qt.Key.Key_Down)
        rows = page_of(desk).rows
        assert rows.cells[rows.focus][0].text
        type_keys(desk.window, "j")
        assert desk.window.page is None


def test_that_a_lost_line_is_said_on_the_review(qtbot: QtBot) -> None:
    desk = desk_of(qtbot)
    desk.at(16.0)
    assert page_of(desk).rows.aside == "NOT LIVE: as it stood at 14:32:51"
    assert page_of(desk).veil.isVisible()
    found = parts(desk)
    assert next(row[1] for row in found["Everything else"]).endswith("not known here. Go to the beds.")
    assert all(row[2].endswith("as it stood") for row in found[NOBODY_HAS])
    assert NONE[DEVICES] not in str(found)
    assert Priority.HIGH in {one.priority for _, one in desk.store.needs()}
