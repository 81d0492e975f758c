"""Looking for alerts in a log, or in those of many units: which, when, where, and how each ended."""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass

from monitor.analysis.annunciations import Annunciation
from monitor.core.annunciations import BEGINS, ENDS, OF_LOAD, Annunciations
from monitor.core.entries import Entry, EntryKind
from shared.instant import HOUR, MINUTE, SECOND, Instant

#: Somebody may have had an episode for so long before the hours that are asked for.
LEAD_MS = 24 * HOUR


@dataclass(frozen=True, slots=True)
class Wanted:
    """What is looked for; ``None``: whatever it is.

    Attributes:
        begin, end: it was raised from ``begin`` (included) to ``end`` (excluded), ms.
        run: slot of the run at its bed.
        words: each of them stands in what was written about it, or at its bed while it lasted.
    """

    begin: Instant
    end: Instant
    bed: str | None = None
    run: int | None = None
    rule: str | None = None
    priority: str | None = None
    words: tuple[str, ...] = ()

    @property
    def kinds(self) -> frozenset[EntryKind] | None:
        """The kinds of entries that are to be read; ``None``: all."""
        return None if self.words else frozenset(OF_LOAD)

    def is_it(self, alert: Annunciation) -> bool:
        """Tell whether an alert is wanted, by all but the words."""
        return (
            self.begin <= alert.at < self.end
            and self.bed in (None, alert.bed)
            and self.run in (None, alert.slot)
            and self.rule in (None, alert.rule)
            and self.priority in (None, alert.priority)
        )


@dataclass(frozen=True, slots=True)
class Found:
    """An alert that was found, with its title at the raise."""

    number: int
    title: str
    alert: Annunciation

    def ending(self) -> str:
        """Say how it ended: who knew, and how long it lasted."""
        alert = self.alert
        if alert.taken_at is not None:
            answer = f"taken after {_long(alert.taken_at - alert.at)}"
        elif alert.seen_at is not None:
            answer = f"seen after {_long(alert.seen_at - alert.at)}"
        else:
            answer = "somebody had its episode" if alert.held else "nobody answered"
        if alert.ended_at is None:
            return f"{answer}; no end in the log"
        return f"{answer}; over after {_long(alert.ended_at - alert.at)}"


@dataclass(frozen=True, slots=True)
class _Written:
    at: Instant
    bed: str | None
    alert: int | None
    text: str


def find(entries: Iterable[Entry], wanted: Wanted) -> list[Found]:
    """Give the alerts that are wanted, in the order in which they were raised.

    Args:
        entries: in order, from `LEAD_MS` before ``wanted.begin`` on; they are not read further than is needed.
    """
    log, titles, written = Annunciations(), dict[int, str](), list[_Written]()
    for entry in _needed(entries, wanted):
        if entry.kind in OF_LOAD:
            log.take(entry)
        if entry.kind in BEGINS and entry.alert is not None:
            titles[entry.alert] = entry.text or ""
        if wanted.words:
            said = " ".join(filter(None, (entry.text, entry.reason, entry.person, entry.rule)))
            written.append(_Written(entry.at, entry.bed, entry.alert, said.casefold()))
    return [
        Found(number, titles.get(number, ""), alert)
        for number, alert in log.by_number().items()
        if wanted.is_it(alert) and _has_words(number, alert, written, wanted)
    ]


def _needed(entries: Iterable[Entry], wanted: Wanted) -> Iterator[Entry]:
    """Give entries until the hours are over for a day, and so is what was raised in them."""
    lasting: set[int] = set()
    for entry in entries:
        if entry.at >= wanted.end + LEAD_MS and not lasting:
            return
        if entry.kind in BEGINS and entry.alert is not None and wanted.begin <= entry.at < wanted.end:
            lasting.add(entry.alert)
        elif entry.kind in ENDS and entry.alert is not None:
            lasting.discard(entry.alert)
        yield entry


def _has_words(number: int, alert: Annunciation, written: list[_Written], wanted: Wanted) -> bool:
    if not wanted.words:
        return True
    until = alert.ended_at if alert.ended_at is not None else wanted.end
    here = [
        one.text
        for one in written
        if one.alert == number or (one.bed == alert.bed and alert.at <= one.at <= until and one.alert is None)
    ]
    return all(any(word.casefold() in text for text in here) for word in wanted.words)


def _long(ms: int) -> str:
    if ms < MINUTE:
        return f"{ms // SECOND} s"
    if ms < 2 * HOUR:
        return f"{ms // MINUTE} min"
    return f"{ms / HOUR:.1f} h"
