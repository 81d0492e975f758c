"""What a hub sends, its sentences said in the language of the desk; as it came where that is the hub's own.

Nothing else of a message is touched: what goes back to the hub names alerts, rules and people, never their words.
"""

from collections.abc import Mapping
from typing import Any, TypeVar

from pydantic import BaseModel

from monitor.core.cards import BedCard, CardFigures, CardRow
from monitor.core.entries import Entry, EntryKind
from monitor.core.meaning.derived_view import DerivedView, InputView
from monitor.core.meaning.flow_view import CurrentView, FlowEstimateView
from monitor.core.meaning.hint_view import HintView, SignView
from monitor.core.meaning.labs_view import LabView
from monitor.core.meaning.operating_view import AfterView, OperatingView
from monitor.core.meaning.power_view import PowerView, SupplyView
from monitor.core.meaning.view import Meaning
from monitor.core.view import AlertView, DueView, EpisodeView, SheetView, SignInView, TileView
from monitor.core.wire import (
    Cards,
    CommandAnswer,
    Entries,
    EntryDelta,
    Meant,
    News,
    NotUnderstood,
    Snapshot,
    TileDelta,
    UnitDelta,
)
from shared.language.hearing import heard
from shared.language.saying import SOURCE, spoken
from shared.sign_in import SignedIn

M = TypeVar("M")

#: The fields of each model that the hub fills with words of its own.
_WORDS: Mapping[type[BaseModel], frozenset[str]] = {
    AlertView: frozenset({"title"}),
    EpisodeView: frozenset({"title"}),
    DueView: frozenset({"words"}),
    InputView: frozenset({"label"}),
    DerivedView: frozenset({"label", "formula", "caution", "missing", "cautions"}),
    FlowEstimateView: frozenset({"refused", "source", "caution", "differs"}),
    CurrentView: frozenset({"refused", "words"}),
    SignView: frozenset({"words"}),
    HintView: frozenset({"title", "also", "apart"}),
    LabView: frozenset({"notice"}),
    OperatingView: frozenset({"why", "system_words", "words", "least_words"}),
    AfterView: frozenset({"missing"}),
    PowerView: frozenset({"fails_now", "load_of"}),
    SupplyView: frozenset({"source"}),
    Meaning: frozenset({"not_judged"}),
    TileView: frozenset({"not_watched"}),
    CardRow: frozenset({"label"}),
    BedCard: frozenset({"changes", "open", "alerts"}),
    CardFigures: frozenset({"open"}),
    CommandAnswer: frozenset({"reason"}),
    NotUnderstood: frozenset({"reason"}),
    SignedIn: frozenset({"reason"}),
    SignInView: frozenset({"fault"}),
    SheetView: frozenset({"fault"}),
    Entry: frozenset({"text"}),
}
#: What holds them, down from a message.
_HOLDERS = (
    *(Snapshot, TileDelta, UnitDelta, EntryDelta, Entries, Meant, Cards, News),
    *(CommandAnswer, NotUnderstood, SignedIn),
)
#: Entries whose text has words that somebody typed: their numbers stay as they were typed.
_TYPED = frozenset(
    {EntryKind.NOTE, EntryKind.ITEM_NOTED, EntryKind.BEYOND_ROLE, EntryKind.EVENT_PLANNED, EntryKind.CARD}
)


def in_our_words(message: M) -> M:
    """Give a message with the hub's sentences in the language of the desk."""
    if spoken() is SOURCE or not isinstance(message, _HOLDERS):
        return message
    said: M = _said(message)
    return said


def _said(value: Any) -> Any:
    if isinstance(value, tuple):
        parts = tuple(_said(one) for one in value)
        return value if all(new is old for new, old in zip(parts, value, strict=True)) else parts
    if not isinstance(value, BaseModel):
        return value
    words = _WORDS.get(type(value), frozenset())
    marks = not (isinstance(value, Entry) and value.kind in _TYPED)
    changed = {}
    for name in type(value).model_fields:
        old = getattr(value, name)
        new = _worded(old, marks) if name in words else _said(old)
        if new is not old:
            changed[name] = new
    return value.model_copy(update=changed) if changed else value


def _worded(value: Any, marks: bool) -> Any:
    if isinstance(value, str):
        return heard(value, marks)
    if isinstance(value, tuple):
        return tuple(_worded(one, marks) for one in value)
    return _said(value)
