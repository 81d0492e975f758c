"""Invariants of the engine under random courses: situations at two beds, people who answer or do not, cut feeds.

The numbers of invariants are those of DEVELOPERS.md.
"""

import os
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from monitor.core.bed_commands import PauseAudio
from monitor.core.commands import Command, HelpByPhone, PassOn, Reason, Renew, Seen, Take
from monitor.core.effects import Effect, Persist
from monitor.core.engine import Engine
from monitor.core.entries import Entry, EntryKind
from monitor.core.events import Commanded, Observed, TimePassed
from monitor.core.grades import Priority
from monitor.core.unit import Configuration
from monitor.core.view import EpisodeView
from monitor.rehearsal.rehearse import BEGIN
from monitor.rehearsal.sources import Numbered
from monitor.rehearsal.stage import stage_of
from monitor.settings import load_configuration
from shared.instant import SECOND, ms
from shared.quantities import Quantity as Q
from shared.scenario import parse_scenario

#: Courses of each property; many more with WEIRKEEPER_LONG=1.
EXAMPLES = 250 if os.environ.get("WEIRKEEPER_LONG") == "1" else 25
CONFIG = Path(__file__).parents[2] / "config"
BASE = {
    Q.PUMP_SPEED: 3500.0, Q.PUMP_FLOW: 4.2, Q.INLET_PRESSURE: -60.0, Q.PRE_OXYGENATOR_PRESSURE: 220.0,
    Q.POST_OXYGENATOR_PRESSURE: 190.0, Q.MEAN_ARTERIAL_PRESSURE: 72.0, Q.ON_MAINS: 1.0, Q.SWEEP_GAS_FLOW: 3.0,
    Q.SPO2_RIGHT_HAND: 97.0,
}  # fmt: skip
SITUATIONS: dict[str, dict[Q, float] | None] = {
    "usual": {},
    "low flow": {Q.PUMP_FLOW: 3.3, Q.INLET_PRESSURE: -110.0},
    "very low flow": {Q.PUMP_FLOW: 2.2, Q.INLET_PRESSURE: -20.0, Q.POST_OXYGENATOR_PRESSURE: 289.0},
    "no flow": {Q.PUMP_FLOW: 0.0},
    "stopped": {Q.PUMP_SPEED: 0.0, Q.PUMP_FLOW: -1.5, Q.INLET_PRESSURE: 15.0, Q.MEAN_ARTERIAL_PRESSURE: 45.0},
    "pressure low": {Q.MEAN_ARTERIAL_PRESSURE: 55.0},
    "desaturated": {Q.SPO2_RIGHT_HAND: 76.0},
    "on battery": {Q.ON_MAINS: 0.0},
    "cut": None,
}
PEOPLE = ("nurse-B1", "nurse-B2", "deputy", "charge", "perfusionist", "intensivist")


@dataclass(frozen=True)
class Leg:
    bed: str
    situation: str
    seconds: int
    act: str | None
    person: str
    reason: Reason | None


LEGS = st.lists(
    st.builds(
        Leg,
        bed=st.sampled_from(["B1", "B2"]),
        situation=st.sampled_from(sorted(SITUATIONS)),
        seconds=st.integers(5, 240),
        act=st.sampled_from([None, None, "seen", "take", "decline", "advise", "renew"]),
        person=st.sampled_from(PEOPLE),
        reason=st.sampled_from([None, Reason.AT_BEDSIDE, Reason.CIRCULATION_CHECKED, Reason.TEAM_AT_BED]),
    ),
    min_size=1,
    max_size=7,
)


@pytest.fixture(scope="module")
def configuration() -> Configuration:
    shipped = load_configuration(CONFIG)
    scenario = parse_scenario('title = "Random"\nminutes = 60\nbeds = ["B1", "B2"]')
    return stage_of(scenario, shipped.limits, shipped.ladder)


