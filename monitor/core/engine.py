"""The engine: events and times in, effects out. The one mutable root; everything that it hands out is frozen.

The same events at the same times give the same effects, byte for byte. Whatever is due by the time of an event is
done before the event. Nothing here reads a clock, a file or a socket.
"""

from collections.abc import Iterator, Mapping

from monitor.core import hinting
from monitor.core.alerts import answers, arrivals, audio, episodes, lows, no_answer, reasons
from monitor.core.alerts import ladder as climb
from monitor.core.alerts.alert import Turn
from monitor.core.alerts.calls import run_ladder
from monitor.core.alerts.links import explained_by
from monitor.core.alerts.worse import watch_holds
from monitor.core.bedside import call_me, effects, gas, own_limits, proposals, rounds, runs, transports, trials
from monitor.core.bedside.acts import BEDSIDE_ACTS
from monitor.core.bedside.redone import redo
from monitor.core.checkpoint import dump, load
from monitor.core.commands import Answer, Command
from monitor.core.effects import Accept, Effect, Refuse
from monitor.core.entries import EntryKind
from monitor.core.equipment import stock
from monitor.core.equipment.acts import carry_out
from monitor.core.equipment_commands import ItemBase
from monitor.core.events import Commanded, Declared, Event, FeedsFound, Observed
from monitor.core.grades import RANK, Priority
from monitor.core.handling import Handling
from monitor.core.judging import editions, feeds_found, late, silence
from monitor.core.judging.late import is_past
from monitor.core.judging.observing import Turned, Watch, is_by_hand, is_late, observe
from monitor.core.judging.registry import spans
from monitor.core.judging.sets import brings_numbers, overdue_ms
from monitor.core.judging.silences import silences_among
from monitor.core.meaning.looked import looked_of
from monitor.core.meaning.looked_view import LookedView
from monitor.core.meaning.meaning import meaning_of
from monitor.core.meaning.source import Source
from monitor.core.meaning.view import Meaning
from monitor.core.own_rule_ids import CALL_ME_ID
from monitor.core.own_rules import OWN_RULES, RECORD_ANEW
from monitor.core.roles import beyond, entering, unchecked
from monitor.core.roles import permission as permissions
from monitor.core.roles.acting import acting
from monitor.core.roster import cover, plans
from monitor.core.roster import due as roster_due
from monitor.core.roster.acts import ROSTER_ACTS
from monitor.core.roster.planning import Shifts
from monitor.core.roster.views import loads
from monitor.core.rules import BoardBlindRule, LimitRule, ProjectionRule, RuleBase
from monitor.core.shown import Shown
from monitor.core.state import BedState, EngineState, KeptSet, RunState, UnitState
from monitor.core.unit import Configuration
from monitor.core.view import TileView, UnitView
from shared.instant import Instant, ms
from shared.messages import BedDeclared, Observation, Origin
from shared.quantities import CATALOGUE, Quantity


