"""How a bed stood when the hours of a bundle began: from what people had told, and from the log."""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass

from monitor.core.annunciations import BEGINS, ENDS
from monitor.core.entries import Entry, EntryKind
from monitor.core.grades import RUNG_LABEL, Rung
from monitor.record.hours_reading import HoursReading
from monitor.reports.shift.changes import measured
from monitor.reports.shift.open_items import open_items
from monitor.reports.shift.standing import Standing, standing_at
from shared.errors import RecordError
from shared.instant import Instant
from shared.support import RunDescription, label_at

K = EntryKind
_LET_GO = frozenset({K.HOLD_ENDED, K.WORSENED})


@dataclass(frozen=True, slots=True)
class Stood:
    """How a bed and its cover stood, line by line; ``runs``: what was known of each run, by slot."""

    lines: tuple[str, ...]
    runs: Mapping[int, RunDescription]


def stood_at(hours: HoursReading, bed: str) -> Stood:
    """Say how a bed and its cover stood as ``hours`` began.

    Raises:
        RecordError: the unit has no such bed, or the record cannot be read or does not name its configuration.
    """
    standing = standing_at(hours, hours.begin)
    if standing is None:
        return Stood(("The record had not begun.",), {})
    before = [one.entry for one in hours.until(hours.begin).entries()]
    if bed not in standing.tiles:
        raise RecordError(f"the unit has no bed {bed}: {', '.join(standing.tiles)}")
    runs = {run.description.slot: run.description for run in standing.tiles[bed].runs}
    return Stood(tuple(_lines(standing, before, bed, hours.begin)), runs)


def _lines(stood: Standing, before: Sequence[Entry], bed: str, at: Instant) -> Iterator[str]:
    labels = {person.name: person.label for person in stood.configuration.unit.people}
    tile = stood.tiles[bed]
    for run in tile.runs:
        said = run.description
        targets = ", ".join(f"{label_at(one, said)} {measured(one, value)}" for one, value in run.targets.items())
        yield f"Pump {said.slot}: {said.support.value}, run {said.run_id}. Targets: {targets or 'none'}."
    yield f"Bedside nurse: {labels.get(tile.nurse or '', tile.nurse or 'nobody')}."
    for cover in stood.unit.cover:
        yield f"{RUNG_LABEL[Rung(cover.rung)]}: {labels.get(cover.person or '', cover.person or 'nobody')}."
    holders = _holders(before)
    items = [item for item in open_items(before) if item.is_open(at) and item.bed in (bed, None)]
    for item in items:
        who = holders.get(item.alert or 0)
        held = f", {labels.get(who, who)} had it" if who else ", nobody had it"
        if item.what != "alert":
            held = ""
        elif item.ended_unseen:
            held = ", ended, not seen"
        grade = f" ({item.priority})" if item.priority is not None else ""
        yield f"Open{'' if item.bed else ' in the unit'}: {item.words}{grade}{held}."
    if not any(item.what == "alert" for item in items):
        yield "No open alert."


def _holders(entries: Iterable[Entry]) -> dict[int, str]:
    """Give who had the episode of each alert at the end of these entries."""
    holder: dict[int, str] = {}
    episode: dict[int, int] = {}
    going_on: dict[int, set[int]] = {}
    for entry in entries:
        if entry.kind in BEGINS and entry.alert is not None and entry.episode is not None:
            episode[entry.alert] = entry.episode
            going_on.setdefault(entry.episode, set()).add(entry.alert)
        elif entry.kind in ENDS and entry.alert in episode:
            left = going_on[episode[entry.alert]]
            left.discard(entry.alert)
            if not left:  # a hold is over with the last condition
                holder.pop(episode[entry.alert], None)
        elif entry.kind is K.TAKEN and entry.episode is not None and entry.person is not None:
            holder[entry.episode] = entry.person
        elif entry.kind in _LET_GO and entry.episode is not None:
            holder.pop(entry.episode, None)
    return {alert: holder[one] for alert, one in episode.items() if one in holder}
