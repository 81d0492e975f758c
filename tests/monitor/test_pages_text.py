"""The text of a page: at most 160 characters, complete, plain, and nobody's identity in it.

The places of characters: 3GPP TS 23.038, 6.2.1 and 6.2.1.1, read as gateway manuals print its tables. 160
characters, complete without opening the board: common practice, no source.
"""

from datetime import UTC, timedelta, timezone
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from monitor.core.bed_commands import SetCallMe
from monitor.core.commands import (
    CallHelp,
    CareMarker,
    ChangeRoster,
    Command,
    HelpKind,
    PassOn,
    Reason,
    StartTransport,
    Take,
)
from monitor.core.effects import Page, Persist
from monitor.core.engine import Engine
from monitor.core.entries import EntryKind
from monitor.core.events import Commanded, Observed, TimePassed
from monitor.core.grades import Priority, Rung
from monitor.core.pages.plain import PLAIN, plain
from monitor.core.pages.text import AGAIN, LONGEST, PageFacts, Why, again, text_of
from monitor.core.titles import number
from monitor.rehearsal.rehearse import BEGIN
from monitor.rehearsal.sources import Numbered
from monitor.settings import load_configuration
from shared.instant import HOUR, SECOND
from shared.messages import Origin
from shared.quantities import CATALOGUE
from shared.quantities import Quantity as Q

CONFIG = Path(__file__).parents[2] / "config"
NOON = 1_767_614_400_000  # 2026-01-05 12:00 UTC
#: The default alphabet without letters that ASCII has not, and without the extension table.
ONE_PLACE = "@$_ !\"#%&'()*+,-./0123456789:;<=>?ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz"  # 6.2.1


def facts(**more: object) -> PageFacts:
    given: dict[str, object] = {
        "bed": "B4", "priority": Priority.HIGH, "circuit_critical": False, "title": "Flow 2.2, limit 2.5",
        "value": 2.2, "limit": 2.52, "quantity": Q.PUMP_FLOW, "since": NOON, "at": NOON + 60 * SECOND,
        "holder": None,
        "rung": Rung.PERFUSIONIST, "why": Why.FIRST, "phone": "4210", "origin": Origin.CONSOLE,
        "last_reading_at": None,
    }  # fmt: skip
    return PageFacts(**{**given, **more})  # type: ignore[arg-type]


def test_that_a_page_says_all_that_is_needed_without_the_board() -> None:
    assert text_of(facts(), UTC, test=False) == (
        "B4 HIGH: Flow 2.2, limit 2.5 L/min since 12:00. Nobody has it. Perfusionist, first call. Ring 4210."
    )
    whole = facts(
        bed="ICU-0004", circuit_critical=True, origin=Origin.SIMULATED, holder="Charge nurse 2", why=Why.STILL,
        last_reading_at=NOON,
    )  # fmt: skip
    assert text_of(whole, timezone(timedelta(hours=1)), test=True) == (
        "TEST SIMULATED ICU-0004 HIGH CRITICAL: Flow 2.2, limit 2.5 L/min since 13:00. Charge nurse 2 has it. "
        "Still present. Ring 4210. Last reading 13:00."
    ), "the rung's name is the first to go"


def test_that_numbers_that_the_title_leaves_out_are_added() -> None:
    stopped = facts(title="Pump stopped", value=0.0, limit=500.0, quantity=Q.PUMP_SPEED)
    assert "Pump stopped: 0, limit 500 rpm since 12:00." in text_of(stopped, UTC, test=False)
    help_called = facts(title="Help called: air in the circuit", value=None, limit=None, quantity=None)
    assert "HIGH: Help called: air in the circuit since 12:00." in text_of(help_called, UTC, test=False)
    low = facts(title="Drain P −101, limit −100", value=-101.2, limit=-100.0, quantity=Q.INLET_PRESSURE)
    assert "Drain P -101, limit -100 mmHg since" in text_of(low, UTC, test=False)


def test_that_a_need_of_another_day_says_which() -> None:
    assert "since 4 Jan 12:00." in text_of(facts(since=NOON - 24 * HOUR), UTC, test=False)


def test_that_plain_characters_take_one_place_each_in_a_short_message() -> None:
    assert set(ONE_PLACE) == PLAIN


