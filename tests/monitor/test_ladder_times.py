"""Two hundred alerts, nobody answers: every class calls at the times of its row, none skipped and none doubled.

The times are written out here as they were agreed (our own defaults, shaped on common practice, no source), so that
a slip in ``config/ladder.toml`` or in the ladder is seen.
"""

from collections import defaultdict
from collections.abc import Iterable
from pathlib import Path
from random import Random

import pytest

from monitor.core.commands import CallHelp, HelpKind
from monitor.core.effects import Persist
from monitor.core.engine import Engine
from monitor.core.entries import Entry, EntryKind
from monitor.core.events import Commanded, Declared, Observed, TimePassed
from monitor.rehearsal.rehearse import BEGIN
from monitor.rehearsal.sources import Numbered
from monitor.rehearsal.stage import stage_of
from monitor.settings import load_limits_and_ladder
from shared.instant import MINUTE, SECOND, Instant
from shared.messages import BedDeclared, Origin
from shared.quantities import Quantity as Q
from shared.scenario import parse_scenario
from tests.helpers.one_bed import USUAL

CONFIG = Path(__file__).parents[2] / "config"
BEDS = tuple(f"B{number}" for number in range(1, 26))
ROUNDS = 8
STEP = 30 * SECOND
WATCHED = 27 * MINUTE
EVERYBODY = ((1, 0), (2, 0), (3, 0), (4, 0), (5, 120))


def repeated(rungs: tuple[int, ...], first: int, every: int) -> tuple[tuple[int, int], ...]:
    """Calls again, within what is watched."""
    return tuple((rung, at) for at in range(first, WATCHED // SECOND + 1, every) for rung in rungs)


ALL = (1, 2, 3, 4, 5)
#: Class: what is read at the bed, and (rung, seconds after the raise) of every call in the first 27 minutes.
CLASSES: dict[str, tuple[dict[Q, float], tuple[tuple[int, int], ...]]] = {
    "help": ({}, EVERYBODY + repeated(ALL, 180, 60)),
    "flow_none": (
        {Q.PUMP_FLOW: 0.0},
        ((1, 0), (2, 0), (3, 0), (4, 60), (5, 120), *repeated(ALL, 180, 60)),
    ),
    "map_very_low": (
        {Q.MEAN_ARTERIAL_PRESSURE: 45.0},
        ((1, 0), (2, 60), (3, 120), (4, 120), (5, 300), *repeated(ALL, 420, 120)),
    ),
    "return_very_high": (
        {Q.POST_OXYGENATOR_PRESSURE: 420.0, Q.PRE_OXYGENATOR_PRESSURE: 450.0},
        ((1, 0), (2, 60), (3, 120), (4, 180), (5, 300), *repeated(ALL, 420, 120)),
    ),
    "svo2_low": ({Q.SVO2: 50.0}, ((1, 0), (2, 180), (3, 480), (4, 900), *repeated((2,), 1500, 600))),
    "high_current": ({Q.MOTOR_CURRENT: 3.0}, ((1, 0), (2, 180), (3, 300), *repeated((2,), 780, 600))),
    "no_feed": ({}, ((1, 0), (2, 180), *repeated((2,), 780, 600))),
}


class Ward:
    """Twenty-five beds that are read every thirty seconds, each with one thing wrong from its moment on."""

    def __init__(self, seed: int) -> None:
        named = ", ".join(f'"{bed}"' for bed in BEDS)
        scenario = parse_scenario(f'title = "Ward"\nminutes = 60\nbeds = [{named}]')
        stage = stage_of(scenario, *load_limits_and_ladder(CONFIG))
        self.engine = Engine(stage, BEGIN)
        self.entries: list[Entry] = []
        chance = Random(seed)
        wanted = ["no_feed", *chance.choices([name for name in CLASSES if name != "no_feed"], k=len(BEDS) - 1)]
        chance.shuffle(wanted)
        self.wrong = dict(zip(BEDS, wanted, strict=True))
        self.from_ = {bed: BEGIN + 3 * MINUTE + chance.randrange(4) * STEP for bed in BEDS}
        runs = {bed.label: tuple(run.description for run in bed.runs) for bed in stage.unit.beds}
        said = tuple(BedDeclared(bed=b, runs=runs[b], interval=30.0, origin=Origin.SIMULATED) for b in BEDS)
        self._keep(self.engine.start(BEGIN))
        self._keep(self.engine.handle(Declared("ward", said), BEGIN))

    def play(self) -> None:
        """Read all beds until every alert has been watched for long enough."""
        numbered, now = Numbered(), BEGIN
        while now < BEGIN + 5 * MINUTE + 14 * MINUTE + WATCHED:
            now += STEP
            self._due(now)
            for bed, wrong in self.wrong.items():
                begun = now >= self.from_[bed]
                if begun and wrong == "no_feed":
                    continue
                if now == self.from_[bed] and wrong == "help":
                    command = CallHelp(id=f"help-{bed}", person=f"nurse-{bed}", bed=bed, what=HelpKind.AIR)
                    self._keep(self.engine.handle(Commanded(command), now))
                more = {Q.SVO2: 70.0, Q.MOTOR_CURRENT: 1.0} | (CLASSES[wrong][0] if begun else {})
                self._keep(self.engine.handle(Observed(numbered.live(bed, 1, now, USUAL | more)), now))

    def calls(self, bed: str) -> list[tuple[int, int]]:
        """Rung and seconds since the raise of every call at a bed, for what is watched."""
        raised = next(e.at for e in self.entries if e.bed == bed and e.kind is EntryKind.RAISED and e.episode)
        called = [e for e in self.entries if e.bed == bed and e.kind is EntryKind.CALLED]
        return [(e.rung or 0, (e.at - raised) // SECOND) for e in called if e.at - raised <= WATCHED]

    def _due(self, now: Instant) -> None:
        while (due := self.engine.next_deadline()) is not None and due <= now:
            self._keep(self.engine.handle(TimePassed(), due))

    def _keep(self, effects: Iterable[object]) -> None:
        self.entries += [effect.entry for effect in effects if isinstance(effect, Persist)]


@pytest.mark.parametrize("seed", range(ROUNDS))
def test_that_every_class_calls_at_its_times(seed: int) -> None:
    ward = Ward(seed)
    ward.play()
    seen: dict[str, int] = defaultdict(int)
    for bed, wrong in ward.wrong.items():
        assert sorted(ward.calls(bed), key=lambda call: (call[1], call[0])) == sorted(
            CLASSES[wrong][1], key=lambda call: (call[1], call[0])
        ), f"{wrong} at {bed}"
        seen[wrong] += 1
    assert sum(seen.values()) == len(BEDS)


def test_that_two_hundred_alerts_of_every_class_are_played() -> None:
    played = [wrong for seed in range(ROUNDS) for wrong in Ward(seed).wrong.values()]
    assert len(played) == 200
    assert set(played) == set(CLASSES)
