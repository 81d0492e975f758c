r"""The engine against a naive unit of one bed, under anything that people, readings and restarts may do.

The naive unit (`tests/helpers/naive_*`) was written from the rules of the game without the engine: it keeps every
reading and every answer, and works out each call anew from the whole history. After every step the two must have
told the same: alerts, episodes, holders, and every call at its second. The numbers are those of the invariants in
DEVELOPERS.md.

In the suite this takes a modest number of steps, the same on every run. For at least 100 000 steps, also the same
on every run:

    WEIRKEEPER_LONG=1 python -m pytest tests/property/test_engine_machine.py -s --timeout=0 \
        -o faulthandler_timeout=0
"""

import os
import sys
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any, ClassVar

from hypothesis import settings
from hypothesis import strategies as st
from hypothesis.stateful import RuleBasedStateMachine, initialize, invariant, precondition, rule

from monitor.core.commands import (
    Answer,
    CallHelp,
    CareMarker,
    ChangeRoster,
    Command,
    EndTrial,
    HelpByPhone,
    HelpKind,
    Order,
    PassOn,
    Reason,
    Renew,
    Seen,
    StartTrial,
    Take,
    Where,
)
from monitor.core.effects import Accept, Effect, Persist, Refuse
from monitor.core.engine import Engine
from monitor.core.entries import Entry, EntryKind
from monitor.core.events import Commanded, Event, Observed, TimePassed
from monitor.core.grades import Priority, Role, Rung, TrialKind
from monitor.core.rules import Limits
from monitor.core.unit import BedSettings, Configuration, Person, Roster, RunSettings, Unit
from monitor.core.view import TileView, UnitView
from monitor.rehearsal.rehearse import BEGIN
from monitor.rehearsal.sources import Numbered
from monitor.settings import load_limits_and_ladder
from shared.instant import SECOND
from shared.quantities import Quantity as Q
from shared.support import DEFAULT_SENSORS, Support, describe_run
from tests.helpers.naive_parts import Alert
from tests.helpers.naive_rules import ROWS, TARGET
from tests.helpers.naive_unit import NaiveUnit

CONFIG = Path(__file__).parents[2] / "config"
LONG = bool(os.environ.get("WEIRKEEPER_LONG"))
EXAMPLES, STEPS = (2_700, 50) if LONG else (100, 30)

USUAL = {
    "pump_speed": 3500.0, "pump_flow": 4.2, "inlet_pressure": -60.0, "pre_oxygenator_pressure": 220.0,
    "post_oxygenator_pressure": 190.0, "mean_arterial_pressure": 72.0, "spo2_right_hand": 97.0, "on_mains": 1.0,
    "battery_minutes": 60.0,
}  # fmt: skip
VALUES = {
    "pump_flow": (4.2, 4.2, 3.7, 3.3, 2.4, 1.2, 0.4, -1.0),
    "inlet_pressure": (-60, -60, -85, -105, -130, -160, 10),
    "post_oxygenator_pressure": (190, 190, 295, 310, 360, 410),
    "pre_oxygenator_pressure": (220, 192),
    "mean_arterial_pressure": (72, 72, 61, 58, 48, 38, 95, 105),
    "spo2_right_hand": (97, 97, 89, 86, 78, 72),
    "pump_speed": (3500, 3500, 0),
    "on_mains": (1, 0),
    "battery_minutes": (60, 31, 25, 11, 8),
}
CHANGES = st.sampled_from([(name, float(value)) for name, values in VALUES.items() for value in values])
SECONDS = st.sampled_from([1, 2, 3, 5, 5, 8, 11, 11, 12, 12, 15, 16, 16, 31, 31, 35, 65] * 2 + [305])
WAITS = st.sampled_from([1, 5, 11, 31, 60, 61, 119, 121, 180, 300, 480, 600])
PEOPLE = ("nurse", "nurse-2", "deputy", "charge", "charge-2", "perfusionist", "intensivist", "surgeon", "looker")
IN_UNIT = frozenset(PEOPLE) - {"perfusionist"}
ROLES = {
    "charge": Role.CHARGE_NURSE, "charge-2": Role.CHARGE_NURSE, "perfusionist": Role.PERFUSIONIST,
    "intensivist": Role.INTENSIVIST, "surgeon": Role.SURGEON, "looker": Role.VIEWER,
}  # fmt: skip
ANSWERING = st.sampled_from(PEOPLE)
STANDS: dict[int, tuple[str | None, ...]] = {
    1: ("nurse", "nurse-2", None), 2: ("charge", "charge-2", None),
    3: ("perfusionist", None), 4: ("intensivist", None), 5: ("surgeon", None),
}  # fmt: skip
K = EntryKind
#: Spoken from readings: never without a fresh one of their quantity.
FROM_READINGS = {row.rule: Q(row.quantity) for row in ROWS}
SPEAKS = frozenset({K.RAISED, K.FOLDED, K.PROMOTED, K.CLEARED, K.LATCHED})


