"""What an entry of the alert log says to a reader: one line for each kind, and for what may be missing in it."""

from typing import Any

import pytest

from monitor.core.entries import Entry, EntryKind
from monitor.core.entry_words import words_of
from monitor.core.grades import Priority
from monitor.core.pages.states import PageState

K = EntryKind
TEXT: dict[str, Any] = {"text": "Words"}
ANNA: dict[str, Any] = {"person": "anna"}

#: Kinds that say what their own text says.
AS_WRITTEN = (
    K.RAISED, K.BOARD_BLIND, K.UNCOVERED, K.CARE_MARKER, K.EXCHANGE, K.TRIAL_STARTED, K.TRIAL_ENDED, K.ORDER,
    K.TARGET, K.ROSTER, K.OFFERED, K.OFFER_ACCEPTED, K.OFFER_DECLINED, K.OFFER_WITHDRAWN, K.BREAK_BEGAN,
    K.BREAK_ENDED, K.PLAN_SET, K.PLAN_ENDED, K.AUDIO_PAUSED, K.AUDIO_BACK, K.LIMIT_SET, K.LIMIT_ENDED,
    K.CALL_ME_SET, K.CALL_ME_ENDED, K.RUN_MOVED, K.CYLINDER, K.BEYOND_SEEN, K.SIGN_IN, K.PEER, K.TAKEN_OUT, K.NOTE,
    K.REFUSED, K.EVENT_PLANNED,
    K.ITEM_PLACED, K.ITEM_FREED, K.ITEM_CHECKED, K.ITEM_QUARANTINED, K.ITEM_RETURNED, K.ITEM_NOTED, K.ITEM_ADDED,
)  # fmt: skip
#: Kinds that say nothing to a reader of the list: what stands on the board, or beside it, says it better.
SILENT = {K.EPISODE_CLOSED, K.STANDS, K.LOOKED, K.BASELINE}
SAID: list[tuple[EntryKind, dict[str, Any], str]] = [
    (K.FOLDED, TEXT, "Words, joined"),
    (K.PROMOTED, TEXT | {"priority": Priority.HIGH}, "Words, rises to high"),
    (K.CALLED, ANNA | {"rung": 3}, "Anna called"),
    (K.CALLED, {"rung": 3}, "Perfusionist called"),
    (K.CALLED, {}, "Bedside nurse called"),
    (K.PAGED, ANNA, "Page to Anna"),
    (K.PAGED, ANNA | {"page_state": PageState.NOT_SENT}, "Page to Anna: not sent: telephone"),
    (K.PAGED, ANNA | {"page_state": PageState.WAITING}, ""),
    (K.PAGED, ANNA | {"page_state": PageState.DESKS_ONLY}, ""),
    (K.SKIPPED, {"rung": 4}, "Intensivist: nobody, skipped"),
    (K.SKIPPED, {}, "Bedside nurse: nobody, skipped"),
    (K.SEEN, ANNA, "Seen by Anna"),
    (K.ROUND_DONE, ANNA | TEXT, "Words, by Anna"),
    *((kind, ANNA | TEXT, "Words, by Anna") for kind in (K.OFF_SUPPORT, K.BACK_ON_SUPPORT, K.CARD)),
    (K.SET_CORRECTED, ANNA | TEXT, "Words, by Anna"),
    (K.SET_UNCHECKED, ANNA | TEXT, "Words, by Anna"),
    (K.LIMIT_PROPOSED, ANNA | TEXT, "Words, by Anna"),
    (K.PROPOSAL_ENDED, ANNA | TEXT, "Words, by Anna"),
    (K.PROPOSAL_ENDED, TEXT, "Words"),
    (K.SET_STRUCK, ANNA | TEXT, "Words, by Anna"),
    (K.SET_STRUCK, ANNA | TEXT | {"told_to": "anna"}, "Words, by Anna and Anna"),
    (K.VALUE_CORRECTED, TEXT, "What raised it was entered by hand: Words"),
    (K.TAKEN, ANNA, "Anna has it"),
    (K.TAKEN, ANNA | {"where": "at_bed"}, "Anna has it, at the bed"),
    (K.TAKEN, ANNA | {"where": "going", "told_to": "bo"}, "Anna has it, going, told to Bo"),
    (K.ALSO_RESPONDING, ANNA | {"where": "phone"}, "Anna also responding, by phone"),
    (K.ALSO_RESPONDING, ANNA | {"told_to": "bo"}, "Anna also responding, told to Bo"),
    (K.ADVISED, ANNA, "Anna helps by phone"),
    (K.DECLINED, ANNA, "Passed on by Anna"),
    (K.RENEWED, ANNA, "Held anew by Anna"),
    (K.HOLD_ENDED, TEXT, "Calls go on: Words"),
    (K.HOLD_ENDED, {}, "Calls go on"),
    (K.WORSENED, TEXT, "Calls go on: Words"),
    (K.CLEARED, {"rule": "flow_low"}, "Flow low ended"),
    (K.CLEARED, TEXT | {"rule": "flow_low"}, "Words ended"),
    (K.CLEARED, {}, "Alert ended"),
    (K.LATCHED, {"rule": "flow_low"}, "Flow low ended, not seen"),
    (K.REVIEWED, ANNA | {"rule": "flow_low"}, "Flow low reviewed by Anna"),
    (K.BEYOND_ROLE, ANNA | TEXT, "Anna · Words"),
    (K.HINT, TEXT, "Possible pattern: Words"),
    (K.REASON, ANNA | {"reason": "at_bedside"}, "Why Anna took it: at bedside"),
    (K.REASON, ANNA, "Why Anna took it: "),
    (K.TRANSPORT_STARTED, ANNA, "In transport, Anna leads"),
    (K.TRANSPORT_STARTED, ANNA | TEXT, "In transport, Anna leads: Words"),
    (K.TRANSPORT_ENDED, ANNA, "Back from transport: return check due"),
    (K.RETURN_CHECKED, ANNA, "Return check by Anna"),
    (K.TAKE_MOVED, ANNA | TEXT, "Anna has it, Words"),
    (K.TAKE_MOVED, ANNA | TEXT | {"told_to": "bo"}, "Anna has it, Words, told to Bo"),
    (K.NOBODY_THERE, TEXT, "Nobody can be called: telephone"),
    (K.SEEN, ANNA | {"until": 1}, "Seen by Anna: answer expected"),
    (K.NO_ANSWER, ANNA | TEXT | {"rung": 4}, "No answer from Anna Words: next rung"),
    (K.NO_ANSWER, ANNA | TEXT, "No answer from Anna Words: nobody left to call"),
    (K.LATE_ARRIVAL, ANNA | TEXT | {"rung": 4}, "Anna Words: next rung"),
    (K.LATE_ARRIVAL, ANNA | TEXT, "Anna Words"),
    (K.UNREACHABLE, ANNA, "Anna unreachable"),
    (K.UNREACHABLE, ANNA | TEXT, "Anna unreachable: Words"),
    (K.REACHABLE, ANNA, "Anna can be reached again"),
    (K.COVERED, ANNA | {"rung": 5}, "Surgeon: Anna"),
    (K.COVERED, ANNA, "Bedside nurse: Anna"),
    (K.RUN_STARTED, TEXT, "Run started: Words"),
    (K.RUN_ENDED, {"text": "After 3.8 h: weaned"}, "Run ended after 3.8 h: weaned"),
    (K.RUN_ENDED, {}, "Run ended"),
    (K.EVENT_OVER, ANNA | TEXT, "Words, Anna"),
    (K.EVENT_OVER, TEXT, "Words"),
    (K.CONFIGURATION_SEEN, ANNA | TEXT, "Words, Anna"),
    (K.FEED_LOST, {}, "No readings"),
    (K.FEED_BACK, {}, "Readings are back"),
]


