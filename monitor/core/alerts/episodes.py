"""Episodes: which alerts belong together, and what their ladder is told when one joins or ends.

The first medium or high alert opens an episode. A later one joins it if a rule of an open member explains it, at
any time, or if it explains an open member within two minutes. A low belongs to none and is never called. The
priority of an episode is the highest of its present members; grouping folds, it never lowers.

The revision of an episode rises when an answer to what stood before would be an answer to something else: it began
anew, rose, is over, or its hold ended. A further member that only joins does not make a take on its way void.
"""

from dataclasses import dataclass

from monitor.core.alerts import ladder as climb
from monitor.core.alerts import no_answer, witnesses
from monitor.core.alerts.alert import LISTED, SignalEvent, SignalState, next_signal
from monitor.core.alerts.calls import run_ladder, steps_written
from monitor.core.entries import EntryKind
from monitor.core.grades import RANK, AlertClass, LadderClass, Priority, Rung
from monitor.core.handling import Handling, of_alert, present_members
from monitor.core.pages.text import Why
from monitor.core.roster.cover import bedside_of, busy, standing
from monitor.core.rules import HelpRule, LimitRule, RuleBase
from monitor.core.state import AlertState, BedState, EpisodeState, RunState, UnitState
from monitor.core.titles import own_quantity, title_of
from shared.instant import Instant, ms
from shared.language.saying import say
from shared.quantities import Quantity


@dataclass(frozen=True, slots=True)
class Onset:
    """A condition that has just started. ``began``: its first sample beyond the limit, ``None``: this moment."""

    rule: RuleBase
    bed: str | None
    slot: int | None
    value: float | None = None
    limit: float | None = None
    title: str | None = None
    rung: Rung | None = None
    began: Instant | None = None


def raise_alert(handling: Handling, onset: Onset) -> AlertState:
    """Raise an alert: on its own (low), in an episode that it belongs to, or in a new one."""
    place = handling.place(onset.bed)
    alert = _make(handling, place, onset)
    place.alerts[alert.id] = alert
    if alert.priority is Priority.LOW:
        handling.write(EntryKind.RAISED, alert.bed, **of_alert(alert), **_said(alert), sounds=True)
        return alert
    joined = _episode_to_join(handling, place, alert)
    if joined is not None:
        _join(handling, place, joined, alert, onset.began)
        return alert
    episode = _episode_it_came_back_to(place, alert) or _open(handling, place, alert)
    _begin(handling, place, episode, alert, onset.began)
    return alert


def end_alert(handling: Handling, alert: AlertState) -> None:
    """End an alert's condition: it clears, or stays listed until seen; calls follow what is left."""
    place = handling.place(alert.bed)
    alert.ended_at = handling.now
    event = _end_of(alert)
    alert.signal = next_signal(alert.signal, event)
    kind = EntryKind.LATCHED if alert.signal is SignalState.LATCHED else EntryKind.CLEARED
    handling.write(kind, alert.bed, **of_alert(alert))
    if alert.episode is None:
        if alert.signal is SignalState.CLEARED:
            del place.alerts[alert.id]
        return
    episode = place.episodes[alert.episode]
    present = present_members(place, episode)
    if present:
        reclass(handling, place, episode)
        return
    episode.revision += 1
    episode.ladder = None
    episode.holder = None
    episode.closes_at = handling.now + ms(handling.ladder.timings.episode_closes_s)


def close_due(handling: Handling, place: BedState | UnitState) -> None:
    """Close the episodes whose time has come."""
    for episode in list(place.episodes.values()):
        if episode.closes_at is not None and episode.closes_at <= handling.now:
            episode.closes_at = None
            handling.write(EntryKind.EPISODE_CLOSED, episode.bed, episode=episode.id)
            forget_if_done(place, episode)


def forget_if_done(place: BedState | UnitState, episode: EpisodeState) -> None:
    """Drop an episode that is closed and of which nothing is listed any more; the record keeps it."""
    listed = any(m in place.alerts and place.alerts[m].signal in LISTED for m in episode.members)
    if listed or not is_closed(episode, place):
        return
    for member in episode.members:
        place.alerts.pop(member, None)
    del place.episodes[episode.id]


