"""A run starts: what supports the patient, how it is fitted, since when, and its targets. It starts blank."""

from collections.abc import Callable
from datetime import UTC, datetime

from monitor.core.commands import StartRun
from monitor.core.equipment.table import ItemKind
from monitor.core.view import TileView
from monitor.desk.item_words import kind_words
from monitor.desk.menu.asking import Asking
from monitor.desk.menu.items import which
from monitor.desk.question import Choice, Ticks
from monitor.desk.typed import NumberField, number_field
from shared.instant import HOUR, SECOND
from shared.language.saying import say, to_say
from shared.quantities import CATALOGUE, Scope
from shared.quantities import Quantity as Q
from shared.support import (
    DEFAULT_SENSORS,
    HEIGHTS,
    SIDE_OF,
    SUPPORT_LABEL,
    WEIGHTS,
    WITH_OXYGENATOR,
    RunDescription,
    Side,
    Support,
    label_for,
    size_fault,
)

#: Names of the pump profiles that come with this program; those of other beds stand beside them.
_PROFILES = ("broad", "small")
_MOST_PROFILE = 40
_PARTS = "parts"
_SIDE_WORDS = {
    Side.LEFT: to_say("Left heart"),
    Side.RIGHT: to_say("Right heart"),
    Side.BOTH: to_say("Both sides"),
    Side.NONE: to_say("Neither: lungs alone"),
}
_GAS = frozenset({Q.PRE_OXYGENATOR_PRESSURE, Q.SWEEP_GAS_FLOW, Q.FDO2})
_FITTED = [q for q in Q if q is Q.HEART_RATE or any(q in usual for usual in DEFAULT_SENSORS.values())]
_HOURS = NumberField(to_say("On support for"), "h", 0, 5_000, 0)
_WEIGHT = NumberField(to_say("Weight"), "kg", *WEIGHTS, 1)
_HEIGHT = NumberField(to_say("Height"), "cm", *HEIGHTS, 0)


