"""A bed's own limits: owner, reason, and an end at which the default stands again, to the second.

Only a rule with one edge can have one, and never a circuit-critical one. A rule of high priority needs a second
person. Nothing here widens by itself: a limit is a number that people gave, for a time.
"""

from collections.abc import Iterator

from monitor.core.bed_commands import DropLimit, ProposeLimit, SetLimit
from monitor.core.bedside.possible import not_possible
from monitor.core.entries import EntryKind
from monitor.core.grades import Priority
from monitor.core.handling import Handling, person_label
from monitor.core.ladder_table import OwnLimits
from monitor.core.roles.table import Act, may_freely
from monitor.core.rules import LimitRule, RuleBase
from monitor.core.state import BedState, OwnLimit, RunState
from monitor.core.titles import number, rule_name
from shared.instant import HOUR, MINUTE, Instant
from shared.language.saying import say
from shared.quantities import CATALOGUE
from shared.support import label_at


def may_be_set(rule: RuleBase, run: RunState) -> bool:
    """Tell whether a bed can have a limit of its own for a rule."""
    return isinstance(rule, LimitRule) and rule.is_settable and rule.id in run.rules


def set_limit(handling: Handling, command: SetLimit) -> str | None:
    """Set a bed's own limit. Gives a reason where that cannot be."""
    found = limit_for(handling, command)
    if isinstance(found, str):
        return found
    run, rule = found
    refusal = _people(handling, rule, run, command)
    if refusal is not None:
        return refusal
    run.own_limits[rule.id] = OwnLimit(
        command.value, command.person, command.second, handling.now, command.until, command.reason
    )
    second = say(", with {second}", second=person_label(handling, command.second)) if command.second else ""
    why = f": {command.reason}" if command.reason else ""
    handling.write(
        EntryKind.LIMIT_SET,
        command.bed,
        slot=command.slot,
        rule=rule.id,
        priority=_priority(rule, run),
        person=command.person,
        command=command.id,
        limit=command.value,
        until=command.until,
        text=say("Own limit: {said}", said=said(handling, run, rule.id, command.value)) + second + why,
    )
    return None


def limit_for(handling: Handling, command: SetLimit | ProposeLimit) -> tuple[RunState, LimitRule] | str:
    """Give the run and the rule of a limit that is to be set or proposed, or why it cannot be."""
    bed = handling.state.beds.get(command.bed)
    run = bed.runs.get(command.slot) if bed else None
    if run is None:
        return say("no run is open at {bed}, pump {slot}", slot=command.slot, bed=command.bed)
    rule = handling.rules.get(command.rule)
    if rule is None or not isinstance(rule, LimitRule) or not may_be_set(rule, run):
        return say("{rule} has no limit that can be set for {bed}", rule=command.rule, bed=command.bed)
    return not_possible(rule.quantity, command.value, run.description) or _time(handling, command) or (run, rule)


def drop_limit(handling: Handling, command: DropLimit) -> str | None:
    """Let the default stand again before the time."""
    bed = handling.state.beds.get(command.bed)
    run = bed.runs.get(command.slot) if bed else None
    if run is None or command.rule not in run.own_limits:
        return say("{bed} has no own limit for {rule}", bed=command.bed, rule=rule_name(command.rule))
    _end(handling, command.bed, command.slot, run, command.rule, command.person, command.id)
    return None


def due_times(bed: BedState, table: OwnLimits) -> Iterator[Instant]:
    """Give when an own limit is next announced to end, or ends."""
    for run in bed.runs.values():
        for own in run.own_limits.values():
            yield own.until
            if not own.told:
                yield _told_at(own, table)


def speak(handling: Handling, bed: BedState) -> None:
    """Announce ends that come near, and end what is over."""
    table = handling.ladder.own_limits
    for slot, run in bed.runs.items():
        for rule_id, own in list(run.own_limits.items()):
            if own.until <= handling.now:
                _end(handling, bed.label, slot, run, rule_id, None, None)
            elif not own.told and _told_at(own, table) <= handling.now:
                own.told = True
                left = round((own.until - handling.now) / MINUTE)
                text = say(
                    "Own limit ends in {left} min: {said}; the default returns",
                    left=left,
                    said=said(handling, run, rule_id, own.value),
                )
                handling.write(EntryKind.NOTE, bed.label, slot=slot, rule=rule_id, person=own.by, text=text)


def side_of(rule: LimitRule, run: RunState) -> str:
    """Give a rule's quantity and side in words: "Flow below"."""
    label = label_at(rule.quantity, run.description)
    return say("{label} above", label=label) if rule.above is not None else say("{label} below", label=label)


def _told_at(own: OwnLimit, table: OwnLimits) -> Instant:
    return max(own.since, own.until - round(table.told_before_min * MINUTE))


def _end(
    handling: Handling, bed: str, slot: int, run: RunState, rule_id: str, person: str | None, command: str | None
) -> None:
    own = run.own_limits.pop(rule_id)
    how = say("taken back") if person else say("by its time")
    text = say(
        "Own limit ended, {how}: {said}; the default stands", how=how, said=said(handling, run, rule_id, own.value)
    )
    handling.write(
        EntryKind.LIMIT_ENDED,
        bed,
        slot=slot,
        rule=rule_id,
        person=person,
        command=command,
        limit=own.value,
        text=text,
    )


def said(handling: Handling, run: RunState, rule_id: str, value: float) -> str:
    """Give a limit of a rule in words: "Flow below 2.0 L/min"."""
    rule = handling.rules.get(rule_id)
    if not isinstance(rule, LimitRule):  # the rule is gone from the unit's limits since
        return f"{rule_name(rule_id)} {value:g}"
    return f"{side_of(rule, run)} {_put(rule, value)} {CATALOGUE[rule.quantity].unit}".rstrip()


def _put(rule: LimitRule, value: float) -> str:
    return number(value, CATALOGUE[rule.quantity].decimals)


def _priority(rule: LimitRule, run: RunState) -> Priority:
    return rule.priority_by_support.get(run.description.support, rule.priority)


def _time(handling: Handling, command: SetLimit | ProposeLimit) -> str | None:
    longest = handling.ladder.own_limits.at_most_h
    if handling.now < command.until <= handling.now + round(longest * HOUR):
        return None
    return say("an own limit ends within {longest:g} h", longest=longest)


def _people(handling: Handling, rule: LimitRule, run: RunState, command: SetLimit) -> str | None:
    if _priority(rule, run) is not Priority.HIGH and command.second is None:
        return None
    second = handling.people.get(command.second or "")
    if second is None or second.name == command.person or not may_freely(Act.LIMITS, second.roles):
        return say(
            "a second person who may change limits, another one: the limit of a high rule is set by two people"
        )
    return None
