"""The pause of a bed's sound: who may begin it, what ends it, and that a restart keeps its time.

At most 120 s, for one bed, never while nobody has a high there, over at once on a new high: common practice, no
source. *Audio paused* is timed, and a new condition sounds again: IEC 60601-1-8, terms, from memory.
"""

from pathlib import Path
from typing import Any

import pytest
from pydantic import ValidationError

from monitor.core.bed_commands import PauseAudio
from monitor.core.commands import (
    Answer,
    CallHelp,
    ChangeRoster,
    Command,
    EndRun,
    HelpKind,
    PassOn,
    Reason,
    Take,
    Where,
)
from monitor.core.effects import Effect, Persist, Refuse
from monitor.core.engine import Engine
from monitor.core.entries import Entry, EntryKind
from monitor.core.events import Commanded, Observed, TimePassed
from monitor.core.grades import Rung
from monitor.core.unit import Configuration
from monitor.core.view import AudioPauseView
from monitor.rehearsal.rehearse import BEGIN, rehearse
from monitor.rehearsal.sources import Numbered
from monitor.rehearsal.stage import stage_of
from monitor.settings import load_limits_and_ladder
from shared.errors import ConfigurationError
from shared.instant import SECOND
from shared.quantities import Quantity as Q
from shared.scenario import parse_scenario

CONFIG = Path(__file__).parents[2] / "config"
USUAL = {
    Q.PUMP_SPEED: 3500.0, Q.PUMP_FLOW: 4.2, Q.INLET_PRESSURE: -60.0, Q.PRE_OXYGENATOR_PRESSURE: 220.0,
    Q.POST_OXYGENATOR_PRESSURE: 190.0, Q.MEAN_ARTERIAL_PRESSURE: 72.0,
}  # fmt: skip
LOW_FLOW = {Q.PUMP_FLOW: 3.3}
VERY_LOW = {Q.PUMP_FLOW: 2.2}
STOPPED = {Q.PUMP_SPEED: 0.0, Q.PUMP_FLOW: -1.5, Q.INLET_PRESSURE: 15.0}


@pytest.fixture(scope="module")
def configuration() -> Configuration:
    scenario = parse_scenario('title = "Sound"\nminutes = 60\nbeds = ["B1"]')
    return stage_of(scenario, *load_limits_and_ladder(CONFIG))


class Bed:
    """One bed in virtual time."""

    def __init__(self, configuration: Configuration) -> None:
        self.configuration = configuration
        self.engine = Engine(configuration, BEGIN)
        self.now = BEGIN
        self.entries: list[Entry] = []
        self._numbered = Numbered()
        self._count = 0
        self._keep(self.engine.start(BEGIN))
        self.run(80, {})

    def run(self, seconds: int, change: dict[Q, float]) -> None:
        for _ in range(seconds):
            self.now += SECOND
            while (due := self.engine.next_deadline()) is not None and due <= self.now:
                self._keep(self.engine.handle(TimePassed(), due))
            observation = self._numbered.live("B1", 1, self.now, USUAL | change)
            self._keep(self.engine.handle(Observed(observation), self.now))

    def pause(self, person: str = "charge", seconds: int = 120, bed: str = "B1") -> str:
        """Ask for a pause; give the reason of a refusal, else nothing."""
        self._count += 1
        return self.command(PauseAudio(id=f"pause-{self._count}", person=person, bed=bed, seconds=seconds))

    def give(self, kind: type[Answer], person: str, **more: object) -> str:
        lead = self.engine.tile("B1", self.now).episodes[0]
        self._count += 1
        fields = {"id": f"give-{self._count}", "person": person, "bed": "B1", "alert": lead.lead}
        answer: Any = kind.model_validate(fields | {"revision": lead.revision} | more)
        return self.command(answer)

    def take(self) -> str:
        return self.give(Take, "nurse-B1", reason=Reason.AT_BEDSIDE, where=Where.AT_BED)

    def command(self, command: Command) -> str:
        effects = self.engine.handle(Commanded(command), self.now)
        self._keep(effects)
        return next((effect.reason for effect in effects if isinstance(effect, Refuse)), "")

    @property
    def paused(self) -> AudioPauseView | None:
        return self.engine.tile("B1", self.now).audio_paused

    def backs(self) -> list[tuple[float, str | None]]:
        """When the sound came back, in seconds from the start, and why."""
        return [((e.at - BEGIN) / 1000, e.text) for e in self.entries if e.kind is EntryKind.AUDIO_BACK]

    def _keep(self, effects: list[Effect]) -> None:
        self.entries += [effect.entry for effect in effects if isinstance(effect, Persist)]


