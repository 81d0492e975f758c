"""Cover: who is called on each rung now, who is busy, and what happens when a rung becomes empty."""

from collections.abc import Mapping

from monitor.core.alerts.ladder import Standing
from monitor.core.commands import ChangeRoster
from monitor.core.entries import EntryKind
from monitor.core.grades import RUNG_LABEL, Priority, Rung
from monitor.core.handling import Handling, cannot_stand, person_label, present_members
from monitor.core.roster.post import key_of, post_of
from monitor.core.roster.standing import has, keys_of, reached
from monitor.core.roster.state import RosterState
from monitor.core.state import EpisodeState
from shared.language.saying import say

UNIT_RUNGS = (Rung.CHARGE, Rung.PERFUSIONIST, Rung.INTENSIVIST, Rung.SURGEON)


def begin(handling: Handling) -> None:
    """Take the roster of the configuration, and write down who is called where, and the rungs that are empty."""
    settings = handling.unit.roster
    roster = handling.state.unit.roster
    roster.deputy = settings.deputy
    for bed in handling.unit.beds:
        roster.nurses[bed.label] = settings.nurses.get(bed.label) or bed.nurse
    for rung in UNIT_RUNGS:
        roster.rungs[rung] = settings.on(rung, None) or None
    settle(handling)


def settle(handling: Handling) -> Mapping[str, str]:
    """Write down every change of who is called on a post. Gives who is called nowhere any more, and why."""
    roster = handling.state.unit.roster
    before = {person for person in roster.stands.values() if person is not None}
    for key in keys_of(roster):
        person = reached(roster, has(roster, key))
        if key in roster.stands and roster.stands[key] == person:
            continue
        roster.stands[key], roster.since[key] = person, handling.now
        post = post_of(key)
        handling.write(EntryKind.STANDS, post.bed, rung=post.rung, person=person)
        if post.rung is not Rung.BEDSIDE:
            _cover_changed(handling, post.rung, person)
    gone = before - {person for person in roster.stands.values() if person is not None}
    return {person: _why_gone(roster, person) for person in sorted(gone - _leaders(handling))}


def _why_gone(roster: RosterState, person: str) -> str:
    if person in roster.away:
        return say("is unreachable")
    on_break = any(rest.who == person for rest in roster.breaks.values())
    return say("is on a break") if on_break else say("has left the roster")


def _leaders(handling: Handling) -> set[str]:
    """Who leads a transport stands at its bed, on the roster or not."""
    moved = (bed.transport for bed in handling.state.beds.values())
    return {one.leader for one in moved if one is not None and one.ended_at is None}


def _cover_changed(handling: Handling, rung: Rung, person: str | None) -> None:
    since = handling.state.unit.roster.empty_since
    if person is None and rung not in since:
        since[rung] = handling.now
        handling.write(EntryKind.UNCOVERED, rung=rung, text=hole_words(handling, rung))
    elif person is not None and rung in since:
        del since[rung]
        handling.write(EntryKind.COVERED, rung=rung, person=person)


def hole_words(handling: Handling, rung: Rung) -> str:
    """Say of a rung on which nobody can be called why that is so."""
    empty = handling.state.unit.roster.rungs.get(rung) is None
    return f"{RUNG_LABEL[rung]}: {'nobody' if empty else 'unreachable'}"


def standing(handling: Handling, bed: str | None, episode: EpisodeState) -> Standing:
    """Give who stands on a rung for a bed: a nurse who already holds a high brings the deputy besides."""
    roster = handling.state.unit.roster

    def who(rung: Rung, with_deputy: bool) -> tuple[str, ...]:
        if rung is not Rung.BEDSIDE:
            person = on_rung(roster, rung)
            return (person,) if person else ()
        nurse, deputy = bedside_of(handling, bed), roster.stands.get(key_of(Rung.BEDSIDE))
        if not nurse:
            return (deputy,) if deputy and bed else ()
        besides = with_deputy or busy(handling, nurse, episode)
        return (nurse, deputy) if besides and deputy and deputy != nurse else (nurse,)

    return who


def on_rung(roster: RosterState, rung: Rung) -> str | None:
    """Give who is called on a rung of the unit, or ``None``."""
    return roster.stands.get(key_of(rung))


def bedside_of(handling: Handling, bed: str | None) -> str | None:
    """Give who is called at a bed: its nurse, or the leader while it is in transport."""
    if bed is None:
        return None
    roster, transport = handling.state.unit.roster, handling.state.beds[bed].transport
    if transport is not None and transport.ended_at is None:
        return reached(roster, transport.leader)
    return roster.stands.get(key_of(Rung.BEDSIDE, bed))


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
    """Give the rung on which a person is called for a bed; the deputy stands on the first."""
    if bed is not None:
        nurse = roster.stands.get(key_of(Rung.BEDSIDE, bed))
        if person in (nurse, roster.stands.get(key_of(Rung.BEDSIDE))):
            return Rung.BEDSIDE
    return next((rung for rung in UNIT_RUNGS if on_rung(roster, rung) == person), None)


def change(handling: Handling, command: ChangeRoster) -> str | None:
    """Put a person, or nobody, on a post. Gives a reason where that cannot be. `settle` follows."""
    refusal = cannot_stand(handling, command.stands) if command.stands is not None else None
    if refusal is not None:
        return refusal
    if command.bed is not None and command.bed not in handling.state.beds:
        return say("there is no bed {bed}", bed=command.bed)
    roster = handling.state.unit.roster
    label = RUNG_LABEL[command.rung]
    if command.rung is not Rung.BEDSIDE:
        before = roster.rungs.get(command.rung)
        roster.rungs[command.rung] = command.stands
    elif command.bed is None:
        before, roster.deputy, label = roster.deputy, command.stands, "Deputy"
    else:
        before, roster.nurses[command.bed] = roster.nurses.get(command.bed), command.stands
    text = say(
        "{label}: {stands}, before {before}",
        label=label,
        stands=person_label(handling, command.stands),
        before=person_label(handling, before),
    )
    common: Mapping[str, object] = {"rung": command.rung, "person": command.stands, "command": command.id}
    handling.write(EntryKind.ROSTER, command.bed, **common, text=text, told_to=command.person)
    return None
