"""The models of the feed link: strict, frozen, and honest about what is marked."""

from typing import Any

import pytest
from pydantic import ValidationError

from shared.messages import (
    FEED_MESSAGES,
    BedDeclared,
    Edition,
    Found,
    Hello,
    Looked,
    Observation,
    Origin,
    RefusalReason,
    Refused,
    RoundKind,
    Why,
)
from shared.quantities import Quantity
from shared.support import Support, describe_run

EPOCH = "00112233445566aa"


def observation(**changes: Any) -> Observation:
    fields: dict[str, Any] = {
        "feed": "f",
        "epoch": EPOCH,
        "seq": 1,
        "bed": "B1",
        "read_at": 1,
        "sent_at": 2,
        "readings": {Quantity.PUMP_FLOW: 4.2},
    }
    return Observation(**(fields | changes))


def test_that_a_message_does_not_change_after_it_was_made() -> None:
    with pytest.raises(ValidationError, match="frozen"):
        observation().seq = 2  # type: ignore[misc]


@pytest.mark.parametrize(
    "changes",
    [
        {"seq": 0},
        {"seq": 2**53},
        {"seq": True},
        {"seq": 1.0},
        {"epoch": "0011"},
        {"epoch": EPOCH.upper()},
        {"bed": ""},
        {"bed": "B123456789"},
        {"bed": "B 1"},
        {"slot": 0},
        {"slot": 3},
        {"read_at": -1},
        {"readings": {Quantity.PUMP_FLOW: float("nan")}},
        {"readings": {Quantity.PUMP_FLOW: float("inf")}},
        {"readings": {Quantity.SPEED_YIELD: 1.2}},
        {"estimated": frozenset({Quantity.SVO2})},
        {"doubtful": frozenset({Quantity.SVO2})},
        {"by": "two words"},
        {"note": "x"},
    ],
)
def test_that_an_observation_outside_the_contract_cannot_be_made(changes: dict[str, Any]) -> None:
    with pytest.raises(ValidationError):
        observation(**changes)


def test_that_marks_may_name_what_was_read() -> None:
    marked = observation(estimated=frozenset({Quantity.PUMP_FLOW}))
    assert marked.estimated == {Quantity.PUMP_FLOW}


def test_that_two_runs_of_a_bed_stand_in_different_slots() -> None:
    one, two = describe_run(Support.VA, "a"), describe_run(Support.RA_PA, "b")
    with pytest.raises(ValidationError, match="same slot"):
        BedDeclared(bed="B1", runs=(one, two), interval=1.0, origin=Origin.SIMULATED)


@pytest.mark.parametrize("interval", [0.0, 0.05, 7201.0, float("nan")])
def test_that_an_interval_outside_its_limits_is_refused(interval: float) -> None:
    with pytest.raises(ValidationError):
        BedDeclared(bed="B1", runs=(), interval=interval, origin=Origin.SIMULATED)


def test_that_a_feed_speaks_for_64_beds_at_most() -> None:
    beds = tuple(BedDeclared(bed=f"B{n}", runs=(), interval=1.0, origin=Origin.SIMULATED) for n in range(65))
    with pytest.raises(ValidationError):
        Hello(version=1, feed="f", epoch=EPOCH, first=1, next=1, sent_at=0, beds=beds)


def test_that_an_unknown_type_is_no_message() -> None:
    with pytest.raises(ValidationError):
        FEED_MESSAGES.validate_json('{"type":"control"}')


def test_that_a_refusal_stays_short() -> None:
    with pytest.raises(ValidationError):
        Refused(reason=RefusalReason.MALFORMED, detail="x" * 501)


HAND: dict[str, Any] = {"by": "nurse-5", "entered_at": 3}
SET = "00112233445566bb"


@pytest.mark.parametrize(
    ("changes", "words"),
    [
        ({"edition": Edition(set=SET)}, "only of a set entered by hand"),
        ({"round": RoundKind.HOURLY}, "only of a set entered by hand"),
        ({"by": "nurse-5", "edition": Edition(set=SET)}, "only of a set entered by hand"),
        ({**HAND, "looked": {"clots": Looked(found=Found.IN_ORDER)}}, "which must be named"),
        ({**HAND, "round": RoundKind.HOURLY, "looked": {}}, "at least 1"),
        ({**HAND, "edition": Edition(set=SET, version=2, why=Why.WRONG_BED, struck=True)}, "holds nothing"),
    ],
)
def test_that_what_only_people_say_stands_on_sets_by_hand_alone(changes: dict[str, Any], words: str) -> None:
    with pytest.raises(ValidationError, match=words):
        observation(**changes)


@pytest.mark.parametrize(
    "said",
    [
        {"version": 2},
        {"why": Why.MISREAD},
        {"struck": True},
        {"version": 2, "why": Why.MISREAD, "second": "nurse-6"},
        {"version": 2, "why": Why.MISREAD, "moved_to": "B2"},
        {"version": 100, "why": Why.MISREAD},
        {"set": "short"},
    ],
)
def test_that_an_edition_says_why_and_strikes_only_what_was_sent(said: dict[str, Any]) -> None:
    with pytest.raises(ValidationError):
        Edition(**{"set": SET, **said})
