"""The engine under every command there is, with sensible, stupid and hostile fields, in any order.

Every command is carried out or refused, never both, and the engine never fails. A refused command leaves the whole
state as it was; one of a bed leaves the other beds as they were. Every checkpoint reads back to the same bytes, and
an engine that goes on from one does the same as the one that went on without.
"""

import re
from pathlib import Path
from typing import Any, get_args

from hypothesis import Phase, given, settings
from hypothesis import strategies as st
from pydantic import TypeAdapter, ValidationError

from monitor.core.bed_commands import DepartureItem
from monitor.core.commands import COMMANDS, CallBack, Command, Device, HelpKind, Reason, Where
from monitor.core.effects import Accept, Effect, Persist, Refuse
from monitor.core.engine import Engine
from monitor.core.entries import Entry
from monitor.core.entry_words import words_of
from monitor.core.equipment.table import ItemKind
from monitor.core.events import Commanded, Event, Observed, TimePassed
from monitor.core.grades import Role, TrialKind
from monitor.core.roster.acts import ROSTER_ACTS
from monitor.core.state import BedState
from monitor.core.titles import rule_name
from monitor.core.unit import Configuration, Person
from monitor.core.wire import CommandAnswer, EntryDelta
from monitor.desk.heard_views import in_our_words
from monitor.rehearsal.sources import Numbered
from monitor.settings import load_configuration
from shared.instant import HOUR, MINUTE, SECOND, Instant
from shared.quantities import Quantity as Q
from shared.support import Support, describe_run
from tests.helpers.fresh_views import hold_to_fresh
from tests.helpers.pseudo import plain_words, pseudo_language, speaking

CONFIG = Path(__file__).parents[2] / "config"
BEGIN: Instant = 1_767_225_600_000  # 2026-01-01 00:00 UTC
FAR = 2**53 - 1
KINDS: dict[str, Any] = {kind.model_fields["kind"].default: kind for kind in get_args(get_args(Command)[0])}
_BEDS: TypeAdapter[BedState] = TypeAdapter(BedState)
#: Fields that say when: drawn as milliseconds from now, or as a moment where they are absurd.
WHEN = frozenset({"until", "back", "begins", "ends", "at", "pressed"})


def configuration() -> Configuration:
    """The shipped unit, with two who look on."""
    shipped = load_configuration(CONFIG)
    viewers = tuple(
        Person(name=role.value, label=role.value.capitalize(), role=role)
        for role in (Role.VIEWER, Role.ADMINISTRATOR)
    )
    beds = tuple(bed for bed in shipped.unit.beds if bed.label in ("B1", "B2", "B5", "B6", "B8"))
    unit = shipped.unit.model_copy(update={"people": (*shipped.unit.people, *viewers), "beds": beds})
    return shipped.model_copy(update={"unit": unit})


CONFIGURATION = configuration()
LABELS = tuple(bed.label for bed in CONFIGURATION.unit.beds)
BED = st.sampled_from([*(6 * ("B1",)), "B2", "B2", "B6", "B8", "B8", "B99"])
PERSON = st.sampled_from(
    [
        *(person.name for person in CONFIGURATION.unit.people),
        *(30 * ("charge-2",)),
        *(8 * ("nurse-1", "deputy")),
        "stranger",
    ]
)
SLOT = st.sampled_from([*(9 * (1,)), 2, 0, 3])
WORDS = st.sampled_from(["", *(9 * ("as agreed",)), "x" * 120, "x" * 200, "\x00\u202e\n{}%s"])
HOSTILE = (0.0, -60.0, 1e-320, -1e9, 1e308, float("nan"), float("inf"))
NUMBER = st.sampled_from([*(5 * (1.0, 3.5, 4.2, 75.0)), *HOSTILE])
OFFSET = st.sampled_from(
    [SECOND, MINUTE, 5 * MINUTE, 5 * MINUTE, HOUR, HOUR, HOUR, 8 * HOUR, 0, -HOUR, 30 * 24 * HOUR, FAR]
)
RULE = st.sampled_from(
    [*(rule.id for rule in CONFIGURATION.limits.rules), *(3 * ("flow_low", "map_low", "flow_very_low")), "no_rule"]
)
QUANTITY = st.sampled_from([*(4 * (Q.PUMP_FLOW, Q.MEAN_ARTERIAL_PRESSURE, Q.PUMP_SPEED)), *Q]).map(
    lambda q: q.value
)
POST = st.builds(
    lambda rung, bed: {"rung": rung, "bed": bed}, st.sampled_from([1, 1, 2, 3, 4, 5, 6]), BED
) | st.builds(lambda rung: {"rung": rung}, st.integers(1, 5))
COUNT = st.sampled_from([0, 1, 2, 3, 4, 5, 6, 99, FAR])