class Course:
    """Plays legs. ``pauses``: at the third of each leg somebody pauses the sound of its bed."""

    def __init__(self, configuration: Configuration, reopen_every: int | None = None, pauses: bool = False) -> None:
        self.configuration = configuration
        self.engine = Engine(configuration, BEGIN)
        self.entries: list[Entry] = []
        self.reopen_every = reopen_every
        self.pauses = pauses
        self.now = BEGIN
        self._numbered = Numbered()
        self._acts = 0
        self._keep(self.engine.start(BEGIN))

    def play(self, legs: list[Leg]) -> None:
        situations = {"B1": "usual", "B2": "usual"}
        for leg in legs:
            situations[leg.bed] = leg.situation
            for second in range(leg.seconds):
                self._second(situations)
                if self.pauses and second == leg.seconds // 3:
                    self._pause(leg)
                if second == leg.seconds // 2 and leg.act:
                    self._act(leg)

    def _second(self, situations: dict[str, str]) -> None:
        self.now += SECOND
        while (due := self.engine.next_deadline()) is not None and due <= self.now:
            self._keep(self.engine.handle(TimePassed(), due))
        for bed, name in situations.items():
            change = SITUATIONS[name]
            if change is not None:
                observation = self._numbered.live(bed, 1, self.now, BASE | change)
                self._keep(self.engine.handle(Observed(observation), self.now))
        if self.reopen_every and (self.now // SECOND) % self.reopen_every == 0:
            self.engine = Engine.restore(self.configuration, self.engine.checkpoint())

    def _act(self, leg: Leg) -> None:
        episodes = self.engine.tile(leg.bed, self.now).episodes
        if episodes:
            self._acts += 1
            command = _command(leg, episodes[0], f"act-{self._acts}")
            self._keep(self.engine.handle(Commanded(command), self.now))

    def _pause(self, leg: Leg) -> None:
        identity = f"pause-{(self.now - BEGIN) // SECOND}"
        command = PauseAudio(id=identity, person=leg.person, bed=leg.bed, seconds=min(leg.seconds, 120))
        self._keep(self.engine.handle(Commanded(command), self.now))

    def _keep(self, effects: list[Effect]) -> None:
        self.entries += [effect.entry for effect in effects if isinstance(effect, Persist)]

    def views(self) -> list[EpisodeView]:
        return [view for bed in ("B1", "B2") for view in self.engine.tile(bed, self.now).episodes]


def _command(leg: Leg, episode: EpisodeView, identity: str) -> Command:
    common: dict[str, object] = {"id": identity, "person": leg.person, "bed": leg.bed, "alert": episode.lead}
    common |= {"revision": episode.revision}
    kinds: dict[str, Any] = {
        "seen": Seen,
        "take": Take,
        "decline": PassOn,
        "advise": HelpByPhone,
        "renew": Renew,
    }
    more = {} if leg.act == "seen" else {"reason": leg.reason}
    command: Command = kinds[leg.act or "seen"].model_validate(common | more)
    return command


@settings(max_examples=EXAMPLES, deadline=None)
@given(legs=LEGS)
def test_that_a_course_keeps_the_invariants_and_a_restored_engine_goes_on_with_it(
    legs: list[Leg], configuration: Configuration
) -> None:
    """Invariant 7, and a restart in the middle of anything; invariants 2, 3 and 5 on the way and at the end."""
    whole, broken = Course(configuration), Course(configuration, reopen_every=17)
    whole.play(legs)
    broken.play(legs)
    assert [e.model_dump_json() for e in broken.entries] == [e.model_dump_json() for e in whole.entries]
    _every_present_high_is_shown_as_high(whole)
    _every_unanswered_alert_reaches_the_next_rung_on_time(whole)
    whole.play([Leg("B1", "cut", 10, None, "charge", None)])
    _every_present_high_is_shown_as_high(whole)
    _nothing_was_judged_while_the_feed_was_cut(whole)


def _every_present_high_is_shown_as_high(course: Course) -> None:
    """Invariant 2: what was raised high and has not ended is on its bed's view, still high, with a ladder."""
    open_highs: dict[int, Entry] = {}
    for entry in course.entries:
        if entry.alert is None:
            continue
        if entry.kind in (EntryKind.RAISED, EntryKind.FOLDED, EntryKind.PROMOTED):
            if entry.priority is Priority.HIGH:
                open_highs[entry.alert] = entry
        elif entry.kind in (EntryKind.CLEARED, EntryKind.LATCHED):
            open_highs.pop(entry.alert, None)
    shown = {a.id: (a.priority, view) for view in course.views() for a in view.alerts}
    for alert in open_highs:
        priority, view = shown[alert]
        assert priority is Priority.HIGH
        assert view.priority is Priority.HIGH
        assert view.ladder is not None


def _every_unanswered_alert_reaches_the_next_rung_on_time(course: Course) -> None:
    """Invariant 3: no ladder is ever behind; with nobody holding, something is always due next."""
    for view in course.views():
        if view.over or view.ladder is None:
            continue
        ladder = view.ladder
        following = [at for at in (ladder.next_at, ladder.repeats_at) if at is not None]
        assert following, f"{view.title}: nobody will ever be called"
        assert min(following) > course.now
        row = course.configuration.ladder.rows[ladder.ladder]
        last = max(s for s in (row.r1, row.r2, row.r3, row.r4, row.r5, row.repeat_every_s) if s is not None)
        assert min(following) - course.now <= ms(max(last, 900))


def _nothing_was_judged_while_the_feed_was_cut(course: Course) -> None:
    """Invariant 5: while a bed is not read, no rule of readings starts or ends there."""
    cut_from = course.now - 9 * SECOND
    spoke = [
        e for e in course.entries
        if e.bed == "B1" and e.at > cut_from and e.rule not in (None, "no_feed")
        and e.kind in (EntryKind.RAISED, EntryKind.FOLDED, EntryKind.PROMOTED, EntryKind.CLEARED, EntryKind.LATCHED)
    ]  # fmt: skip
    assert spoke == []


def _is_of_sound(entry: Entry) -> bool:
    refused = entry.kind is EntryKind.REFUSED and (entry.text or "").startswith("audio pause")
    return refused or entry.kind in (EntryKind.AUDIO_PAUSED, EntryKind.AUDIO_BACK)


@settings(max_examples=EXAMPLES, deadline=None)
@given(legs=LEGS)
def test_that_a_pause_of_the_sound_changes_no_alert_no_call_and_no_entry(
    legs: list[Leg], configuration: Configuration
) -> None:
    """Invariant 2: with pauses wherever they are allowed, everything but the words about the sound is the same."""
    plain, paused = Course(configuration), Course(configuration, pauses=True)
    plain.play(legs)
    paused.play(legs)
    assert any(_is_of_sound(entry) for entry in paused.entries)
    rest = [entry.model_dump_json() for entry in paused.entries if not _is_of_sound(entry)]
    assert rest == [entry.model_dump_json() for entry in plain.entries]
    assert [view.model_dump_json() for view in paused.views()] == [view.model_dump_json() for view in plain.views()]


@settings(max_examples=EXAMPLES, deadline=None)
@given(legs=LEGS)
def test_that_no_sound_is_paused_while_nobody_has_a_high(legs: list[Leg], configuration: Configuration) -> None:
    """Common practice, no source: never while nobody has a high at that bed."""
    course = Course(configuration, reopen_every=23, pauses=True)
    for leg in legs:
        course.play([leg])
        for bed in ("B1", "B2"):
            tile = course.engine.tile(bed, course.now)
            nobody = [e for e in tile.episodes if e.priority is Priority.HIGH and not e.over and e.holder is None]
            assert not (tile.audio_paused and nobody)
