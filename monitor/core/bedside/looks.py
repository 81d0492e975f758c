"""Who looked at a bed, when, and what was usual there at that moment: the next look begins from it."""

from collections.abc import Mapping, Sequence
from statistics import median

from monitor.core.bed_commands import LookedAt, SeeConfiguration
from monitor.core.entries import EntryKind
from monitor.core.handling import Handling
from monitor.core.judging.sets import overdue_ms, readings
from monitor.core.state import BedState, Look, RunState
from shared.instant import HOUR, MINUTE, Instant
from shared.language.saying import say
from shared.quantities import Quantity as Q

#: What is compared with the last look, as the median of this long.
COMPARED = (Q.PUMP_SPEED, Q.PUMP_FLOW, Q.INLET_PRESSURE, Q.OXYGENATOR_RESISTANCE, Q.MEAN_ARTERIAL_PRESSURE)
SPAN_MS = 30 * MINUTE
#: So long is it remembered who looked at a handover card.
_CARDS_KEPT = 24 * HOUR


def looked_at(handling: Handling, command: LookedAt) -> str | None:
    """Write down that a person has looked at a bed, or at its handover card."""
    bed = handling.state.beds.get(command.bed)
    if bed is None:
        return say("there is no bed {bed}", bed=command.bed)
    if command.card:
        bed.cards = {name: at for name, at in bed.cards.items() if at > handling.now - _CARDS_KEPT}
        bed.cards[command.person] = handling.now
        by = {"person": command.person, "command": command.id}
        handling.write(EntryKind.LOOKED, command.bed, text=say("handover card"), **by)
        return None
    far_ms = overdue_ms(handling.silences)
    usual = {slot: usual_of(bed, run, handling.now, far_ms) for slot, run in bed.runs.items()}
    runs = {slot: run.description.run_id for slot, run in bed.runs.items()}
    bed.looks[command.person] = Look(handling.now, runs, usual)
    handling.write(EntryKind.LOOKED, command.bed, person=command.person, command=command.id)
    return None


def saw_configuration(handling: Handling, command: SeeConfiguration) -> str | None:
    """Write down that a person has seen that the configuration was changed."""
    if command.up_to > handling.now:
        return say("what is not yet cannot have been seen")
    handling.state.unit.configuration_seen[command.person] = command.up_to
    by = {"person": command.person, "command": command.id}
    handling.write(EntryKind.CONFIGURATION_SEEN, text=say("Change of the configuration seen"), **by)
    return None


def usual_of(bed: BedState, run: RunState, now: Instant, set_ms: int) -> dict[Q, float]:
    """Give the medians of a run's half hour before ``now``; a quantity that was not read in it has none.

    Where sets are entered by hand: the newest reading, unless it is ``set_ms`` old.
    """
    found: dict[Q, float] = {}
    for quantity in COMPARED:
        minutes = run.minutes.get(quantity)
        if bed.by_sets:
            known = [(at, value) for at, value in readings(run, quantity) if at <= now]
            values = [value for at, value in known[-1:] if now - at < set_ms]
        else:
            past = minutes.since(now - SPAN_MS) if minutes is not None else ()
            values = [value for at, value in past if at < now]
        if values:
            found[quantity] = median(values)
    return found


def look_again(
    bed: BedState,
    run: RunState,
    was: Mapping[Q, float],
    read_at: Instant,
    touched: frozenset[Q],
    times: Sequence[Instant],
    set_ms: int,
) -> None:
    """Put right what looks at a run remembered of a set that was corrected or struck.

    Args:
        was: what the old version said, read at ``read_at``; ``touched``: the quantities of either version.
        times: when either was read.
    """
    slot = run.description.slot
    for look in bed.looks.values():
        if look.runs.get(slot) != run.description.run_id:
            continue
        usual = look.usual[slot]
        if bed.by_sets:
            wrong = frozenset(q for q in touched & usual.keys() if usual[q] == was.get(q) and read_at <= look.at)
        else:
            near = any(look.at - SPAN_MS - MINUTE <= at < look.at for at in times)
            wrong = touched & frozenset(COMPARED if near else ())
        if wrong:
            again = usual_of(bed, run, look.at, set_ms)
            look.usual[slot] = {q: v for q, v in usual.items() if q not in wrong}
            look.usual[slot] |= {q: v for q, v in again.items() if q in wrong}
