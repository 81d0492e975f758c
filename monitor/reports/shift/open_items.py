"""What is open and for how long, from the log alone: alerts, trials, transports, beds without readings.

An item has a beginning and, once it is over, an end. What is open at the end of one shift is therefore open at the
beginning of the next, without anybody carrying it there.
"""

from collections.abc import Iterable
from dataclasses import dataclass, replace

from monitor.core.annunciations import BEGINS
from monitor.core.entries import Entry, EntryKind
from monitor.core.titles import rule_name
from shared.instant import Instant
from shared.language.saying import say, to_say

K = EntryKind
_BEGIN = {
    K.TRIAL_STARTED: "trial",
    K.TRANSPORT_STARTED: "transport",
    K.FEED_LOST: "readings",
    K.OFF_SUPPORT: "off support",
}
_END = {
    K.TRIAL_ENDED: "trial",
    K.RETURN_CHECKED: "transport",
    K.FEED_BACK: "readings",
    K.BACK_ON_SUPPORT: "off support",
}
_WORDS = {
    "trial": to_say("Trial"),
    "transport": to_say("In transport"),
    "readings": to_say("No readings"),
    "off support": to_say("Off support"),
}


@dataclass(frozen=True, slots=True)
class OpenItem:
    """Something that is open until somebody or something ends it.

    Attributes:
        what: ``alert``, ``trial``, ``transport``, ``readings`` or ``off support``; ``bed`` ``None``: the unit's.
        priority: of an alert.
        since, until: ms; ``until`` ``None``: not over by the time that was looked at.
        ended_unseen: its condition has ended, and it stays listed until it is seen.
    """

    what: str
    bed: str | None
    slot: int | None
    words: str
    since: Instant
    alert: int | None = None
    priority: str | None = None
    until: Instant | None = None
    ended_unseen: bool = False

    def is_open(self, at: Instant) -> bool:
        """Tell whether it was open just before a moment."""
        return self.since < at and (self.until is None or self.until >= at)


def open_items(entries: Iterable[Entry]) -> list[OpenItem]:
    """Give everything that was ever open, from all entries that tell of it, in order."""
    found: dict[tuple[object, ...], OpenItem] = {}
    over: list[OpenItem] = []
    runs: set[tuple[str | None, int]] = set()
    moved_from: str | None = None

    def end(key: tuple[object, ...], at: Instant) -> None:
        if key in found:
            over.append(replace(found.pop(key), until=at))

    for entry in entries:
        key = _key(entry)
        if entry.kind in BEGINS and entry.alert is not None:
            words = entry.text or rule_name(entry.rule or "")
            grade = entry.priority.value if entry.priority is not None else None
            found[key] = OpenItem("alert", entry.bed, entry.slot, words, entry.at, entry.alert, grade)
        elif entry.kind in (K.CLEARED, K.REVIEWED):
            end(key, entry.at)
        elif entry.kind is K.LATCHED and key in found:
            found[key] = replace(found[key], ended_unseen=True)
        elif entry.kind in _BEGIN:
            what = _BEGIN[entry.kind]
            said = f"{_WORDS[what]}: {entry.text}" if entry.text and what == "transport" else entry.text
            found[key] = OpenItem(what, entry.bed, entry.slot, said or _WORDS[what], entry.at)
        elif entry.kind is K.TRANSPORT_ENDED and key in found:
            found[key] = replace(found[key], words=say("{words}; back, return check due", words=found[key].words))
        elif entry.kind in _END:
            end(key, entry.at)
        elif entry.kind is K.RUN_STARTED:
            runs.add((entry.bed, entry.slot or 1))
        elif entry.kind is K.RUN_ENDED:
            runs.discard((entry.bed, entry.slot or 1))
            last = not any(bed == entry.bed for bed, _ in runs)
            for one in [one for one, item in found.items() if _ends_with_run(item, entry, last)]:
                end(one, entry.at)
        elif entry.kind is K.RUN_MOVED:
            if moved_from is None:
                moved_from = entry.bed
            else:
                _move(found, moved_from, entry.bed)
                runs = {(entry.bed if bed == moved_from else bed, slot) for bed, slot in runs}
                moved_from = None
    return sorted([*over, *found.values()], key=lambda item: (item.since, item.alert or 0))


def _key(entry: Entry) -> tuple[object, ...]:
    if entry.kind in BEGINS or entry.kind in (K.CLEARED, K.REVIEWED, K.LATCHED):
        return ("alert", entry.alert)
    if entry.kind in (K.TRANSPORT_STARTED, K.TRANSPORT_ENDED, K.RETURN_CHECKED):
        return ("transport", entry.bed)
    return (_BEGIN.get(entry.kind) or _END.get(entry.kind), entry.bed, entry.slot or 1)


def _ends_with_run(item: OpenItem, ended: Entry, last: bool) -> bool:
    """Alerts end by entries of their own; the rest goes with the run, a transport with the last one."""
    if item.what == "alert" or item.bed != ended.bed:
        return False
    return last if item.slot is None else item.slot == (ended.slot or 1)


def _move(found: dict[tuple[object, ...], OpenItem], source: str | None, target: str | None) -> None:
    for key, item in list(found.items()):
        if item.bed == source and item.bed is not None:
            del found[key]
            found[tuple(target if part == source else part for part in key)] = replace(item, bed=target)
