"""Limits that a bedside nurse proposes: stored, shown, and never in force before somebody who may set them accepts.

A proposal lapses at the end of the shift in which it was made, or when the limit itself would have ended. A rule of
a run has one proposal, the newest. A rule of high priority needs its second person when it is accepted, and the one
who proposed is not that person.
"""

from collections.abc import Iterator

from monitor.core.bed_commands import AnswerProposal, ProposeLimit, SetLimit
from monitor.core.bedside.own_limits import limit_for, said, set_limit
from monitor.core.entries import EntryKind
from monitor.core.handling import Handling, person_label
from monitor.core.state import BedState, Proposal, RunState
from monitor.core.titles import rule_name
from shared.instant import HOUR, Instant
from shared.language.saying import say, to_say

#: How long a proposal stands where no shift is planned.
_STANDS_MS = 12 * HOUR


def propose(handling: Handling, command: ProposeLimit) -> str | None:
    """Write a proposal down. Gives a reason where that limit could not be set."""
    found = limit_for(handling, command)
    if isinstance(found, str):
        return found
    run, rule = found
    shift = handling.shifts.at(handling.now)
    ends = min(command.until, shift.ends if shift is not None else handling.now + _STANDS_MS)
    run.proposals[rule.id] = Proposal(
        command.value, command.person, handling.now, command.until, command.reason, ends
    )
    why = f": {command.reason}" if command.reason else ""
    handling.write(
        EntryKind.LIMIT_PROPOSED,
        command.bed,
        slot=command.slot,
        rule=rule.id,
        person=command.person,
        command=command.id,
        limit=command.value,
        until=command.until,
        text=say("Proposed, not in force: {said}{why}", said=said(handling, run, rule.id, command.value), why=why),
    )
    return None


def answer(handling: Handling, command: AnswerProposal) -> str | None:
    """Accept a proposal, which sets the limit, or refuse it. Gives a reason where that cannot be."""
    bed = handling.state.beds.get(command.bed)
    run = bed.runs.get(command.slot) if bed else None
    found = run.proposals.get(command.rule) if run is not None else None
    if run is None or found is None:
        return say("no limit of {rule} is proposed for {bed}", rule=rule_name(command.rule), bed=command.bed)
    if (found.value, found.until) != (command.value, command.until):
        return say("another limit is proposed since: look again")
    if command.accept:
        fields = command.model_dump(include={"id", "person", "bed", "slot", "rule", "value", "until", "second"})
        refusal = set_limit(handling, SetLimit(**fields, reason=found.reason))
        if refusal is not None:
            return refusal
    how = to_say("Proposal of {by} refused")
    if command.accept:
        how = to_say("Proposal of {by} accepted")
    elif command.person == found.by:
        how = to_say("Proposal taken back")
    _end(handling, command.bed, run, command.rule, how, command)
    return None


def due_times(bed: BedState) -> Iterator[Instant]:
    """Give when proposals lapse."""
    for run in bed.runs.values():
        yield from (one.ends for one in run.proposals.values())


def speak(handling: Handling, bed: BedState) -> None:
    """Let lapse what was not answered in time."""
    for run in bed.runs.values():
        for rule, one in list(run.proposals.items()):
            if one.ends <= handling.now:
                _end(handling, bed.label, run, rule, to_say("Proposal of {by} lapsed without an answer"), None)


def _end(handling: Handling, bed: str, run: RunState, rule: str, how: str, command: AnswerProposal | None) -> None:
    one = run.proposals.pop(rule)
    by = person_label(handling, one.by)
    why = f": {command.reason}" if command is not None and command.reason else ""
    handling.write(
        EntryKind.PROPOSAL_ENDED,
        bed,
        slot=run.description.slot,
        rule=rule,
        person=command.person if command is not None else None,
        command=command.id if command is not None else None,
        limit=one.value,
        text=f"{say(how, by=by)}: {said(handling, run, rule, one.value)}{why}",
    )
