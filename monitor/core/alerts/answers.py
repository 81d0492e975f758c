"""Responsibility: who knows, who has it, who helps, who passes it on. Two acts, never one: seen is not take.

An answer names the alert and the revision of its episode that the person saw. If the episode has risen, begun anew,
ended or lost its holder since, it is refused with that reason, and the person looks again. The hub orders answers:
the later of two takes becomes "also responding".
"""

from collections.abc import Mapping
from types import MappingProxyType

from monitor.core.alerts import ladder as climb
from monitor.core.alerts import no_answer
from monitor.core.alerts.alert import LISTED, SignalEvent, SignalState, next_signal
from monitor.core.alerts.calls import run_ladder
from monitor.core.alerts.episodes import forget_if_done, priority_of
from monitor.core.alerts.gone_rules import end_by_hand, nothing_ends
from monitor.core.alerts.lows import answer_low
from monitor.core.alerts.reasons import give_reason
from monitor.core.call_back_state import CallBackState
from monitor.core.commands import (
    Answer,
    CallBack,
    GiveReason,
    HelpByPhone,
    PassOn,
    Reason,
    Renew,
    Seen,
    Take,
    Where,
)
from monitor.core.effects import CallsHeld
from monitor.core.entries import EntryKind
from monitor.core.grades import RANK, LadderClass, Priority, Rung
from monitor.core.handling import Handling, may_write_down, of_alert, present_members
from monitor.core.roster.cover import rung_of
from monitor.core.state import AlertState, BedState, EpisodeState, Holder, LadderState, UnitState
from shared.instant import MINUTE, ms
from shared.language.saying import say, to_say

#: In the words of the log and of screens.
CALL_BACK_WORDS: Mapping[CallBack, str] = MappingProxyType(
    {
        CallBack.CALLING: to_say("is calling in"),
        CallBack.COMING: to_say("is on the way"),
        CallBack.DEPUTY: to_say("has sent a deputy"),
    }
)
_LEADS_A_TEAM = frozenset({Rung.CHARGE, Rung.PERFUSIONIST, Rung.INTENSIVIST})


def answer(handling: Handling, command: Answer) -> str | None:
    """Carry an answer out. Gives a reason, in words for the person, where it cannot be."""
    if command.bed is not None and command.bed not in handling.state.beds:
        return say("there is no bed {bed}", bed=command.bed)
    place = handling.place(command.bed)
    alert = place.alerts.get(command.alert)
    if alert is None or (alert.episode is None and alert.signal not in LISTED):
        return say("this alert is no longer open")
    refusal = _may_answer(handling, command, _gravest(place, alert))
    if refusal is not None:
        return refusal
    episode = place.episodes.get(alert.episode) if alert.episode is not None else None
    if episode is None:
        return answer_low(handling, command, alert)
    if command.revision != episode.revision:
        return say("this has changed since you looked: look again")
    match command:
        case Seen():
            return _seen(handling, command, place, episode)
        case Take():
            return _take(handling, command, place, episode)
        case PassOn():
            return _pass_on(handling, command, place, episode)
        case HelpByPhone():
            return _advise(handling, command, place, episode)
        case Renew():
            return _renew(handling, command, place, episode)
    assert isinstance(command, GiveReason)  # the union of commands has no other answer
    return give_reason(handling, command, episode)


def entered_from_bed(bed: BedState) -> None:
    """A set was entered by hand from the bed: somebody has looked, and holds may be renewed again."""
    for episode in bed.episodes.values():
        if episode.holder is not None:
            episode.holder.renewals = 0


def _gravest(place: BedState | UnitState, alert: AlertState) -> AlertState:
    """An answer counts for the whole episode: give its gravest present alert, else the one that was named."""
    episode = place.episodes.get(alert.episode) if alert.episode is not None else None
    present = present_members(place, episode) if episode is not None else []
    return min(present, key=lambda member: RANK[member.priority], default=alert)


def _may_answer(handling: Handling, command: Answer, alert: AlertState) -> str | None:
    if isinstance(command, Take):
        if not may_write_down(handling, command.told_to or command.person):
            return say("a take is recorded by somebody in the unit; from elsewhere help by phone")
        if command.reason is None and alert.priority is not Priority.HIGH and alert.present:
            return say("a medium or low is taken with a reason: say why")
        if command.where is Where.PHONE and alert.priority is Priority.HIGH:
            return say("nobody has a high by phone: help by phone leaves the ladder running")
    return None