def maybe(strategy: st.SearchStrategy[Any]) -> st.SearchStrategy[Any]:
    return st.none() | strategy


def values(kind: Any) -> st.SearchStrategy[Any]:
    return st.sampled_from([one.value for one in kind] + ["nonsense"] * (len(kind) > 8))


#: What each field may be, in JSON; a field of the same name means the same everywhere.
POOL: dict[str, st.SearchStrategy[Any]] = {
    "break_glass": WORDS, "up_to": COUNT, "event": COUNT, "done": st.booleans(), "card": st.booleans(),
    "bed": BED, "to": BED, "person": PERSON, "slot": SLOT, "alert": st.integers(0, 40),
    "revision": st.integers(0, 9), "reason": WORDS, "where": values(Where),
    "eta_min": maybe(st.integers(0, 61)), "told_to": maybe(PERSON),
    "quantity": QUANTITY, "value": NUMBER, "prescriber": WORDS, "rung": st.integers(1, 5), "stands": maybe(PERSON),
    "what": WORDS, "minutes": st.sampled_from([1, 5, 15, 20, 30, 240, 0, FAR]), "device": values(Device),
    "trial": values(TrialKind), "second": maybe(PERSON), "floor_flow": maybe(NUMBER),
    "anticoagulation": st.booleans(), "accept": st.booleans(),
    "leader": PERSON, "destination": WORDS, "cylinder_l": maybe(NUMBER), "cylinder_min": maybe(NUMBER),
    "sweep": maybe(NUMBER), "departure": st.dictionaries(values(DepartureItem), st.sampled_from([0, BEGIN, FAR])),
    "targets": st.dictionaries(QUANTITY, NUMBER, max_size=2), "rule": RULE, "below": maybe(NUMBER),
    "above": maybe(NUMBER), "calls": PERSON, "note": WORDS, "litres": NUMBER,
    "seconds": st.sampled_from([120, 120, 1, 0, 121, -1]), "plan": COUNT, "offer": COUNT, "giver": maybe(PERSON),
    "posts": st.lists(POST, max_size=3), "takes": st.lists(st.integers(0, 6), max_size=3), "who": PERSON,
    "cover": PERSON, "instead": maybe(PERSON), "why": WORDS,
    "run": st.builds(
        lambda support, slot, began: {
            **describe_run(support, "again", slot).model_dump(mode="json"), "started_at": began
        },
        st.sampled_from(Support), st.sampled_from([1, 2]), st.sampled_from([None, BEGIN, FAR]),
    ),
    "item": st.sampled_from([*(4 * ("console-1", "console-2", "circuit-1", "drive-1")), "spare-9", "none"]),
    "off": maybe(st.sampled_from(["console-1", "none"])), "on": maybe(st.sampled_from(["console-2", "circuit-1"])),
    "items": st.lists(st.sampled_from(["console-2", "circuit-1", "none"]), max_size=2), "of": values(ItemKind),
    "place": st.sampled_from(["", "", "Store", " "]), "fault": st.sampled_from(["", "", "noise", "x" * 200]),
    "charge": maybe(st.sampled_from([0, 95, 101])), "primed": st.booleans(), "profile": maybe(st.just("broad")),
    "supports": st.lists(st.sampled_from(["VA", "VV"]), max_size=2),
    "title": st.sampled_from(["Pump stop", ""]),
    "version": st.sampled_from([1, 1, 2, 0]), "step": st.sampled_from([1, 2, 40, 0]), "text": WORDS,
    "primed_at": maybe(st.sampled_from([BEGIN, FAR])),
    "says": maybe(values(CallBack)),
    **dict.fromkeys(WHEN, OFFSET),
}  # fmt: skip
#: The same name, another meaning.
APART: dict[tuple[str, str], st.SearchStrategy[Any]] = {
    ("offer", "to"): PERSON,
    ("trial_start", "second"): PERSON,
    ("help", "what"): values(HelpKind),
    **dict.fromkeys(
        [("card_begin", "card"), ("card_step", "card")], st.sampled_from(["pump_stop", "pump_stop", "air", "No"])
    ),
    **{(kind, "reason"): maybe(values(Reason)) for kind in ("take", "decline", "advise", "renew")},
    ("reason", "reason"): values(Reason),
}