def is_closed(episode: EpisodeState, place: BedState | UnitState) -> bool:
    """Tell whether an episode is over and past the time in which a condition may come back to it."""
    return not present_members(place, episode) and episode.closes_at is None


def priority_of(members: list[AlertState]) -> Priority:
    """Give the highest priority among alerts (there is at least one)."""
    return min((alert.priority for alert in members), key=RANK.__getitem__)


def reclass(handling: Handling, place: BedState | UnitState, episode: EpisodeState) -> None:
    """Bring the ladder to the class of the members that are still present, without a promotion."""
    ladder = episode.ladder
    wanted = class_of(handling, place, episode)
    if ladder is None or wanted is ladder.ladder:
        return
    members = present_members(place, episode)
    top = priority_of(members)
    zero = min(alert.raised_at for alert in members if alert.priority is top)
    climb.change_class(ladder, handling.ladder, wanted, handling.now, promoted=False, zero=zero)


def class_of(handling: Handling, place: BedState | UnitState, episode: EpisodeState) -> LadderClass:
    """Give the ladder's row for an episode by its present members."""
    members = present_members(place, episode)
    highs = [alert for alert in members if alert.priority is Priority.HIGH]
    if any(alert.circuit_critical for alert in highs):
        return LadderClass.CIRCUIT_TWO if episode.witnesses >= witnesses.ENOUGH else LadderClass.CIRCUIT_ONE
    if highs:
        return _class_of_highs(episode, highs)
    if any(alert.alert_class is AlertClass.PHYSIOLOGICAL for alert in members):
        return LadderClass.MEDIUM
    rule = handling.rules.get(members[0].rule)
    if rule is None and episode.ladder is not None:  # the rule is gone from the unit's limits: its calls go on
        return episode.ladder.ladder
    return (rule.ladder if rule is not None else None) or LadderClass.CONSOLE


def _class_of_highs(episode: EpisodeState, highs: list[AlertState]) -> LadderClass:
    own = (LadderClass.PATIENT_SIDE, LadderClass.HIGH_OTHER)
    if episode.ladder is not None and episode.ladder.ladder in own:
        return episode.ladder.ladder
    return LadderClass.PATIENT_SIDE if all(alert.patient_side for alert in highs) else LadderClass.HIGH_OTHER


def watch_witnesses(handling: Handling, place: BedState, run: RunState, episode: EpisodeState) -> None:
    """Count the witnesses anew while a circuit-critical alert is present; a second one calls at once."""
    ladder = episode.ladder
    if ladder is None or ladder.ladder is not LadderClass.CIRCUIT_ONE:
        return
    slots = {alert.slot for alert in present_members(place, episode) if alert.circuit_critical}
    if run.description.slot not in slots:  # the other pump of the bed is no witness
        return
    episode.witnesses = max(episode.witnesses, _count(handling, place, run, episode))
    if episode.witnesses >= witnesses.ENOUGH:
        climb.second_witness(ladder)
        run_ladder(handling, place, episode)


def _count(handling: Handling, place: BedState, run: RunState, episode: EpisodeState) -> int:
    """Count the witnesses among what is live at a run's last reading."""
    timings = handling.ladder.timings
    live = max(ms(timings.age_shown_s), round(timings.age_shown_intervals * place.interval_ms))
    reading_at = run.last_reading_at or handling.now
    return witnesses.count(run, handling.ladder.witnesses, episode.usual, reading_at, live)


