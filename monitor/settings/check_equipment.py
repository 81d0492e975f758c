"""What is wrong between the tables of ``equipment.toml``: items named twice, beds and runs that are not there."""

from collections.abc import Iterable, Iterator, Mapping

from monitor.core.equipment.table import ItemKind
from shared.written.faults import Fault, did_you_mean
from shared.written.reading import Source
from shared.written.tables import named_twice, table_at, tables_at


def check_equipment(source: Source, runs: Mapping[str, Iterable[int]]) -> Iterator[Fault]:
    """Find every fault between tables; ``runs``: the slots in use at first, by bed."""
    charged = table_at(source, ("charged_from",))
    yield from named_twice(source, ("item",), "id", "this item")
    for place, item in tables_at(source, ("item",)):
        bed, slot = item.get("bed"), item.get("slot")
        if "primed_at" in item and item.get("kind") != ItemKind.CIRCUIT.value:
            yield source.fault((*place, "primed_at"), "only a circuit is primed", "a circuit")
        if "charge" in item and str(item.get("kind")) not in charged:
            yield source.fault((*place, "charge"), "this kind has no charge", f"of {', '.join(charged)}")
        if not isinstance(bed, str):
            continue
        if bed not in runs:
            wrong = f"there is no bed {bed}{did_you_mean(bed, runs)}"
            yield source.fault((*place, "bed"), wrong, ", ".join(runs))
        elif isinstance(slot, int) and slot not in runs[bed]:
            wrong = f"no run stands in slot {slot} of {bed}: without a slot the item is beside the bed"
            yield source.fault((*place, "slot"), wrong)
