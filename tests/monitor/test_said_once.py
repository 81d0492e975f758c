"""What is said once and never again, the ids of commands and requests and words of entries, is kept by no reader.

pydantic keeps the short texts that it reads, of the newest 16 384 (pydantic 2.14, "cache_strings"). A text that
is read twice and kept is one object.
"""

import pytest
from pydantic import BaseModel, TypeAdapter

from monitor.core.entries import Entry, EntryKind
from monitor.core.lean import LEAN_REPLIES
from monitor.core.wire import DELTAS, REPLIES, REQUESTS, AskMeaning, CommandAnswer, EntryDelta, Meant
from shared.beds_now import FORM_REPLIES, BedsNow
from shared.frames import decode, encode

NOTE = Entry(at=1, kind=EntryKind.NOTE, text="said once")
SAID = [
    (REQUESTS, AskMeaning(request="said once", bed="B1", slot=1), "request"),
    (REPLIES, Meant(request="said once", meaning=None), "request"),
    (REPLIES, CommandAnswer(id="said once", accepted=True, at=1, recorded=True), "id"),
    (LEAN_REPLIES, Meant(request="said once", meaning=None), "request"),
    (DELTAS, EntryDelta(boot="said once", seq=1, entry=NOTE, recorded=True), "boot"),
    (FORM_REPLIES, BedsNow(request="said once", hub_time=1, beds=()), "request"),
]


@pytest.mark.parametrize(("adapter", "message", "field"), SAID)
def test_that_nothing_that_is_said_once_is_kept(
    adapter: TypeAdapter[BaseModel], message: BaseModel, field: str
) -> None:
    one, other = (getattr(decode(encode("hub", message), adapter)[1], field) for _ in range(2))
    assert one == other == "said once"
    assert one is not other


def test_that_an_entry_that_is_read_again_leaves_no_words_behind() -> None:
    one, other = (Entry.model_validate_json(NOTE.model_dump_json(exclude_none=True)).text for _ in range(2))
    assert one == other == "said once"
    assert one is not other
