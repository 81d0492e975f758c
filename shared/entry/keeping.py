"""Drafts and sent sets as text and back, so that a form that is closed or killed loses nothing.

JSON; equal drafts are equal texts. A text that is not exactly such a thing is refused whole, in words: whoever
keeps it puts it aside and tells the person, and throws nothing away.
"""

import json
from typing import Any, TypeVar

from pydantic import TypeAdapter, ValidationError

from shared.entry.draft import Draft
from shared.entry.versions import SentSet
from shared.errors import ConfigurationError

T = TypeVar("T", Draft, SentSet)
_DRAFT = TypeAdapter(Draft)
_SENT = TypeAdapter(SentSet)


def draft_text(draft: Draft) -> str:
    """Write a draft."""
    return _text(_DRAFT, draft)


def draft_from(text: str) -> Draft:
    """Read a draft. Raises ConfigurationError where the text is none."""
    return _read(_DRAFT, text, "draft of a round")


def sent_text(kept: SentSet) -> str:
    """Write a sent set with all its versions."""
    return _text(_SENT, kept)


def sent_from(text: str) -> SentSet:
    """Read a sent set. Raises ConfigurationError where the text is none."""
    return _read(_SENT, text, "sent round")


def _text(adapter: TypeAdapter[T], kept: T) -> str:
    # a mapping that cannot change is a table like any other, which pydantic does not know
    data: dict[str, Any] = adapter.dump_python(kept, mode="json", fallback=dict, warnings=False)
    for name in ("confirmed", "not_from", "ordered"):
        if name in data:
            data[name] = sorted(data[name])
    return json.dumps(data, sort_keys=True, ensure_ascii=False, allow_nan=False)


def _read(adapter: TypeAdapter[T], text: str, what: str) -> T:
    try:
        return adapter.validate_json(text, strict=True)
    except ValidationError as error:
        faults = error.errors(include_url=False, include_context=False, include_input=False)
        place = ".".join(str(step) for step in faults[0]["loc"])
        where = f" at {place}" if place else ""
        raise ConfigurationError(f"this is no {what}: {faults[0]['msg']}{where}") from None
