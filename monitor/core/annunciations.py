"""From the entries of the alert log to plain records of what was announced and when beds were watched.

An answer names an episode; it counts for the alerts that were listed in it at that moment, as in the engine. A take
counts for those whose condition persisted; whoever joins while it is held needs no answer of its own.
"""

from dataclasses import dataclass, field, replace

from monitor.analysis.annunciations import Annunciation, Observed
from monitor.core.entries import Entry, EntryKind
from monitor.core.watching import Watching
from shared.instant import Instant

K = EntryKind
BEGINS = frozenset({K.RAISED, K.FOLDED, K.PROMOTED, K.BOARD_BLIND})
ENDS = frozenset({K.CLEARED, K.LATCHED})
_TAKES = frozenset({K.TAKEN, K.RENEWED, K.REASON})
_KNOWS = frozenset({K.SEEN, K.TAKEN, K.ALSO_RESPONDING, K.ADVISED, K.DECLINED})
_LET_GO = frozenset({K.HOLD_ENDED, K.WORSENED})
#: Reasons of a take that are given at the bed.
AT_BED = frozenset({"at_bedside", "circulation_checked", "team_at_bed"})
#: Kinds that change anything here; whoever reads a record may leave out the rest.
OF_LOAD = BEGINS | ENDS | _TAKES | _KNOWS | _LET_GO | {K.REVIEWED} | Watching.KINDS


@dataclass(slots=True)
class _Episode:
    """Alerts that are listed in an episode, and those that the one who has it answers for."""

    listed: list[int] = field(default_factory=list)
    held: set[int] = field(default_factory=set)
    is_held: bool = False
    reason: str | None = None


class Annunciations:
    """Takes entries in order and gives what they tell from ``begin`` on.

    Args:
        begin: alerts that ended before it are forgotten; 0: none is.
    """

    def __init__(self, begin: Instant = 0) -> None:
        self._begin = begin
        self._watching = Watching()
        self._alerts: dict[int, Annunciation] = {}
        self._episodes: dict[int, _Episode] = {}
        self._of_alert: dict[int, int] = {}

    def take(self, entry: Entry) -> None:
        """Take one entry."""
        if entry.kind in BEGINS:
            self._raised(entry)
        elif entry.kind in ENDS or entry.kind is K.REVIEWED:
            self._ended(entry)
        elif entry.kind in Watching.KINDS:
            self._watching.take(entry)
        else:
            self._answered(entry)

    def alerts(self) -> list[Annunciation]:
        """Give the alerts known so far, in the order in which they were raised."""
        return list(self.by_number().values())

    def by_number(self) -> dict[int, Annunciation]:
        """Give the same by their numbers."""
        return dict(self._alerts)

    def observed(self, end: Instant) -> Observed:
        """Give when beds were watched, up to ``end``."""
        return self._watching.observed(end)

    def _raised(self, entry: Entry) -> None:
        if entry.alert is None or entry.rule is None or entry.priority is None:
            return
        place = self._episodes.setdefault(entry.episode, _Episode()) if entry.episode is not None else None
        held = place is not None and place.is_held and entry.kind is not K.PROMOTED
        self._alerts[entry.alert] = Annunciation(
            at=entry.at,
            bed=entry.bed,
            rule=entry.rule,
            priority=entry.priority.value,
            kind=entry.alert_class.value if entry.alert_class else "physiological",
            slot=entry.slot,
            circuit_critical=bool(entry.circuit_critical),
            joined=entry.kind in (K.FOLDED, K.PROMOTED),
            held=held,
            reason=place.reason if place is not None and held else None,
        )
        if place is not None and entry.episode is not None:
            place.listed.append(entry.alert)
            self._of_alert[entry.alert] = entry.episode
            if held:
                place.held.add(entry.alert)

    def _ended(self, entry: Entry) -> None:
        number = entry.alert
        alert = self._alerts.get(number) if number is not None else None
        if number is None or alert is None:
            return
        if entry.kind is K.REVIEWED:
            self._alerts[number] = replace(alert, seen_at=_first(alert.seen_at, entry.at))
        else:
            self._alerts[number] = replace(alert, ended_at=entry.at)
        episode = self._of_alert.get(number)
        if episode is not None:
            self._settle(episode, number, entry)
        if entry.kind is not K.LATCHED and entry.at < self._begin:
            del self._alerts[number]
            self._of_alert.pop(number, None)

    def _settle(self, number: int, alert: int, entry: Entry) -> None:
        place = self._episodes[number]
        if entry.kind is not K.LATCHED and alert in place.listed:
            place.listed.remove(alert)
        if not self._present(place):
            place.is_held, place.reason = False, None
        if not place.listed and not place.is_held:
            place.held.clear()

    def _present(self, place: _Episode) -> list[int]:
        return [one for one in place.listed if one in self._alerts and self._alerts[one].ended_at is None]

    def _answered(self, entry: Entry) -> None:
        if entry.episode is None:
            if entry.alert in self._alerts:
                self._mark(entry.alert, entry, entry.kind is K.TAKEN)
            return
        place = self._episodes.get(entry.episode)
        if place is None:
            return
        if entry.kind in _LET_GO:
            self._let_go(place, entry.at)
            return
        if entry.kind is K.TAKEN:
            place.is_held, place.held = True, set(self._present(place))
        if entry.kind in _TAKES and entry.reason is not None:
            place.reason = entry.reason
        for number in {*place.listed, *place.held}:
            self._mark(number, entry, entry.kind in _TAKES and number in place.held)

    def _let_go(self, place: _Episode, at: Instant) -> None:
        """The hold has ended, and with it for what joined at this very moment."""
        for number in place.listed:
            alert = self._alerts.get(number)
            if alert is not None and alert.held and alert.at == at:
                self._alerts[number] = replace(alert, held=False, reason=None)
        place.is_held, place.reason = False, None
        place.held.clear()

    def _mark(self, number: int, entry: Entry, takes: bool) -> None:
        alert = self._alerts.get(number)
        if alert is None:
            return
        known = entry.kind in _KNOWS
        there = (takes or entry.kind is K.ALSO_RESPONDING) and (entry.where == "at_bed" or entry.reason in AT_BED)
        self._alerts[number] = replace(
            alert,
            seen_at=_first(alert.seen_at, entry.at) if known else alert.seen_at,
            taken_at=_first(alert.taken_at, entry.at) if takes and entry.kind is K.TAKEN else alert.taken_at,
            at_bed_at=_first(alert.at_bed_at, entry.at) if there else alert.at_bed_at,
            reason=entry.reason if takes and entry.reason is not None else alert.reason,
        )


def _first(before: Instant | None, now: Instant) -> Instant:
    return now if before is None else before
