"""From state to views: what a tile and the unit show. Nothing is decided here."""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import asdict
from functools import lru_cache

from monitor.analysis.baseline import Baseline
from monitor.core.bedside import emergency, gas, rounds, transports
from monitor.core.episode_views import episode_views
from monitor.core.equipment.views import devices_due, equipment_view
from monitor.core.grades import Priority
from monitor.core.handling import Handling
from monitor.core.judging import silence
from monitor.core.judging.limits import default_share
from monitor.core.judging.verdict import reference_of
from monitor.core.ladder_table import Timings
from monitor.core.roster.state import RosterState
from monitor.core.roster.views import roster_view
from monitor.core.rules import LimitRule
from monitor.core.state import (
    BedState,
    CallMeState,
    OffSupport,
    OwnLimit,
    Proposal,
    RunState,
    Trial,
)
from monitor.core.view import (
    AudioPauseView,
    BeyondView,
    CallMeView,
    CoverView,
    DueView,
    EmergencyCardView,
    EventView,
    LimitView,
    LookView,
    OffSupportView,
    OwnLimitView,
    PersonView,
    ProposalView,
    RoundView,
    RunView,
    TickView,
    TileView,
    TransportView,
    TrialView,
    UnitView,
)
from shared.instant import MINUTE, Instant, ms
from shared.language.saying import say
from shared.messages import RoundKind
from shared.quantities import CATALOGUE, Quantity, Scope
from shared.support import DEFAULT_SENSORS, SUPPORT_LABEL, label_at


def tile_view(handling: Handling, bed: BedState, before: TileView | None = None) -> TileView:
    """Give a bed's view. ``before``: how it was last, of which what is the same is given again."""
    stood = {view.description.slot: view for view in before.runs} if before is not None else {}
    timings, now = handling.ladder.timings, handling.now
    read = [run.last_reading_at for run in bed.runs.values() if run.last_reading_at]
    newest = max(read, default=None)
    stale_after = silence.stale_after_ms(handling.silences, bed)
    stale = newest is None or now - newest >= stale_after
    states = [state for run in bed.runs.values() for state in run.rules.values()]
    judged = [s for s in states if s.judged_at is not None and now - s.judged_at < stale_after]
    age_from = max(timings.age_shown_s, timings.age_shown_intervals * bed.interval_ms / 1000)
    return TileView(
        bed=bed.label,
        runs=tuple(_run_view(handling, run, stood.get(slot)) for slot, run in sorted(bed.runs.items())),
        nurse=handling.state.unit.roster.nurses.get(bed.label),
        origin=bed.origin,
        interval_s=bed.interval_ms / 1000,
        # of two pumps whose sets are typed, the one that nobody has read for longer gives the age
        last_reading_at=min(read, default=None) if bed.by_sets else newest,
        age_from_s=age_from,
        stale_after_s=stale_after / 1000,
        stale=stale,
        rules=len(states),
        judged=0 if stale else len(judged),
        not_watched=_not_watched(bed),
        episodes=episode_views(handling, bed),
        notes=_notes(handling, bed, timings),
        audio_paused=_audio_view(handling, bed),
        orders=tuple(sorted(moment for run in bed.runs.values() for moment in run.orders)),
        by_hand_note=bed.note,
        transport=_transport_view(bed),
        care_until=max((until for _, until in bed.care), default=None),
        events=tuple(
            EventView(number=number, at=event.at, what=event.what, by=event.by)
            for number, event in sorted(bed.events.items(), key=lambda one: (one[1].at, one[0]))
        ),
        looked=max((LookView(by=by, at=look.at) for by, look in bed.looks.items()), key=_when, default=None),
        cards=dict(bed.cards),
        emergency_cards=tuple(_card_views(bed)),
    )


def tile_until(handling: Handling, bed: BedState) -> Instant | None:
    """Give when `tile_view` may change by time alone within a shift, or ``None`` for never."""
    now, within = handling.now, ms(handling.ladder.timings.dips_within_s)
    stale_after = silence.stale_after_ms(handling.silences, bed)
    found = [bed.audio_paused.until] if bed.audio_paused is not None else []
    for run in bed.runs.values():
        read = [run.last_reading_at, *{state.judged_at for state in run.rules.values()}]
        found += [at + stale_after for at in read if at is not None]
        found += [dip + within for state in run.rules.values() if state.dips for dip in state.dips]
    return min((at for at in found if at > now), default=None)


def _when(look: LookView) -> Instant:
    return look.at


def _card_views(bed: BedState) -> Iterator[EmergencyCardView]:
    for name, use in sorted(bed.emergency_cards.items()):
        ticks = tuple(TickView(step=step, at=tick.at, by=tick.by) for step, tick in sorted(use.ticks.items()))
        until = use.last_at + emergency.CARD_MS
        yield EmergencyCardView(card=name, title=use.title, version=use.version, until=until, ticks=ticks)