def _fields(command: Answer, reason: Reason | None) -> dict[str, object]:
    return {"person": command.person, "command": command.id, "reason": reason.value if reason else None}


def _seen(handling: Handling, command: Seen, place: BedState | UnitState, episode: EpisodeState) -> str | None:
    in_unit = handling.people[command.person].in_unit
    locked = [a for a in _listed(place, episode) if a.signal is SignalState.LATCHED and a.latching]
    if locked and not in_unit and not present_members(place, episode):
        return say("this stays listed until somebody in the unit has seen it")
    until = no_answer.begin(handling, episode, command.person)
    handling.write(EntryKind.SEEN, episode.bed, episode=episode.id, until=until, **_fields(command, None))
    _remember(episode.seen_by, command.person)
    for alert in _listed(place, episode):
        if alert.signal is SignalState.LATCHED and alert.latching and not in_unit:
            continue
        if in_unit and episode.holder is not None and nothing_ends(handling, place, alert):
            end_by_hand(handling, place, alert)
        if alert.signal in LISTED:
            _review(handling, alert, SignalEvent.SEEN, command.person)
    forget_if_done(place, episode)
    return None


def _take(handling: Handling, command: Take, place: BedState | UnitState, episode: EpisodeState) -> str | None:
    present, ladder = present_members(place, episode), episode.ladder
    if ladder is None:  # nothing is present any more
        for alert in _listed(place, episode):
            _review(handling, alert, SignalEvent.TAKEN, command.person)
        forget_if_done(place, episode)
        return None
    holder = episode.holder
    told = {"told_to": command.told_to, "where": command.where.value, "eta_min": command.eta_min}
    if holder is not None and holder.person != command.person:
        _remember(episode.also, command.person)
        fields = _fields(command, command.reason)
        handling.write(EntryKind.ALSO_RESPONDING, episode.bed, episode=episode.id, **fields, **told)
        return None
    until = handling.now + ms(_hold_seconds(handling, command, episode, priority_of(present)))
    episode.holder = Holder(
        person=command.person,
        where=command.where.value,
        reason=command.reason.value if command.reason else None,
        eta_at=handling.now + command.eta_min * MINUTE if command.eta_min else None,
        told_to=command.told_to,
        taken_at=handling.now,
        at_take=_values_at_take(handling, place, present),
    )
    no_answer.end(episode)
    for said in episode.call_backs.values():
        said.late = True  # somebody has it: nobody waits for whoever was coming
    for alert in present:
        alert.signal = next_signal(alert.signal, SignalEvent.TAKEN)
    exempt = _not_held(handling, command, episode.bed, ladder)
    climb.hold(ladder, until, exempt)
    handling.effects.append(CallsHeld(episode.id, tuple(rung for rung in Rung if rung not in exempt)))
    handling.write(
        EntryKind.TAKEN, episode.bed, episode=episode.id, until=until, **_fields(command, command.reason), **told
    )
    return None


def _hold_seconds(handling: Handling, command: Take, episode: EpisodeState, priority: Priority) -> float:
    holds = handling.ladder.holds
    team = _leads_team(handling, episode, command.person, command.reason, command.where)
    return holds.team_at_bed_s if team and priority is Priority.HIGH else holds.of(priority)


def _leads_team(handling: Handling, episode: EpisodeState, person: str, reason: str | None, where: str) -> bool:
    """Tell whether a take is that of a team at work at the bed, of somebody who may say so."""
    rung = rung_of(handling.state.unit.roster, person, episode.bed)
    return reason == Reason.TEAM_AT_BED and rung in _LEADS_A_TEAM and where == Where.AT_BED


def _not_held(handling: Handling, command: Take, bed: str | None, ladder: LadderState) -> tuple[Rung, ...]:
    """With one witness, only "circulation checked" from the bedside keeps the intensivist from being called."""
    if ladder.ladder is not LadderClass.CIRCUIT_ONE:
        return ()
    rung = rung_of(handling.state.unit.roster, command.person, bed)
    checked = command.reason is Reason.CIRCULATION_CHECKED and rung is Rung.BEDSIDE
    return () if checked else (Rung.INTENSIVIST,)


def _values_at_take(handling: Handling, place: BedState | UnitState, present: list[AlertState]) -> dict[str, float]:
    if not isinstance(place, BedState):
        return {}
    steps = handling.ladder.worse.model_dump()
    values: dict[str, float] = {}
    for alert in present:
        if alert.slot is None or alert.quantity is None or alert.quantity.value not in steps:
            continue
        signal = place.runs[alert.slot].signals.get(alert.quantity)
        if signal:
            way = _worse_way(alert, steps[alert.quantity.value])
            values[f"{alert.slot}:{alert.quantity.value}:{way}"] = signal.median(10_000)
    return values


