"""An item of the equipment in words: what it is, where, how it stands, how old, who checked it, what is due."""

import re
from collections.abc import Iterable

from monitor.core.equipment.standing import hours_run, is_spare, notices, span, spares, why_not_ready
from monitor.core.equipment.state import ItemState
from monitor.core.equipment.table import SINGLE_USE, ItemKind
from monitor.core.equipment.view import EquipmentView, ItemView
from monitor.desk import words
from monitor.desk.store import Store
from monitor.desk.tile.moment import Moment
from shared.instant import HOUR
from shared.language.saying import say, to_say
from shared.support import SUPPORT_LABEL, Support


def in_order(items: Iterable[ItemView]) -> list[ItemView]:
    """Give items by kind and by what is written on them, ``B2`` before ``B10``."""
    kinds = list(ItemKind)
    return sorted(items, key=lambda item: (kinds.index(item.of), _natural(item.id)))


def _natural(name: str) -> list[tuple[str, int]]:
    return [(word, int(digits or 0)) for word, digits in re.findall(r"(\D*)(\d*)", name)]


NOT_READY = to_say("not ready: {why}")


def kind_words(kind: ItemKind) -> str:
    """``Backup drive``."""
    return say(kind.value.replace("_", " ").capitalize())


def what_words(item: ItemView) -> str:
    """``Circuit · broad · VA, VV``: what it is and what it fits, where it does not fit everything."""
    fits = ", ".join(say(SUPPORT_LABEL[one]) for one in Support if one in item.supports)
    return " · ".join(part for part in (kind_words(item.of), item.profile or "", fits) if part)


def place_words(item: ItemView, store: Store) -> str:
    """``B3``, with its pump where the bed has two; ``beside B3``; or the place."""
    if item.bed is None:
        return item.place
    if item.slot is None:
        return say("beside {bed}", bed=item.bed)
    tile = store.tiles.get(item.bed)
    return (
        say("{bed}, pump {slot}", bed=item.bed, slot=item.slot)
        if tile is not None and len(tile.runs) > 1
        else item.bed
    )


def state_words(item: ItemView, equipment: EquipmentView, moment: Moment) -> str:
    """Say how it stands: in quarantine and why, to be checked, not ready and why, ready, in use, in service."""
    told = [said for said in notices(item, moment.second) if not said.startswith("primed")]
    if item.state is ItemState.USED:
        return say("used")
    if item.state is not ItemState.IN_SERVICE:
        return ", ".join(told)
    if not is_spare(item, equipment):
        return ", ".join((say("in use") if item.slot is not None else say("in service"), *told))
    why = why_not_ready(item, moment.second)
    return say(NOT_READY, why=", ".join(why)) if why else say("ready")


def age_words(item: ItemView, moment: Moment) -> str:
    """Give its age or hours as far as they are known here: on this run, since it was primed, or as it has run."""
    now = moment.second
    if item.of in SINGLE_USE:
        if item.slot is not None and item.on_since is not None:
            return say("{span} in use", span=span(now - item.on_since))
        if item.of is ItemKind.CIRCUIT and item.state is not ItemState.USED:
            return (
                say("dry") if item.primed_at is None else say("primed {span} ago", span=span(now - item.primed_at))
            )
        return ""
    run = hours_run(item, now)
    if run is not None:
        return f"{round(run):,} h".replace(",", " ")
    here = item.used_ms + (now - item.on_since if item.on_since is not None else 0)
    return say("{here} h known", here=here // HOUR) if here >= HOUR else ""


def checked_words(item: ItemView, store: Store, moment: Moment) -> str:
    """``checked 3 h ago by Perfusionist 1, charge 97 %``: the last check in full; empty where there was none."""
    if item.checked_at is None:
        return ""
    return say(
        "checked {span} ago by {checked_by}{charge}",
        span=span(moment.second - item.checked_at),
        checked_by=store.label(item.checked_by),
        charge=say(", charge {charge} %", charge=item.charge) if item.charge is not None else "",
    )


def check_words(item: ItemView, store: Store, moment: Moment) -> str:
    """``3 h ago Perfusionist 1 · 97 %``: the last check, by whom, and the charge that was read, for a table."""
    if item.checked_at is None:
        return say("never") if item.check_due_at is not None else ""
    charge = f" · {item.charge} %" if item.charge is not None else ""
    return say(
        "{span} ago {checked_by}{charge}",
        span=span(moment.second - item.checked_at),
        checked_by=store.label(item.checked_by),
        charge=charge,
    )


def due_words(item: ItemView, moment: Moment) -> str:
    """``due since 07:10`` or ``21:32``: its next check, where it is ever due; ``due``: it never had one."""
    if item.check_due_at is None or item.state is not ItemState.IN_SERVICE:
        return ""
    if item.checked_at is None:
        return say("due")
    when = words.day_hhmm(item.check_due_at, moment.second, moment.zone)
    return say("due since {when}", when=when) if moment.second >= item.check_due_at else when


def spare_words(equipment: EquipmentView, moment: Moment) -> tuple[str, bool]:
    """``Spares ready 6 of 8``, and whether the unit wants more of some kind; empty without any list."""
    if not equipment.items:
        return "", False
    found = spares(equipment, moment.second)
    return say("Spares ready {ready} of {of}", ready=found.ready, of=found.of), bool(found.short)
