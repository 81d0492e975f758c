"""The record against a naive model in memory, with reopening at any moment (invariants 1 and 6)."""

import shutil
import tempfile
from pathlib import Path

from hypothesis import settings
from hypothesis import strategies as st
from hypothesis.stateful import RuleBasedStateMachine, invariant, precondition, rule

from monitor.core.entries import Entry
from monitor.core.events import Event, Observed, TimePassed
from monitor.record import Batch, Begin, Checkpoint, Record, Skipped, Step
from shared.errors import RecordError
from shared.messages import Observation
from shared.quantities import Quantity as Q
from tests.helpers.inputs import AT, EPOCH, commanded, declared, entry, observation

NUMBERS = st.integers(1, 60)
TEXTS = st.text(st.characters(codec="utf-8", exclude_characters="\0"), max_size=8)
VALUES = st.floats(-400, 12_000, allow_nan=False)


class RecordMachine(RuleBasedStateMachine):
    def __init__(self) -> None:
        super().__init__()
        self.folder = Path(tempfile.mkdtemp())
        self.record = Record.open(self.folder / "unit.record")
        self.inputs: list[tuple[Event | Begin, int]] = []
        self.kept: dict[int, Observation] = {}
        self.given_up: set[int] = set()
        self.entries: list[Entry] = []
        self.checkpoints: list[tuple[int, bytes]] = []
        self.commands: list[str] = []
        self.now = AT
        self.heads: set[tuple[int, bytes]] = set()

    def teardown(self) -> None:
        self.record.close()
        shutil.rmtree(self.folder)

    def _step(self, event: Event | Begin | None, texts: list[str]) -> Step:
        self.now += 7
        entries = tuple(entry(text, self.now) for text in texts)
        return Step(self.now, event, entries)

    def _wrote(self, steps: list[Step]) -> None:
        for step in steps:
            if isinstance(step.event, Observed):
                seq = step.event.observation.seq
                if seq in self.kept:
                    self.entries += step.entries
                    continue
                self.kept[seq] = step.event.observation
            if step.event is not None:
                self.inputs.append((step.event, step.at))
            self.entries += step.entries

    @rule(seqs=st.lists(NUMBERS, min_size=1, max_size=8), value=VALUES, texts=st.lists(TEXTS, max_size=2))
    def observe(self, seqs: list[int], value: float, texts: list[str]) -> None:
        steps = [
            self._step(Observed(observation(seq, readings={Q.PUMP_FLOW: value, Q.SVO2: 70.0})), texts)
            for seq in seqs
            if seq not in self.given_up
        ]
        self.record.append(Batch(steps))
        self._wrote(steps)

    @rule(texts=st.lists(TEXTS, max_size=3), which=st.integers(0, 3))
    def other_input(self, texts: list[str], which: int) -> None:
        event = (Begin(), declared(2.5), TimePassed(), None)[which]
        steps = [self._step(event, texts)]
        self.record.append(Batch(steps))
        self._wrote(steps)

    @rule()
    def command(self) -> None:
        name = f"c-{len(self.commands):04}"
        self.now += 7
        step = commanded(name, self.now)
        self.record.append(Batch([step]))
        self._wrote([step])
        self.commands.append(name)
        assert self.record.answer(name) == step.answer

    @rule(first=NUMBERS, length=st.integers(0, 4))
    def give_up(self, first: int, length: int) -> None:
        numbers = set(range(first, first + length + 1))
        if numbers & self.kept.keys():
            return
        self.record.append(Batch([], [Skipped("ward", EPOCH, first, first + length, "lost")]))
        self.given_up |= numbers

    @rule(state=st.binary(max_size=40))
    def checkpoint(self, state: bytes) -> None:
        self.record.append(Batch(checkpoint=Checkpoint(self.now, state, b"{}")))
        ordinal = len(self.inputs)
        self.checkpoints = [one for one in self.checkpoints if one[0] != ordinal] + [(ordinal, state)]

    @rule()
    def flush(self) -> None:
        self.record.flush({EPOCH: self._stored()})

    @rule(seq=NUMBERS)
    def refused_batch(self, seq: int) -> None:
        """A batch that fails half-way leaves nothing, not even a link of the chain."""
        good = self._step(Observed(observation(seq)), ["never"])
        bad = Step(self.now, Observed(observation(9999).model_copy(update={"read_at": 2**70})))
        try:
            self.record.append(Batch([good, bad]))
        except (RecordError, OverflowError):
            return
        raise AssertionError("the bad batch was taken")

    @rule()
    def reopen(self) -> None:
        self.heads.add(self.record.head)
        self.record.close()
        self.record = Record.open(self.folder / "unit.record")
        assert self.record.missed is None, "the head beside it names what is there"

    @precondition(lambda self: self.entries)
    @rule(most=st.integers(1, 9))
    def newest_entries(self, most: int) -> None:
        assert self.record.entries(None, most) == self.entries[::-1][:most]

    def _stored(self) -> int:
        there = self.kept.keys() | self.given_up
        stored = 0
        while stored + 1 in there:
            stored += 1
        return stored

    @invariant()
    def numbers_are_told_rightly(self) -> None:
        stored = self._stored()
        assert self.record.stored_up_to(EPOCH) == stored
        held = {n for span in self.record.held(EPOCH) for n in range(span.first, span.last + 1)}
        assert held == {n for n in self.kept.keys() | self.given_up if n > stored}

    @invariant()
    def replay_is_the_history_of_inputs(self) -> None:
        assert list(self.record.replay(0)) == self.inputs

    @invariant()
    def the_chain_holds(self) -> None:
        assert self.record.verify() is None
        assert self.record.head[0] == len(self.entries)

    @invariant()
    def two_checkpoints_stand(self) -> None:
        found = [(one.ordinal, one.checkpoint.engine) for one in self.record.standing()]
        assert found == self.checkpoints[::-1][:2]


RecordMachine.TestCase.settings = settings(max_examples=40, stateful_step_count=25, deadline=None)
TestRecordMachine = RecordMachine.TestCase