def configuration() -> Configuration:
    """One VA bed under the shipped numbers, with the rules that the naive unit knows."""
    limits, ladder = load_limits_and_ladder(CONFIG)
    known = {row.rule for row in ROWS} | {"help", "no_feed", "uncovered"}
    kept = Limits.model_construct(
        rules=tuple(rule for rule in limits.rules if rule.id in known), consequences=limits.consequences
    )
    fitted = DEFAULT_SENSORS[Support.VA] | {Q(name) for name in USUAL}
    run = describe_run(Support.VA, "B1-1", 1, "broad", fitted)
    bed = BedSettings(
        label="B1", runs=(RunSettings(description=run, targets={Q.PUMP_FLOW: TARGET}),), nurse="nurse"
    )
    people = tuple(
        Person(name=name, label=name, role=ROLES.get(name, Role.BEDSIDE_NURSE), in_unit=name in IN_UNIT)
        for name in PEOPLE
    )
    roster = Roster(
        nurses={"B1": "nurse"}, deputy="deputy", charge="charge", perfusionist="perfusionist",
        intensivist="intensivist", surgeon="surgeon",
    )  # fmt: skip
    return Configuration(
        unit=Unit(name="One bed", beds=(bed,), people=people, roster=roster), limits=kept, ladder=ladder
    )


CONFIGURATION = configuration()


@dataclass
class Played:
    """What an engine was told, and what it did, so that it can be told again."""

    at: int
    event: Event
    effects: list[Effect] = field(default_factory=list)


def told(entry: Entry) -> tuple[object, ...] | None:
    """Write an entry as the naive unit would, or ``None`` where the two need not agree."""
    at = (entry.at - BEGIN) // SECOND
    match entry.kind:
        case K.RAISED | K.FOLDED | K.PROMOTED | K.CLEARED | K.LATCHED | K.REVIEWED:
            return at, entry.kind.value, entry.rule, entry.episode
        case K.CALLED | K.SKIPPED if entry.bed is not None:
            return at, entry.kind.value, entry.rung, entry.person, entry.episode
        case K.SEEN | K.TAKEN if entry.episode is None:
            return at, entry.kind.value, entry.rule, entry.person, None
        case K.TAKEN | K.RENEWED | K.ADVISED:
            until = (entry.until - BEGIN) // SECOND if entry.until is not None else None
            return at, entry.kind.value, entry.person, until, entry.episode
        case K.SEEN | K.DECLINED | K.ALSO_RESPONDING | K.HOLD_ENDED | K.WORSENED | K.NO_ANSWER if (
            entry.episode is not None
        ):
            return at, entry.kind.value, entry.person, entry.episode
        case K.EPISODE_CLOSED:
            return at, entry.kind.value, entry.episode
        case K.UNCOVERED | K.COVERED:
            return at, entry.kind.value, entry.rung
        case _:
            return None


