"""Own limits of a bed: which, its value, until when, why, and a second person where the rule is high."""

from monitor.core.bed_commands import DropLimit, SetLimit
from monitor.core.grades import Priority
from monitor.core.view import LimitView, RunView, TileView
from monitor.desk.menu.asking import Asking
from monitor.desk.question import Choice
from monitor.desk.standing import limit_words, write
from monitor.desk.tile.content import label_of
from monitor.desk.typed import number_field
from shared.instant import Instant

WHY = (
    "Ordered",
    "Usual for this patient",
    "For a procedure",
    "Sensor or line",
)
_SET, _DROP = "set", "drop"


def choose_limit(asking: Asking, tile: TileView, run: RunView) -> None:
    """Ask which limit; each stands with its value in force."""
    if not run.settable:
        asking.tell(f"No limit can be set for {tile.bed} alone.")
        return
    choices = tuple(Choice(one.rule, _label(asking, one, run)) for one in run.settable)
    note = "For this bed alone, for a time. A high needs two people. The console's own limits stay as they are."
    by_rule = {one.rule: one for one in run.settable}
    title = f"{tile.bed}: own limit"
    asking.choose(title, choices, lambda rule: _chosen(asking, tile, run, by_rule[rule]), note)


def _chosen(asking: Asking, tile: TileView, run: RunView, limit: LimitView) -> None:
    if limit.own is None:
        _value(asking, tile, run, limit)
        return

    def answer(value: str) -> None:
        if value == _SET:
            _value(asking, tile, run, limit)
        else:
            slot = run.description.slot
            asking.give(tile, DropLimit(**asking.who(), bed=tile.bed, slot=slot, rule=limit.rule))

    choices = (Choice(_SET, "Set anew"), Choice(_DROP, "Take back: the default stands again"))
    asking.choose(f"{tile.bed}: {limit_words(limit, run, asking.hhmm)}", choices, answer, limit.own.reason)


def _value(asking: Asking, tile: TileView, run: RunView, limit: LimitView) -> None:
    field = number_field(
        limit.quantity,
        label=f"{label_of(limit.quantity, run)} {'above' if limit.above else 'below'}",
        standing=limit.own.value if limit.own is not None else None,
        default=limit.default,
        standing_words="own limit",
    )
    title = f"{tile.bed}: own limit, {limit.priority}"
    asking.number(title, field, lambda value: _until(asking, tile, run, limit, value))


def _until(asking: Asking, tile: TileView, run: RunView, limit: LimitView, value: float) -> None:
    title = f"{tile.bed}: {field_words(limit, run, value)}: for how long?"
    asking.until(title, lambda until: _why(asking, tile, run, limit, value, until), "Then the default returns.")


def _why(asking: Asking, tile: TileView, run: RunView, limit: LimitView, value: float, until: Instant) -> None:
    def give(reason: str) -> None:
        if limit.priority is Priority.HIGH:
            title = f"{tile.bed}: a high rule: who is the second person?"
            asking.person(title, lambda second: send(reason, second), but=asking.people.name)
        else:
            send(reason, None)

    def send(reason: str, second: str | None) -> None:
        command = SetLimit(
            **asking.who(),
            bed=tile.bed,
            slot=run.description.slot,
            rule=limit.rule,
            value=value,
            until=until,
            second=second,
            reason=reason,
        )
        asking.give(tile, command)

    asking.words(f"{tile.bed}: {field_words(limit, run, value)}: why?", WHY, give)


def field_words(limit: LimitView, run: RunView, value: float) -> str:
    """Write a limit with a value: ``Drain P below −90``."""
    side = "above" if limit.above else "below"
    return f"{label_of(limit.quantity, run)} {side} {write(limit.quantity, value)}"


def _label(asking: Asking, limit: LimitView, run: RunView) -> str:
    side = "above" if limit.above else "below"
    default = write(limit.quantity, limit.default) if limit.default is not None else "--"
    first = f"{label_of(limit.quantity, run)} {side} {default} · {limit.priority}"
    if limit.own is None:
        return first
    owner = asking.session.store.label(limit.own.by)
    own = write(limit.quantity, limit.own.value)
    return f"{first}\nown {own} until {asking.hhmm(limit.own.until)} · {owner}"
