"""What is wrong between the keys of ``ladder.toml``."""

from collections.abc import Iterator

from monitor.core.grades import LadderClass
from shared.written.faults import Fault
from shared.written.reading import Source
from shared.written.tables import is_number, table_at


def check_ladder(source: Source) -> Iterator[Fault]:
    """Find rows that are missing, repeats that would overtake a first call, and a baseline that ends too soon."""
    rows = table_at(source, ("rows",))
    for wanted in LadderClass:
        if wanted.value not in rows:
            yield source.fault(("rows", wanted.value), "this row is missing", "one row for each class of alert")
    for name in rows:
        row = table_at(source, ("rows", name))
        values = [row.get(key) for key in ("r1", "r2", "r3", "r4", "r5")]
        rungs = [value for value in values if is_number(value)]
        repeat = row.get("repeat_from_s")
        if is_number(repeat) and rungs and repeat < max(rungs):
            wrong = "repeats begin before the last rung is called"
            yield source.fault(("rows", name, "repeat_from_s"), wrong, f"at least {max(rungs):g}")
    timings = table_at(source, ("timings",))
    begin, end = timings.get("order_baseline_from_s"), timings.get("order_baseline_to_s")
    if is_number(begin) and is_number(end) and begin >= end:
        wrong = "the order baseline ends before it begins"
        yield source.fault(("timings", "order_baseline_to_s"), wrong, f"above {begin:g}")