class EngineMachine(RuleBasedStateMachine):
    """Plays one engine and one naive unit side by side."""

    steps: ClassVar[int] = 0
    seconds: ClassVar[int] = 0

    @initialize()
    def begin(self) -> None:
        self.now = 0
        self.engine = Engine(CONFIGURATION, BEGIN)
        self.effects = self.engine.start(BEGIN)
        self.naive = NaiveUnit(
            {1: "nurse", 2: "charge", 3: "perfusionist", 4: "intensivist", 5: "surgeon"}, "deputy", IN_UNIT
        )
        self.values, self.lost = dict(USUAL), set[str]()
        self.played: list[Played] = []
        self.kept: tuple[int, bytes] | None = None
        self.numbered = Numbered()
        self.commands = 0
        self.checked = 0

    # --- readings and time ------------------------------------------------------------------------------------

    @rule(change=CHANGES, seconds=SECONDS)
    def read(self, change: tuple[str, float], seconds: int) -> None:
        self.values[change[0]] = change[1]
        self._pass(seconds, read=True)

    @rule(changes=st.lists(CHANGES, max_size=4), seconds=SECONDS)
    def read_more(self, changes: list[tuple[str, float]], seconds: int) -> None:
        self.values |= dict(changes)
        self._pass(seconds, read=True)

    @rule(seconds=SECONDS)
    def recover(self, seconds: int) -> None:
        self.values = dict(USUAL)
        self._pass(seconds, read=True)

    @rule(seconds=WAITS)
    def silence(self, seconds: int) -> None:
        self._pass(seconds, read=False)

    @rule(name=st.sampled_from(sorted(VALUES)))
    def cable(self, name: str) -> None:
        """A sensor is lost, or comes back."""
        self.lost ^= {name}

    # --- people -----------------------------------------------------------------------------------------------

    @precondition(lambda self: self._listed())
    @rule(pick=st.integers(0, 30), person=ANSWERING, late=st.sampled_from([False, False, False, True]))
    def see(self, pick: int, person: str, late: bool) -> None:
        alert = self._pick(pick)
        self._answer(Seen, alert, person, late, self.naive.seen, {})

    @precondition(lambda self: self._listed())
    @rule(pick=st.integers(0, 30), seconds=st.sampled_from([3, 60, 119, 179, 180, 181]))
    def see_elsewhere(self, pick: int, seconds: int) -> None:
        """The perfusionist has seen it, and says nothing more for a while."""
        self._answer(Seen, self._pick(pick), "perfusionist", False, self.naive.seen, {})
        self._pass(seconds, read=True)

    @precondition(lambda self: self._listed())
    @rule(
        pick=st.integers(0, 30),
        person=ANSWERING,
        late=st.sampled_from([False, False, False, True]),
        reason=st.sampled_from([Reason.AT_BEDSIDE, Reason.CIRCULATION_CHECKED, Reason.TEAM_AT_BED]),
        where=st.sampled_from([Where.GOING, Where.AT_BED, Where.AT_BED, Where.PHONE]),
        told_to=st.sampled_from([None, None, "charge", "perfusionist"]),
    )
    def take(self, pick: int, person: str, late: bool, reason: Reason, where: Where, told_to: str | None) -> None:
        alert = self._pick(pick)
        where = Where.AT_BED if told_to else where
        said: dict[str, Any] = {"reason": reason, "where": where, "told_to": told_to}
        self._answer(Take, alert, person, late, self.naive.take, said)

    @precondition(lambda self: self._listed())
    @rule(pick=st.integers(0, 30), person=ANSWERING, late=st.booleans())
    def pass_on(self, pick: int, person: str, late: bool) -> None:
        self._answer(PassOn, self._pick(pick), person, late, self.naive.pass_on, {})

    @precondition(lambda self: self._listed())
    @rule(pick=st.integers(0, 30), person=ANSWERING)
    def advise(self, pick: int, person: str) -> None:
        self._answer(HelpByPhone, self._pick(pick), person, False, self.naive.advise, {})

    @precondition(lambda self: any(e.holder for e in self.naive.episodes))
    @rule(pick=st.integers(0, 30), person=ANSWERING, late=st.sampled_from([False, False, False, True]))
    def renew(self, pick: int, person: str, late: bool) -> None:
        self._answer(Renew, self._pick(pick), person, late, self.naive.renew, {})

    @rule(rung=st.integers(1, 5), pick=st.integers(0, 5))
    def roster(self, rung: int, pick: int) -> None:
        stands = STANDS[rung][pick % len(STANDS[rung])]
        bed = "B1" if rung == 1 else None
        assert self._give(ChangeRoster, "charge", rung=Rung(rung), stands=stands, bed=bed)
        self.naive.stand(rung, stands)

    @rule(what=st.sampled_from(HelpKind))
    def help(self, what: HelpKind) -> None:
        assert self._give(CallHelp, "nurse", bed="B1", what=what) == self.naive.help()

    @precondition(lambda self: all(one.state != "pending" for one in self.naive.readings.running.values()))
    @rule(minutes=st.integers(1, 15), person=st.sampled_from(["nurse", "charge"]))
    def care(self, minutes: int, person: str) -> None:
        accepted = self._give(CareMarker, person, bed="B1", minutes=minutes)
        assert accepted == self.naive.mark_care(minutes, person == "charge")

    @rule()
    def order(self) -> None:
        assert self._give(Order, "charge", bed="B1", quantity=Q.PUMP_SPEED, value=3400.0)

    @rule(
        kind=st.sampled_from([TrialKind.TURN_DOWN, TrialKind.CLAMP]),
        floor=st.sampled_from([1.0, 2.0]),
        minutes=st.integers(1, 9),
    )
    def start_trial(self, kind: TrialKind, floor: float, minutes: int) -> None:
        until = BEGIN + (self.now + 60 * minutes) * SECOND
        accepted = self._give(
            StartTrial, "charge", bed="B1", trial=kind, until=until, second="nurse", floor_flow=floor
        )
        assert accepted == self.naive.start_trial(kind.value, floor, minutes)

    @rule()
    def end_trial(self) -> None:
        assert self._give(EndTrial, "charge", bed="B1") == self.naive.end_trial()

    # --- restarts ---------------------------------------------------------------------------------------------

    @rule()
    def restart(self) -> None:
        """The hub restarts from what stands now."""
        self.engine = Engine.restore(CONFIGURATION, self.engine.checkpoint())

    @rule()
    def checkpoint(self) -> None:
        self.kept = (len(self.played), self.engine.checkpoint())

    @precondition(lambda self: self.kept is not None)
    @rule()
    def restart_from_before(self) -> None:
        """The hub restarts from an older checkpoint and hears all after it again, to the same effects (7)."""
        assert self.kept is not None
        begin, checkpoint = self.kept
        self.engine = Engine.restore(CONFIGURATION, checkpoint)
        for played in self.played[begin:]:
            assert self.engine.handle(played.event, played.at) == played.effects

    # --- what holds after every step --------------------------------------------------------------------------

    @invariant()
    def all_holds(self) -> None:
        self.shown = {view.id: view for place in self._views() for view in place.episodes}
        self.both_tell_the_same()
        self.nobody_but_the_holder_has_it()
        self.a_present_high_is_shown_as_high()
        self.somebody_is_called_next()

    def both_tell_the_same(self) -> None:
        """Alerts, episodes, answers, holds (4) and every call at its second (3)."""
        fresh = [e.entry for e in self.effects if isinstance(e, Persist)]
        self.effects = []
        engine = {said for entry in fresh if (said := told(entry)) is not None}
        naive, self.naive.told = set(self.naive.told), []
        differ = {"engine alone": sorted(engine - naive, key=repr), "naive alone": sorted(naive - engine, key=repr)}
        assert not any(differ.values()), differ
        type(self).steps += 1

    def nobody_but_the_holder_has_it(self) -> None:
        """Who has an episode, or that nobody does, is the same for both (4)."""
        for episode in self.naive.episodes:
            if episode.present:
                shown = self.shown[episode.id]
                holder = episode.holder
                assert (shown.holder.person if shown.holder else None) == (holder.person if holder else None)

    def a_present_high_is_shown_as_high(self) -> None:
        """Nothing lowers, hides or clears a high while its condition stands (2)."""
        for alert in self.naive.alerts:
            if alert.ended or alert.row.priority != "high" or alert.episode is None:
                continue
            shown = self.shown[alert.episode.id]
            own = next(a for a in shown.alerts if a.id == alert.id)
            assert own.priority is Priority.HIGH
            assert own.present
            assert own.listed
            assert shown.priority is Priority.HIGH
            assert not shown.over
            assert shown.ladder is not None

    def somebody_is_called_next(self) -> None:
        """A ladder is never behind, and while nobody has it, something is always due next (3)."""
        for episode in self.naive.episodes:
            ladder = self.shown[episode.id].ladder if episode.present else None
            if ladder is None:
                continue
            due = [at for at in (ladder.next_at, ladder.repeats_at) if at is not None]
            assert due
            assert min(due) > BEGIN + self.now * SECOND

    def teardown(self) -> None:
        """A second engine that is told the same does the same, byte for byte (7)."""
        if not hasattr(self, "played"):
            return
        second = Engine(CONFIGURATION, BEGIN)
        second.start(BEGIN)
        for played in self.played:
            assert repr(second.handle(played.event, played.at)) == repr(played.effects)
        assert second.checkpoint() == self.engine.checkpoint()

    # --- within -----------------------------------------------------------------------------------------------

    def _pass(self, seconds: int, read: bool) -> None:
        for _ in range(seconds):
            self.now += 1
            type(self).seconds += 1
            self._until_now()
            self.naive.tick(self.now)
            values = {name: value for name, value in self.values.items() if name not in self.lost}
            if read and values:
                readings = {Q(name): value for name, value in values.items()}
                at = BEGIN + self.now * SECOND
                self._tell(Observed(self.numbered.live("B1", 1, at, readings)))
                self.naive.observe(values)
                self._until_now()

    def _until_now(self) -> None:
        at = BEGIN + self.now * SECOND
        while (due := self.engine.next_deadline()) is not None and due <= at:
            self._tell(TimePassed(), due)

    def _tell(self, event: Event, at: int | None = None) -> list[Effect]:
        played = Played(BEGIN + self.now * SECOND if at is None else at, event)
        played.effects = self.engine.handle(event, played.at)
        self.played.append(played)
        self.effects += played.effects
        self._nothing_stale_spoke(event, played.effects)
        return played.effects

    def _nothing_stale_spoke(self, event: Event, effects: list[Effect]) -> None:
        """A rule of readings starts or ends only on a fresh reading of its quantity (5)."""
        for effect in effects:
            entry = effect.entry if isinstance(effect, Persist) else None
            if entry is not None and entry.kind in SPEAKS and entry.rule in FROM_READINGS:
                assert isinstance(event, Observed)
                assert FROM_READINGS[entry.rule] in event.observation.readings

    def _give(self, kind: Any, person: str, **said: Any) -> bool:
        self.commands += 1
        name = f"command-{self.commands}"
        said |= {"break_glass": "as agreed"}  # whose bed it is, is tried elsewhere: here every nurse may answer
        command: Command = kind.model_validate({"id": name, "person": person, **said})
        effects = self._tell(Commanded(command))
        accepted = any(effect == Accept(name) for effect in effects)
        assert accepted != any(isinstance(effect, Refuse) for effect in effects)
        self._until_now()
        return accepted

    def _answer(self, kind: type[Answer], alert: Alert, person: str, late: bool, act: Any, said: Any) -> None:
        """Give an answer to both; one to an older revision, or of somebody who looks on, must be refused."""
        revision = self._revision(alert) + (7 if late else 0)
        accepted = self._give(kind, person, bed=alert.bed, alert=alert.id, revision=revision, **said)
        if late or person == "looker" or (alert.episode is None and kind not in (Seen, Take)):
            assert not accepted
        else:
            assert accepted == act(alert, person, **said), (kind, alert.row.rule, person, said)

    def _listed(self) -> list[Alert]:
        return [alert for alert in self.naive.alerts if alert.listed]

    def _pick(self, pick: int) -> Alert:
        """Pick a listed alert; the newest are picked most."""
        listed = self._listed()[::-1]
        return listed[pick % len(listed)]

    def _views(self) -> tuple[TileView, UnitView]:
        at = BEGIN + self.now * SECOND
        return self.engine.tile("B1", at), self.engine.unit(at)

    def _revision(self, alert: Alert) -> int:
        if alert.episode is None:
            return 1
        return self.shown[alert.episode.id].revision


EngineMachine.TestCase.settings = settings(max_examples=EXAMPLES, stateful_step_count=STEPS, deadline=None)
TestEngineMachine = EngineMachine.TestCase


def test_that_the_machine_took_its_steps() -> None:
    """Steps and seconds of the run above; the long one must be long."""
    sys.stdout.write(f"{EngineMachine.steps} steps, {EngineMachine.seconds} seconds of the unit\n")
    assert EngineMachine.steps >= (100_000 if LONG else 2_000)
