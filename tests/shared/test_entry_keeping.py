"""Drafts and sent sets survive as text, exactly; what is damaged is refused in words and never half read."""

import json

import pytest
from hypothesis import given
from hypothesis import strategies as st

from shared.entry.draft import Draft, EnteredSet, Here, answer_bed, judged, send, type_into
from shared.entry.keeping import draft_from, draft_text, sent_from, sent_text
from shared.entry.versions import SentSet, agree, ask_strike, begin, correct, moved
from shared.errors import ConfigurationError
from shared.instant import HOUR, MINUTE
from shared.messages import Why
from shared.quantities import Quantity as Q
from tests.helpers.entry_bed import BASE, TABLE, bed

NOW = 100 * HOUR
HERE = Here(TABLE, bed("B5", read_at=NOW - HOUR))
OTHER = {**BASE, Q.PUMP_SPEED: "2450", Q.PUMP_FLOW: "2.9", Q.INLET_PRESSURE: "-40"}


def a_draft() -> Draft:
    """A draft with confirmations, another bed answered, orders, and a number that is refused."""
    around = Here(TABLE, HERE.known, (bed("B6", OTHER, read_at=NOW - HOUR),))
    draft = Draft(HERE.known.place, "nurse-B5", ordered=frozenset({Q.PUMP_SPEED, Q.FDO2}))
    for quantity, text in (*OTHER.items(), (Q.PUMP_FLOW, "2.9"), (Q.HAEMOGLOBIN, "9,5")):
        draft = type_into(draft, around, quantity, text, NOW)
    return answer_bed(draft, around, "B5", NOW)


def a_sent_set() -> SentSet:
    """A set that was corrected and struck with a move."""
    _, entered = send(type_into(Draft(HERE.known.place, "a"), HERE, Q.PUMP_FLOW, "4.2", NOW), HERE, NOW)
    kept = correct(begin(entered, "set-1"), {Q.PUMP_FLOW: 4.0}, "b", NOW + MINUTE, Why.MISREAD)
    asked = ask_strike(kept, "b", NOW + MINUTE, Why.WRONG_BED, bed("B6").place)
    struck, there = agree(asked, "c", NOW + 2 * MINUTE, TABLE.times)
    assert isinstance(there, EnteredSet)
    assert moved(there, "set-2", struck).moved_from == "set-1"
    return struck


def test_that_a_draft_comes_back_as_it_was_and_goes_on() -> None:
    draft = a_draft()
    assert draft.confirmed
    assert draft.not_from == {"B6"}
    back = draft_from(draft_text(draft))
    assert back == draft
    assert draft_text(back) == draft_text(draft)
    assert judged(back, HERE, NOW) == judged(draft, HERE, NOW)
    assert send(back, HERE, NOW)[1] == send(draft, HERE, NOW)[1]


def test_that_a_sent_set_comes_back_with_all_its_versions() -> None:
    kept = a_sent_set()
    back = sent_from(sent_text(kept))
    assert back == kept
    assert len(back.versions) == 2
    assert back.strikes[0].move_to == bed("B6").place
    assert sent_text(back) == sent_text(kept)


@pytest.mark.parametrize(
    ("change", "words"),
    [
        ({"state": "sunk"}, "state"),
        ({"read_at": "noon"}, "read_at"),
        ({"typed": {"pump_flw": {"text": "4.2", "at": 1}}}, "typed.pump_flw"),
        ({"typed": {"pump_flow": {"text": 4.2, "at": 1}}}, "typed.pump_flow.text"),
        ({"place": {"bed": "B5", "slot": "1", "run": "r"}}, "place.slot"),
    ],
)
def test_that_a_damaged_draft_is_refused_at_its_place(change: dict[str, object], words: str) -> None:
    data = json.loads(draft_text(a_draft())) | change
    with pytest.raises(ConfigurationError, match=f"this is no draft of a round: .* at {words}"):
        draft_from(json.dumps(data))


@pytest.mark.parametrize("text", ["", "{}", "[]", "null", '{"place": ', "\x00"])
def test_that_what_is_no_draft_at_all_is_refused_in_words(text: str) -> None:
    with pytest.raises(ConfigurationError, match="this is no draft of a round"):
        draft_from(text)
    with pytest.raises(ConfigurationError, match="this is no sent round"):
        sent_from(text)


@given(st.integers(0, 2_000), st.integers(0, 12), st.text(max_size=6))
def test_that_any_damage_gives_words_or_a_draft(at: int, length: int, put: str) -> None:
    text = draft_text(a_draft())
    damaged = text[:at] + put + text[at + length :]
    try:
        draft = draft_from(damaged)
    except ConfigurationError:
        return
    assert draft_from(draft_text(draft)) == draft
