"""The rehearsal's output: one JSON object a line for each entry that a reader of alerts wants to know."""

import json
from typing import Any

from monitor.core.entries import Entry, EntryKind
from shared.instant import Instant

_SHOWN = frozenset(
    {
        EntryKind.RAISED,
        EntryKind.FOLDED,
        EntryKind.PROMOTED,
        EntryKind.CALLED,
        EntryKind.SKIPPED,
        EntryKind.SEEN,
        EntryKind.TAKEN,
        EntryKind.ALSO_RESPONDING,
        EntryKind.ADVISED,
        EntryKind.DECLINED,
        EntryKind.RENEWED,
        EntryKind.HOLD_ENDED,
        EntryKind.WORSENED,
        EntryKind.TAKE_MOVED,
        EntryKind.NOBODY_THERE,
        EntryKind.LATE_ARRIVAL,
        EntryKind.NO_ANSWER,
        EntryKind.CLEARED,
        EntryKind.LATCHED,
        EntryKind.REVIEWED,
        EntryKind.UNCOVERED,
        EntryKind.BOARD_BLIND,
        EntryKind.HINT,
        EntryKind.NOTE,
        EntryKind.REFUSED,
        EntryKind.AUDIO_PAUSED,
        EntryKind.AUDIO_BACK,
    }
)
_AS_NOTE = frozenset({EntryKind.REFUSED, EntryKind.AUDIO_PAUSED, EntryKind.AUDIO_BACK})
_OF_ALERT = frozenset(
    {
        EntryKind.RAISED,
        EntryKind.FOLDED,
        EntryKind.PROMOTED,
        EntryKind.BOARD_BLIND,
        EntryKind.CLEARED,
        EntryKind.LATCHED,
        EntryKind.REVIEWED,
    }
)
_KEYS = ("rung", "person", "told_to", "reason", "where")


def line_of(entry: Entry, begin: Instant) -> str | None:
    """Give an entry as one JSON line, its time in seconds from ``begin``; ``None`` where it is not shown.

    A refused act and a pause of the sound are told as notes. Keys come in a fixed order.
    """
    if entry.kind not in _SHOWN:
        return None
    kind = EntryKind.NOTE if entry.kind in _AS_NOTE else entry.kind
    fields: dict[str, Any] = {"t": (entry.at - begin) / 1000, "kind": kind.value, "bed": entry.bed}
    if entry.kind in _OF_ALERT:
        fields["rule"] = entry.rule
        fields["priority"] = entry.priority
        fields["class"] = entry.alert_class
        if entry.circuit_critical:
            fields["circuit_critical"] = True
        fields["alert"] = entry.alert
    if entry.kind in _OF_ALERT or entry.episode is not None:
        fields["episode"] = entry.episode
    fields |= {key: value for key in _KEYS if (value := getattr(entry, key)) is not None}
    if kind is EntryKind.NOTE or entry.kind in (EntryKind.WORSENED, EntryKind.HOLD_ENDED):
        fields["text"] = entry.text
    if entry.kind is EntryKind.HINT:
        fields |= {"slot": entry.slot, "hint": entry.hint, "for": entry.signs_for or ()}
        fields |= {"against": entry.signs_against or (), "alternatives": entry.alternatives or ()}
    return json.dumps(fields, ensure_ascii=False)
