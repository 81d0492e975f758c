"""Call me if: somebody on call wants to be called when a value is below or above a number, until a moment.

What comes of it is a medium alert of its own: the one who asked is called at once, and the ladder of a medium goes
on beside, so that a page that is not heard is no hole.
"""

from collections.abc import Iterator

from monitor.core.alerts import ladder as climb
from monitor.core.alerts.calls import run_ladder
from monitor.core.alerts.episodes import Onset, end_alert, raise_alert
from monitor.core.bed_commands import DropCallMe, SetCallMe
from monitor.core.bedside.possible import not_possible
from monitor.core.entries import EntryKind
from monitor.core.grades import Rung
from monitor.core.handling import Handling, cannot_stand, person_label
from monitor.core.judging.plan import call_me_key, plan_anew
from monitor.core.judging.verdict import Verdict, fitted
from monitor.core.roster.cover import rung_of
from monitor.core.rules import LimitRule
from monitor.core.state import AlertState, BedState, CallMeState, RunState
from monitor.core.titles import number
from shared.instant import HOUR, Instant
from shared.language.saying import say
from shared.quantities import CATALOGUE, Quantity
from shared.support import label_at


def set_call_me(handling: Handling, command: SetCallMe) -> str | None:
    """Write down who wants to be called, and for what. Gives a reason where that cannot be."""
    bed = handling.state.beds.get(command.bed)
    run = bed.runs.get(command.slot) if bed else None
    if bed is None or run is None:
        return say("no run is open at {bed}, pump {slot}", slot=command.slot, bed=command.bed)
    if not fitted(run, command.quantity):
        return say(
            "{label} is not fitted at {bed}",
            label=label_at(command.quantity, run.description),
            bed=command.bed,
        )
    limit = command.below if command.below is not None else command.above
    assert limit is not None  # the model admits exactly one
    refusal = not_possible(command.quantity, limit, run.description)
    if refusal is not None:
        return refusal
    refusal = cannot_stand(handling, command.calls)
    if refusal is not None:
        return refusal
    longest = handling.ladder.own_limits.at_most_h
    if not handling.now < command.until <= handling.now + round(longest * HOUR):
        return say("a call-me-if ends within {longest:g} h", longest=longest)
    _forget(handling, bed, run, command.quantity)
    asked = CallMeState(command.below, command.above, command.calls, command.person, command.until, command.note)
    run.call_me[command.quantity] = asked
    _plan(handling, run)
    note = f": {command.note}" if command.note else ""
    handling.write(
        EntryKind.CALL_ME_SET,
        bed.label,
        slot=command.slot,
        person=command.calls,
        told_to=command.person,
        command=command.id,
        limit=limit,
        until=command.until,
        text=say(
            "Call {who} if {words}{note}",
            who=person_label(handling, asked.calls),
            words=words_of(run, command.quantity, asked),
            note=note,
        ),
    )
    return None


def drop_call_me(handling: Handling, command: DropCallMe) -> str | None:
    """Take a call-me-if back."""
    bed = handling.state.beds.get(command.bed)
    run = bed.runs.get(command.slot) if bed else None
    if bed is None or run is None or command.quantity not in run.call_me:
        label = CATALOGUE[command.quantity].label if run is None else label_at(command.quantity, run.description)
        return say("nobody has asked for a call for {label} at {bed}", label=label, bed=command.bed)
    _end(handling, bed, run, command.quantity, command.person, command.id)
    return None


def due_times(bed: BedState) -> Iterator[Instant]:
    """Give when a call-me-if ends."""
    for run in bed.runs.values():
        yield from (asked.until for asked in run.call_me.values())


def speak(handling: Handling, bed: BedState) -> None:
    """End what is over."""
    for run in bed.runs.values():
        for quantity, asked in list(run.call_me.items()):
            if asked.until <= handling.now:
                _end(handling, bed, run, quantity, None, None)


def call(handling: Handling, bed: BedState, run: RunState, rule: LimitRule, verdict: Verdict) -> AlertState:
    """Raise the alert of a call-me-if, and call the one who asked at once."""
    asked = run.call_me[rule.quantity]
    value = number(verdict.value or 0.0, CATALOGUE[rule.quantity].decimals)
    title = f"{label_at(rule.quantity, run.description)} {value}: call {person_label(handling, asked.calls)}"[:60]
    slot = run.description.slot
    alert = raise_alert(handling, Onset(rule, bed.label, slot, verdict.value, verdict.limit, title=title))
    episode = bed.episodes[alert.episode or 0]
    assert episode.ladder is not None  # a medium was just raised in it
    rung = rung_of(handling.state.unit.roster, asked.calls, bed.label) or Rung.CHARGE
    climb.bring_forward(episode.ladder, rung, handling.now)
    run_ladder(handling, bed, episode)
    return alert


def words_of(run: RunState, quantity: Quantity, asked: CallMeState) -> str:
    """Give what was asked for: "Flow below 3.5 L/min"."""
    spec = CATALOGUE[quantity]
    limit = asked.below if asked.below is not None else asked.above
    label = label_at(quantity, run.description)
    side = say("{label} below", label=label) if asked.below is not None else say("{label} above", label=label)
    return f"{side} {number(limit or 0.0, spec.decimals)} {spec.unit}".rstrip()


def _end(
    handling: Handling, bed: BedState, run: RunState, quantity: Quantity, person: str | None, command: str | None
) -> None:
    asked = run.call_me[quantity]
    _forget(handling, bed, run, quantity)
    handling.write(
        EntryKind.CALL_ME_ENDED,
        bed.label,
        slot=run.description.slot,
        person=person,
        command=command,
        text=say(
            "No longer: call {who} if {words}",
            who=person_label(handling, asked.calls),
            words=words_of(run, quantity, asked),
        ),
    )


def _forget(handling: Handling, bed: BedState, run: RunState, quantity: Quantity) -> None:
    if run.call_me.pop(quantity, None) is None:
        return
    state = run.rules.pop(call_me_key(quantity))
    _plan(handling, run)
    alert = bed.alerts.get(state.alert) if state.alert is not None else None
    if alert is not None and alert.present:
        end_alert(handling, alert)


def _plan(handling: Handling, run: RunState) -> None:
    plan_anew(handling.watch.limits.rules, run, handling.watch.call_me)