class RunStarts:
    """The steps of a run's start in the first free place of a bed."""

    def __init__(self, asking: Asking, tile: TileView) -> None:
        self._asking = asking
        self._tile = tile
        taken = {run.description.slot for run in tile.runs}
        self._slot = next(slot for slot in (1, 2) if slot not in taken)
        self._support = Support.VA
        self._profile = ""
        self._oxygenator = False
        self._side = Side.BOTH
        self._sensors = Ticks(asking.now)
        self._hours = 0.0
        sizes = [(run.description.weight, run.description.height) for run in tile.runs]
        self._weight, self._height = next((size for size in sizes if all(size)), (None, None))
        self._targets: dict[Q, float] = {}

    @property
    def _at(self) -> str:
        return say("{bed}, pump {slot}", bed=self._tile.bed, slot=self._slot)

    def begin(self) -> None:
        """Ask what kind of support."""
        choices = tuple(Choice(one, say(SUPPORT_LABEL[one])) for one in Support)
        note = say("A new run starts blank: no alert, limit or baseline of whoever was here before.")
        self._asking.choose(say("{at}: which support starts?", at=self._at), choices, self._ask_profile, note)

    def _ask_profile(self, support: str) -> None:
        self._support = Support(support)
        tiles = self._asking.session.store.tiles.values()
        used = {run.description.profile for tile in tiles for run in tile.runs}
        names = (*_PROFILES, *sorted(used - set(_PROFILES)))
        self._asking.words(
            say("{at}: pump profile", at=self._at), names, self._ask_oxygenator, label=say("Profile's name")
        )

    def _ask_oxygenator(self, profile: str) -> None:
        if len(profile) > _MOST_PROFILE:
            self._asking.tell(
                say(
                    "A profile's name has at most {most_profile} characters. Nothing was sent.",
                    most_profile=_MOST_PROFILE,
                ),
                True,
            )
            return
        self._profile = profile
        usual = self._support in WITH_OXYGENATOR
        yes, no = (say(" (usual)"), "") if usual else ("", say(" (usual)"))
        choices = (
            Choice("yes", say("Oxygenator{yes}", yes=yes), "y"),
            Choice("no", say("No oxygenator{no}", no=no), "n"),
        )
        self._asking.choose(say("{at}: oxygenator in the circuit?", at=self._at), choices, self._ask_side)

    def _ask_side(self, oxygenator: str) -> None:
        self._oxygenator = oxygenator == "yes"
        usual = SIDE_OF[self._support]
        ordered = sorted(Side, key=lambda side: side is not usual)
        choices = tuple(
            Choice(one, say(_SIDE_WORDS[one]) + (say(" (usual)") if one is usual else "")) for one in ordered
        )
        self._asking.choose(say("{at}: which side is supported?", at=self._at), choices, self._ask_sensors)

    def _ask_sensors(self, side: str) -> None:
        self._side = Side(side)
        offered = [q for q in _FITTED if self._oxygenator or q not in _GAS]
        once = bool(self._tile.runs)  # the patient's own readings come once, with the first run
        usual = [
            q
            for q in offered
            if q in DEFAULT_SENSORS[self._support] and not (once and CATALOGUE[q].scope is Scope.BED)
        ]
        self._sensors = Ticks(self._asking.now, tuple(usual))
        choices = tuple(Choice(q, say(label_for(q, self._support, self._oxygenator))) for q in offered)
        note = say("The usual ones are ticked. What is not fitted is not shown and not judged.")
        self._asking.ticks(
            say("{at}: which sensors are fitted?", at=self._at), choices, self._sensors, self._ask_hours, note
        )

    def _ask_hours(self) -> None:
        instead = {"now": (Choice("now", say("It starts now"), "n"), lambda: self._ask_weight(0.0))}
        self._asking.number(say("{at}: on support for", at=self._at), _HOURS, self._ask_weight, instead)

    def _ask_weight(self, hours: float, note: str = "") -> None:
        self._hours = hours
        if self._height is not None:  # the patient's size came with the first run
            self._ask_flow()
            return
        instead = {"none": (Choice("none", say("Not known now"), "n"), self._ask_flow)}
        note = note or say("For what is given for each m² of body surface.")
        self._asking.number(
            say("{at}: weight of the patient", at=self._at), _WEIGHT, self._ask_height, instead, note
        )

    def _ask_height(self, weight: float) -> None:
        self._weight = weight

        def typed(height: float) -> None:
            wrong = size_fault(weight, height)
            if wrong:
                self._weight = None
                self._ask_weight(self._hours, wrong)
                return
            self._height = height
            self._ask_flow()

        instead = {"none": (Choice("none", say("Not known now"), "n"), self._ask_flow)}
        self._asking.number(say("{at}: height of the patient", at=self._at), _HEIGHT, typed, instead)

    def _ask_flow(self) -> None:
        note = say("Without it: Limits not set, until it stands.")
        self._ask_target(Q.PUMP_FLOW, self._ask_pressure, note)

    def _ask_pressure(self) -> None:
        quantity = Q.SPO2_RIGHT_HAND if self._support is Support.VV else Q.MEAN_ARTERIAL_PRESSURE
        if quantity in self._sensors.at:
            self._ask_target(quantity, self._ask_items, "")
        else:
            self._ask_items()

    def _ask_target(self, quantity: Q, then: Callable[[], None], note: str) -> None:
        def typed(value: float) -> None:
            self._targets[quantity] = value
            then()

        instead = {"none": (Choice("none", say("No target yet"), "n"), then)}
        label = say(label_for(quantity, self._support, self._oxygenator))
        self._asking.number(
            say("{at}: target for {label}", at=self._at, label=label),
            number_field(quantity, label=label),
            typed,
            instead,
            note,
        )

    def _ask_items(self) -> None:
        """Ask which console and which circuit, or its parts one by one; nothing of which the unit keeps no list."""
        run = self._described()
        if run is None:
            return

        def circuit(console: str | None) -> None:
            parts = (Choice(_PARTS, say("Its parts one by one"), "p"),)
            title = say("{at}: which circuit?", at=self._at)
            which(
                self._asking, title, (ItemKind.CIRCUIT,), run, lambda one: self._parts(run, console, one), "", parts
            )

        which(self._asking, say("{at}: which console?", at=self._at), (ItemKind.CONSOLE,), run, circuit)

    def _parts(self, run: RunDescription, console: str | None, circuit: str | None) -> None:
        named = [console] if console is not None else []
        left = [ItemKind.PUMP_HEAD, *([ItemKind.OXYGENATOR] if run.oxygenator else []), ItemKind.TUBING]

        def ask(part: str | None) -> None:
            if part is not None:
                named.append(part)
            if not left:
                self._give(run, tuple(named))
                return
            kind = left.pop(0)
            which(
                self._asking,
                say("{at}: which {kind_words}?", at=self._at, kind_words=kind_words(kind).lower()),
                (kind,),
                run,
                ask,
            )

        if circuit == _PARTS:
            ask(None)
        else:
            left.clear()
            ask(circuit)

    def _described(self) -> RunDescription | None:
        now = self._asking.now()
        if now is None:
            return None
        stamp = datetime.fromtimestamp(now / SECOND, UTC).strftime("%y%m%d-%H%M%S")
        return RunDescription(
            run_id=f"{self._tile.bed}-{self._slot}-{stamp}"[:40],
            slot=self._slot,
            support=self._support,
            side=self._side,
            oxygenator=self._oxygenator,
            sensors=frozenset(Q(value) for value in self._sensors.at),
            profile=self._profile,
            started_at=now - round(self._hours * HOUR),
            weight=self._weight,
            height=self._height,
        )

    def _give(self, run: RunDescription, items: tuple[str, ...]) -> None:
        asking, bed = self._asking, self._tile.bed
        asking.give(self._tile, StartRun(**asking.who(), bed=bed, run=run, targets=self._targets, items=items))
