"""What stands at a bed: own limits that end, transports, gas, reasons that are owed: on tile, page and list."""

from dataclasses import replace
from datetime import UTC
from typing import Any

import pytest
from PySide6.QtWidgets import QApplication
from pytestqt.qtbot import QtBot

from monitor.core.bed_commands import DepartureItem
from monitor.core.grades import Priority
from monitor.core.own_rules import LATE_READING
from monitor.core.view import CallMeView, LimitView, OwnLimitView, RoundView, TileView, TransportView
from monitor.desk.answering import Answering
from monitor.desk.bedpage.figures import Figure
from monitor.desk.bedpage.page import BedPage
from monitor.desk.bedpage.table import beside
from monitor.desk.header_face import compose_header
from monitor.desk.link_state import LinkState
from monitor.desk.menu.table import Item
from monitor.desk.paint.text import format_number
from monitor.desk.palette import load_palette
from monitor.desk.people import People
from monitor.desk.session import Session
from monitor.desk.standing import ending, gas_words, standing_lines
from monitor.desk.store import Changes
from monitor.desk.tile.compose import compose
from monitor.desk.tile.moment import Moment
from shared.instant import MINUTE, SECOND, Instant
from shared.messages import RoundKind
from shared.quantities import Quantity as Q
from shared.support import Support
from tests.helpers.desk import Desk, click, picture
from tests.helpers.views import NOW, episode, filled, holder, run, tile

AT = Moment(NOW)
MINUS_90, MINUS_100 = f"{format_number(-90, 0)} mmHg", f"{format_number(-100, 0)} mmHg"


def limited(until: Instant) -> TileView:
    own = OwnLimitView(value=-90.0, by="nurse-7", second=None, since=NOW, until=until, reason="Ordered")
    limit = LimitView(
        rule="inlet_low",
        priority=Priority.MEDIUM,
        quantity=Q.INLET_PRESSURE,
        above=False,
        default=-100.0,
        own=own,
    )
    return tile("B2", runs=(run().model_copy(update={"settable": (limit,)}),))


def away(**more: Any) -> TransportView:
    fields: dict[str, Any] = {"leader": "charge", "began": NOW - 20 * MINUTE, "back": NOW + 20 * MINUTE}
    return TransportView(**(fields | more))


def spoken(view: TileView, moment: Moment = AT) -> str:
    face = compose(view, filled([view]), moment)
    return f"{face.need.title} | {face.foot.left[0]} | {face.gas}"


def listed(view: TileView, moment: Moment = AT) -> list[str]:
    return [line.title for line in compose_header(filled([view]), moment, 0.0).needs]


@pytest.mark.parametrize(("left", "told"), [(15 * MINUTE, True), (15 * MINUTE + SECOND, False), (0, True)])
def test_that_an_own_limit_is_announced_from_a_quarter_of_an_hour_before_its_end(left: int, told: bool) -> None:
    second = AT.second
    view = limited(second + left)
    assert bool(ending(view, AT)) is told
    assert bool(listed(view)) is told
    assert ("Own limit" in spoken(view)) is told


def test_that_the_banner_says_what_ends_and_what_returns() -> None:
    (said,) = ending(limited(NOW + 10 * MINUTE), Moment(NOW, zone=None))
    assert said.startswith(f"Own limit Drain P {MINUS_90} ends ")
    assert said.endswith(f", default {MINUS_100} returns")


def test_that_the_page_lists_own_limits_with_owner_reason_and_end() -> None:
    view = limited(NOW + 3 * 60 * MINUTE)
    (line,) = standing_lines(view, filled([view]), AT, "")
    assert all(part in line.text for part in (MINUS_90, "Nurse 7", "Ordered", f"default {MINUS_100}", "until"))


def test_that_the_page_lists_who_is_called_and_for_what() -> None:
    wish = CallMeView(quantity=Q.PUMP_FLOW, below=3.5, calls="perfusionist", by="charge", until=NOW + MINUTE)
    view = tile("B2", runs=(run().model_copy(update={"call_me": (wish,)}),))
    (line,) = standing_lines(view, filled([view]), AT, "")
    assert line.text.startswith("Call Perfusionist 1 if Flow below 3.5 L/min, until ")
    assert line.text.endswith("asked by Charge 2")


def test_that_a_transport_says_back_gas_and_what_was_not_ticked() -> None:
    missing = (DepartureItem.HAND_DRIVE, DepartureItem.SECOND_PERSON)
    view = tile("B2", transport=away(gas_empty_at=NOW + 48 * MINUTE, missing=missing, destination="CT"))
    said = spoken(view)
    assert "back " in said
    assert "gas 48 min" in said
    assert "Not ticked: hand drive, second person" in said
    lines = standing_lines(view, filled([view]), AT, "battery 36 min")
    assert "to CT" in lines[0].text
    assert "battery 36 min" in lines[0].text


