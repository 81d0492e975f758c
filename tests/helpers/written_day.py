"""Hours of an invented unit in which everything happens that can be told, written from a seed.

Two beds are read, with troubles of all kinds; sets are entered by hand at a third, late ones, corrected and struck
ones among them; people answer and do whatever a board offers, sense or nonsense; the hub is stopped and started
again, also under other rules.
"""

import json
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from random import Random
from typing import Any

from monitor.core.commands import COMMANDS
from monitor.core.events import Observed
from shared.instant import HOUR, MINUTE, SECOND, Instant
from shared.messages import Edition, Found, Looked, Observation, RoundKind, Why
from shared.quantities import Quantity as Q
from shared.support import Support, describe_run
from tests.helpers.one_bed import USUAL
from tests.helpers.written_unit import BEGIN, WrittenUnit

BY_HAND = "B5"
TROUBLE: tuple[Mapping[Q, float] | None, ...] = (
    {Q.PUMP_FLOW: 3.3},
    {Q.PUMP_FLOW: 2.4, Q.INLET_PRESSURE: -140.0},
    {Q.PUMP_SPEED: 0.0, Q.PUMP_FLOW: 0.0, Q.MEAN_ARTERIAL_PRESSURE: 48.0},
    {Q.MEAN_ARTERIAL_PRESSURE: 55.0},
    None,
)
_RUN = describe_run(Support.VA, "again").model_dump(mode="json")
#: What is told, in JSON, by the charge nurse at a bed chosen at random unless it says otherwise; times from now.
ACTS: tuple[dict[str, Any], ...] = (
    {"kind": "target", "quantity": "mean_arterial_pressure", "value": 65.0},
    {"kind": "order", "quantity": "pump_flow", "value": 4.0, "prescriber": "Intensivist 1"},
    {"kind": "limit", "rule": "map_low", "value": 55.0, "until": HOUR},
    {"kind": "limit_end", "rule": "map_low"},
    {"kind": "call_me", "quantity": "pump_flow", "below": 3.5, "calls": "surgeon-3", "until": HOUR},
    {"kind": "call_me_end", "quantity": "pump_flow"},
    {"kind": "trial_start", "trial": "sweep_off", "until": HOUR, "second": "nurse-1"},
    {"kind": "trial_end"},
    {"kind": "transport_start", "leader": "nurse-1", "back": 20 * MINUTE, "cylinder_l": 75.0, "sweep": 2.0},
    {"kind": "transport_end"},
    {"kind": "return_check"},
    {"kind": "cylinder", "litres": 400.0},
    {"kind": "exchange", "device": "oxygenator", "reason": "as agreed"},
    {"kind": "care_marker", "minutes": 5, "person": "nurse-1", "bed": "B1"},
    {"kind": "help", "what": "air"},
    {"kind": "audio_pause"},
    {"kind": "looked"},
    {"kind": "event", "what": "CT", "at": HOUR},
    {"kind": "event_end", "event": 1, "done": True},
    {"kind": "off_support"},
    {"kind": "back_on_support", "pressed": -MINUTE},
    {"kind": "run_end", "bed": "B6", "reason": "weaned"},
    {"kind": "run_start", "bed": "B6", "run": _RUN, "targets": {"pump_flow": 4.0}},
    {"kind": "run_move", "bed": "B1", "to": "B8"},
    {"kind": "run_move", "bed": "B8", "to": "B1"},
    {"kind": "roster", "rung": 2, "stands": None, "bed": None},
    {"kind": "roster", "rung": 2, "stands": "charge-5", "bed": None},
    {"kind": "roster", "rung": 1, "stands": None},
    {"kind": "break", "who": "nurse-1", "cover": "deputy", "minutes": 20, "person": "deputy", "bed": None},
    {"kind": "unreachable", "who": "perfusionist-1", "until": HOUR, "bed": None},
    {"kind": "plan", "rung": 5, "stands": None, "begins": 0, "ends": HOUR, "bed": None},
    {"kind": "item_place", "item": "drive-1", "place": "Store", "bed": None},
    {"kind": "item_check", "item": "console-2", "charge": 95, "bed": None},
    {"kind": "item_quarantine", "item": "drive-1", "reason": "noise", "bed": None},
    {"kind": "item_return", "item": "drive-1", "reason": "battery changed", "charge": 95, "bed": None},
)
_FROM_NOW = ("until", "back", "begins", "ends", "at", "pressed")