WORDS = st.text(st.characters(exclude_categories=["Cs", "Cc"]), min_size=3, max_size=60)
TELEPHONES = st.text("0123456789 +*#/()-", min_size=1, max_size=24).filter(lambda said: said.strip())
BEDS = st.from_regex(r"\A[A-Za-z0-9-]{1,8}\Z")


@st.composite
def told(draw: st.DrawFn) -> PageFacts:
    """Facts with every string that the models allow, and every number that a quantity can have."""
    quantity = draw(st.sampled_from(list(Q)))
    spec = CATALOGUE[quantity]
    values = st.floats(spec.low, spec.high)
    value, limit = draw(values), draw(st.none() | values)
    title = draw(WORDS)
    if draw(st.booleans()) and limit is not None:
        written = f"{number(value, spec.decimals)}, limit {number(limit, spec.decimals)}"
        title = f"{title[: 60 - len(written) - 1]} {written}"
    return facts(
        bed=draw(st.none() | BEDS), priority=draw(st.sampled_from([Priority.HIGH, Priority.MEDIUM])),
        circuit_critical=draw(st.booleans()), title=title, value=value, limit=limit, quantity=quantity,
        since=NOON - draw(st.sampled_from([0, 1, 90])) * HOUR, at=NOON,
        holder=draw(st.none() | st.text(st.characters(exclude_categories=["Cs", "Cc"]), min_size=1, max_size=24)),
        rung=draw(st.sampled_from(list(Rung))), why=draw(st.sampled_from(list(Why))), phone=draw(TELEPHONES),
        origin=draw(st.sampled_from(list(Origin))),
        last_reading_at=draw(st.none() | st.just(NOON - HOUR) | st.just(NOON - 90 * HOUR)),
    )  # fmt: skip


@settings(max_examples=400)
@given(told(), st.booleans())
def test_that_a_page_is_short_and_keeps_what_must_not_be_lost(said: PageFacts, test: bool) -> None:
    text = text_of(said, UTC, test=test)
    assert set(text) <= PLAIN
    assert len(text) <= LONGEST - len(AGAIN)
    assert len(again(text)) <= LONGEST
    spec = CATALOGUE[said.quantity] if said.quantity is not None else None
    assert spec is not None
    marks = (["TEST"] if test else []) + [
        mark for mark in ("SIMULATED", "REPLAYED") if said.origin is not None and mark == said.origin.upper()
    ]
    critical = " CRITICAL" if said.circuit_critical else ""
    head = " ".join([*marks, said.bed or "Unit", f"{said.priority.upper()}{critical}:"])
    assert text.startswith(f"{head} ")
    assert f" {plain(number(said.value or 0.0, spec.decimals))}" in text
    if said.limit is not None:
        assert f"limit {plain(number(said.limit, spec.decimals))} {plain(spec.unit)}".rstrip() in text
    assert " since " in text
    assert f" Ring {plain(said.phone)}." in text
    assert " has it." in text
    assert ("Nobody has it." in text) == (said.holder is None or plain(said.holder) == "Nobody")


@given(told())
def test_that_again_is_said_once_and_after_the_marks(said: PageFacts) -> None:
    text = again(text_of(said, UTC, test=True))
    assert again(text) == text
    assert text.startswith("TEST ")
    assert text.count(AGAIN) >= 1


SECRET = "Zebra-Quagga"