def _make(handling: Handling, place: BedState | UnitState, onset: Onset) -> AlertState:
    rule, unit = onset.rule, handling.state.unit
    number, unit.next_alert = unit.next_alert, unit.next_alert + 1
    quantity = own_quantity(rule)
    priority, critical = rule.priority, rule.circuit_critical
    description = None
    latching = rule.latching
    if isinstance(place, BedState) and onset.slot is not None:
        run = place.runs[onset.slot]
        description = run.description
        priority = rule.priority_by_support.get(run.description.support, priority)
        signal = run.signals.get(quantity) if quantity else None
        if rule.estimated_cap is not None and signal and signal.estimated:
            priority = max(priority, rule.estimated_cap, key=RANK.__getitem__)
    if isinstance(rule, LimitRule) and rule.latching_below is not None and onset.value is not None:
        latching = latching or onset.value < rule.latching_below
    return AlertState(
        id=number,
        rule=rule.id,
        bed=onset.bed,
        slot=onset.slot,
        quantity=quantity,
        title=onset.title or title_of(rule, onset.value, onset.limit, description),
        priority=priority,
        alert_class=rule.alert_class,
        circuit_critical=critical and priority is Priority.HIGH,
        patient_side=rule.patient_side,
        latching=latching,
        raised_at=handling.now,
        value=onset.value,
        limit=onset.limit,
        rung=onset.rung,
    )


def _said(alert: AlertState) -> dict[str, object]:
    return {"value": alert.value, "limit": alert.limit, "text": alert.title}


def _episode_to_join(handling: Handling, place: BedState | UnitState, alert: AlertState) -> EpisodeState | None:
    """Give the open episode that an alert belongs to: explained by a member, or explaining a recent one."""
    recent = handling.now - ms(handling.ladder.timings.cause_joins_s)
    for episode in place.episodes.values():
        for member in present_members(place, episode):
            named = alert.rule in handling.explains.get(member.rule, ())
            names = member.rule in handling.explains[alert.rule] and member.raised_at >= recent
            if named or names:
                return episode
    return None


def _episode_it_came_back_to(place: BedState | UnitState, alert: AlertState) -> EpisodeState | None:
    """Give the episode that is over but not yet closed, in which the same condition ended a moment ago."""
    for episode in place.episodes.values():
        if episode.closes_at is None:  # still open, or closed
            continue
        for member in episode.members:
            earlier = place.alerts.get(member)
            if earlier is not None and _what(earlier) == _what(alert):
                return episode
    return None


def _what(alert: AlertState) -> tuple[str, int | None, Quantity | None, int | None]:
    """Say what an alert is about: two rungs that nobody holds are two conditions of one rule."""
    return alert.rule, alert.slot, alert.quantity, alert.rung


def _open(handling: Handling, place: BedState | UnitState, alert: AlertState) -> EpisodeState:
    unit = handling.state.unit
    number, unit.next_episode = unit.next_episode, unit.next_episode + 1
    episode = EpisodeState(id=number, bed=alert.bed, opened_at=handling.now, members=[])
    place.episodes[number] = episode
    return episode


def _begin(
    handling: Handling,
    place: BedState | UnitState,
    episode: EpisodeState,
    alert: AlertState,
    began: Instant | None,
) -> None:
    """Start the ladder for the first alert of an episode, or for one that came back to it."""
    _admit(handling, place, episode, alert, began)
    kind = EntryKind.BOARD_BLIND if alert.rule == handling.blind_rule else EntryKind.RAISED
    handling.write(kind, alert.bed, **of_alert(alert), **_said(alert), sounds=True)
    episode.revision += 1
    episode.holder, episode.also, episode.advising, episode.seen_by = None, [], [], []
    episode.call_backs = {}
    episode.ladder = climb.start(class_of(handling, place, episode), handling.now)
    _call_beside_busy_nurse(handling, episode, alert)
    run_ladder(handling, place, episode)