def said(kind: EntryKind, **fields: Any) -> str:
    """The line of an entry; a person is written with a capital."""
    entry = Entry(at=0, kind=kind, **fields)
    return words_of(entry, lambda name: (name or "somebody").capitalize())


@pytest.mark.parametrize(("kind", "fields", "words"), SAID)
def test_that_an_entry_says_what_happened(kind: EntryKind, fields: dict[str, Any], words: str) -> None:
    assert said(kind, **fields) == words


@pytest.mark.parametrize("kind", AS_WRITTEN)
def test_that_an_entry_of_these_kinds_says_what_is_written_in_it(kind: EntryKind) -> None:
    assert said(kind, text="As written", person="anna", rung=2) == "As written"
    assert said(kind) == ""


@pytest.mark.parametrize("kind", sorted(SILENT))
def test_that_an_entry_of_these_kinds_says_nothing(kind: EntryKind) -> None:
    assert said(kind, text="As written", person="anna", rung=2) == ""


def test_that_every_kind_of_entry_has_its_words_or_is_left_out_on_purpose() -> None:
    assert {kind for kind, _, _ in SAID} | set(AS_WRITTEN) | SILENT == set(EntryKind)


@pytest.mark.parametrize("state", sorted(set(PageState) - {PageState.WAITING, PageState.DESKS_ONLY}))
def test_that_a_page_says_how_it_stands(state: PageState) -> None:
    assert said(K.PAGED, person="anna", page_state=state).startswith("Page to Anna: ")


@pytest.mark.parametrize(
    ("rule", "words"),
    [
        ("map_very_low", "MAP very low ended, not seen"),
        ("inlet_low", "Drain P low ended, not seen"),
        ("spo2_low", "SpO₂ low ended, not seen"),
        ("flow_none", "Flow none ended, not seen"),
    ],
)
def test_that_a_rule_without_a_title_is_named_as_its_quantity_is_on_every_screen(rule: str, words: str) -> None:
    assert words_of(Entry(at=0, kind=EntryKind.LATCHED, bed="B1", rule=rule), lambda who: who or "") == words
