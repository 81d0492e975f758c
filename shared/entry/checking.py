"""What is wrong between the keys and tables of ``entry.toml``, each told at its own line."""

from collections.abc import Iterable, Iterator
from typing import Any

from shared.quantities import CATALOGUE, Quantity
from shared.support import Support
from shared.written.faults import Fault, did_you_mean
from shared.written.lines import KeyPath
from shared.written.reading import Source
from shared.written.tables import is_number, tables_at, words_in


def check_entry(source: Source) -> Iterator[Fault]:
    """Find every fault that one field alone, or one key alone, does not show."""
    fields = list(tables_at(source, ("field",)))
    named = {table.get("quantity") for _, table in fields if isinstance(table.get("quantity"), str)}
    taken: set[tuple[str, str]] = set()
    for place, table in fields:
        quantity = table.get("quantity")
        if not isinstance(quantity, str) or quantity not in set(Quantity):
            continue
        yield from _of_catalogue(source, place, table, Quantity(quantity))
        places = {(quantity, support) for support in words_in(table, "supports") or [one.value for one in Support]}
        if places & taken:
            allowed = "each once, or for support types of their own"
            yield source.fault((*place, "quantity"), "this quantity stands twice", allowed)
        taken |= places
        yield from _other(source, place, table, quantity, named)
        yield from _soft(source, place, table)


def _of_catalogue(source: Source, place: KeyPath, table: dict[str, Any], quantity: Quantity) -> Iterable[Fault]:
    entry = CATALOGUE[quantity]
    if entry.derived:
        yield source.fault((*place, "quantity"), "is computed beside what is typed, and never typed")
    if isinstance(table.get("unit"), str) and table["unit"] != entry.unit:
        wrong = "is not the unit of this quantity: numbers here, on the form and on the wire have one unit"
        yield source.fault((*place, "unit"), wrong, f'"{entry.unit}"')
    if "of_top_speed" in table and quantity is not Quantity.PUMP_SPEED:
        yield source.fault((*place, "of_top_speed"), "only the pump's speed has a highest one", "leave it out")
    for key, beyond in (("refused_below", -1), ("refused_above", 1)):
        value = table.get(key)
        end = entry.low if beyond < 0 else entry.high
        if is_number(value) and (value - end) * beyond > 0:
            wrong = "is beyond what the hub takes: a number between would be accepted here and refused there"
            yield source.fault((*place, key), wrong, f"{entry.low:g} to {entry.high:g}")


def _other(
    source: Source, place: KeyPath, table: dict[str, Any], quantity: str, named: set[Any]
) -> Iterable[Fault]:
    other = table.get("swapped_with")
    if isinstance(other, str) and (other == quantity or other not in named):
        wrong = "a field cannot be exchanged with itself" if other == quantity else "no [[field]] has this quantity"
        close = did_you_mean(other, sorted(named))
        yield source.fault((*place, "swapped_with"), wrong + close, "the quantity of another field")


def _soft(source: Source, place: KeyPath, table: dict[str, Any]) -> Iterable[Fault]:
    low, high = table.get("soft_below"), table.get("soft_above")
    if is_number(low) and is_number(high) and low >= high:
        yield source.fault(
            (*place, "soft_below"), "is not below soft_above: all would be asked about", f"below {high:g}"
        )