@dataclass(slots=True)
class _Set:
    number: int
    read_at: Instant
    version: int = 1
    struck: bool = False

    @property
    def id(self) -> str:
        return f"{self.number:016x}"


class _Hand:
    """Enters sets at the bed without a feed, and corrects and strikes some of them."""

    def __init__(self, unit: WrittenUnit, dice: Random) -> None:
        self._unit, self._dice = unit, dice
        self._sets: list[_Set] = []
        self._seq = 0

    def enter(self) -> None:
        late = self._dice.choice((0, 0, 0, 3, 40)) * MINUTE
        one = _Set(len(self._sets) + 1, self._unit.now - late)
        self._sets.append(one)
        said: dict[str, Any] = {"readings": self._values(), "edition": Edition(set=one.id)}
        if self._dice.random() < 0.6:
            found = self._dice.choice(list(Found))
            looked = {"clots": Looked(found=found, note="fibrin" if found is Found.FINDING else None)}
            said |= {"round": self._dice.choice(list(RoundKind)), "looked": looked}
        self._say(one, said)

    def mend(self) -> None:
        left = [one for one in self._sets if not one.struck]
        if not left:
            return
        one = self._dice.choice(left)
        one.version += 1
        one.struck = self._dice.random() < 0.3
        why = {"set": one.id, "version": one.version, "why": Why.MISTYPED, "struck": one.struck}
        edition = Edition.model_validate(why | ({"second": "charge-2"} if one.struck else {}))
        self._say(one, {"readings": {} if one.struck else self._values(), "edition": edition})

    def _values(self) -> dict[Q, float]:
        change = self._dice.choice(TROUBLE) if self._dice.random() < 0.6 else None
        return USUAL | dict(change or {})

    def _say(self, one: _Set, more: Mapping[str, Any]) -> None:
        self._seq += 1
        now = self._unit.now
        where = {"feed": "hand", "epoch": "00000000000000cc", "seq": self._seq, "bed": BY_HAND}
        times = {"read_at": one.read_at, "sent_at": now, "entered_at": now, "by": "nurse-5"}
        self._unit.handle(Observed(Observation.model_validate(where | times | dict(more))))


def write_day(path: Path, seed: int, hours: float = 5) -> WrittenUnit:
    """Write some hours; everything follows from the seed. The record is closed."""
    dice = Random(seed)
    unit = WrittenUnit(path, ("B1", "B6"))
    hand = _Hand(unit, dice)
    shipped, step = unit.files, 0
    acts: list[dict[str, Any]] = []
    unit.read(15)
    while unit.now < BEGIN + hours * HOUR:
        step += 1
        bed = dice.choice(unit.beds)
        unit.read(dice.uniform(1, 8), {bed: dice.choice(TROUBLE)})
        for _ in range(dice.randrange(12)):
            acts = acts or dice.sample(ACTS, len(ACTS))
            _tell(unit, dice, {"bed": dice.choice((*unit.beds, BY_HAND))} | acts.pop())
        for _ in range(dice.randrange(3)):
            dice.choice((hand.enter, hand.enter, hand.mend))()
        _answer(unit, dice, bed)
        unit.note("something of the hub's own")
        if step % 5 == 0:
            unit.be_away(dice.randrange(20, 1200))
        if step % 7 == 0:
            text = shipped["limits.toml"].replace("below = 60\n", f"below = {dice.choice((58, 62, 68))}\n", 1)
            unit.reconfigure(shipped | {"limits.toml": text})
        unit.read(dice.uniform(2, 15))
    unit.close()
    return unit


def _answer(unit: WrittenUnit, dice: Random, bed: str) -> None:
    for episode in unit.engine.tile(bed, unit.now).episodes:
        if dice.random() < 0.8:
            kind = dice.choice(("seen", "take", "take", "decline", "advise"))
            reason = {"reason": "at_bedside"} if kind == "take" else {}
            said: dict[str, Any] = {"kind": kind, "bed": bed, "alert": episode.lead, "revision": episode.revision}
            _tell(unit, dice, said | reason | {"person": dice.choice(("nurse-1", "charge-2", "deputy"))})


def _tell(unit: WrittenUnit, dice: Random, said: Mapping[str, Any]) -> None:
    soon = {name: unit.now + value for name, value in said.items() if name in _FROM_NOW}
    who: dict[str, Any] = {"id": f"day-{unit.now // SECOND}-{dice.randrange(10**9)}", "person": "charge-2"}
    unit.give(
        COMMANDS.validate_json(json.dumps({k: v for k, v in (who | dict(said) | soon).items() if v is not None}))
    )