def _join(
    handling: Handling,
    place: BedState | UnitState,
    episode: EpisodeState,
    alert: AlertState,
    began: Instant | None,
) -> None:
    before = present_members(place, episode)
    first_of_patient = alert.patient_side and not any(
        place.alerts[m].patient_side for m in episode.members if m in place.alerts
    )
    lifted = RANK[alert.priority] < RANK[priority_of(before)]
    made_critical = alert.circuit_critical and not any(member.circuit_critical for member in before)
    _admit(handling, place, episode, alert, began)
    promoted = lifted or made_critical
    kind = EntryKind.PROMOTED if promoted else EntryKind.FOLDED
    sounds = True if promoted or first_of_patient else None
    handling.write(kind, alert.bed, **of_alert(alert), **_said(alert), sounds=sounds)
    ladder = episode.ladder
    assert ladder is not None  # some of its members are present
    if promoted:
        episode.revision += 1
        end_holding(handling, place, episode, EntryKind.HOLD_ENDED, say("the priority has risen"))
        no_answer.end(episode)
        wanted = class_of(handling, place, episode)
        climb.change_class(ladder, handling.ladder, wanted, handling.now, promoted=True, zero=handling.now)
        _call_beside_busy_nurse(handling, episode, alert)
    elif alert.patient_side and alert.priority is Priority.HIGH and ladder.ladder is LadderClass.HIGH_OTHER:
        seconds = handling.ladder.rows[LadderClass.PATIENT_SIDE].seconds(Rung.INTENSIVIST)
        if seconds is not None:
            climb.bring_forward(ladder, Rung.INTENSIVIST, handling.now + ms(seconds))
    elif ladder.ladder is LadderClass.CIRCUIT_ONE and episode.witnesses >= witnesses.ENOUGH:
        climb.second_witness(ladder)
    else:
        reclass(handling, place, episode)
    if first_of_patient and not promoted and episode.holder and priority_of(before) is Priority.MEDIUM:
        end_holding(handling, place, episode, EntryKind.WORSENED, say("{title} has joined", title=alert.title))
        steps_written(
            handling,
            episode,
            climb.end_hold(ladder, handling.ladder, handling.now, standing(handling, alert.bed, episode)),
            Why.WORSE,
        )
    run_ladder(handling, place, episode, Why.WORSE if promoted else Why.AGAIN)


def _admit(
    handling: Handling,
    place: BedState | UnitState,
    episode: EpisodeState,
    alert: AlertState,
    began: Instant | None,
) -> None:
    """Make an alert a member, and look for witnesses if it is circuit-critical."""
    episode.members.append(alert.id)
    alert.episode = episode.id
    episode.closes_at = None
    if not alert.circuit_critical:
        return
    rule = handling.rules[alert.rule]
    if isinstance(rule, HelpRule):
        episode.witnesses = witnesses.ENOUGH
    found = rule.circulation_lost
    if isinstance(place, BedState) and alert.slot is not None:
        run = place.runs[alert.slot]
        if not episode.usual:
            least = ms(handling.ladder.timings.median_at_least_s) - round(1.5 * place.interval_ms)
            since = handling.now if began is None else began
            episode.usual = witnesses.usual(run, handling.ladder.witnesses, since, least)
        found = max(found, _count(handling, place, run, episode))
    episode.witnesses = max(episode.witnesses, found)


def _call_beside_busy_nurse(handling: Handling, episode: EpisodeState, alert: AlertState) -> None:
    """A second high for a nurse who already holds one goes to the charge nurse at once as well."""
    nurse = bedside_of(handling, alert.bed)
    if episode.ladder and nurse and alert.priority is Priority.HIGH and busy(handling, nurse, episode):
        climb.bring_forward(episode.ladder, Rung.CHARGE, handling.now)


def end_holding(
    handling: Handling, place: BedState | UnitState, episode: EpisodeState, kind: EntryKind, why: str
) -> None:
    """Write that a take no longer holds, if there is one, and why; nobody has the episode after this."""
    holder = episode.holder
    if holder is None:
        return
    for alert in present_members(place, episode):
        alert.signal = next_signal(alert.signal, SignalEvent.HOLD_ENDED)
    handling.write(kind, episode.bed, episode=episode.id, person=holder.person, text=why)
    episode.holder = None
    episode.revision += 1


def _end_of(alert: AlertState) -> SignalEvent:
    if alert.priority is Priority.LOW and not alert.latching:
        return SignalEvent.ENDED_LOW
    return SignalEvent.ENDED_LATCHING if alert.latching else SignalEvent.ENDED