def test_that_minutes_of_gas_are_at_most_so_many_once_nothing_fresh_is_read() -> None:
    transport = away(gas_empty_at=NOW + 48 * MINUTE)
    assert gas_words(tile("B2", transport=transport, stale=True), AT) == "gas at most 48 min"
    assert gas_words(tile("B2", transport=transport), Moment(NOW, LinkState.NOT_LIVE)) == "gas at most 48 min"
    assert gas_words(tile("B2", transport=away(gas_empty_at=NOW - MINUTE)), AT) == "gas 0 min"


def test_that_a_need_on_the_way_leaves_the_minutes_of_gas_on_the_tile() -> None:
    view = tile("B2", transport=away(gas_empty_at=NOW + 48 * MINUTE), episodes=(episode(),))
    assert spoken(view).endswith("gas 48 min")


def test_that_a_late_return_is_said() -> None:
    view = tile("B2", transport=away(back=NOW - 5 * MINUTE))
    assert "late since " in spoken(view)
    assert standing_lines(view, filled([view]), AT, "")[0].bold


def test_that_a_transport_without_a_feed_is_a_quiet_line_and_no_need() -> None:
    view = tile("B2", transport=away(silent_since=NOW - 6 * MINUTE))
    face = compose_header(filled([view]), AT, 0.0)
    (line,) = face.needs
    assert line.need is None
    assert line.title.startswith("In transport, no feed since ")
    assert not any(face.counts.values())
    assert face.not_taken == 0
    assert "no proof of safety" in face.no_needs


def test_that_quiet_lines_stand_below_needs_and_give_way_to_them() -> None:
    needs = [tile(f"B{n}", episodes=(episode(),)) for n in range(1, 7)]
    quiet = tile("B7", transport=away(silent_since=NOW))
    assert all(line.need is not None for line in compose_header(filled([quiet, *needs]), AT, 0.0).needs)
    two = compose_header(filled([quiet, needs[0]]), AT, 0.0).needs
    assert [line.need is None for line in two] == [False, True]


def test_that_the_reason_of_a_take_is_asked_for_on_tile_and_page() -> None:
    need = episode("Flow", Priority.HIGH, holder=holder("charge", reason=None))
    view = tile("B2", episodes=(need,))
    assert "Reason of the take? W" in compose(view, filled([view]), AT).foot.left[0]
    (line,) = standing_lines(view, filled([view]), AT, "")
    assert line.text.startswith("Reason of the take? by ")
    later = Moment(NOW + 9 * MINUTE)
    assert "overdue" in standing_lines(view, filled([view]), later, "")[0].text


@pytest.mark.parametrize("theme", ["day", "night"])
@pytest.mark.parametrize("size", [(1920, 950), (1366, 660)])
def test_that_the_page_has_a_button_for_all_that_can_be_written_and_keeps_its_parts_apart(
    qtbot: QtBot, size: tuple[int, int], theme: str
) -> None:
    view = limited(NOW + 10 * MINUTE)
    store = filled([view])
    session = Session(store, lambda _: None)
    answering = Answering(session, People(store), lambda _: None, lambda *_: None, lambda: 0.0)
    palette = load_palette()
    page = BedPage("B2", session, answering, getattr(palette, theme), lambda _: None)
    qtbot.addWidget(page)
    page.resize(*size)
    page.show()
    page.show_moment(AT, Changes())
    page.grab()
    assert {Item.ORDER, Item.LIMIT, Item.HELP, Item.RUN_ENDS} <= set(page.acts.buttons)
    assert Item.BACK not in page.acts.buttons
    for button in page.acts.buttons.values():
        assert button.fontMetrics().horizontalAdvance(button.text()) <= button.width()
        assert button.height() >= 42
    parts = (page.trends, page.standing, page.parts.deck, page.parts.changes, page.who, page.events, page.acts)
    boxes = [part.geometry() for part in parts]
    assert page.standing.isVisible()
    assert not any(one.intersects(other) for n, one in enumerate(boxes) for other in boxes[:n])


def test_that_one_click_on_help_calls_nobody(qtbot: QtBot) -> None:
    desk = Desk(qtbot, filled([tile("B2")]))
    desk.window.set_bed_page_factory(
        lambda bed: BedPage(bed, desk.window.session, desk.window.answering, desk.window.theme, desk.window.go_to)
    )
    desk.window.go_to("B2")
    page: Any = desk.window.page
    click(page.acts.buttons[Item.HELP])
    assert desk.window.panel.question is None
    click(page.acts.buttons[Item.HELP])
    question = desk.window.panel.question
    assert question is not None
    assert question.title == "Help to B2: what for?"


