"""Bytes and messages: whatever arrives is a message of ours or a counted refusal, never anything else."""

import json

import pytest
from hypothesis import given
from hypothesis import strategies as st

from shared.frames import BODY_LIMIT, TOPIC_LIMIT, FrameRefused, decode, encode
from shared.messages import FEED_MESSAGES, FeedBeat, Observation, RefusalReason, Resend, Stored
from shared.quantities import CATALOGUE, Quantity

EPOCH = "00112233445566aa"
PLAIN = [quantity for quantity in Quantity if not CATALOGUE[quantity].derived]
SEQ = st.integers(1, 2**53 - 1)
TIME = st.integers(0, 2**53 - 1)
NUMBER = st.floats(allow_nan=False, allow_infinity=False)
TOPIC = st.from_regex(r"[A-Za-z0-9._-]{1,40}", fullmatch=True)


@st.composite
def observations(draw: st.DrawFn) -> Observation:
    readings = draw(st.dictionaries(st.sampled_from(PLAIN), NUMBER, max_size=20))
    marked = st.frozensets(st.sampled_from(sorted(readings))) if readings else st.just(frozenset())
    return Observation(
        feed="f",
        epoch=EPOCH,
        seq=draw(SEQ),
        bed=draw(st.from_regex(r"[A-Za-z0-9-]{1,8}", fullmatch=True)),
        slot=draw(st.sampled_from([1, 2])),
        read_at=draw(TIME),
        sent_at=draw(TIME),
        readings=readings,
        estimated=draw(marked),
        doubtful=draw(marked),
    )


@given(TOPIC, observations())
def test_that_an_observation_comes_back_as_it_was_sent(topic: str, sent: Observation) -> None:
    assert decode(encode(topic, sent), FEED_MESSAGES) == (topic, sent)


@given(SEQ, SEQ)
def test_that_the_small_messages_come_back_as_they_were_sent(one: int, two: int) -> None:
    for sent in (
        Resend(feed="f", epoch=EPOCH, first=one, last=two),
        Stored(feed="f", epoch=EPOCH, up_to=one),
        FeedBeat(feed="f", epoch=EPOCH, next=two, sent_at=one),
    ):
        assert decode(encode("f", sent), FEED_MESSAGES) == ("f", sent)


@given(st.lists(st.binary(max_size=200), max_size=5))
def test_that_any_bytes_are_refused_or_read(parts: list[bytes]) -> None:
    with pytest.raises(FrameRefused) as caught:
        decode(parts, FEED_MESSAGES)
    assert caught.value.reason in RefusalReason
    assert len(caught.value.detail) <= 500


JSON = st.recursive(
    st.none() | st.booleans() | st.integers() | st.floats() | st.text(max_size=20),
    lambda inner: st.lists(inner, max_size=4) | st.dictionaries(st.text(max_size=12), inner, max_size=4),
    max_leaves=20,
)


@given(
    st.dictionaries(st.sampled_from([*Observation.model_fields, "more"]), JSON),
    st.sampled_from(["observation", "hello"]),
)
def test_that_any_json_with_our_field_names_is_refused_or_read(body: dict[str, object], kind: str) -> None:
    text = json.dumps(body | {"type": kind}).encode()
    try:
        decode([b"B1", b"WK1", text], FEED_MESSAGES)
    except FrameRefused as refusal:
        assert refusal.reason is RefusalReason.MALFORMED  # noqa: PT017


@given(observations(), st.data())
def test_that_one_changed_byte_is_refused_or_gives_another_valid_message(
    sent: Observation, data: st.DataObject
) -> None:
    topic, header, body = encode("B1", sent)
    place = data.draw(st.integers(0, len(body) - 1))
    broken = body[:place] + bytes([data.draw(st.integers(0, 255))]) + body[place + 1 :]
    try:
        _, message = decode([topic, header, broken], FEED_MESSAGES)
    except FrameRefused:
        return
    assert decode(encode("B1", message), FEED_MESSAGES)[1] == message


def test_that_a_deeply_nested_body_is_refused() -> None:
    with pytest.raises(FrameRefused):
        decode([b"B1", b"WK1", b"[" * 200_000], FEED_MESSAGES)


def test_that_an_oversized_body_is_refused_before_it_is_read() -> None:
    with pytest.raises(FrameRefused) as caught:
        decode([b"B1", b"WK1", b" " * (BODY_LIMIT + 1)], FEED_MESSAGES)
    assert caught.value.reason is RefusalReason.OVERSIZED


def test_that_an_oversized_message_is_not_sent() -> None:
    from pydantic import BaseModel

    class Long(BaseModel):
        text: str

    with pytest.raises(FrameRefused) as caught:
        encode("B1", Long(text="x" * BODY_LIMIT))
    assert caught.value.reason is RefusalReason.OVERSIZED


def test_that_equal_messages_are_equal_bytes() -> None:
    readings = {Quantity.PUMP_FLOW: 4.2, Quantity.SVO2: 70.0, Quantity.FDO2: 80.0}
    common = {"feed": "f", "epoch": EPOCH, "seq": 1, "bed": "B1", "read_at": 1, "sent_at": 1, "readings": readings}
    one = Observation(**common, estimated=frozenset([Quantity.SVO2, Quantity.FDO2]))  # type: ignore[arg-type]
    two = Observation(**common, estimated=frozenset([Quantity.FDO2, Quantity.SVO2]))  # type: ignore[arg-type]
    assert encode("B1", one) == encode("B1", two)
    assert b'"estimated":["fdo2","svo2"]' in encode("B1", one)[2]


@pytest.mark.parametrize("topic", [b"", b"x" * (TOPIC_LIMIT + 1), "é".encode()])
def test_that_a_topic_outside_its_limits_is_refused(topic: bytes) -> None:
    body = encode("B1", Stored(feed="f", epoch=EPOCH, up_to=1))[2]
    with pytest.raises(FrameRefused) as caught:
        decode([topic, b"WK1", body], FEED_MESSAGES)
    assert caught.value.reason is RefusalReason.MALFORMED