def test_that_no_page_holds_words_of_people_or_the_name_of_a_run() -> None:
    """Everything that a person can type at a bed or a desk is a word that must not come out again."""
    shipped = load_configuration(CONFIG)
    beds = tuple(
        one.model_copy(
            update={
                "note": SECRET,
                "runs": tuple(
                    run.model_copy(update={"description": run.description.model_copy(update={"run_id": SECRET})})
                    for run in one.runs
                ),
            }
        )
        for one in shipped.unit.beds
    )
    configuration = shipped.model_copy(update={"unit": shipped.unit.model_copy(update={"beds": beds})})
    engine, numbered, pages = Engine(configuration, BEGIN), Numbered(), []
    engine.start(BEGIN)
    commands: list[Command] = [
        CareMarker(id="act-1", person="charge-2", bed="B1", minutes=2, what=SECRET),
        StartTransport(
            id="act-2", person="charge-2", bed="B1", leader="deputy", back=BEGIN + HOUR, destination=SECRET
        ),
        CallHelp(id="act-3", person="nurse-1", bed="B1", what=HelpKind.AIR),
        SetCallMe(
            id="act-4", person="charge-2", bed="B2", slot=1, quantity=Q.PUMP_FLOW, below=3.8,
            calls="perfusionist-1", until=BEGIN + HOUR, note=SECRET,
        ),
        ChangeRoster(id="act-5", person="charge-2", rung=Rung.INTENSIVIST, stands=None),
    ]  # fmt: skip
    reading = {Q.PUMP_SPEED: 3500.0, Q.PUMP_FLOW: 3.6, Q.INLET_PRESSURE: -60.0, Q.MEAN_ARTERIAL_PRESSURE: 72.0}
    answered = False
    for second in range(900):
        now = BEGIN + second * SECOND
        effects = engine.handle(TimePassed(), now)
        if second < 120:
            for place in ("B1", "B2"):
                effects += engine.handle(Observed(numbered.live(place, 1, now, reading)), now)
        if second % 10 == 0 and commands:
            effects += engine.handle(Commanded(commands.pop(0)), now)
        open_now = engine.tile("B1", now).episodes
        if second == 60 and open_now:
            answered = True
            lead = open_now[0]
            take = Take(
                id="act-9", person="nurse-1", bed="B1", alert=lead.lead, revision=lead.revision, reason=Reason.OTHER
            )
            effects += engine.handle(Commanded(take), now)
            look = engine.tile("B1", now).episodes[0]
            passed = PassOn(id="act-10", person="nurse-1", bed="B1", alert=look.lead, revision=look.revision)
            effects += engine.handle(Commanded(passed), now)
        pages += [effect for effect in effects if isinstance(effect, Page)]
    assert answered
    texts = [text_of(page.facts, UTC, test=True) for page in pages]
    assert {page.facts.bed for page in pages} >= {"B1", "B2"}
    assert {page.facts.why for page in pages} >= {Why.FIRST, Why.AGAIN}
    assert [text for text in texts if SECRET.lower() in text.lower() or "-1" in text.split(":")[0]] == []
    assert all(len(text) <= LONGEST for text in texts)


def test_that_every_call_is_followed_by_its_page() -> None:
    engine = Engine(load_configuration(CONFIG), BEGIN)
    engine.start(BEGIN)
    effects = engine.handle(Commanded(CallHelp(id="act-1", person="nurse-1", bed="B1", what=HelpKind.AIR)), BEGIN)
    calls = [
        (place, effect.entry.person, effect.entry.rung)
        for place, effect in enumerate(effects)
        if isinstance(effect, Persist) and effect.entry.kind is EntryKind.CALLED
    ]
    assert [rung for _, _, rung in calls] == [1, 2, 3, 4]
    for place, person, rung in calls:
        page = effects[place + 1]
        assert isinstance(page, Page)
        assert (page.person, page.facts.rung) == (person, rung)


@pytest.mark.parametrize(
    ("written", "read"), [("−12", "-12"), ("1\u2009000", "1000"), ("SpO₂ R", "SpO2 R"), ("é", "e")]
)
def test_that_screen_characters_become_plain(written: str, read: str) -> None:
    assert plain(written) == read


def test_that_the_last_words_of_a_title_go_before_the_last_reading_and_its_numbers_stay() -> None:
    title = "Return pressure behind the oxygenator has risen and flow fell"
    said = facts(title=title, holder="Nurse of the bed B4 and B5", phone="0123456789 0123456789", bed="B4-ROOM-12",
                 circuit_critical=True, origin=Origin.SIMULATED, last_reading_at=NOON - 2 * HOUR)  # fmt: skip
    told = text_of(said, UTC, test=True)
    assert len(told) <= LONGEST - len(AGAIN)
    assert "flow fell" not in told
    for kept in ("TEST SIMULATED B4-ROOM-12 HIGH CRITICAL: Return", "2.2, limit 2.5 L/min", "Last reading 10:00."):
        assert kept in told


def test_that_a_page_that_cannot_be_told_at_all_is_an_error_and_never_cut() -> None:
    with pytest.raises(ValueError, match="cannot be told in 160 characters"):
        text_of(facts(phone="4" * 150), UTC, test=False)