def fields_of(kind: str) -> st.SearchStrategy[dict[str, Any]]:
    """Give what a command of a kind may say; optional fields may be left out."""
    need: dict[str, st.SearchStrategy[Any]] = {}
    may: dict[str, st.SearchStrategy[Any]] = {}
    for name, field in KINDS[kind].model_fields.items():
        if name not in ("id", "kind"):
            (need if field.is_required() else may)[name] = APART.get((kind, name), POOL.get(name, st.none()))
    return st.fixed_dictionaries({"kind": st.just(kind), **need}, optional=may)


COMMAND = st.sampled_from(sorted(KINDS)).flatmap(fields_of)
WAIT = st.sampled_from([1, 1, 5, 31, 121, 301, 601, 3_600]).map(lambda seconds: {"wait": seconds})
READ = st.builds(
    lambda bed, flow: {"bed": bed, "flow": flow},
    st.sampled_from(["B1", "B1", "B2", "B6"]),
    st.sampled_from([4.2, 4.2, 3.0, 1.0, 0.2]),
)
STEPS = st.lists(
    st.one_of(COMMAND, COMMAND, COMMAND, WAIT, READ, st.just({"restart": 1})), min_size=12, max_size=40
)

#: What only somebody at a desk has typed.
TYPED = (
    "stranger", "spare-9", "again", "as agreed", "noise", "Store", "x" * 30, "CT", "Dial", "Pump stop", "sent away",
    "battery changed",
)  # fmt: skip

#: Views are asked for again after so long in which nothing happened.
AHEAD = (0, SECOND, 16 * SECOND, 0, 121 * SECOND, 16 * MINUTE, 0, HOUR, 9 * HOUR, 13 * HOUR)

#: What became of each kind of command.
done: dict[str, set[bool | None]] = {kind: set() for kind in KINDS}
#: What was said to people: refusals and lines of the log.
refusals: set[str] = set()
lines: dict[tuple[str, str], Entry] = {}

