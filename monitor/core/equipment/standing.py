"""How an item stands by the hub's time, in words: whether it is ready, what is to be told. Nothing is kept."""

from collections import Counter
from collections.abc import Container, Iterable, Iterator
from dataclasses import dataclass

from monitor.core.equipment.state import ItemState
from monitor.core.equipment.table import ItemKind
from monitor.core.equipment.view import EquipmentView, ItemView
from shared.instant import HOUR, MINUTE, Instant
from shared.language.saying import say


@dataclass(frozen=True, slots=True)
class Spares:
    """How many spares are ready, of how many; ``not_ready``: the others, each with its reasons.

    ``short``: kinds of which fewer are ready than the unit wants, with how many are and how many it wants.
    """

    ready: int
    of: int
    not_ready: tuple[tuple[str, tuple[str, ...]], ...]
    short: tuple[tuple[ItemKind, int, int], ...] = ()


def span(ms: int) -> str:
    """Write a length of time in two units at most: ``3 d 4 h``, ``1 d``, ``4 h``, ``12 min``."""
    minutes = max(0, ms) // MINUTE
    days, hours = divmod(minutes // 60, 24)
    if days:
        return f"{days} d {hours} h" if hours else f"{days} d"
    return f"{hours} h" if hours else f"{minutes} min"


def notices(item: ItemView, now: Instant) -> Iterator[str]:
    """Give what is to be told of an item: state, a check that is due, age. Each is low and calls nobody."""
    if item.state is ItemState.QUARANTINED:
        yield say("in quarantine: {why}", why=item.why)
    elif item.state is ItemState.TO_CHECK:
        yield say("to be checked")
    elif item.state is ItemState.IN_SERVICE and item.check_due_at is not None and now >= item.check_due_at:
        yield (
            say("check due for {span}", span=span(now - item.check_due_at))
            if item.checked_at is not None
            else say("never checked")
        )
    if item.age_notice_at is not None and item.primed_at is not None and now >= item.age_notice_at:
        yield say("primed {span} ago", span=span(now - item.primed_at))


def why_not_ready(item: ItemView, now: Instant) -> tuple[str, ...]:
    """Give why an item cannot be taken as a spare now; nothing: it is ready. Age alone is no reason."""
    reasons = []
    if item.state is ItemState.USED:
        reasons.append("used")
    elif item.bed is not None:
        reasons.append(
            say("in use at {bed}", bed=item.bed) if item.slot is not None else say("beside {bed}", bed=item.bed)
        )
    reasons += [told for told in notices(item, now) if not told.startswith("primed")]
    if item.charged_from is not None and item.state is not ItemState.USED:
        if item.charge is None:
            reasons.append(say("charge not known"))
        elif item.charge < item.charged_from:
            reasons.append(
                say(
                    "charge {charge} %, ready from {charged_from} %",
                    charge=item.charge,
                    charged_from=item.charged_from,
                )
            )
    return tuple(reasons)


def is_spare(item: ItemView, equipment: EquipmentView) -> bool:
    """Tell whether an item counts as a spare: of a kind that does, at no bed and not used up."""
    return item.of in equipment.spares and item.bed is None and item.state is not ItemState.USED


def spares(equipment: EquipmentView, now: Instant) -> Spares:
    """Count the spares that are ready."""
    told = [(item, why_not_ready(item, now)) for item in equipment.items if is_spare(item, equipment)]
    waiting = tuple((item.id, why) for item, why in told if why)
    ready = Counter(item.of for item, why in told if not why)
    short = tuple((kind, ready[kind], most) for kind, most in equipment.wanted.items() if ready[kind] < most)
    return Spares(len(told) - len(waiting), len(told), waiting, short)


def hours_run(item: ItemView, now: Instant) -> float | None:
    """Give the hours that an item has run: before it was known here, on earlier runs, on this one.

    ``None``: what it ran before is not known.
    """
    if item.hours_before is None:
        return None
    on = now - item.on_since if item.on_since is not None else 0
    return item.hours_before + (item.used_ms + on) / HOUR


def worst_first(items: Iterable[ItemView], now: Instant, due: Container[str] = ()) -> list[ItemView]:
    """Order items: quarantine, to be checked, check due, not ready as a spare, age told, the rest, used.

    ``due``: ids of items whose age is told on the run that they serve.
    """

    def rank(item: ItemView) -> int:
        told = list(notices(item, now))
        if item.state is not ItemState.IN_SERVICE:
            return {ItemState.QUARANTINED: 0, ItemState.TO_CHECK: 1, ItemState.USED: 6}[item.state]
        if item.check_due_at is not None and now >= item.check_due_at:
            return 2
        if item.bed is None and why_not_ready(item, now):
            return 3
        return 4 if told or item.id in due else 5

    return sorted(items, key=rank)
