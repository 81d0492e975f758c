"""Call me if: a quantity, a side, a value, whom, until when."""

from monitor.core.bed_commands import DropCallMe, SetCallMe
from monitor.core.view import RunView, TileView
from monitor.desk.menu.asking import Asking
from monitor.desk.question import Choice
from monitor.desk.standing import call_words
from monitor.desk.tile.content import is_fitted, label_of
from shared.instant import Instant
from shared.language.saying import say, to_say
from shared.quantities import Quantity as Q

#: What people on call ask for (common practice, no source).
ASKED_FOR = (
    Q.PUMP_FLOW,
    Q.INLET_PRESSURE,
    Q.MEAN_ARTERIAL_PRESSURE,
    Q.SPO2_RIGHT_HAND,
    Q.SVO2,
    Q.PULSE_PRESSURE,
    Q.CENTRAL_VENOUS_PRESSURE,
    Q.POST_OXYGENATOR_PRESSURE,
    Q.OXYGENATOR_PRESSURE_DROP,
    Q.SWEEP_GAS_FLOW,
    Q.BLOOD_TEMPERATURE,
    Q.HEART_RATE,
)
_SIDES = (Choice("below", to_say("Below"), "b"), Choice("above", to_say("Above"), "a"))
_DROP = "drop:"


def choose_call(asking: Asking, tile: TileView, run: RunView) -> None:
    """Ask for the quantity, or for a standing wish to be taken back."""
    wishes = {wish.quantity: wish for wish in run.call_me}
    choices = tuple(Choice(q, label_of(q, run)) for q in ASKED_FOR if is_fitted(run, q))
    choices += tuple(
        Choice(
            f"{_DROP}{quantity}",
            say("Take back: {call_words}", call_words=call_words(wish, run, asking.session.store, asking.hhmm)),
        )
        for quantity, wish in wishes.items()
    )

    def answer(value: str) -> None:
        slot = run.description.slot
        if value.startswith(_DROP):
            quantity = Q(value.removeprefix(_DROP))
            asking.give(tile, DropCallMe(**asking.who(), bed=tile.bed, slot=slot, quantity=quantity))
        else:
            _side(asking, tile, run, Q(value))

    asking.choose(
        say("{bed}: call me if", bed=tile.bed), choices, answer, say("The unit's own rules go on as they are.")
    )


def _side(asking: Asking, tile: TileView, run: RunView, quantity: Q) -> None:
    title = say("{bed}: call me if {label_of} is", bed=tile.bed, label_of=label_of(quantity, run))
    asking.choose(title, _SIDES, lambda side: _value(asking, tile, run, quantity, side))


def _value(asking: Asking, tile: TileView, run: RunView, quantity: Q, side: str) -> None:
    of_side = say("below") if side == "below" else say("above")
    field = asking.field_of(tile, run, quantity, label=f"{label_of(quantity, run)} {of_side}")
    asking.number(
        say("{bed}: call me if", bed=tile.bed), field, lambda value: _whom(asking, tile, run, quantity, side, value)
    )


def _whom(asking: Asking, tile: TileView, run: RunView, quantity: Q, side: str, value: float) -> None:
    def until(calls: str) -> None:
        title = say("{bed}: call {calls}: for how long?", bed=tile.bed, calls=asking.session.store.label(calls))
        asking.until(title, lambda moment: give(calls, moment))

    def give(calls: str, moment: Instant) -> None:
        command = SetCallMe(
            **asking.who(),
            bed=tile.bed,
            slot=run.description.slot,
            quantity=quantity,
            below=value if side == "below" else None,
            above=value if side == "above" else None,
            calls=calls,
            until=moment,
        )
        asking.give(tile, command)

    asking.person(say("{bed}: who is called?", bed=tile.bed), until)