#: What stands at the beginning, so that there is something to answer, to accept and to end.
PRELUDE: tuple[dict[str, Any], ...] = (
    {"kind": "limit", "bed": "B1", "rule": "map_low", "value": 55.0, "until": HOUR},
    {"kind": "target", "bed": "B1", "quantity": "pump_flow", "value": 4.0},
    {"kind": "limit_propose", "bed": "B1", "rule": "map_low", "value": 54.0, "until": HOUR, "person": "nurse-1"},
    {"kind": "limit_answer", "bed": "B1", "rule": "map_low", "accept": True, "value": 54.0, "until": HOUR},
    {"kind": "call_me", "bed": "B1", "quantity": "pump_flow", "below": 3.5, "calls": "surgeon-3", "until": HOUR},
    {"kind": "trial_start", "bed": "B1", "trial": "sweep_off", "until": HOUR, "second": "nurse-1"},
    {"kind": "transport_start", "bed": "B1", "leader": "nurse-1", "back": HOUR, "cylinder_l": 75.0, "sweep": 2.0},
    {"kind": "plan", "rung": 5, "stands": "surgeon-3", "begins": 0, "ends": HOUR},
    {"kind": "offer", "giver": "perfusionist-1", "to": "deputy"},
    {"kind": "break", "who": "nurse-1", "cover": "deputy", "minutes": 20, "person": "deputy"},
    {"kind": "unreachable", "who": "charge-2", "until": HOUR},
    {"kind": "audio_pause", "bed": "B1"},
    {"kind": "care_marker", "bed": "B6", "minutes": 5, "person": "nurse-1", "break_glass": "as agreed"},
    {"kind": "beyond_seen", "up_to": 1},
    {"kind": "looked", "bed": "B1"},
    {"kind": "looked", "bed": "B6", "card": True},
    {"kind": "configuration_seen", "up_to": 1},
    {"kind": "event", "bed": "B1", "what": "CT", "at": HOUR},
    {"kind": "event", "bed": "B1", "what": "CT", "at": HOUR},
    {"kind": "event_end", "bed": "B1", "event": 1, "done": True},
    {"kind": "help", "bed": "B1", "what": "air"},
    {"kind": "take", "bed": "B1", "alert": 0, "revision": 1, "person": "nurse-1"},
    {"kind": "reason", "bed": "B1", "alert": 0, "revision": 1, "person": "nurse-1", "reason": "at_bedside"},
    {"kind": "cylinder", "bed": "B1", "litres": 75.0},
    {"kind": "help", "bed": "B6", "what": "air"},
    {"kind": "item_place", "item": "drive-1", "place": "Store"},
    {"kind": "item_check", "item": "console-2", "charge": 95},
    {"kind": "item_quarantine", "item": "drive-1", "reason": "noise"},
    {"kind": "item_return", "item": "drive-1", "reason": "battery changed", "charge": 95},
    {"kind": "item_quarantine", "item": "drive-1", "reason": "noise"},
    {"kind": "item_note", "item": "drive-1", "note": "sent away", "person": "nurse-1"},
    {"kind": "run_move", "bed": "B5", "to": "B8"},
    {"kind": "run_move", "bed": "B8", "to": "B5"},
    {"kind": "off_support", "bed": "B6"},
    {"kind": "back_on_support", "bed": "B6", "pressed": -MINUTE},
    {"kind": "card_begin", "bed": "B1", "card": "pump_stop", "title": "Pump stop", "version": 1},
    {
        "kind": "card_step",
        "bed": "B1",
        "card": "pump_stop",
        "title": "Pump stop",
        "version": 1,
        "step": 1,
        "text": "Dial",
    },
    {"kind": "item_new", "item": "spare-9", "of": "tubing", "place": "Store"},
)


class Both:
    """Two engines that are told the same; the second is made anew from its checkpoint now and then."""

    def __init__(self) -> None:
        self.now = BEGIN
        self.one, self.twin = Engine(CONFIGURATION, BEGIN), Engine(CONFIGURATION, BEGIN)
        assert self.one.start(BEGIN) == self.twin.start(BEGIN)
        self.numbered = Numbered()
        self.given = self.looks = 0
        for said in PRELUDE:
            assert self.command({"person": "charge-2", **said}), said
            done[said["kind"]].add(True)

    def tell(self, event: Event) -> list[Effect]:
        effects = self.one.handle(event, self.now)
        assert repr(self.twin.handle(event, self.now)) == repr(effects)
        refusals.update(one.reason for one in effects if isinstance(one, Refuse))
        for one in effects:
            if isinstance(one, Persist):
                lines[one.entry.kind, one.entry.text or ""] = one.entry
        return effects

    def settle(self) -> None:
        """What is due by now is done at once, and by one look at the time."""
        self.tell(TimePassed())
        due = self.one.next_deadline()
        assert due is None or due > self.now, "what is due has been done"

    def restart(self) -> None:
        kept = self.one.checkpoint()
        self.twin = Engine.restore(CONFIGURATION, kept)
        assert self.twin.checkpoint() == kept

    def wait(self, seconds: int) -> None:
        self.now += seconds * SECOND
        self.settle()

    def read(self, bed: str, flow: float) -> None:
        for _ in range(12):
            self.now += SECOND
            readings = {Q.PUMP_SPEED: 3500.0, Q.PUMP_FLOW: flow, Q.SWEEP_GAS_FLOW: flow, Q.INLET_PRESSURE: -60.0}
            self.tell(Observed(self.numbered.live(bed, 1, self.now, readings)))

    def command(self, said: dict[str, Any]) -> bool | None:
        """Give a command as it comes from a desk; ``None``: it is refused at the door."""
        self.given += 1
        said = self._placed({**said, "id": f"fuzz-{self.given}"})
        try:
            command = COMMANDS.validate_python(said, strict=False)
        except ValidationError:
            return None
        self.settle()
        before, beds = self.one.checkpoint(), self._beds()
        effects = self.tell(Commanded(command))
        answers = [one for one in effects if isinstance(one, Accept | Refuse)]
        assert len(answers) == 1, answers
        (answer,) = answers
        if isinstance(answer, Refuse):
            assert answer.reason.strip()
            assert self.one.checkpoint() == before, f"refused, and yet it changed something: {said}"
        elif type(command) not in ROSTER_ACTS:
            own = {getattr(command, "bed", None), getattr(command, "to", None)}
            after = self._beds()
            assert [bed for bed in LABELS if bed not in own and beds[bed] != after[bed]] == []
        return isinstance(answer, Accept)

    def look(self, *beds: str) -> None:
        """What desks are shown can be made and told, and what was kept of it is as it would be made anew."""
        for label in {*LABELS}.intersection(beds):
            assert self.one.tile(label, self.now).model_dump_json()
        assert self.one.unit(self.now).model_dump_json()
        self.looks += 1
        hold_to_fresh(self.one, self.now + AHEAD[self.looks % len(AHEAD)], LABELS)

    def _beds(self) -> dict[str, bytes]:
        return {label: _BEDS.dump_json(bed) for label, bed in self.one._state.beds.items()}

    def _placed(self, said: dict[str, Any]) -> dict[str, Any]:
        for name in WHEN & said.keys():
            said[name] = said[name] if said[name] == FAR else self.now + said[name]
        bed = said.setdefault("bed", "B1") if "alert" in said else None
        if bed in LABELS:
            open_ones = [(alert, episode.revision) for episode in self.one.tile(bed, self.now).episodes
                         for alert in episode.alerts]  # fmt: skip
            if open_ones and said["alert"] < 36:
                alert, revision = open_ones[said["alert"] % len(open_ones)]
                said["alert"], said["revision"] = alert.id, revision if said["revision"] < 8 else 99
        return said


