"""What the door finds wrong with feeds: two that claim one bed, and clocks that are off.

The alert of a bed stands while two feeds claim it and a run is open there; it belongs to the place, not to the run.
"""

from monitor.core.alerts.episodes import Onset, end_alert, raise_alert
from monitor.core.entries import EntryKind
from monitor.core.events import ClockOff, FeedsFound
from monitor.core.handling import Handling
from monitor.core.own_rules import FEED_CLOCK, FEEDS_CLASH
from monitor.core.state import AlertState, BedState
from shared.instant import MINUTE, SECOND
from shared.language.saying import say


def heed(handling: Handling, found: FeedsFound) -> None:
    """Raise what is found for the first time, and end what is found no more."""
    unit = handling.state.unit
    for one in found.rivals:
        if one.bed in handling.state.beds and one.bed not in unit.rivals:
            words = say(
                "the feed {rival} claims this bed too; {holder} is shown", rival=one.rival, holder=one.holder
            )
            handling.write(EntryKind.NOTE, one.bed, text=words)
    unit.rivals = [one.bed for one in found.rivals]
    settle(handling)
    _clocks(handling, {one.feed: one for one in found.clocks})


def settle(handling: Handling) -> None:
    """Raise the alert of each bed that two feeds claim, and end it elsewhere: after runs have changed as well."""
    unit = handling.state.unit
    for bed in handling.state.beds.values():
        alert = bed.alerts.get(unit.clashes.get(bed.label, 0))
        stands = alert is not None and alert.present
        wanted = bed.label in unit.rivals and bool(bed.runs)
        if alert is not None and stands and not wanted:
            end_alert(handling, alert)
        if not wanted:
            unit.clashes.pop(bed.label, None)
        elif not stands:
            unit.clashes[bed.label] = raise_alert(handling, Onset(FEEDS_CLASH, bed.label, None)).id


def of_bed(handling: Handling, bed: BedState) -> list[AlertState]:
    """Give the alert that two feeds claim a bed, as long as it is listed there."""
    alert = bed.alerts.get(handling.state.unit.clashes.get(bed.label, 0))
    return [alert] if alert is not None else []


def words_of(off_ms: int) -> str:
    """Say how far a clock is off: seconds up to two minutes, then whole minutes."""
    size, side = abs(off_ms), say("ahead") if off_ms > 0 else say("behind")
    said = f"{size / SECOND:.0f} s" if size < 2 * MINUTE else f"{size / MINUTE:.0f} min"
    return f"{said} {side}"


def _clocks(handling: Handling, found: dict[str, ClockOff]) -> None:
    unit = handling.state.unit
    for feed, (off, alert) in list(unit.clocks.items()):
        if feed not in found or found[feed].off_ms != off:
            del unit.clocks[feed]
            end_alert(handling, unit.alerts[alert])
    for feed, one in found.items():
        if feed not in unit.clocks:
            title = say("Clock of feed {feed} {words}", feed=feed, words=words_of(one.off_ms))
            alert = raise_alert(handling, Onset(FEED_CLOCK, None, None, title=title)).id
            unit.clocks[feed] = one.off_ms, alert
