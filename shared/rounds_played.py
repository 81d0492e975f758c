"""The rounds of a scenario as people do them: read off the simulated circuit, typed, judged, sent, mended.

Invented: a person reads every number whose sensor is fitted, once the circuit has come to rest under the faults and
orders of that moment (the hours between rounds are not played: they would take minutes), types it, reads again what
is questioned, and leaves out what is refused. What is found in it is `shared.entry`'s alone, as in the entry form;
nothing here knows how it will be judged.
"""

import random
import statistics
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from types import MappingProxyType

from shared.circuit import ORDERABLE, SHIPPED_PROFILES, Circuit, CircuitParameters, Controls, PumpProfile
from shared.circuit.faults import FaultPlan
from shared.entry.answers import Answer
from shared.entry.draft import Draft, Here, Typed, answer_bed, judged, look, send, type_into
from shared.entry.judging import Judgement, Standing
from shared.entry.known import Known, Place
from shared.entry.table import EntryTable
from shared.entry.telling import Said, tell
from shared.entry.versions import SentSet, agree, ask_strike, begin, correct, known_after, moved
from shared.errors import ConfigurationError
from shared.instant import Instant, ms
from shared.messages import Found, RoundKind
from shared.quantities import CATALOGUE
from shared.quantities import Quantity as Q
from shared.scenario import Scenario, run_begun, run_of, slots_of, start_of
from shared.scenario_rounds import Mend, Round
from shared.staging import profile_of, turn
from shared.support import RunDescription

#: Seconds that a circuit is given to come to rest before it is read.
REST_S = 60.0
#: Seconds for which a person looks at a number that jitters, to read the middle of it.
READ_S = 10
#: Read beside what is fitted wherever the pulse pressure is: it is computed from them.
_CUFF = frozenset({Q.SYSTOLIC_PRESSURE, Q.DIASTOLIC_PRESSURE})
_ASKED_AT_MOST = 4


@dataclass(slots=True)
class Counted:
    """What was typed, and what the checks asked: about numbers, about the bed.

    ``slips_stopped``: of the ``slips``, those that were refused or questioned.
    """

    typed: int = 0
    asked: int = 0
    slips_stopped: int = 0
    slips: int = 0
    beds_asked: int = 0


@dataclass(frozen=True, slots=True)
class _Planned:
    """One round of a series with its seconds: read, saved."""

    round: Round
    read_at: float
    at: float