def test_that_a_button_of_the_page_begins_its_form(qtbot: QtBot) -> None:
    desk = Desk(qtbot, filled([tile("B2")]))
    desk.window.set_bed_page_factory(
        lambda bed: BedPage(bed, desk.window.session, desk.window.answering, desk.window.theme, desk.window.go_to)
    )
    desk.window.go_to("B2")
    page: Any = desk.window.page
    click(page.acts.buttons[Item.ORDER])
    question = desk.window.panel.question
    assert question is not None
    assert question.title == "B2: order"


def test_that_a_low_on_the_way_leaves_the_transport_on_the_tile() -> None:
    missing = (DepartureItem.HAND_DRIVE,)
    low = episode("On battery", Priority.LOW)
    view = tile("B2", transport=away(gas_empty_at=NOW + 48 * MINUTE, missing=missing), episodes=(low,))
    face = compose(view, filled([view]), AT)
    assert face.need.title == "On battery"
    assert face.gas == "in transport · gas 48 min"
    assert face.foot.left[0].startswith("Low: nobody is called · Not ticked: hand drive")
    silent = tile("B2", transport=away(), episodes=(low,))
    assert compose(silent, filled([silent]), AT).gas == "in transport"


def test_that_an_own_limit_of_a_high_rule_stands_on_the_tile_for_as_long_as_it_holds() -> None:
    view = limited(NOW + 3 * 60 * MINUTE)
    high = tuple(one.model_copy(update={"priority": Priority.HIGH}) for one in view.runs[0].settable)
    runs = (view.runs[0].model_copy(update={"settable": high}),)
    said = spoken(view.model_copy(update={"runs": runs}))
    assert f"High at own limit Drain P {MINUS_90} until " in said
    assert "High at own limit" not in spoken(view)


def test_that_a_low_page_still_says_what_stands_at_the_bed(qtbot: QtBot) -> None:
    view = tile("B2")
    due = RoundView(kind=RoundKind.SAFETY_WALK, due_at=NOW - 60 * MINUTE)
    run = view.runs[0].model_copy(update={"rounds": (due,), "findings": {"Leaks and connectors": "a drop"}})
    desk = Desk(qtbot, filled([view.model_copy(update={"runs": (run,)})]), size=(1366, 740))
    desk.window.set_bed_page_factory(
        lambda bed: BedPage(bed, desk.window.session, desk.window.answering, desk.window.theme, desk.window.go_to)
    )
    desk.window.go_to("B2")
    page: Any = desk.window.page
    assert [line.text for line in page.standing.lines] == [
        "Due: safety walk since 13:32",
        "Finding: Leaks and connectors (a drop)",
    ]
    assert page.standing.height() >= page.standing.wanted(page.standing.width(), titled=False)


def test_that_what_is_due_at_a_bed_of_two_pumps_says_at_which() -> None:
    due = RoundView(kind=RoundKind.SAFETY_WALK, due_at=NOW - 60 * MINUTE)
    runs = [one.model_copy(update={"rounds": (due,)}) for one in (run(Support.LA_AO, 1), run(Support.RA_PA, 2))]
    view = tile("B2", runs=tuple(runs))
    said = [line.text for line in standing_lines(view, filled([view]), Moment(NOW, zone=UTC), "")]
    assert said == ["Due, pump 1: safety walk since 13:32", "Due, pump 2: safety walk since 13:32"]


def test_that_a_limit_that_does_not_fit_beside_its_target_stands_alone(qapp: QApplication) -> None:
    figure = Figure(
        label="MAP", value="72", unit="mmHg", target="70", limit="≥ 60  ≤ 90", kind="", age="", old=False
    )
    assert beside(figure, 400) == "target 70  ≥ 60  ≤ 90"
    assert beside(figure, 100) == "≥ 60  ≤ 90"
    assert beside(replace(figure, limit=""), 20) == "target 70"


def test_that_the_header_names_what_is_to_be_seen_where_no_condition_stands(qtbot: QtBot) -> None:
    """An unseen notice of a set entered late stands alone: the header does not say that there is no need."""
    notice = episode(LATE_READING.title, over=True)
    late = notice.alerts[0].model_copy(update={"rule": LATE_READING.id})
    notice = notice.model_copy(update={"alerts": (late,)})
    for beds, said in ((["B3"], "1 to be seen: B3."), ([f"B{n}" for n in range(1, 6)], "5 to be seen: at 5 beds.")):
        desk = Desk(qtbot, filled([tile("B7"), *(tile(bed, episodes=(notice,)) for bed in beds)]))
        face = desk.window.header.face
        assert face is not None
        assert (face.needs, face.no_needs.startswith(said)) == ((), True)
        assert "No open need" not in face.no_needs
        with_words = picture(desk.window.header)
        desk.window.header.show_face(replace(face, no_needs=""))
        assert (picture(desk.window.header) != with_words).any()