@pytest.fixture
def bed(configuration: Configuration) -> Bed:
    return Bed(configuration)


def test_that_a_pause_is_written_down_shown_and_over_to_the_second(bed: Bed) -> None:
    assert bed.pause() == ""
    assert bed.paused == AudioPauseView(by="charge", until=bed.now + 120 * SECOND)
    written = bed.entries[-1]
    assert (written.kind, written.bed, written.person, written.command, written.until) == (
        EntryKind.AUDIO_PAUSED, "B1", "charge", "pause-1", bed.now + 120 * SECOND,
    )  # fmt: skip
    label = next(one.label for one in bed.configuration.unit.people if one.name == "charge")
    assert written.text == f"Desk sound paused for 120 s by {label}"
    bed.run(119, {})
    assert bed.paused is not None
    assert bed.backs() == []
    bed.run(1, {})
    assert bed.paused is None
    assert bed.backs() == [(200.0, "Desk sound back: time is up")]
    over = bed.entries[-1]
    assert (over.kind, over.bed, over.person, over.command) == (EntryKind.AUDIO_BACK, "B1", None, None), "by itself"


def test_that_a_pause_is_for_one_bed_and_at_most_two_minutes() -> None:
    with pytest.raises(ValidationError):
        PauseAudio(id="pause-1", person="charge", bed="B1", seconds=121)
    with pytest.raises(ValidationError):
        PauseAudio.model_validate({"id": "pause-1", "person": "charge", "seconds": 60})


def test_that_a_person_of_the_unit_begins_it_and_nobody_else(bed: Bed) -> None:
    assert "not among" in bed.pause("somebody")
    assert bed.pause("perfusionist") == "the sound is paused by somebody in the unit"
    assert bed.pause(bed="B9") == "there is no bed B9"
    assert bed.paused is None
    assert bed.pause("nurse-B1") == ""


def test_that_zero_seconds_ends_it(bed: Bed) -> None:
    assert bed.pause(seconds=0) == "the sound of B1 is not paused"
    bed.pause()
    bed.run(10, {})
    assert bed.pause("nurse-B1", 0) == ""
    assert bed.paused is None
    over = bed.entries[-1]
    assert (over.kind, over.bed, over.person, over.command) == (EntryKind.AUDIO_BACK, "B1", "nurse-B1", "pause-3")
    label = next(one.label for one in bed.configuration.unit.people if one.name == "nurse-B1")
    assert over.text == f"Desk sound back: ended by {label}"
    bed.run(120, {})
    assert len(bed.backs()) == 1


def test_that_it_is_refused_while_nobody_has_a_high(bed: Bed) -> None:
    bed.run(2, STOPPED)
    assert bed.pause() == "nobody has the high at B1: take it first"
    assert bed.take() == ""
    assert bed.pause() == ""


def test_that_a_medium_does_not_stand_in_its_way_nor_end_it(bed: Bed) -> None:
    bed.pause()
    bed.run(60, LOW_FLOW)
    assert any(e.kind is EntryKind.RAISED for e in bed.entries)
    assert bed.paused is not None
    assert bed.pause() == ""


def test_that_a_new_high_ends_it_at_once(bed: Bed) -> None:
    bed.pause()
    bed.run(2, STOPPED)
    raised = next(e for e in bed.entries if e.kind is EntryKind.RAISED)
    (at, why), *_ = bed.backs()
    assert at == (raised.at - BEGIN) / 1000
    assert why == f"Desk sound back: a new high: {raised.text}"
    assert bed.paused is None


