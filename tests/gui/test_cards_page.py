"""The handover cards by keyboard: what each says, that each look is written down, and accepting after them."""

from typing import Any

from PySide6.QtCore import Qt
from pytestqt.qtbot import QtBot

from monitor.core.bed_commands import LookedAt, SeeConfiguration
from monitor.core.meaning.labs_view import DrawView, LabView
from monitor.core.meaning.view import Meaning
from monitor.core.roster_commands import AcceptOffer, OfferPosts
from monitor.core.view import ConfiguredView
from monitor.core.wire import AskCards, AskMeaning, Cards, Meant, NotUnderstood
from monitor.desk.bedpage.page import BedPage
from monitor.desk.cardspage.page import CardsPage
from monitor.desk.hearing import Heard
from monitor.desk.sheets.sections import SectionsCard
from monitor.desk.store import Store
from shared.instant import HOUR, MINUTE
from shared.quantities import Quantity as Q
from tests.helpers.desk import Desk, press_key, type_keys
from tests.helpers.due_ward import card_of, due_store, figures, ward
from tests.helpers.views import NOW, filled
from tests.helpers.ward import Ward
from tests.helpers.ward_desk import BEDS

CHANGED = ConfiguredView(at=NOW - 5 * HOUR, files=("ladder.toml", "limits.toml"))


def opened(qtbot: QtBot, store: Store, who: str | None = "charge", size: tuple[int, int] = (1920, 1080)) -> Desk:
    desk = Desk(qtbot, store, size=size, who=who)
    window = desk.window
    window.add_page("x", lambda: CardsPage(window))
    window.set_bed_page_factory(
        lambda bed: BedPage(bed, window.session, window.answering, window.theme, window.go_to)
    )
    type_keys(window, "x")
    return desk


def page_of(desk: Desk) -> CardsPage:
    page = desk.window.page
    assert isinstance(page, CardsPage)
    return page


def asked(desk: Desk) -> list[AskCards]:
    return [one for one in desk.sent if isinstance(one, AskCards)]


def hear(desk: Desk, message: Any) -> None:
    desk.window.take(desk.window.session.take([Heard(desk.seconds, message)], desk.seconds))


def sections(*cards: SectionsCard) -> dict[str, list[str]]:
    found = [one for card in cards for column in card.columns for one in column]
    return {one.title: [line.text for line in one.lines] for one in found}


def space(desk: Desk) -> None:
    press_key(desk.window, Qt.Key.Key_Space)


def test_that_a_card_says_what_differs_first_and_the_same_in_the_same_order(qtbot: QtBot) -> None:
    desk = opened(qtbot, due_store(configured=(CHANGED,)), size=(1366, 768))
    page = page_of(desk)
    assert sections(page.first)["Open of the unit, goes on"] == ["The hub is asked for the last 12 h."]
    hear(desk, NotUnderstood(reason=f"{asked(desk)[-1].request}: the cards took too long"))
    assert page.first.aside == "The last 12 h: the cards took too long"
    hear(desk, Cards(request=asked(desk)[-1].request, figures=figures()))
    assert (page.first.title, page.first.aside) == ("Cardiac support unit", "12 h to 14:31")
    assert sections(page.first) == {
        "Configuration changed, last 14 days": ["09:32: ladder.toml, limits.toml · not seen by you"],
        "Open of the unit, goes on": ["Medium: Surgeon: nobody, since 12:00"],
    }
    assert [cell.text for cell in page.list.cells[2]] == ["B2", "--", "4 differ, 3 open"]
    press_key(desk.window, Qt.Key.Key_Down)
    type_keys(desk.window, "a")
    assert desk.window.footer.face.told == "The configuration was changed: see the unit's card first. Space: seen."
    space(desk)
    assert [(type(one), getattr(one, "up_to", 0)) for one in desk.commands()] == [(SeeConfiguration, CHANGED.at)]
    press_key(desk.window, Qt.Key.Key_Down)
    assert page.first.title == "B2 · VA · day 4 · Nurse 2"
    said = sections(page.first, page.rest)
    assert list(said) == [
        "Differs from 12 h ago", "Open, goes on", "Targets and limits now", "Call me if", "Planned",
        "Anticoagulation and blood", "Equipment", "Alerts and answers, 12 h",
    ]  # fmt: skip
    assert said["Differs from 12 h ago"] == list(card_of(ward()[1]).changes)
    assert said["Open, goes on"][3:] == [
        "Finding: Clots: pump head, oxygenator, connectors (fibrin at the outlet connector)",
        "Due: Safety walk, for 1 h 20 min",
        "Due: ACT to be drawn, for 35 min",
    ]
    assert said["Targets and limits now"] == [
        "Targets: Flow\u00a04.2\u00a0L/min, MAP\u00a070\u00a0mmHg",
        "Limits: Flow\u00a0<\u00a03.57\u00a0L/min, Drain\u00a0P\u00a0<\u00a0−90\u00a0mmHg, "
        "MAP\u00a0<\u00a072\u00a0or\u00a0>\u00a090\u00a0mmHg",
        "Own limit Drain P −90 mmHg until 17:32, default −150 mmHg · Perfusionist 1 · Ordered",
    ]
    assert [[cell.text for cell in row] for row in page.numbers.cells][::4] == [
        ["Flow L/min", "2.1", "4.1", "4.4", "−0.5", "34 of 702 min", "3 min", "15 min"],
        ["SpO₂ R %", "--", "--", "--", "--", "no target", "0 min", "720 min"],
    ]
    asks = [one for one in desk.sent if isinstance(one, AskMeaning)]
    assert [(one.bed, one.slot) for one in asks][-1] == ("B2", 1)
    lab = LabView(quantity=Q.ACT, value=180, at=NOW - HOUR, previous=DrawView(value=190, at=NOW - 3 * HOUR),
                  due_at=NOW + HOUR)  # fmt: skip
    hear(
        desk,
        Meant(request=asks[-1].request, meaning=Meaning(bed="B2", slot=1, run_id="run-1-VA", at=NOW, labs=(lab,))),
    )
    assert sections(page.rest)["Anticoagulation and blood"] == ["ACT 180 s, drawn 13:32, was 190, due 15:32"]
    every = " ".join(line for lines in sections(page.first, page.rest).values() for line in lines)
    assert "stable" not in every.casefold()
    hear(desk, Cards(request=asked(desk)[-1].request, figures=figures().model_copy(update={"beds": ()})))
    assert sections(page.first)["Differs from 12 h ago"] == ["The hub is asked for the last 12 h."]
    assert sections(page.first)["Open, goes on"][0] == "Flow 2.2, limit 2.5, since 14:28"
    desk.at(NOW / MINUTE)
    assert page.first.aside == "NOT LIVE: as it stood"
    press_key(desk.window, Qt.Key.Key_Return)
    assert isinstance(desk.window.page, BedPage)


