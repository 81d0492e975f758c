"""The door lets in what is possible, and names what is not."""

from hypothesis import given
from hypothesis import strategies as st

from monitor.hub.door import FUTURE_MS, Admitted, Refusal, admit
from shared.messages import Observation, RefusalReason
from shared.quantities import CATALOGUE
from shared.quantities import Quantity as Q
from tests.helpers.inputs import observation

SLOTS = {"B1": frozenset({1}), "B2": frozenset({1, 2}), "B3": frozenset[int]()}
ENDED = {"B3": {1: 1_000_000}}
PUBLISHED = sorted(q for q in Q if not CATALOGUE[q].derived)


def reason_of(said: Observation, now: int | None = None) -> RefusalReason | None:
    verdict = admit(said, SLOTS, said.read_at if now is None else now, ENDED)
    return verdict.reason if isinstance(verdict, Refusal) else None


def test_that_a_bed_or_a_run_that_is_not_there_is_refused() -> None:
    assert reason_of(observation(1, bed="B9")) is RefusalReason.UNKNOWN_BED
    assert reason_of(observation(1, bed="B3")) is RefusalReason.UNKNOWN_RUN
    assert reason_of(observation(1, slot=2)) is RefusalReason.UNKNOWN_RUN
    assert reason_of(observation(1, bed="B2", slot=2)) is None


def test_that_what_was_read_until_a_run_ended_may_come_after_it_and_nothing_later() -> None:
    for read_at, refused in ((999_999, None), (1_000_000, None), (1_000_001, RefusalReason.UNKNOWN_RUN)):
        said = observation(1, bed="B3").model_copy(update={"read_at": read_at})
        assert reason_of(said, 1_500_000) is refused
        assert reason_of(said.model_copy(update={"slot": 2}), 1_500_000) is RefusalReason.UNKNOWN_RUN


def test_that_a_time_more_than_two_minutes_ahead_is_refused_and_an_old_one_is_not() -> None:
    said = observation(1)
    assert reason_of(said, said.read_at - FUTURE_MS) is None
    assert reason_of(said, said.read_at - FUTURE_MS - 1) is RefusalReason.FUTURE_TIME
    assert reason_of(said, said.read_at + 86_400_000) is None


def test_that_back_flow_is_a_value() -> None:
    assert reason_of(observation(1, readings={Q.PUMP_FLOW: -1.8})) is None


def test_that_an_impossible_reading_is_left_out_and_the_rest_comes_in() -> None:
    said = observation(
        1,
        readings={Q.PUMP_FLOW: 42.0, Q.INLET_PRESSURE: -60.0},
        estimated=frozenset({Q.PUMP_FLOW}),
        doubtful=frozenset({Q.INLET_PRESSURE}),
    )
    verdict = admit(said, SLOTS, said.read_at, ENDED)
    assert isinstance(verdict, Admitted)
    assert verdict.observation.readings == {Q.INLET_PRESSURE: -60.0}
    assert verdict.observation.estimated == frozenset()
    assert verdict.observation.doubtful == frozenset({Q.INLET_PRESSURE})
    assert Observation.model_validate(verdict.observation.model_dump()) == verdict.observation
    assert verdict.left_out is not None
    assert verdict.left_out.reason is RefusalReason.IMPOSSIBLE_VALUE
    assert verdict.left_out.detail == "B1: pump_flow = 42, possible -5 to 10 L/min"


def test_that_nothing_but_impossible_readings_is_refused_and_no_readings_at_all_are_not() -> None:
    assert reason_of(observation(1, readings={Q.PUMP_FLOW: 42.0})) is RefusalReason.IMPOSSIBLE_VALUE
    assert reason_of(observation(1, readings={})) is None


@given(st.dictionaries(st.sampled_from(PUBLISHED), st.floats(allow_nan=False, allow_infinity=False), max_size=12))
def test_that_exactly_the_readings_within_their_hard_range_come_in(readings: dict[Q, float]) -> None:
    said = observation(1, readings=readings)
    verdict = admit(said, SLOTS, said.read_at, ENDED)
    possible = {q: v for q, v in readings.items() if CATALOGUE[q].low <= v <= CATALOGUE[q].high}
    if readings and not possible:
        assert isinstance(verdict, Refusal)
        assert len(verdict.detail) <= 500
    else:
        assert isinstance(verdict, Admitted)
        assert verdict.observation.readings == possible
        assert (verdict.left_out is None) == (possible == readings)