def test_that_a_promotion_to_high_ends_it_at_once(bed: Bed) -> None:
    bed.run(50, LOW_FLOW)
    bed.take()
    bed.pause()
    bed.run(30, VERY_LOW)
    promoted = next(e for e in bed.entries if e.kind is EntryKind.PROMOTED)
    assert [at for at, _ in bed.backs()] == [(promoted.at - BEGIN) / 1000]


def test_that_a_high_that_joins_or_comes_back_ends_it_too(bed: Bed) -> None:
    bed.run(2, STOPPED)
    bed.take()
    bed.pause()
    bed.run(20, STOPPED)
    folded = next(e for e in bed.entries if e.kind is EntryKind.FOLDED)
    assert [at for at, _ in bed.backs()] == [(folded.at - BEGIN) / 1000]
    bed.run(30, {})
    assert bed.pause() == ""
    bed.run(2, STOPPED)
    assert len(bed.backs()) == 2


def test_that_help_called_by_hand_ends_it(bed: Bed) -> None:
    bed.pause()
    assert bed.command(CallHelp(id="help-1", person="nurse-B1", bed="B1", what=HelpKind.AIR)) == ""
    assert bed.paused is None


def test_that_it_ends_when_the_high_is_passed_on(bed: Bed) -> None:
    bed.run(40, STOPPED)
    bed.take()
    bed.pause()
    assert bed.give(PassOn, "nurse-B1", reason=Reason.OTHER) == ""
    assert bed.paused is None
    assert bed.backs()[-1][1] == "Desk sound back: nobody has the high any more"


def test_that_it_ends_when_the_hold_of_the_high_runs_out(bed: Bed) -> None:
    bed.run(60, STOPPED)
    bed.take()
    bed.run(100, STOPPED)
    bed.pause()
    bed.run(90, STOPPED)
    ended = next(e for e in bed.entries if e.kind is EntryKind.HOLD_ENDED)
    assert [at for at, _ in bed.backs()] == [(ended.at - BEGIN) / 1000]


def test_that_it_ends_when_who_has_the_high_leaves_the_roster(bed: Bed) -> None:
    bed.run(2, STOPPED)
    assert bed.give(Take, "charge") == ""
    assert bed.pause() == ""
    assert bed.command(ChangeRoster(id="leaves", person="charge", rung=Rung.CHARGE, bed=None, stands=None)) == ""
    assert [why for _, why in bed.backs()] == ["Desk sound back: nobody has the high any more"]


def test_that_it_ends_with_the_run(bed: Bed) -> None:
    bed.pause()
    assert bed.command(EndRun(id="end-1", person="charge", bed="B1")) == ""
    assert [why for _, why in bed.backs()] == ["Desk sound back: the run has ended"]
    assert bed.pause() == "no run is open at B1"


def test_that_a_restart_keeps_its_end(bed: Bed) -> None:
    bed.pause()
    until = bed.now + 120 * SECOND
    bed.run(30, {})
    bed.engine = Engine.restore(bed.configuration, bed.engine.checkpoint())
    assert bed.paused == AudioPauseView(by="charge", until=until)
    bed.run(100, {})
    assert [at for at, _ in bed.backs()] == [200.0]


SCENARIO = """
title = "A paused bed"
minutes = 6
beds = ["B1"]
[[act]]
at = "1:00"
by = "charge"
bed = "B1"
do = "audio_pause"
minutes = {minutes}
"""


def test_that_it_can_be_rehearsed(configuration: Configuration) -> None:
    limits, ladder = load_limits_and_ladder(CONFIG)
    entries = list(rehearse(parse_scenario(SCENARIO.format(minutes=1.5)), limits, ladder))
    told = [(e.at - BEGIN, e.kind) for e in entries if e.kind in (EntryKind.AUDIO_PAUSED, EntryKind.AUDIO_BACK)]
    assert told == [(60 * SECOND, EntryKind.AUDIO_PAUSED), (150 * SECOND, EntryKind.AUDIO_BACK)]
    with pytest.raises(ConfigurationError, match="at most 2 minutes"):
        list(rehearse(parse_scenario(SCENARIO.format(minutes=3)), limits, ladder))