def test_that_a_post_is_accepted_after_every_card_was_looked_at(qtbot: QtBot) -> None:
    unit = Ward((), NOW - HOUR, cards_within_min=60)
    unit.to(NOW)
    unit.does("offer", giver="charge-1", to="charge-2", posts=[{"rung": 2}])
    desk = opened(qtbot, filled([unit.engine.tile(bed, NOW) for bed in BEDS], the_unit=unit.engine.unit(NOW)), None)

    def carry_out() -> str | None:
        command = desk.commands()[-1]
        return unit.give(command.kind, command.person, **command.model_dump(exclude={"id", "kind", "person"}))

    assert sections(page_of(desk).rest)["Roster, open"] == [
        "Charge nurse: Offered to Charge-2, 14:32", "Charge-2 looked at 0 of 3 cards within the hour",
    ]  # fmt: skip
    type_keys(desk.window, "a")
    question = desk.window.panel.question
    assert question is not None
    type_keys(desk.window.panel, next(one.key for one in question.pages()[0] if one.value == "charge-2"))
    assert desk.window.panel.question is not None
    type_keys(desk.window.panel, "1")
    accept = desk.commands()[-1]
    assert isinstance(accept, AcceptOffer)
    assert (accept.person, accept.told_to, accept.takes) == ("charge-2", None, ())
    assert carry_out() == "look at the handover cards first: B1, B2, B3"
    assert unit.stands("2") == "charge-1"
    space(desk)
    for bed in ("B1", "B2", "B3"):
        assert page_of(desk).bed == bed
        space(desk)
        look = desk.commands()[-1]
        assert isinstance(look, LookedAt)
        assert (look.bed, look.card, look.person) == (bed, True, "charge-2")
        assert carry_out() is None
    space(desk)
    desk.store.tiles["B1"] = unit.engine.tile("B1", NOW)
    desk.at(1.5)
    assert [cell.text for cell in page_of(desk).list.cells[1]][:2] == ["B1", "14:32"]
    type_keys(desk.window, "a")
    type_keys(desk.window.panel, "1")
    assert carry_out() is None
    assert unit.stands("2") == "charge-2"
    desk.window.session.store.unit = unit.engine.unit(NOW)
    type_keys(desk.window, "a")
    assert (
        desk.window.footer.face.told == "Nothing is offered to you. The roster (R) shows what is offered to whom."
    )
    type_keys(desk.window, "o")
    panel = desk.window.panel
    assert panel.question is not None
    type_keys(panel, next(one.key for one in panel.question.pages()[0] if one.value == "charge-1"))
    offer = desk.commands()[-1]
    assert isinstance(offer, OfferPosts)
    assert (offer.giver, offer.to) == ("charge-2", "charge-1")
    desk.window.people.sign_in("admin")
    type_keys(desk.window, "o")
    assert desk.window.footer.face.told.startswith("You stand on no post")