class Engine:
    """Judges, escalates and keeps who has what, for one unit.

    Args:
        configuration: the unit, its limits and its ladder.
        now: the hub's time at the start.
    """

    def __init__(self, configuration: Configuration, now: Instant, state: EngineState | None = None) -> None:
        self.configuration = configuration
        limits, ladder, unit = configuration.limits, configuration.ladder, configuration.unit
        self._rules: dict[str, RuleBase] = {rule.id: rule for rule in (*limits.rules, *OWN_RULES)}
        self._silences = silences_among(self._rules.values())
        one_sided = [one for one in limits.rules if isinstance(one, LimitRule) and one.outside is None]
        self._edges = tuple(one for one in one_sided if one.priority is not Priority.LOW)
        self._settable = tuple(one for one in one_sided if one.is_settable)
        self._projections = tuple(one.id for one in limits.rules if isinstance(one, ProjectionRule))
        self._shifts = Shifts(unit)
        self._shown = Shown()
        windows = spans(limits.rules, ladder.witnesses, configuration.patterns)
        self._watch = Watch(limits, ladder.timings, ladder.care, ladder.call_me, windows, unit.outside_target)
        self._explains = explained_by(self._rules.values(), limits.consequences)
        self._blind = next((rule.id for rule in limits.rules if isinstance(rule, BoardBlindRule)), None)
        self._people = {person.name: person for person in unit.people}
        self._order = {rule: place for place, rule in enumerate(self._rules)}
        self._state = state if state is not None else EngineState(now=now)
        self._due: dict[str | None, Instant | None] = {}
        if state is None:
            for bed in unit.beds:
                self._state.beds[bed.label] = BedState(bed.label, note=bed.note)
                if bed.entered_by_hand:
                    self._state.beds[bed.label].origin = Origin.ENTERED
        else:
            stock.take_in(self._handling(self._state.now))
        self._looks = self._handling(self._state.now)
        self._loads = loads(self._looks)
        self._settle(None, *self._state.beds)

    def start(self, now: Instant, *, anew: bool = False) -> list[Effect]:
        """Begin a record that is new: the runs of the configuration start, holes in cover are written down.

        ``anew``: it is new in the place of one that was lost, so what was open before is unknown: an alert says so.
        """
        handling = self._handling(now)
        self._shown = Shown()
        cover.begin(handling)
        plans.look(handling)
        for settings in self.configuration.unit.beds:
            for run in settings.runs:
                runs.begin_run(handling, self._state.beds[settings.label], run.description, run.targets)
        stock.take_in(handling)
        if anew:
            episodes.raise_alert(handling, episodes.Onset(RECORD_ANEW, None, None))
        handling.touch(None)
        return self._finish(handling)

    def handle(self, event: Event, now: Instant) -> list[Effect]:
        """Do what is due by ``now``, then handle the event: time passed asks for no more than that.

        A time before the last one counts as the last.
        """
        handling = self._handling(now)
        stood, self._shown = self._shown, Shown()  # what fails half-way leaves nothing that was made before it
        was_due = self._catch_up(handling)
        match event:
            case Observed():
                self._observed(handling, event.observation)
            case Declared():
                self._declared(handling, event.beds)
            case Commanded():
                self._commanded(handling, event)
            case FeedsFound():
                feeds_found.heed(handling, event)
        effects = self._finish(handling, event)
        if isinstance(event, Observed) and not was_due and handling.touched.keys() <= {event.observation.bed}:
            stood.forget(event.observation.bed)
            self._shown = stood
        return effects

    def next_deadline(self) -> Instant | None:
        """Give when something is due without any event, or ``None``."""
        return min((due for due in self._due.values() if due is not None), default=None)

    def tile(self, bed: str, now: Instant) -> TileView:
        """Give a bed as it stands. Raises KeyError for a bed that is not the unit's."""
        return self._shown.tile(self._looking_at(now), self._state.beds[bed])

    def meaning(self, bed: str, slot: int, person: str | None, now: Instant) -> Meaning | None:
        """Give what the numbers of a run mean now; ``None`` where there is no such run. Changes nothing."""
        place = self._state.beds.get(bed)
        run = place.runs.get(slot) if place else None
        if place is None or run is None:
            return None
        now = max(now, self._state.now)
        return meaning_of(self._source(now), place, run, person)

    def looked(self, bed: str, person: str, now: Instant) -> dict[int, LookedView]:
        """Give by slot a person's last look at a bed and what is usual there no more. Changes nothing."""
        source, place = self._source(max(now, self._state.now)), self._state.beds[bed]
        found = {slot: looked_of(source, place, run, person) for slot, run in place.runs.items()}
        return {slot: one for slot, one in found.items() if one is not None}

    def ended(self, bed: str) -> Mapping[int, Instant]:
        """Give when the last run ended or left, by the slots of a bed in which none is open."""
        place = self._state.beds.get(bed)
        ended = place.ended.items() if place else ()
        return {slot: at for slot, at in ended if place and slot not in place.runs}

    def newest(self, bed: str, slot: int) -> dict[Quantity, tuple[Instant, float]]:
        """Give when each quantity of a run was last read, and what; derived ones are left out."""
        place = self._state.beds.get(bed)
        run = place.runs.get(slot) if place else None
        signals = run.signals.items() if run is not None else ()
        return {q: (one.last_at, one.last) for q, one in signals if one and not CATALOGUE[q].derived}

    def unchecked(self, bed: str, slot: int) -> frozenset[Quantity]:
        """Give the quantities of which it was not checked who entered what `newest` gives."""
        newest = self.newest(bed, slot)
        sets = self._state.beds[bed].runs[slot].sets.values() if newest else ()
        marked = [one for one in sets if one.unchecked]
        return frozenset(
            quantity
            for quantity, found in newest.items()
            if any((one.read_at, one.readings.get(quantity)) == found for one in marked)
        )

    def is_replaced(self, observation: Observation) -> bool:
        """Tell whether a later version of a set has come before this first one, and stands or has struck it."""
        place = self._state.beds.get(observation.bed)
        run = place.runs.get(observation.slot) if place else None
        return run is not None and observation.edition is not None and observation.edition.set in run.early

    def entering(self, bed: str) -> tuple[str | None, tuple[str, ...]]:
        """Give who stands at a bed, if anybody does, and who may enter readings there."""
        handling = self._handling(self._state.now)
        return entering.nurse_of(handling, bed), entering.may_enter(handling, bed)

    def held_to_roles(self, observation: Observation) -> Observation:
        """Give a set entered by hand as the table of roles has it now, marked where it is unchecked."""
        why = unchecked.look(self._handling(self._state.now), observation)
        return observation if why is observation.unchecked else observation.model_copy(update={"unchecked": why})

    def unit(self, now: Instant) -> UnitView:
        """Give what belongs to no bed."""
        return self._shown.unit(self._looking_at(now))

    def checkpoint(self) -> bytes:
        """Give the whole state, so that `restore` goes on from here."""
        return dump(self._state)

    @classmethod
    def restore(cls, configuration: Configuration, checkpoint: bytes) -> "Engine":
        """Go on from a checkpoint. Raises ValueError where it cannot be read."""
        windows = spans(configuration.limits.rules, configuration.ladder.witnesses, configuration.patterns)
        state = load(checkpoint, windows)
        if state.unit.roster.shifts != plans.check_sum(configuration.unit):
            state.unit.roster.looks_at = state.now
        return cls(configuration, state.now, state)

    def _source(self, now: Instant) -> Source:
        shift = self._shifts.at(now)
        return Source(self.configuration, self._silences, now, shift.begins if shift else None)

    def _looking_at(self, now: Instant) -> Handling:
        """Give a handling to make views by, which nothing is done in: every second asks for one a bed."""
        self._looks.now = max(now, self._state.now)
        return self._looks

    def _handling(self, now: Instant) -> Handling:
        return Handling(
            unit=self.configuration.unit,
            watch=self._watch,
            ladder=self.configuration.ladder,
            rules=self._rules,
            silences=self._silences,
            edges=self._edges,
            settable=self._settable,
            projections=self._projections,
            shifts=self._shifts,
            people=self._people,
            explains=self._explains,
            blind_rule=self._blind,
            equipment=self.configuration.equipment,
            state=self._state,
            now=max(now, self._state.now),
            rounds=self.configuration.rounds,
        )

    def _finish(self, handling: Handling, event: Event | None = None) -> list[Effect]:
        audio.watch(handling)
        self._watch_loads(handling)
        self._state.now = handling.now
        moved = {None: None, **handling.touched}
        if isinstance(event, Observed):
            if not handling.effects and not handling.touched:
                moved = {}  # a reading of which nothing came leaves the unit as it was
            if event.observation.bed in self._state.beds:
                moved[event.observation.bed] = None
        self._settle(*moved)
        return handling.finish()

    def _watch_loads(self, handling: Handling) -> None:
        """What rests on a name changes with the beds: the unit's view follows."""
        found = loads(handling) if handling.touched else self._loads
        if found != self._loads:
            self._loads = found
            handling.touch(None)

    def _settle(self, *places: str | None) -> None:
        """Work out anew when each place next has something due."""
        for name in places:
            place: BedState | UnitState = self._state.unit if name is None else self._state.beds[name]
            self._due[name] = min(self._due_times(place), default=None)

    def _due_times(self, place: BedState | UnitState) -> Iterator[Instant]:
        if place.episodes:
            yield from self._due_of_episodes(place)
        if place.alerts:
            yield from lows.due_times(place)
        if isinstance(place, BedState):
            yield from silence.due_times(self._silences, place)
            yield from transports.due_times(self._rules, place)
            yield from trials.due_times(place, self.configuration.ladder.trials)
            yield from own_limits.due_times(place, self.configuration.ladder.own_limits)
            yield from proposals.due_times(place)
            yield from call_me.due_times(place)
            yield from audio.due_times(place)
        else:
            yield from silence.unit_due_times(self._silences, self._state)
            yield from roster_due.due_times(place.roster, self.configuration.ladder.handing_over)

    def _due_of_episodes(self, place: BedState | UnitState) -> Iterator[Instant]:
        yield from reasons.due_times(place, self.configuration.ladder.holds)
        yield from arrivals.due_times(place, self.configuration.ladder.handing_over)
        yield from no_answer.due_times(place, self.configuration.ladder.handing_over)
        for episode in place.episodes.values():
            if episode.closes_at is not None:
                yield episode.closes_at
            if episode.ladder is not None:
                due = climb.next_due(episode.ladder, self.configuration.ladder)
                if due is not None:
                    yield due

    def _catch_up(self, handling: Handling) -> bool:
        """Do everything that is due, in order of time; what is late is done now, once. Tell if anything was."""
        was_due = False
        while (due := self.next_deadline()) is not None and due <= handling.now:
            name = next(place for place, at in self._due.items() if at == due)
            place = handling.place(name)
            handling.touch(name)
            for episode in list(place.episodes.values()):
                run_ladder(handling, place, episode)
            episodes.close_due(handling, place)
            reasons.speak(handling, place)
            lows.speak(handling, place)
            arrivals.speak(handling, place)
            no_answer.speak(handling, place)
            if not isinstance(place, BedState):
                roster_due.speak(handling)
            else:
                trials.speak(handling, place)
                own_limits.speak(handling, place)
                proposals.speak(handling, place)
                call_me.speak(handling, place)
                audio.speak(handling, place)
                transports.speak(handling, place)
            silence.speak(handling)
            self._settle(*{None: None, **handling.touched})
            was_due = True
        return was_due

    def _observed(self, handling: Handling, observation: Observation) -> None:
        bed = self._state.beds.get(observation.bed)
        run = bed.runs.get(observation.slot) if bed else None
        if bed is None or run is None:
            return
        if observation.is_refused:
            unchecked.refuse(handling, observation)
            return
        if observation.unchecked is not None:
            unchecked.tell(handling, observation)
        if editions.is_later(observation):
            self._later_version(handling, bed, run, observation)
        elif (stands := editions.what_stands(run, observation)) is not None:
            self._taken_in(handling, bed, run, stands)

    def _later_version(self, handling: Handling, bed: BedState, run: RunState, observation: Observation) -> None:
        """A set is corrected or struck: its old values go, then the new ones are read as ever."""
        replaced = editions.take_out(handling, bed, run, observation)
        if replaced is None:
            return
        old = replaced.before
        rounds.take_back(bed, run, old)
        changed, begin = old.readings | observation.readings, min(old.read_at, observation.read_at)
        if bed.by_sets:
            editions.grow_anew(self._watch, run, changed, begin)
        if observation.edition is None or not observation.edition.struck:
            self._taken_in(handling, bed, run, observation, old)
            editions.put_in(self._watch, bed, run, observation, replaced)
            if bed.by_sets:
                editions.grow_anew(self._watch, run, changed, begin)
        redo(bed, run, replaced, observation, overdue_ms(self._silences))

    def _taken_in(
        self,
        handling: Handling,
        bed: BedState,
        run: RunState,
        observation: Observation,
        before: KeptSet | None = None,
    ) -> None:
        trends_only = is_late(bed, run, observation)
        past = is_past(observation, handling.now, self._watch.timings)
        stale = silence.is_stale(self._silences, bed, observation, handling.now)
        is_heard = not is_by_hand(bed, observation) or (bed.by_sets and brings_numbers(observation.readings))
        if is_heard and not trends_only and not stale and not observation.may_not:
            silence.heard(handling, bed, observation.slot, observation.read_at)
        turned = observe(self._watch, bed, run, observation, past, stale)
        editions.remember(run, observation, counted=not trends_only)
        rounds.take(handling, bed, run, observation)
        if past:
            late.tell(handling, bed, run, observation, before)
        for turn in sorted(turned, key=self._in_order):
            if turn.turn is Turn.STARTED:
                turn.state.alert = self._raise(handling, bed, run, turn)
        for turn in turned:
            if turn.turn is Turn.ENDED and turn.state.alert is not None:
                alert, turn.state.alert = bed.alerts[turn.state.alert], None
                episodes.end_alert(handling, alert)
        if not trends_only:
            effects.heed(bed, run)
        if not trends_only and not past and not stale:
            trials.watch_dwell(handling, bed, run)
            gas.heed(handling, bed, run)
            raised = any(turn.turn is Turn.STARTED for turn in turned)
            source = Source(self.configuration, self._silences, handling.now)
            hinting.heed(handling, source, bed, run, raised)
        if observation.by is not None and not observation.may_not:
            answers.entered_from_bed(bed)
        for episode in () if past or stale else list(bed.episodes.values()):
            episodes.watch_witnesses(handling, bed, run, episode)
            watch_holds(handling, bed, episode)

    def _raise(self, handling: Handling, bed: BedState, run: RunState, turn: Turned) -> int:
        if turn.rule.id == CALL_ME_ID and isinstance(turn.rule, LimitRule):
            return call_me.call(handling, bed, run, turn.rule, turn.verdict).id
        slot, verdict = run.description.slot, turn.verdict
        began = turn.state.began
        onset = episodes.Onset(turn.rule, bed.label, slot, verdict.value, verdict.limit, began=began)
        return episodes.raise_alert(handling, onset).id

    def _in_order(self, turn: Turned) -> tuple[bool, int, int]:
        return not turn.rule.circuit_critical, RANK[turn.rule.priority], self._order[turn.rule.id]

    def _declared(self, handling: Handling, declared: tuple[BedDeclared, ...]) -> None:
        for said in declared:
            bed = self._state.beds.get(said.bed)
            if bed is not None:
                bed.interval_ms = ms(said.interval)
                bed.origin = said.origin
                handling.touch(bed.label)

    def _commanded(self, handling: Handling, given: Commanded) -> None:
        handling.people = acting(handling.people, given.command.person, given.roles)
        handling.key = given.key or None
        self._judged(handling, given.command)
        handling.people, handling.key = self._people, None

    def _judged(self, handling: Handling, command: Command) -> None:
        permission = permissions.judge(handling, command)
        refusal = permission.refusal or self._carry_out(handling, command)
        if refusal is None:
            if permission.beyond:
                beyond.write_down(handling, command, permission.beyond)
            handling.effects.append(Accept(command.id))
            return
        bed = getattr(command, "bed", None)
        handling.write(
            EntryKind.REFUSED,
            bed if bed in self._state.beds else None,
            person=command.person,
            command=command.id,
            text=f"{command.kind.replace('_', ' ')}: {refusal}",
        )
        handling.effects.append(Refuse(command.id, refusal, permission.with_reason))

    def _carry_out(self, handling: Handling, command: Command) -> str | None:
        if isinstance(command, Answer):
            return answers.answer(handling, command)
        if isinstance(command, ItemBase):
            return carry_out(handling, command)
        kind = type(command)
        return (ROSTER_ACTS.get(kind) or BEDSIDE_ACTS[kind])(handling, command)