def _transport_view(bed: BedState) -> TransportView | None:
    transport = bed.transport
    if transport is None:
        return None
    return TransportView(
        leader=transport.leader,
        began=transport.began,
        back=transport.back,
        ended_at=transport.ended_at,
        destination=transport.destination,
        departure=dict(transport.departure),
        missing=transports.unticked(bed, transport),
        gas_empty_at=gas.empty_at(transport.cylinder),
        silent_since=transport.silent_since,
    )


def _audio_view(handling: Handling, bed: BedState) -> AudioPauseView | None:
    paused = bed.audio_paused
    if paused is None or paused.until <= handling.now:
        return None
    return AudioPauseView(by=paused.by, until=paused.until)


def unit_view(handling: Handling, due: Sequence[DueView]) -> UnitView:
    """Give what belongs to no bed, with what is ``due`` at the beds.

    The hub adds what only it knows (its record, its speed).
    """
    unit, roster = handling.unit, handling.state.unit.roster
    live, known = feeds_of(handling.state.beds.values())
    return UnitView(
        name=unit.name,
        drill=unit.drill,
        beds=tuple(bed.label for bed in unit.beds),
        cover=tuple(_cover_view(roster, rung, person) for rung, person in sorted(roster.rungs.items())),
        roster=roster_view(handling),
        equipment=equipment_view(handling),
        deputy=roster.deputy,
        people=tuple(
            PersonView(
                name=p.name,
                label=p.label,
                role=p.role.value,
                in_unit=p.in_unit,
                phone=p.phone,
                looks_on=p.looks_on,
            )
            for p in unit.people
        ),
        episodes=episode_views(handling, handling.state.unit),
        beyond=tuple(
            BeyondView(number=one.number, at=one.at, person=one.person, bed=one.bed, what=one.what, why=one.why)
            for one in handling.state.unit.beyond
        ),
        due=tuple(due),
        configuration_seen=dict(handling.state.unit.configuration_seen),
        feeds_live=live,
        feeds_known=known,
    )


def feeds_of(beds: Iterable[BedState]) -> tuple[int, int]:
    """Give how many of some beds are read by a feed now, and how many should be."""
    known = [bed for bed in beds if bed.runs and not bed.by_sets]
    live = [bed for bed in known if not any(run.timed for run in bed.runs.values()) and _was_read(bed)]
    return len(live), len(known)


def _cover_view(roster: RosterState, rung: int, person: str | None) -> CoverView:
    away = roster.away.get(person) if person is not None else None
    return CoverView(
        rung=rung,
        person=person,
        empty_since=roster.empty_since.get(rung),
        unreachable_until=away.until if away is not None else None,
        instead=roster.stands.get(str(rung)) if away is not None else None,
    )


def _was_read(bed: BedState) -> bool:
    return all(run.last_reading_at is not None for run in bed.runs.values())


def _run_view(handling: Handling, run: RunState, before: RunView | None) -> RunView:
    rests_on: dict[str, object] = {
        "description": run.description,
        "targets": dict(run.targets),
        "baseline": _values(run.run_baselines.items()),
        "order_baseline": _values(run.order_baselines.items()),
    }
    shown = rests_on | {
        "limits": _limits(handling, run),
        "settable": _settable_again(run, before, rests_on) or tuple(_settable(handling, run)),
        "call_me": tuple(_call_me_view(quantity, asked) for quantity, asked in sorted(run.call_me.items())),
        "device_since": dict(run.devices),
        "device_due": devices_due(handling.equipment, run.devices),
        "trial": _trial_view(run.trial),
        "battery_empty_at": _battery_empty_at(handling, run),
        "rounds": tuple(_rounds(handling, run)),
        "findings": {handling.rounds.words_of(item): note for item, note in run.findings.items()},
        "owed": dict(run.owed),
        "off_support": _off_support_view(run.off_support),
    }
    return before if before is not None and vars(before) == shown else RunView.model_validate(shown)


def _off_support_view(off: OffSupport | None) -> OffSupportView | None:
    return OffSupportView(by=off.by, since=off.since) if off is not None else None


def _rounds(handling: Handling, run: RunState) -> Iterator[RoundView]:
    for kind in RoundKind:
        due, done = rounds.due_at(handling, run, kind), run.rounds.get(kind)
        if due is not None:
            yield _round_view(kind, done.at if done else None, done.by if done else None, due)


@lru_cache(maxsize=4_096)
def _round_view(kind: RoundKind, done_at: Instant | None, by: str | None, due_at: Instant) -> RoundView:
    """Make the view of a round once: it changes when one is done."""
    return RoundView(kind=kind, done_at=done_at, by=by, due_at=due_at)


