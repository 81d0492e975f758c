"""Golden frames: what travels between feed and hub is exactly these bytes."""

import json
import re
from pathlib import Path
from typing import Any, get_args

import pytest

from shared.frames import FrameRefused, decode, encode
from shared.messages import FEED_MESSAGES, PROTOCOL_VERSION, FeedMessage
from shared.quantities import CATALOGUE

FOLDER = Path(__file__).parents[2] / "shared" / "vectors"
PROTOCOL = (FOLDER.parent / "PROTOCOL.md").read_text(encoding="utf-8")


def load(name: str, key: str) -> list[dict[str, Any]]:
    document = json.loads((FOLDER / name).read_text(encoding="utf-8"))
    assert document["protocol"] == PROTOCOL_VERSION
    cases: list[dict[str, Any]] = document[key]
    return cases


GOOD = load("feed_messages.json", "messages")
BAD = load("refused_frames.json", "frames")
KINDS: list[type[Any]] = list(get_args(get_args(FeedMessage)[0]))


def parts(case: dict[str, Any]) -> list[bytes]:
    return [bytes.fromhex(part) for part in case["frames"]]


@pytest.mark.parametrize("case", GOOD, ids=lambda case: case["name"])
def test_that_golden_frames_are_read_as_their_message(case: dict[str, Any]) -> None:
    topic, message = decode(parts(case), FEED_MESSAGES)
    assert topic == case["topic"]
    assert json.loads(message.model_dump_json(exclude_none=True)) == case["message"]


@pytest.mark.parametrize("case", GOOD, ids=lambda case: case["name"])
def test_that_a_message_is_written_as_its_golden_frames(case: dict[str, Any]) -> None:
    message = FEED_MESSAGES.validate_json(json.dumps(case["message"]))
    assert encode(case["topic"], message) == parts(case)


@pytest.mark.parametrize("case", BAD, ids=lambda case: case["name"])
def test_that_bad_frames_are_refused_for_the_stated_reason(case: dict[str, Any]) -> None:
    with pytest.raises(FrameRefused) as caught:
        decode(parts(case), FEED_MESSAGES)
    assert caught.value.reason.value == case["reason"]


def test_that_every_message_of_the_feed_link_has_golden_frames() -> None:
    types = {kind.model_fields["type"].default for kind in KINDS}
    assert {case["message"]["type"] for case in GOOD} == types


@pytest.mark.parametrize("kind", KINDS, ids=lambda kind: kind.__name__)
def test_that_the_protocol_text_names_every_message_and_field(kind: type[Any]) -> None:
    assert f"### {kind.__name__} (`{kind.model_fields['type'].default}`)" in PROTOCOL
    for name in kind.model_fields:
        assert f"`{name}`" in PROTOCOL


def test_that_the_protocol_text_states_unit_and_range_of_every_published_quantity() -> None:
    for quantity, entry in CATALOGUE.items():
        row = f"| `{quantity}` | `{entry.ucum}` | {entry.low:g} .. {entry.high:g} | {entry.scope} |"
        assert (row in PROTOCOL) is not entry.derived


def test_that_the_protocol_text_states_the_version_and_the_ports() -> None:
    from shared import endpoints

    assert re.search(rf"Version \*\*{PROTOCOL_VERSION}\*\*", PROTOCOL)
    for port in (endpoints.INGEST_PORT, endpoints.LINK_PORT, endpoints.PUBLISH_PORT, endpoints.COMMANDS_PORT):
        assert f"| {port} |" in PROTOCOL
