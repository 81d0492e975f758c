"""Exchanges and trials, at one of the pumps."""

from monitor.core.commands import Device, EndTrial, Exchange, StartTrial
from monitor.core.grades import TrialKind
from monitor.core.view import RunView, TileView
from monitor.desk import words
from monitor.desk.menu.asking import Asking
from monitor.desk.menu.items import ask_exchanged
from monitor.desk.question import Choice
from monitor.desk.typed import NumberField
from shared.language.saying import say, to_say
from shared.quantities import CATALOGUE
from shared.quantities import Quantity as Q

_DEVICES = (
    Choice(Device.PUMP_HEAD, to_say("Pump head")),
    Choice(Device.OXYGENATOR, to_say("Oxygenator")),
    Choice(Device.TUBING, to_say("Tubing")),
    Choice(Device.CONSOLE, to_say("Console")),
)
#: Why devices are exchanged (common practice, no source).
WHY_EXCHANGED = (
    to_say("Planned"),
    to_say("Clots seen"),
    to_say("Gas exchange worse"),
    to_say("Resistance up"),
    to_say("Leak or air"),
    to_say("Fault"),
)
_TRIALS = (
    Choice(TrialKind.TURN_DOWN, to_say("Turn-down")),
    Choice(TrialKind.RETROGRADE, to_say("Retrograde")),
    Choice(TrialKind.SWEEP_OFF, to_say("Sweep off")),
    Choice(TrialKind.CLAMP, to_say("Clamp")),
)
_LASTS = tuple(Choice(str(minutes), f"{minutes} min") for minutes in (5, 15, 30, 60, 120, 240))
_FLOOR = NumberField(to_say("Floor flow"), "L/min", 0, 10, 1)
_ANTICOAGULATION = (Q.ACT, Q.APTT, Q.APTT_RATIO, Q.ANTI_XA)


def exchange(asking: Asking, tile: TileView, run: RunView) -> None:
    """Ask which device was exchanged, why, and which item is on now."""

    def why(device: str) -> None:
        title = say("{bed}: why was it exchanged?", bed=tile.bed)
        asking.words(title, WHY_EXCHANGED, lambda reason: items(Device(device), reason))

    def items(device: Device, reason: str) -> None:
        def give(off: str | None, on: str | None) -> None:
            slot = run.description.slot
            said = Exchange(**asking.who(), bed=tile.bed, slot=slot, device=device, reason=reason, off=off, on=on)
            asking.give(tile, said)

        ask_exchanged(asking, tile, run, device, give)

    fitted = tuple(one for one in _DEVICES if run.description.oxygenator or one.value != Device.OXYGENATOR)
    note = say("The baselines that the device made begin anew; a console makes none.")
    asking.choose(say("{bed}: exchanged", bed=tile.bed), fitted, why, note)


def end_trial(asking: Asking, tile: TileView, run: RunView) -> None:
    """Write down that a trial has ended before its time."""
    asking.give(tile, EndTrial(**asking.who(), bed=tile.bed, slot=run.description.slot))


class TrialBegins:
    """The steps of a trial's start. Two people, a hard end, and a look at the last anticoagulation value."""

    def __init__(self, asking: Asking, tile: TileView, run: RunView) -> None:
        self._asking = asking
        self._tile = tile
        self._run = run
        self._kind = TrialKind.TURN_DOWN
        self._second = ""
        self._looked = False
        self._minutes = 0

    def begin(self) -> None:
        """Ask which trial."""
        self._asking.choose(
            say("{bed}: which trial was ordered?", bed=self._tile.bed), _TRIALS, self._anticoagulation
        )

    def _anticoagulation(self, kind: str) -> None:
        self._kind = TrialKind(kind)
        choices = (Choice("looked", say("Looked at"), "y"), Choice("unknown", say("Not known"), "n"))
        note = say("Look at the value first. It is not judged here.")
        self._asking.choose(f"{self._tile.bed}: {self._last_value()}", choices, self._ask_second, note)

    def _ask_second(self, looked: str) -> None:
        self._looked = looked == "looked"
        people, title = self._asking.people, say("{bed}: second person", bed=self._tile.bed)
        self._asking.person(title, self._ask_end, but=people.name)

    def _ask_end(self, second: str) -> None:
        self._second = second
        note = say("At the end its limits fall away, whoever remembers.")
        self._asking.choose(say("{bed}: ends after", bed=self._tile.bed), _LASTS, self._ask_floor, note)

    def _ask_floor(self, minutes: str) -> None:
        self._minutes = int(minutes)
        if self._kind is TrialKind.TURN_DOWN:
            self._asking.number(say("{bed}: floor flow as ordered", bed=self._tile.bed), _FLOOR, self._start)
        else:
            self._start(None)

    def _start(self, floor: float | None) -> None:
        until = self._asking.after(self._minutes)
        if until is None:
            return
        command = StartTrial(
            **self._asking.who(),
            bed=self._tile.bed,
            slot=self._run.description.slot,
            trial=self._kind,
            until=until,
            second=self._second,
            floor_flow=floor,
            anticoagulation=self._looked,
        )
        self._asking.give(self._tile, command)

    def _last_value(self) -> str:
        readings, slot = self._asking.session.store.readings, self._run.description.slot
        found = [(q, readings.latest(self._tile.bed, slot, q)) for q in _ANTICOAGULATION]
        known = [(read, q) for q, read in found if read is not None]
        now = self._asking.now()
        if not known or now is None:
            return say("last anticoagulation value is not known here")
        read, quantity = max(known, key=lambda pair: pair[0].read_at)
        spec = CATALOGUE[quantity]
        value = f"{say(spec.label)} {words.reading(quantity, read.value)} {spec.unit}".rstrip()
        return say("last anticoagulation value {value}, {age}", value=value, age=words.age(now - read.read_at))
