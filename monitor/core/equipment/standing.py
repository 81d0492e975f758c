"""How an item stands by the hub's time, in words: whether it is ready, what is to be told. Nothing is kept."""

from collections.abc import Iterator
from dataclasses import dataclass

from monitor.core.equipment.state import ItemState
from monitor.core.equipment.view import EquipmentView, ItemView
from shared.instant import MINUTE, Instant


@dataclass(frozen=True, slots=True)
class Spares:
    """How many spares are ready, of how many; ``not_ready``: the others, each with its reasons."""

    ready: int
    of: int
    not_ready: tuple[tuple[str, tuple[str, ...]], ...]


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
        yield f"in quarantine: {item.why}"
    elif item.state is ItemState.TO_CHECK:
        yield "to be checked"
    elif item.state is ItemState.IN_SERVICE and item.check_due_at is not None and now >= item.check_due_at:
        yield f"check due for {span(now - item.check_due_at)}" if item.checked_at is not None else "never checked"
    if item.age_notice_at is not None and item.primed_at is not None and now >= item.age_notice_at:
        yield f"primed {span(now - item.primed_at)} ago"


def why_not_ready(item: ItemView, now: Instant) -> tuple[str, ...]:
    """Give why an item cannot be taken as a spare now; nothing: it is ready. Age alone is no reason."""
    reasons = []
    if item.state is ItemState.USED:
        reasons.append("used")
    elif item.bed is not None:
        reasons.append(f"in use at {item.bed}" if item.slot is not None else f"beside {item.bed}")
    reasons += [told for told in notices(item, now) if not told.startswith("primed")]
    if item.charged_from is not None and item.state is not ItemState.USED:
        if item.charge is None:
            reasons.append("charge not known")
        elif item.charge < item.charged_from:
            reasons.append(f"charge {item.charge} %, ready from {item.charged_from} %")
    return tuple(reasons)


def is_spare(item: ItemView, equipment: EquipmentView) -> bool:
    """Tell whether an item counts as a spare: of a kind that does, at no bed and not used up."""
    return item.of in equipment.spares and item.bed is None and item.state is not ItemState.USED


def spares(equipment: EquipmentView, now: Instant) -> Spares:
    """Count the spares that are ready."""
    told = [(item.id, why_not_ready(item, now)) for item in equipment.items if is_spare(item, equipment)]
    waiting = tuple((item, why) for item, why in told if why)
    return Spares(len(told) - len(waiting), len(told), waiting)
