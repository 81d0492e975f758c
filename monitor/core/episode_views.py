"""What is open or listed at a bed or in the unit, as desks see it: episodes, who has them, who is called next."""

from monitor.core.alerts import ladder as climb
from monitor.core.alerts import no_answer
from monitor.core.alerts.alert import LISTED, SignalState
from monitor.core.grades import RANK, AlertClass, Rung
from monitor.core.handling import Handling, present_members
from monitor.core.roster.cover import on_rung
from monitor.core.state import AlertState, BedState, EpisodeState, Holder, LadderState, UnitState
from monitor.core.view import (
    AlertView,
    CallBackView,
    EpisodeView,
    HolderView,
    LadderView,
    RungState,
    RungView,
)
from shared.instant import Instant, ms


def episode_views(handling: Handling, place: BedState | UnitState) -> tuple[EpisodeView, ...]:
    """Give what is open or still listed at a place, whoever needs somebody first."""
    views = [_episode_view(handling, place, episode) for episode in place.episodes.values()]
    lows = [a for a in place.alerts.values() if a.episode is None and a.signal in LISTED]
    shown = [view for view in views if view is not None] + [_low_view(place, alert) for alert in lows]
    return tuple(sorted(shown, key=_need_order))


def _need_order(view: EpisodeView) -> tuple[bool, int, bool, bool, bool, Instant]:
    technical = view.alert_class is AlertClass.TECHNICAL
    return view.over, RANK[view.priority], not view.circuit_critical, technical, bool(view.holder), view.since


def _episode_view(handling: Handling, place: BedState | UnitState, episode: EpisodeState) -> EpisodeView | None:
    found = (place.alerts.get(member) for member in episode.members)
    listed = [alert for alert in found if alert is not None and alert.signal in LISTED]
    if not listed:
        return None
    present = present_members(place, episode)
    lead = min(present or listed, key=_lead_order)
    return EpisodeView(
        id=episode.id,
        lead=lead.id,
        priority=lead.priority,
        alert_class=lead.alert_class,
        circuit_critical=lead.circuit_critical,
        title=lead.title,
        since=min(alert.raised_at for alert in present or listed),
        revision=episode.revision,
        alerts=tuple(_alert_view(place, alert, episode.revision) for alert in sorted(listed, key=_lead_order)),
        over=not present,
        seen_by=tuple(episode.seen_by),
        holder=_holder_view(episode.holder, episode.ladder),
        also=tuple(episode.also),
        advising=tuple(episode.advising),
        call_backs=tuple(
            CallBackView(person=name, says=said.says, at=said.at, eta_at=said.eta_at, late=said.late)
            for name, said in episode.call_backs.items()
        ),
        ladder=_ladder_view(handling, episode, episode.ladder) if episode.ladder is not None else None,
    )


def _lead_order(alert: AlertState) -> tuple[bool, int, bool, Instant, int]:
    return not alert.present, RANK[alert.priority], not alert.circuit_critical, alert.raised_at, alert.id


def _low_view(place: BedState | UnitState, alert: AlertState) -> EpisodeView:
    return EpisodeView(
        id=None,
        lead=alert.id,
        priority=alert.priority,
        alert_class=alert.alert_class,
        circuit_critical=False,
        title=alert.title,
        since=alert.raised_at,
        revision=1,
        alerts=(_alert_view(place, alert, 1),),
        over=not alert.present,
        seen_by=tuple(alert.seen_by) if alert.signal is not SignalState.RAISED else (),
        holder=None,
        also=(),
        advising=(),
        ladder=None,
    )


def _alert_view(place: BedState | UnitState, alert: AlertState, revision: int) -> AlertView:
    return AlertView(
        id=alert.id,
        rule=alert.rule,
        title=alert.title,
        slot=alert.slot,
        quantity=alert.quantity,
        priority=alert.priority,
        alert_class=alert.alert_class,
        circuit_critical=alert.circuit_critical,
        patient_side=alert.patient_side,
        raised_at=alert.raised_at,
        present=alert.present,
        ended_at=alert.ended_at,
        listed=alert.signal in LISTED,
        value=alert.value,
        limit=alert.limit,
        last_reading_at=_last_reading(place, alert),
        revision=revision,
    )


def _last_reading(place: BedState | UnitState, alert: AlertState) -> Instant | None:
    run = place.runs.get(alert.slot) if isinstance(place, BedState) and alert.slot is not None else None
    if run is None:
        return None
    signal = run.signals.get(alert.quantity) if alert.quantity else None
    return signal.last_at if signal else run.last_reading_at


def _holder_view(holder: Holder | None, ladder: LadderState | None) -> HolderView | None:
    if holder is None or ladder is None or ladder.held_until is None:
        return None
    return HolderView(
        person=holder.person,
        where=holder.where,
        reason=holder.reason,
        eta_at=holder.eta_at,
        told_to=holder.told_to,
        taken_at=holder.taken_at,
        until=ladder.held_until,
    )


def _ladder_view(handling: Handling, episode: EpisodeState, ladder: LadderState) -> LadderView:
    table = handling.ladder
    following = _following(handling, episode, ladder)
    roster = handling.state.unit.roster
    rungs = tuple(_rung_view(ladder, rung, following) for rung in climb.reachable(table.rows[ladder.ladder]))
    return LadderView(
        ladder=ladder.ladder,
        rungs=rungs,
        next_rung=following[0] if following else None,
        next_person=on_rung(roster, following[0]) if following else None,
        next_at=following[1] if following else None,
        began=ladder.began,
        repeats_at=climb.next_repeat(ladder, table),
        nobody_since=ladder.nobody_since if ladder.held_until is None else None,
        call_back_by=_call_back_by(handling, episode, ladder),
    )


def _following(handling: Handling, episode: EpisodeState, ladder: LadderState) -> tuple[Rung, Instant] | None:
    """Give who is called next and when: by the table, or sooner for want of an answer."""
    following = climb.next_call(ladder, handling.ladder)
    rung = climb.left_to_call(ladder, handling.ladder)
    unless_answered = no_answer.answer_by(episode, handling.ladder.handing_over)
    if rung is None or unless_answered is None or (following is not None and following[1] <= unless_answered):
        return following
    return rung, unless_answered


def _call_back_by(handling: Handling, episode: EpisodeState, ladder: LadderState) -> Instant | None:
    """Give by when a perfusionist who was called from outside the unit is expected to answer, until they do."""
    settings = handling.ladder.handing_over
    unless_answered = no_answer.answer_by(episode, settings)
    if unless_answered is not None:
        return unless_answered
    called, name = ladder.called.get(Rung.PERFUSIONIST), ladder.persons.get(Rung.PERFUSIONIST)
    person = handling.people.get(name) if name is not None else None
    if called is None or person is None or person.in_unit:
        return None
    holder = episode.holder.person if episode.holder is not None else None
    if person.name in {holder, *episode.seen_by, *episode.also, *episode.advising, *episode.call_backs}:
        return None
    return called + ms(settings.call_back_s)


def _rung_view(ladder: LadderState, rung: Rung, following: tuple[Rung, Instant] | None) -> RungView:
    called = ladder.called.get(rung)
    if following is not None and following[0] is rung:
        return RungView(rung=rung, person=None, state=RungState.NEXT, at=following[1])
    if called is not None:
        state = RungState.HELD if ladder.held_until is not None else RungState.CALLED
        return RungView(rung=rung, person=ladder.persons.get(rung), state=state, at=called)
    state = RungState.SKIPPED if rung in ladder.skipped else RungState.EMPTY
    return RungView(rung=rung, person=None, state=state, at=None)
