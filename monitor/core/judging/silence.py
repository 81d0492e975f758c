"""What speaks when nothing is read: a feed that is missing, a set that is overdue, a board that is blind, a rung
that is empty. These follow the time, not the readings.
"""

from collections.abc import Iterator

from monitor.core.alerts.episodes import Onset, end_alert, raise_alert
from monitor.core.entries import EntryKind
from monitor.core.grades import Rung
from monitor.core.handling import Handling
from monitor.core.judging.silences import Silences
from monitor.core.roster.cover import hole_words
from monitor.core.rules import BoardBlindRule, MissingRule, OverdueRule
from monitor.core.state import BedState, EngineState, RunState
from shared.instant import MINUTE, Instant, ms
from shared.language.saying import say
from shared.messages import Observation

#: Beds that fall silent within this time of one another fell silent together.
TOGETHER_MS = 5_000
#: How many of its silences a run remembers.
GAPS_KEPT = 100


def limit_ms(rule: MissingRule | OverdueRule, bed: BedState, stale: bool = False) -> int:
    """Give the silence that a rule allows a bed: its delay, or its number of intervals if that is longer.

    A transport allows more; nothing is judged from then on all the same (``stale``).
    """
    if isinstance(rule, MissingRule):
        away = bed.transport is not None and bed.transport.ended_at is None
        usual = max(ms(rule.delay_s), round(rule.intervals * bed.interval_ms))
        return max(usual, ms(rule.in_transport_s)) if away and not stale else usual
    return ms(rule.delay_s)


def stale_after_ms(silences: Silences, bed: BedState) -> int:
    """Give the age from which nothing is judged at a bed."""
    return max((limit_ms(rule, bed, stale=True) for rule in silences.of(bed)), default=120_000)


def is_stale(silences: Silences, bed: BedState, observation: Observation, now: Instant) -> bool:
    """Tell whether what a feed read is too old to speak of now: told after a gap, it is for the trends alone."""
    by_feed = observation.by is None and not bed.by_sets
    return by_feed and now - observation.read_at > stale_after_ms(silences, bed)


def quiet_since(run: RunState) -> Instant:
    """Give the time of the last reading, but never one before the run began here: nobody was listening then."""
    return run.started_at if run.last_reading_at is None else max(run.last_reading_at, run.started_at)


def due_times(silences: Silences, bed: BedState) -> Iterator[Instant]:
    """Give when the rules of silence next speak at a bed."""
    for rule in silences.of(bed):
        for run in bed.runs.values():
            if rule.id not in run.timed:
                yield quiet_since(run) + limit_ms(rule, bed)
        listed = _listed_at(rule, bed)
        if listed is not None:
            yield listed


def unit_due_times(silences: Silences, state: EngineState) -> Iterator[Instant]:
    """Give when an empty rung next becomes an alert, or a blind board may see again."""
    if state.unit.sees_again_at is not None:
        yield state.unit.sees_again_at
    for rung, since in state.unit.roster.empty_since.items():
        for rule in silences.uncovered:
            if rung in rule.rungs and rung not in state.unit.uncovered:
                yield since + ms(rule.delay_s)


def speak(handling: Handling) -> None:
    """Raise whatever has become due by now."""
    fallen: list[tuple[MissingRule | OverdueRule, BedState, int]] = []
    for bed in handling.state.beds.values():
        for rule in handling.silences.of(bed):
            for slot, run in bed.runs.items():
                if rule.id not in run.timed and quiet_since(run) + limit_ms(rule, bed) <= handling.now:
                    fallen.append((rule, bed, slot))
    for bed in handling.state.beds.values():
        _list_silent(handling, bed)
    for rule, bed, slot in fallen:
        bed.runs[slot].timed[rule.id] = 0
        if isinstance(rule, MissingRule):
            handling.write(EntryKind.FEED_LOST, bed.label, slot=slot)
        else:
            _raise(handling, rule, bed, slot)
    sees_again_at = handling.state.unit.sees_again_at
    looks = sees_again_at is not None and sees_again_at <= handling.now
    if looks:
        handling.state.unit.sees_again_at = None
    if looks or any(isinstance(rule, MissingRule) for rule, _, _ in fallen):
        _settle_blindness(handling)
    _speak_for_cover(handling)