class RoundsPlayed:
    """A scenario's rounds from ``begin`` on.

    Attributes:
        counted: what the checks did, as far as it was played.

    Raises:
        ConfigurationError: a round is at a slot without a run, or a set could not be sent as the scenario says.
    """

    def __init__(
        self,
        scenario: Scenario,
        table: EntryTable,
        begin: Instant,
        profiles: Mapping[str, PumpProfile] = SHIPPED_PROFILES,
    ) -> None:
        self.counted = Counted()
        self._scenario, self._table, self._begin, self._profiles = scenario, table, begin, profiles
        self._sets: dict[str, SentSet] = {}
        self._keys: dict[str, str] = {}
        self._circuits: dict[tuple[str, str], Circuit] = {}

    def said(self) -> Iterator[Said]:
        """Give all that is told, in the order in which it is told."""
        steps: list[tuple[float, _Planned | Mend]] = [(one.at, one) for one in self._planned()]
        steps += [(mend.at if mend.agreed is None else mend.agreed, mend) for mend in self._scenario.mend]
        for at, step in sorted(steps, key=lambda pair: pair[0]):
            if at > self._scenario.seconds:
                return
            yield from self._mend(step) if isinstance(step, Mend) else self._do(step)

    def _planned(self) -> Iterator[_Planned]:
        rng = random.Random(self._scenario.seed)
        for one in self._scenario.round:
            for moment in one.moments():
                read_at = float(int(moment + rng.uniform(0, one.spread)))
                yield _Planned(one, read_at, read_at + one.takes if one.at is None else one.at)

    # -- a round ------------------------------------------------------------------------------------------------

    def _do(self, planned: _Planned) -> Iterator[Said]:
        one = planned.round
        run, began = self._begun_at(one.bed, one.slot, planned.read_at)
        here, now = self._here(one.bed, run, planned.at), self._ms(planned.at)
        draft = Draft(here.known.place, one.by, self._ms(planned.read_at), round=one.kind)
        draft = replace(draft, answers=self._answers(one, run, now))
        if one.kind is not RoundKind.SAFETY_WALK:
            draft = self._typed(draft, planned, began, here)
        try:
            sent = send(judged(draft, here, now), here, now)[1]
        except ValueError as error:
            when = f"{int(planned.read_at) // 60}:{int(planned.read_at) % 60:02}"
            raise ConfigurationError(f"the round at {one.bed} read at {when} is not sent: {error}") from None
        kept = self._keep(begin(sent, self._next_id()))
        if one.key is not None:
            self._keys[one.key] = kept.id
        yield tell(kept, now)

    def _answers(self, one: Round, run: RunDescription, now: Instant) -> Mapping[str, Answer]:
        """Say of every item that it is in order, but for those of which the scenario says something else."""
        items = (item.id for item in self._table.rounds.items_of(one.kind, run) if not item.optional)
        return {
            item: Answer(Found.FINDING, now, one.found[item]) if item in one.found else Answer(Found.IN_ORDER, now)
            for item in items
            if item not in one.not_looked
        }

    def _typed(self, draft: Draft, planned: _Planned, began: float, here: Here) -> Draft:
        one, now, run = planned.round, self._ms(planned.at), here.known.run
        if one.read_off is None:
            seen = self._seen(one.bed, one.slot, run, began, planned.read_at)
        else:
            seen = self._seen(one.read_off, 1, *self._begun_at(one.read_off, 1, planned.read_at), planned.read_at)
        draft = replace(draft, ordered=self._ordered(one.bed, one.slot, planned.read_at, here.known))
        texts = {
            row.quantity: one.misread.get(row.quantity) or _text(row.quantity, seen[row.quantity])
            for row in self._table.fields_of(run)
            if row.quantity in seen and row.due_min <= 60
        }
        for quantity, slip in one.slip.items():
            draft = type_into(draft, here, quantity, slip, now)
            self.counted.slips += 1
            self.counted.slips_stopped += _asks(look(draft, here, now), quantity)
        typed = MappingProxyType({quantity: Typed(text, now) for quantity, text in texts.items()})
        draft = judged(replace(draft, typed=typed), here, now)
        self.counted.typed += len(texts)
        return self._read_again(draft, here, now)

    def _read_again(self, draft: Draft, here: Here, now: Instant) -> Draft:
        """Type again what is questioned; type the bed's label where the set looks like another bed's."""
        for _ in range(_ASKED_AT_MOST):
            judgement = look(draft, here, now)
            asked = [one.field.quantity for one in judgement.fields if one.standing is Standing.RETYPE]
            if not asked:
                break
            for quantity in asked:
                draft = type_into(draft, here, quantity, draft.typed[quantity].text, now)
                self.counted.asked += 1
        for _ in here.others:
            if look(draft, here, now).resemblance is None:
                break
            self.counted.beds_asked += 1
            draft = answer_bed(draft, here, draft.place.bed, now)
        return draft

    # -- what is there ------------------------------------------------------------------------------------------

    def _begun_at(self, bed: str, slot: int, at: float) -> tuple[RunDescription, float]:
        """Give the run of a slot at a time, and when it began. Raises ConfigurationError where none is open."""
        found = self._begun(bed, slot, at)
        if found is None:
            raise ConfigurationError(f"a [[round]] at {bed}, slot {slot}, at {at / 60:g} min: no run is open there")
        return found

    def _begun(self, bed: str, slot: int, at: float) -> tuple[RunDescription, float] | None:
        found = (run_of(self._scenario, bed, slot), 0.0) if slot in slots_of(self._scenario, bed) else None
        for number, act in sorted(enumerate(self._scenario.act, 1), key=lambda pair: pair[1].at):
            if act.bed == bed and (act.slot or 1) == slot and act.at <= at:
                run = run_begun(act, number) if act.do == "run_start" else None
                found = (run, act.at) if run is not None else None if act.do == "run_end" else found
        return found

    def _seen(self, bed: str, slot: int, run: RunDescription, began: float, at: float) -> Mapping[Q, float]:
        """Read a run's circuit under the faults and knobs of that moment."""
        circuit = self._circuits.get((bed, run.run_id))
        if circuit is None:
            circuit = self._circuits[bed, run.run_id] = self._circuit(bed, run)
        circuit.controls = Controls.usual(circuit.params)
        for quantity, value in start_of(self._scenario, bed, slot).values.items() if began == 0.0 else ():
            turn(circuit, bed, "[[start]]", quantity, value)
        for act in sorted(self._scenario.act, key=lambda act: act.at):
            mine = act.do == "order" and (act.bed, act.slot or 1) == (bed, slot) and began <= act.at <= at
            if mine and act.quantity in ORDERABLE and act.value is not None:
                turn(circuit, bed, "an order", act.quantity, act.value)
        plan = FaultPlan()
        for fault in sorted(self._scenario.fault, key=lambda fault: fault.at):
            if (fault.bed, fault.slot) == (bed, slot) and fault.at >= began:
                plan = plan.with_fault(fault.kind, fault.severity, fault.over, fault.at)
        for kind in {fault.kind for fault in self._scenario.fault if fault.bed == bed}:
            circuit.apply(kind, plan.levels(at).get(kind, 0.0))
        circuit.advance(circuit.now + REST_S)
        shown: list[Mapping[Q, float]] = []
        for _ in range(READ_S):
            circuit.advance(circuit.now + 1)
            shown.append(circuit.observe().values)
        # of a number that jitters a person reads the middle
        return {quantity: statistics.median(one[quantity] for one in shown) for quantity in shown[0]}

    def _circuit(self, bed: str, run: RunDescription) -> Circuit:
        sensors = run.sensors | (_CUFF if Q.PULSE_PRESSURE in run.sensors else frozenset())
        profile = profile_of(run, bed, self._profiles)
        params = CircuitParameters.for_support(run.support, profile, sensors=sensors, noise=self._scenario.noise)
        return Circuit(params, self._scenario.seed * 1_009 + len(self._circuits))

    def _ordered(self, bed: str, slot: int, at: float, known: Known) -> frozenset[Q]:
        last = max((told.read_at for told in known.last.values()), default=self._begin)
        return frozenset(
            act.quantity
            for act in self._scenario.act
            if act.do == "order" and (act.bed, act.slot or 1) == (bed, slot) and act.quantity is not None
            if last <= self._ms(act.at) <= self._ms(at)
        )

    def _here(self, bed: str, run: RunDescription, at: float) -> Here:
        others = []
        for other in self._scenario.beds:
            for slot in (1, 2):
                there = self._begun(other, slot, at)
                if there is not None and (other, there[0].run_id) != (bed, run.run_id):
                    others.append(self._known(other, there[0]))
        return Here(self._table, self._known(bed, run), tuple(others))

    def _known(self, bed: str, run: RunDescription) -> Known:
        top = profile_of(run, bed, self._profiles).speed_max
        return known_after(Known(bed, run, top), self._sets.values())

    # -- sets ---------------------------------------------------------------------------------------------------

    def _mend(self, mend: Mend) -> Iterator[Said]:
        kept, at = self._sets[self._keys[mend.of]], self._ms(mend.at)
        if mend.values:
            changed = {**kept.newest.values, **mend.values}
            yield tell(self._keep(correct(kept, changed, mend.by, at, mend.why)), at)
            return
        assert mend.second is not None, "the model has seen to it"
        assert mend.agreed is not None, "the model has seen to it"
        place = self._place_at(mend.move_to, mend.agreed) if mend.move_to is not None else None
        asked = ask_strike(kept, mend.by, at, mend.why, place)
        agreed = self._ms(mend.agreed)
        struck, again = agree(asked, mend.second, agreed, self._table.times)
        yield tell(self._keep(struck), agreed)
        if again is not None:
            yield tell(self._keep(moved(again, self._next_id(), struck)), agreed)

    def _place_at(self, bed: str, at: float) -> Place:
        run, _ = self._begun_at(bed, 1, at)
        return Place(bed, run.slot, run.run_id)

    def _keep(self, kept: SentSet) -> SentSet:
        self._sets[kept.id] = kept
        return kept

    def _next_id(self) -> str:
        return f"{self._scenario.seed:08x}{len(self._sets) + 1:08x}"

    def _ms(self, seconds: float) -> Instant:
        return self._begin + ms(seconds)


def _asks(judgement: Judgement, quantity: Q) -> bool:
    """Tell whether a number just typed is refused or must be typed again."""
    return any(
        one.field.quantity is quantity and one.standing in (Standing.RETYPE, Standing.REFUSED)
        for one in judgement.fields
    )


def _text(quantity: Q, value: float) -> str:
    text = f"{value:.{CATALOGUE[quantity].decimals}f}"
    return text.removeprefix("-") if float(text) == 0 else text