def _worse_way(alert: AlertState, step: float) -> str:
    """Say which way is further beyond: a MAP that is too high is no worse for falling, but for rising."""
    if alert.value is not None and alert.limit is not None:
        if alert.value > alert.limit:
            return "up"
        if alert.value < alert.limit:
            return "down"
    return "up" if step == abs(step) else "down"


def _pass_on(handling: Handling, command: PassOn, place: BedState | UnitState, episode: EpisodeState) -> str | None:
    if episode.ladder is None:
        return say("nobody is being called any more")
    no_answer.cannot(handling, episode, command.person)
    handling.write(EntryKind.DECLINED, episode.bed, episode=episode.id, **_fields(command, command.reason))
    if episode.holder is not None and episode.holder.person == command.person:
        for alert in present_members(place, episode):
            alert.signal = next_signal(alert.signal, SignalEvent.HOLD_ENDED)
        episode.holder = None
        episode.revision += 1
        climb.release(episode.ladder)
    climb.pass_on(episode.ladder, handling.ladder, handling.now)
    run_ladder(handling, place, episode)
    return None


def _advise(
    handling: Handling, command: HelpByPhone, place: BedState | UnitState, episode: EpisodeState
) -> str | None:
    if episode.ladder is None:
        return say("nobody is being called any more")
    if (command.eta_min is not None) != (command.says in (CallBack.COMING, CallBack.DEPUTY)):
        return say("of whoever is coming it is said in how many minutes, and of nobody else")
    _remember(episode.advising, command.person)
    episode.call_backs.pop(command.person, None)
    if command.says is not None:
        eta_at = handling.now + command.eta_min * MINUTE if command.eta_min is not None else None
        episode.call_backs[command.person] = CallBackState(command.says.value, handling.now, eta_at)
    until = None
    rung = rung_of(handling.state.unit.roster, command.person, episode.bed)
    medium = priority_of(present_members(place, episode)) is Priority.MEDIUM
    if rung is Rung.PERFUSIONIST:
        no_answer.end(episode)
    if medium and rung is Rung.PERFUSIONIST:
        until = handling.now + ms(handling.ladder.holds.advice_s)
        climb.advise(episode.ladder, until)
    handling.write(
        EntryKind.ADVISED,
        episode.bed,
        episode=episode.id,
        until=until,
        eta_min=command.eta_min,
        text=CALL_BACK_WORDS[command.says] if command.says is not None else None,
        **_fields(command, command.reason),
    )
    return None


def _renew(handling: Handling, command: Renew, place: BedState | UnitState, episode: EpisodeState) -> str | None:
    holder = episode.holder
    if holder is None:
        return say("nobody has it: there is no hold to renew")
    assert episode.ladder is not None  # where somebody has it something is present
    if not handling.people[command.person].in_unit:
        return say("a hold is renewed by somebody in the unit")
    holds, priority = handling.ladder.holds, priority_of(present_members(place, episode))
    if priority is Priority.HIGH and holder.renewals >= holds.renewals_without_entry:
        return say(
            "a high was renewed {renewals} times: enter what is found at the bed first", renewals=holder.renewals
        )
    holder.renewals += 1
    team = _leads_team(handling, episode, holder.person, holder.reason, holder.where)
    seconds = holds.team_at_bed_s if team and priority is Priority.HIGH else holds.of(priority)
    until = handling.now + ms(seconds)
    episode.ladder.held_until = until
    handling.write(
        EntryKind.RENEWED, episode.bed, episode=episode.id, until=until, **_fields(command, command.reason)
    )
    return None


def _listed(place: BedState | UnitState, episode: EpisodeState) -> list[AlertState]:
    found = (place.alerts.get(member) for member in episode.members)
    return [alert for alert in found if alert is not None and alert.signal in LISTED]


def _review(handling: Handling, alert: AlertState, event: SignalEvent, person: str) -> None:
    before = alert.signal
    alert.signal = next_signal(before, event)
    if alert.signal is SignalState.REVIEWED:
        handling.write(EntryKind.REVIEWED, alert.bed, **of_alert(alert), person=person)


def _remember(names: list[str], person: str) -> None:
    if person not in names:
        names.append(person)