def heard(handling: Handling, bed: BedState, slot: int, read_at: Instant) -> None:
    """A newer reading came: what the silence had raised ends, but for what a late set leaves overdue."""
    run = bed.runs[slot]
    listed = bed.transport.silent_since if bed.transport is not None else None
    if bed.transport is not None and listed is not None and not _is_silent_beside(bed, slot, listed):
        bed.transport.silent_since = None
        handling.touch(bed.label)
    if not run.timed:
        return
    was_missing = False
    for rule_id, alert in list(run.timed.items()):
        rule = handling.rules.get(rule_id)  # none: gone from the unit's limits since
        if isinstance(rule, OverdueRule) and read_at + limit_ms(rule, bed) <= handling.now:
            continue
        was_missing |= isinstance(rule, MissingRule) or (rule is None and not bed.by_sets)
        del run.timed[rule_id]
        if alert:
            end_alert(handling, bed.alerts[alert])
    if was_missing:
        handling.write(EntryKind.FEED_BACK, bed.label, slot=slot)
        run.gaps = [*run.gaps, (quiet_since(run), read_at)][-GAPS_KEPT:]
        unit = handling.state.unit
        if unit.blind is not None and unit.sees_again_at is None:
            unit.sees_again_at = handling.now + TOGETHER_MS


def _is_silent_beside(bed: BedState, slot: int, since: Instant) -> bool:
    """Tell whether another pump of the bed is the one that has been silent since then."""
    return any(quiet_since(run) <= since for other, run in bed.runs.items() if other != slot)


def cover_settled(handling: Handling) -> None:
    """End the alerts of rungs that are filled again."""
    unit = handling.state.unit
    for rung, alert in list(unit.uncovered.items()):
        if rung not in unit.roster.empty_since:
            del unit.uncovered[rung]
            end_alert(handling, unit.alerts[alert])


def _listed_at(rule: MissingRule | OverdueRule, bed: BedState) -> Instant | None:
    """Give when a bed in transport without a feed comes on the list of needs, or ``None``."""
    transport = bed.transport
    if transport is None or transport.ended_at is not None or transport.silent_since is not None:
        return None
    if not isinstance(rule, MissingRule) or not bed.runs:
        return None
    return min(quiet_since(run) for run in bed.runs.values()) + ms(rule.on_list_s)


def _list_silent(handling: Handling, bed: BedState) -> None:
    """On a transport silence is expected for a while: no alert, but the list says since when."""
    for rule in handling.silences.of(bed):
        due = _listed_at(rule, bed)
        if due is not None and due <= handling.now and bed.transport is not None:
            bed.transport.silent_since = min(quiet_since(run) for run in bed.runs.values())
            minutes = round((handling.now - bed.transport.silent_since) / MINUTE)
            handling.write(
                EntryKind.NOTE, bed.label, text=say("In transport, no feed for {minutes} min", minutes=minutes)
            )


def _raise(handling: Handling, rule: MissingRule | OverdueRule, bed: BedState, slot: int) -> None:
    run = bed.runs[slot]
    alert = raise_alert(handling, Onset(rule, bed.label, slot))
    run.timed[rule.id] = alert.id


def _missing(handling: Handling) -> tuple[list[tuple[MissingRule, BedState, int]], int]:
    """Give the runs that are missing, with the rule that says so, and how many beds are missing or about to be."""
    rule = next(iter(handling.silences.missing), None)
    runs: list[tuple[MissingRule, BedState, int]] = []
    beds = 0
    if rule is None:  # gone from the unit's limits since
        return runs, beds
    for bed in handling.state.beds.values():
        if bed.by_sets or not bed.runs:
            continue
        runs += [(rule, bed, slot) for slot, run in bed.runs.items() if rule.id in run.timed]
        quiet = [quiet_since(run) + limit_ms(rule, bed) for run in bed.runs.values()]
        beds += min(quiet) <= handling.now + TOGETHER_MS
    return runs, beds


def _settle_blindness(handling: Handling) -> None:
    """Raise one alert for the unit in place of the beds' own, or give it back to them."""
    runs, beds = _missing(handling)
    blind = next((r for r in handling.rules.values() if isinstance(r, BoardBlindRule)), None)
    unit = handling.state.unit
    if blind is not None and runs and beds >= blind.beds:
        if unit.blind is None:
            for rule, bed, slot in runs:
                own = bed.runs[slot].timed[rule.id]
                if own:
                    bed.runs[slot].timed[rule.id] = 0
                    end_alert(handling, bed.alerts[own])
            unit.blind = raise_alert(handling, Onset(blind, None, None)).id
        return
    if unit.blind is not None:
        alert, unit.blind = unit.alerts[unit.blind], None
        end_alert(handling, alert)
    for rule, bed, slot in runs:
        if not bed.runs[slot].timed[rule.id]:
            _raise(handling, rule, bed, slot)


def _speak_for_cover(handling: Handling) -> None:
    unit = handling.state.unit
    for rule in handling.silences.uncovered:
        for rung, since in sorted(unit.roster.empty_since.items()):  # of one moment the lowest first
            due = since + ms(rule.delay_s) <= handling.now
            if due and rung in rule.rungs and rung not in unit.uncovered:
                title = hole_words(handling, Rung(rung))
                alert = raise_alert(handling, Onset(rule, None, None, title=title, rung=Rung(rung)))
                unit.uncovered[rung] = alert.id
