"""Transports: who leads, back when, where to, the departure list with times, and the gas that goes along."""

from monitor.core.bed_commands import ChangeCylinder, DepartureItem
from monitor.core.commands import EndTransport, ReturnCheck, StartTransport
from monitor.core.meaning.view import Meaning
from monitor.core.view import RunView, TileView
from monitor.desk.menu.asking import Asking
from monitor.desk.menu.readiness import battery_words, gas_words
from monitor.desk.menu.table import has_oxygenator
from monitor.desk.question import Choice, Ticks
from monitor.desk.standing import DEPARTURE_WORDS
from monitor.desk.typed import NumberField, number_field, replace_fields
from shared.instant import Instant
from shared.language.saying import say, to_say
from shared.quantities import Quantity

_BACK = tuple(Choice(str(minutes), f"{minutes} min") for minutes in (15, 30, 45, 60, 90, 120))
#: Where beds usually go (common practice, no source).
PLACES = (
    to_say("CT"),
    to_say("Theatre"),
    to_say("Catheter laboratory"),
    to_say("MRI"),
    to_say("Another ward"),
    to_say("Another hospital"),
)
_LITRES = NumberField(to_say("Gas in the cylinder"), "L", 0, 12_000, 0, above_low=True)
_MINUTES = NumberField(to_say("Cylinder lasts"), "min", 0, 1_440, 0, above_low=True)


class Departure:
    """The steps of a departure for one bed; what is gathered goes into one command."""

    def __init__(self, asking: Asking, tile: TileView) -> None:
        self._asking = asking
        self._tile = tile
        self._leader = ""
        self._minutes = 0
        self._destination = ""
        self._ticks = Ticks(asking.now)
        self._litres: float | None = None
        self._lasts: float | None = None
        self._sweep: float | None = None

    def begin(self) -> None:
        """Ask who leads, and the hub how long battery and gas last."""
        for run in self._tile.runs:
            self._asking.ask_meaning(self._tile.bed, run.description.slot)
        self._asking.person(say("{bed}: who leads the transport?", bed=self._tile.bed), self._planned)

    def _planned(self, leader: str) -> None:
        self._leader = leader
        note = say("Alerts are not muted. It ends only when somebody says so.")
        self._asking.choose(say("{bed}: back in", bed=self._tile.bed), _BACK, self._where, note)

    def _where(self, minutes: str) -> None:
        self._minutes = int(minutes)
        title = say("{bed}: where to?", bed=self._tile.bed)
        self._asking.words(title, PLACES, self._list, none=say("Not said"), label=say("Where to"))

    def _list(self, destination: str) -> None:
        self._destination = destination
        gas = has_oxygenator(self._tile)
        items = [item for item in DepartureItem if gas or item is not DepartureItem.CYLINDER]
        choices = tuple(Choice(item, say(DEPARTURE_WORDS[item])) for item in items)
        ready = battery_words(self._meant(), self._minutes, self._asking.now())
        note = say("{ready} What is not ticked stands on the tile.", ready=ready)
        self._asking.ticks(say("{bed}: departure list", bed=self._tile.bed), choices, self._ticks, self._gas, note)

    def _gas(self) -> None:
        if not has_oxygenator(self._tile):
            self._leave()
            return
        instead = {
            "minutes": (Choice("minutes", say("Minutes are known instead"), "m"), self._ask_minutes),
            "unknown": (Choice("unknown", say("Not known"), "n"), self._leave),
        }
        litres = gas_words(self._meant(), self._minutes, self._last_sweep())
        note = say("Minutes are computed at the last known sweep. {litres}", litres=litres).rstrip()
        self._asking.number(
            say("{bed}: the cylinder in use", bed=self._tile.bed), _LITRES, self._have_litres, instead, note
        )

    def _have_litres(self, litres: float) -> None:
        self._litres = litres
        if self._reads_sweep():
            self._leave()
            return
        field = replace_fields(number_field(Quantity.SWEEP_GAS_FLOW), above_low=True)
        instead = {"unknown": (Choice("unknown", say("Not known"), "n"), self._leave)}
        note = say("This bed has no sweep reading: without it no minutes can be told.")
        self._asking.number(
            say("{bed}: sweep on the way", bed=self._tile.bed), field, self._have_sweep, instead, note
        )

    def _have_sweep(self, sweep: float) -> None:
        self._sweep = sweep
        self._leave()

    def _ask_minutes(self) -> None:
        self._asking.number(say("{bed}: the cylinder in use", bed=self._tile.bed), _MINUTES, self._have_minutes)

    def _have_minutes(self, minutes: float) -> None:
        self._lasts = minutes
        self._leave()

    def _meant(self) -> list[Meaning | None]:
        meant = self._asking.session.store.meant
        return [_of(run, meant.get((self._tile.bed, run.description.slot))) for run in self._tile.runs]

    def _reads_sweep(self) -> bool:
        return self._last_sweep() is not None

    def _last_sweep(self) -> float | None:
        """Give the last known sweep of the bed's runs together, L/min."""
        readings = self._asking.session.store.readings
        slots = [run.description.slot for run in self._tile.runs if run.description.oxygenator]
        found = [readings.latest(self._tile.bed, slot, Quantity.SWEEP_GAS_FLOW) for slot in slots]
        known = [read.value for read in found if read is not None]
        return sum(known) if known else None

    def _leave(self) -> None:
        back = self._asking.after(self._minutes)
        if back is None:
            return
        gone: dict[DepartureItem, Instant] = {
            DepartureItem(value): at for value, at in self._ticks.at.items() if at is not None
        }
        command = StartTransport(
            **self._asking.who(),
            bed=self._tile.bed,
            leader=self._leader,
            back=back,
            destination=self._destination,
            cylinder_l=self._litres,
            cylinder_min=self._lasts,
            sweep=self._sweep,
            departure=gone,
        )
        self._asking.give(self._tile, command)


def _of(run: RunView, meant: Meaning | None) -> Meaning | None:
    """What was worked out for another run in this place says nothing of this one."""
    return meant if meant is not None and meant.run_id == run.description.run_id else None


def come_back(asking: Asking, tile: TileView) -> None:
    """Write down that the bed is back."""
    asking.give(tile, EndTransport(**asking.who(), bed=tile.bed))


def check(asking: Asking, tile: TileView) -> None:
    """Write the return check down."""
    asking.give(tile, ReturnCheck(**asking.who(), bed=tile.bed))


def new_cylinder(asking: Asking, tile: TileView) -> None:
    """Ask for the litres of another cylinder."""

    def give(litres: float) -> None:
        asking.give(tile, ChangeCylinder(**asking.who(), bed=tile.bed, litres=litres))

    asking.number(say("{bed}: new cylinder", bed=tile.bed), _LITRES, give)