def _battery_empty_at(handling: Handling, run: RunState) -> Instant | None:
    """Give when the battery is empty as the rules last projected it; in whole minutes, for a quiet view."""
    states = [state for rule in handling.projections if (state := run.rules.get(rule)) is not None]
    ends = [
        state.judged_at + state.value * MINUTE for state in states if state.judged_at and state.value is not None
    ]
    return int(min(ends) // MINUTE) * MINUTE if ends else None


def _settable_again(
    run: RunState, before: RunView | None, rests_on: Mapping[str, object]
) -> tuple[LimitView, ...] | None:
    """Give what can be set as it was shown, where it rests on the same and nothing is or was set or proposed."""
    if before is None or run.own_limits or run.proposals:
        return None
    shown = vars(before)
    if any(shown[name] != value for name, value in rests_on.items()):
        return None
    if any(one.own is not None or one.proposed is not None for one in before.settable):
        return None
    return before.settable


def _settable(handling: Handling, run: RunState) -> Iterator[LimitView]:
    """Give the limits that can be set for this bed, in table order."""
    for rule in handling.settable:
        if rule.id not in run.rules:
            continue
        scale = reference_of(run, rule.quantity, rule.of)
        own = run.own_limits.get(rule.id)
        priority = rule.priority_by_support.get(run.description.support, rule.priority)
        default = None if scale is None else default_share(rule, run) * scale
        proposed = _proposal_view(run.proposals.get(rule.id))
        above = rule.above is not None
        yield _limit_view(rule.id, priority, rule.quantity, above, default, _own_view(own), proposed)


@lru_cache(maxsize=4_096, typed=True)
def _limit_view(
    rule: str,
    priority: Priority,
    quantity: Quantity,
    above: bool,
    default: float | None,
    own: OwnLimitView | None,
    proposed: ProposalView | None,
) -> LimitView:
    """Make the view of a limit once: it seldom changes, and is looked at every second."""
    return LimitView(
        rule=rule, priority=priority, quantity=quantity, above=above, default=default, own=own, proposed=proposed
    )


def _proposal_view(one: Proposal | None) -> ProposalView | None:
    if one is None:
        return None
    return ProposalView(value=one.value, by=one.by, at=one.at, until=one.until, reason=one.reason, ends=one.ends)


def _own_view(own: OwnLimit | None) -> OwnLimitView | None:
    if own is None:
        return None
    return OwnLimitView(
        value=own.value, by=own.by, second=own.second, since=own.since, until=own.until, reason=own.reason
    )


def _trial_view(trial: Trial | None) -> TrialView | None:
    if trial is None:
        return None
    return TrialView(
        kind=trial.kind,
        by=trial.by,
        second=trial.second,
        began=trial.began,
        until=trial.until,
        floor_flow=trial.floor_flow,
    )


def _call_me_view(quantity: Quantity, asked: CallMeState) -> CallMeView:
    return CallMeView(quantity=quantity, **asdict(asked))


def _values(baselines: Iterable[tuple[Quantity, Baseline]]) -> dict[Quantity, float]:
    return {quantity: baseline.value for quantity, baseline in baselines if baseline.value is not None}


def _limits(handling: Handling, run: RunState) -> dict[Quantity, tuple[float | None, float | None]]:
    """Give the nearest limit on either side of each quantity, of the medium and high rules at this run."""
    found: dict[Quantity, tuple[float | None, float | None]] = {}
    for rule in handling.edges:
        state = run.rules.get(rule.id)
        if state is None or state.limit is None:
            continue
        low, high = found.get(rule.quantity, (None, None))
        if rule.above is not None:
            high = state.limit if high is None else min(high, state.limit)
        else:
            low = state.limit if low is None else max(low, state.limit)
        found[rule.quantity] = (low, high)
    return found


_ORDER = {quantity: place for place, quantity in enumerate(Quantity)}
#: What either of two pumps may bring; of what is a pump's own, the other's says nothing.
_OF_PATIENT = frozenset(quantity for quantity, entry in CATALOGUE.items() if entry.scope is Scope.BED)


def _not_watched(bed: BedState) -> tuple[str, ...]:
    labels: dict[str, None] = {}
    for run in bed.runs.values():
        usual = DEFAULT_SENSORS[run.description.support]
        for quantity in sorted(usual - run.description.sensors, key=_ORDER.__getitem__):
            labels[label_at(quantity, run.description)] = None
    if len(bed.runs) == 2:  # the patient's own readings come once, with either run
        both = frozenset().union(*(run.description.sensors for run in bed.runs.values()))
        for quantity in both & _OF_PATIENT:
            labels.pop(CATALOGUE[quantity].label, None)
    return tuple(labels)


def _notes(handling: Handling, bed: BedState, timings: Timings) -> tuple[str, ...]:
    notes: list[str] = []
    begin = handling.now - ms(timings.dips_within_s)
    for run in bed.runs.values():
        if not any(state.dips for state in run.rules.values()):
            continue
        for rule in handling.watch.limits.rules:
            if not (isinstance(rule, LimitRule) and rule.counts_dips) or rule.id not in run.rules:
                continue
            dips = sum(moment > begin for moment in run.rules[rule.id].dips)
            if dips >= timings.dips_noted:
                notes.append(
                    say("{dips} short dips in {minutes} min", dips=dips, minutes=round(timings.dips_within_s / 60))
                )
    for run in bed.runs.values():
        signal = run.signals.get(Quantity.PUMP_FLOW)
        if signal and signal.estimated:
            side = f" ({SUPPORT_LABEL[run.description.support]})" if len(bed.runs) > 1 else ""
            notes.append(say("Flow estimated{side}: low flow not watched", side=side))
    return tuple(notes)
