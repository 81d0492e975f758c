"""Trials: limits that an ordered trial sets aside for a while, its own limits instead, and a hard end.

A trial suspends by its kind what the table below names; everything else stays on. An alert that was open before
goes on until its own readings end it. The end comes at its time whether anybody ends the trial or not.
"""

from collections.abc import Iterator, Mapping
from fnmatch import fnmatchcase
from types import MappingProxyType

from monitor.core.commands import EndTrial, StartTrial
from monitor.core.entries import EntryKind
from monitor.core.grades import TrialKind
from monitor.core.handling import Handling
from monitor.core.ladder_table import Trials
from monitor.core.state import BedState, RunState, Trial
from monitor.core.titles import number
from shared.instant import MINUTE, Instant, ms
from shared.language.saying import say, to_say
from shared.quantities import Quantity

_TURN_DOWN = ("flow_low", "flow_very_low", "flow_floor", "flow_unsteady", "yield_low")

SUSPENDS: Mapping[TrialKind, tuple[str, ...]] = MappingProxyType(
    {
        TrialKind.TURN_DOWN: _TURN_DOWN,
        TrialKind.RETROGRADE: (*_TURN_DOWN, "flow_none", "resistance_*", "inlet_*"),
        TrialKind.SWEEP_OFF: ("sweep_*",),
        TrialKind.CLAMP: ("flow_*",),
    }
)

WORDS: Mapping[TrialKind, str] = MappingProxyType(
    {
        TrialKind.TURN_DOWN: to_say("turn-down"),
        TrialKind.RETROGRADE: to_say("retrograde"),
        TrialKind.SWEEP_OFF: to_say("sweep off"),
        TrialKind.CLAMP: to_say("clamp"),
    }
)


def start_trial(handling: Handling, command: StartTrial) -> str | None:
    """Start a trial with a second person and a hard end. Gives a reason where that cannot be."""
    bed = handling.state.beds.get(command.bed)
    run = bed.runs.get(command.slot) if bed else None
    if run is None:
        return say("no run is open at {bed}, pump {slot}", slot=command.slot, bed=command.bed)
    if run.trial is not None:
        return say("a {words} trial is open: end it first", words=WORDS[run.trial.kind])
    longest = handling.ladder.trials.at_most_min
    if not handling.now < command.until <= handling.now + round(longest * MINUTE):
        return say("a trial ends within {longest:g} min", longest=longest)
    second = handling.people.get(command.second)
    if second is None or second.name == command.person or second.looks_on:
        return say("a trial is started by two people")
    if command.trial is TrialKind.TURN_DOWN and command.floor_flow is None:
        return say("a turn-down trial needs its floor flow")
    target = run.targets.get(Quantity.PUMP_FLOW)
    if command.floor_flow is not None and target is not None and command.floor_flow >= target:
        return say(
            "a floor of {floor_flow:g} L/min is not below the target of {target:g} L/min",
            floor_flow=command.floor_flow,
            target=target,
        )
    suspended = [
        rule for rule in run.rules if any(fnmatchcase(rule, pattern) for pattern in SUSPENDS[command.trial])
    ]
    run.trial = Trial(
        command.trial, command.person, handling.now, command.until, command.floor_flow, suspended, command.second
    )
    looked = say("looked at") if command.anticoagulation else say("not known")
    handling.write(
        EntryKind.TRIAL_STARTED,
        command.bed,
        slot=command.slot,
        person=command.person,
        told_to=command.second,
        command=command.id,
        until=command.until,
        text=say("{words}; last anticoagulation value {looked}", words=words_of(run.trial), looked=looked),
    )
    return None


def end_trial(handling: Handling, command: EndTrial) -> str | None:
    """End a trial before its time: the limits return."""
    bed = handling.state.beds.get(command.bed)
    run = bed.runs.get(command.slot) if bed else None
    if run is None or run.trial is None:
        return say("no trial is open at {bed}, pump {slot}", slot=command.slot, bed=command.bed)
    trial, run.trial = run.trial, None
    _ended(handling, command.bed, command.slot, trial, command.person, command.id)
    return None


def due_times(bed: BedState, table: Trials) -> Iterator[Instant]:
    """Give when a trial next says something: a countdown, or its end."""
    for run in bed.runs.values():
        if run.trial is not None:
            yield run.trial.until
            yield from (at for at in _countdowns(run.trial, table) if at not in run.trial.told)


def speak(handling: Handling, bed: BedState) -> None:
    """Count down to the one who started it, and end what is over."""
    for slot, run in bed.runs.items():
        trial = run.trial
        if trial is None:
            continue
        due = [at for at in _countdowns(trial, handling.ladder.trials) if at <= handling.now]
        if trial.until > handling.now and any(at not in trial.told for at in due):
            left = max(1, round((trial.until - handling.now) / MINUTE))  # late after a restart: what is left now
            text = say("Trial {words} ends in {left} min", words=WORDS[trial.kind], left=left)
            handling.write(EntryKind.NOTE, bed.label, slot=slot, person=trial.by, text=text)
        trial.told = due
        if trial.until <= handling.now:
            run.trial = None
            _ended(handling, bed.label, slot, trial, None, None)


def watch_dwell(handling: Handling, bed: BedState, run: RunState) -> None:
    """Remind once that flow has been low for a while in a turn-down; again only after it was higher."""
    trial, table = run.trial, handling.ladder.trials
    signal = run.signals.get(Quantity.PUMP_FLOW)
    if trial is None or trial.kind is not TrialKind.TURN_DOWN or not signal:
        return
    if signal.last > table.dwell_again_above:
        trial.low_since, trial.reminded = None, False
    elif signal.last <= table.dwell_flow and trial.low_since is None:
        trial.low_since = signal.last_at
    if trial.low_since is None or trial.reminded or signal.last_at - trial.low_since < ms(table.dwell_s):
        return
    trial.reminded = True
    flow, minutes = number(table.dwell_flow, 1), round(table.dwell_s / 60)
    text = say("At most {flow} L/min for {minutes} min", flow=flow, minutes=minutes)
    handling.write(EntryKind.NOTE, bed.label, slot=run.description.slot, person=trial.by, text=text)


def words_of(trial: Trial) -> str:
    """Give what a tile says of an open trial."""
    floor = (
        say(", floor {number} L/min", number=number(trial.floor_flow, 1)) if trial.floor_flow is not None else ""
    )
    return say("Trial: {words}{floor}", words=WORDS[trial.kind], floor=floor)


def _countdowns(trial: Trial, table: Trials) -> list[Instant]:
    times = [trial.until - round(minutes * MINUTE) for minutes in table.countdown_min]
    return [at for at in times if at > trial.began]


def _ended(handling: Handling, bed: str, slot: int, trial: Trial, person: str | None, command: str | None) -> None:
    ended = say("Trial ended: {words}", words=WORDS[trial.kind])
    text = ended if person else say("{ended}, by its time; limits return", ended=ended)
    by = {"person": person, "command": command}
    handling.write(EntryKind.TRIAL_ENDED, bed, slot=slot, until=trial.until, text=text, **by)
