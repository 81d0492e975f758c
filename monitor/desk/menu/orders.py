"""Orders and targets: quantity, value, and who prescribed. Nothing is controlled: it was done at the bed."""

from monitor.core.commands import Order, SetTarget
from monitor.core.view import RunView, TileView
from monitor.desk.menu.asking import Asking
from monitor.desk.question import Choice
from monitor.desk.standing import write
from monitor.desk.tile.content import is_fitted, label_of
from shared.language.saying import say
from shared.language.writing import shortest
from shared.quantities import CATALOGUE
from shared.quantities import Quantity as Q

#: What is ordered at a circuit, the commonest first (common practice, no source).
ORDERED = (Q.PUMP_SPEED, Q.PUMP_FLOW, Q.SWEEP_GAS_FLOW, Q.FDO2, Q.BLOOD_TEMPERATURE)
#: What rounds set targets for (common practice, no source).
TARGETS = (
    Q.PUMP_FLOW,
    Q.MEAN_ARTERIAL_PRESSURE,
    Q.SPO2_RIGHT_HAND,
    Q.SVO2,
    Q.CENTRAL_VENOUS_PRESSURE,
    Q.PULSE_PRESSURE,
    Q.BLOOD_TEMPERATURE,
)
_GAS = frozenset({Q.SWEEP_GAS_FLOW, Q.FDO2})
_PRESCRIBES = frozenset({"intensivist", "surgeon", "perfusionist"})


def write_order(asking: Asking, tile: TileView, run: RunView) -> None:
    """Ask for quantity, value and prescriber of an order."""
    offered = [q for q in ORDERED if q not in _GAS or run.description.oxygenator]
    choices = tuple(Choice(q, label_of(q, run)) for q in offered)
    note = say("What was ordered and is done at the bed. Nothing is controlled from here.")
    asking.choose(
        say("{bed}: order", bed=tile.bed), choices, lambda value: _ordered(asking, tile, run, Q(value)), note
    )


def _ordered(asking: Asking, tile: TileView, run: RunView, quantity: Q) -> None:
    field = asking.field_of(tile, run, quantity)

    def typed(value: float) -> None:
        read_back = f"{field.label} {write(quantity, value)} {CATALOGUE[quantity].unit}".rstrip()
        asking.words(
            say("{bed}: {read_back}, ordered by", bed=tile.bed, read_back=read_back),
            _prescribers(asking),
            lambda by: give(value, by),
            none=say("Nobody is named"),
            label=say("Ordered by"),
        )

    def give(value: float, by: str) -> None:
        slot = run.description.slot
        command = Order(**asking.who(), bed=tile.bed, slot=slot, quantity=quantity, value=value, prescriber=by)
        asking.give(tile, command)

    asking.number(say("{bed}: {label} as ordered", bed=tile.bed, label=field.label), field, typed)


def set_target(asking: Asking, tile: TileView, run: RunView) -> None:
    """Ask for quantity and value of a target."""
    offered = [q for q in TARGETS if is_fitted(run, q) or q in run.targets]
    choices = tuple(Choice(q, _with_target(run, q)) for q in offered)
    asking.choose(say("{bed}: target", bed=tile.bed), choices, lambda value: _aimed(asking, tile, run, Q(value)))


def _aimed(asking: Asking, tile: TileView, run: RunView, quantity: Q) -> None:
    def give(value: float) -> None:
        slot = run.description.slot
        asking.give(tile, SetTarget(**asking.who(), bed=tile.bed, slot=slot, quantity=quantity, value=value))

    field = asking.field_of(tile, run, quantity, standing=run.targets.get(quantity), standing_words=say("target"))
    asking.number(say("{bed}: target for {label}", bed=tile.bed, label=field.label), field, give)


def _with_target(run: RunView, quantity: Q) -> str:
    label = label_of(quantity, run)
    target = run.targets.get(quantity)
    if target is None:
        return label
    aim = f"{shortest(target)} {CATALOGUE[quantity].unit}".rstrip()
    return say("{label}\ntarget {target}", label=label, target=aim)


def _prescribers(asking: Asking) -> tuple[str, ...]:
    store = asking.session.store
    named = (store.person(choice.value) for choice in asking.people.choices())
    return tuple(person.label for person in named if person is not None and person.role in _PRESCRIBES)
