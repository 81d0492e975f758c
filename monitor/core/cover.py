"""Cover: who stands on each rung now, who is busy, and what happens when a rung becomes empty."""

from collections.abc import Mapping

from monitor.core.commands import ChangeRoster
from monitor.core.entries import EntryKind
from monitor.core.grades import RUNG_LABEL, Priority, Rung
from monitor.core.handling import Handling, present_members
from monitor.core.ladder import Standing
from monitor.core.state import EpisodeState, RosterState

UNIT_RUNGS = (Rung.CHARGE, Rung.PERFUSIONIST, Rung.INTENSIVIST, Rung.SURGEON)


def begin(handling: Handling) -> None:
    """Take the roster of the configuration, and write down the rungs that are empty from the start."""
    settings = handling.unit.roster
    roster = handling.state.unit.roster
    roster.deputy = settings.deputy
    for bed in handling.unit.beds:
        roster.nurses[bed.label] = settings.nurses.get(bed.label) or bed.nurse
    for rung in UNIT_RUNGS:
        person = settings.on(rung, None) or None
        roster.rungs[rung] = person
        if person is None:
            _emptied(handling, rung)


def standing(handling: Handling, bed: str | None, episode: EpisodeState) -> Standing:
    """Give who stands on a rung for a bed: a nurse who already holds a high brings the deputy besides."""
    roster = handling.state.unit.roster

    def who(rung: Rung, with_deputy: bool) -> tuple[str, ...]:
        if rung is not Rung.BEDSIDE:
            person = roster.rungs.get(rung)
            return (person,) if person else ()
        nurse = bedside_of(handling, bed)
        if not nurse:
            return (roster.deputy,) if roster.deputy and bed else ()
        besides = with_deputy or busy(handling, nurse, episode)
        return (nurse, roster.deputy) if besides and roster.deputy and roster.deputy != nurse else (nurse,)

    return who


def bedside_of(handling: Handling, bed: str | None) -> str | None:
    """Give who stands at a bed: its nurse, or the leader while it is in transport."""
    if bed is None:
        return None
    transport = handling.state.beds[bed].transport
    if transport is not None and transport.ended_at is None:
        return transport.leader
    return handling.state.unit.roster.nurses.get(bed)


def busy(handling: Handling, person: str, other_than: EpisodeState) -> bool:
    """Tell whether a person holds a running take of a high elsewhere."""
    return any(
        episode is not other_than
        and episode.holder is not None
        and episode.holder.person == person
        and any(alert.priority is Priority.HIGH for alert in present_members(place, episode))
        for _, place in handling.places()
        for episode in place.episodes.values()
    )


def rung_of(roster: RosterState, person: str, bed: str | None) -> Rung | None:
    """Give the rung that a person stands on for a bed; the deputy stands on the first."""
    if bed is not None and person in (roster.nurses.get(bed), roster.deputy):
        return Rung.BEDSIDE
    return next((Rung(rung) for rung, stands in roster.rungs.items() if stands == person), None)


def on_roster(roster: RosterState, person: str) -> bool:
    """Tell whether a person stands anywhere on the roster."""
    return person in {*roster.nurses.values(), *roster.rungs.values(), roster.deputy}


def change(handling: Handling, command: ChangeRoster) -> str | None:
    """Put a person, or nobody, on a rung. Gives a reason where that cannot be."""
    if command.stands is not None and command.stands not in handling.people:
        return f"{command.stands} is not among the unit's people"
    if command.bed is not None and command.bed not in handling.state.beds:
        return f"there is no bed {command.bed}"
    roster = handling.state.unit.roster
    label = RUNG_LABEL[command.rung]
    if command.rung is not Rung.BEDSIDE:
        before = roster.rungs.get(command.rung)
        roster.rungs[command.rung] = command.stands
    elif command.bed is None:
        before, roster.deputy, label = roster.deputy, command.stands, "Deputy"
    else:
        before, roster.nurses[command.bed] = roster.nurses.get(command.bed), command.stands
    text = f"{label}: {command.stands or 'nobody'}, before {before or 'nobody'}"
    common: Mapping[str, object] = {"rung": command.rung, "person": command.stands, "command": command.id}
    handling.write(EntryKind.ROSTER, command.bed, **common, text=text, told_to=command.person)
    handling.touch(None)
    if command.rung is not Rung.BEDSIDE:
        _cover_changed(handling, command.rung, command.stands)
    return None


def _cover_changed(handling: Handling, rung: Rung, person: str | None) -> None:
    since = handling.state.unit.roster.empty_since
    if person is None and rung not in since:
        _emptied(handling, rung)
    elif person is not None and rung in since:
        del since[rung]
        handling.write(EntryKind.COVERED, rung=rung, person=person)


def _emptied(handling: Handling, rung: Rung) -> None:
    handling.state.unit.roster.empty_since[rung] = handling.now
    handling.write(EntryKind.UNCOVERED, rung=rung, text=f"{RUNG_LABEL[rung]}: nobody")