@settings(max_examples=60, deadline=None, phases=[Phase.generate])
@given(steps=STEPS)
def test_that_every_command_is_carried_out_or_refused_and_nothing_else_happens(steps: list[dict[str, Any]]) -> None:
    both = Both()
    for step in steps:
        if "wait" in step:
            both.wait(step["wait"])
        elif "restart" in step:
            both.restart()
        elif "flow" in step:
            both.read(step["bed"], step["flow"])
        else:
            done[step["kind"]].add(both.command(step))
        both.look(step.get("bed", "B1"))
    both.look(*LABELS)
    both.restart()


def test_that_each_kind_of_command_was_judged_and_most_were_carried_out() -> None:
    """What the run above reached: else it says little."""
    assert [kind for kind, answers in done.items() if not {True, False} & answers] == []
    for answer in (True, False):
        never = [kind for kind, answers in done.items() if answer not in answers]
        assert len(never) <= len(KINDS) // 3, (answer, never)


def test_that_every_field_of_every_command_is_drawn() -> None:
    names = {name for kind in KINDS.values() for name in kind.model_fields} - {"id", "kind"}
    assert names - POOL.keys() == set()


def test_that_all_that_was_said_is_said_again_in_the_language_of_a_desk() -> None:
    rules, patterns = CONFIGURATION.limits.rules, CONFIGURATION.patterns.pattern
    own = [name for one in CONFIGURATION.unit.people for name in (one.label, one.name)]
    own += [
        words
        for rule in rules
        for words in (
            rule.id,
            rule.id.replace("_", " "),
            rule_name(rule.id),
            *filter(None, re.split(r" ?\{.*?\}", rule.title)),
        )
    ]
    own += [*TYPED, *CONFIGURATION.pumps, *(item.id for item in CONFIGURATION.equipment.items)]
    own += [pattern.title for pattern in patterns]
    named = re.compile("|".join(re.escape(one) for one in sorted(own, key=len, reverse=True)), re.IGNORECASE)
    with speaking(pseudo_language()):
        answers = [CommandAnswer(id="1", accepted=False, at=0, recorded=True, reason=one) for one in refusals]
        told = [in_our_words(one).reason for one in answers]
        deltas = [EntryDelta(boot="0" * 16, seq=1, entry=one) for one in lines.values()]
        told += [words_of(in_our_words(one).entry, lambda person: "") for one in deltas]
    assert len(told) > 100
    assert sorted({one for one in told if plain_words(named.sub("", one))}) == []
