"""Are all inputs there? Their ordinals go from 1 over two tables, and none is ever left out.

A reading that was taken out or put in is found here; one that was changed by its digest (`sums`).
"""

import heapq
import sqlite3
from dataclasses import dataclass

from monitor.record.sums import Thinned
from shared.instant import Instant

_COUNT = """
SELECT (SELECT count(*) FROM observations) + (SELECT count(*) FROM inputs),
  max(coalesce((SELECT max(ordinal) FROM observations), 0), coalesce((SELECT max(ordinal) FROM inputs), 0))
"""
_ORDINALS = "SELECT ordinal, at FROM {} ORDER BY ordinal"


@dataclass(frozen=True, slots=True)
class Inputs:
    """What was counted.

    Attributes:
        count: inputs that are there.
        last: the highest ordinal.
        odd: the first ordinal that is missing, there twice, or below 1; ``None``: there is none.
        after: time of the input before that; ``None``: there is none.
    """

    count: int
    last: int
    odd: int | None = None
    after: Instant | None = None


def count_inputs(db: sqlite3.Connection, thinned: Thinned | None = None) -> Inputs:
    """Count the inputs in one read; where they are not all there, look for the first.

    Observations that were thinned count as there, if there are as few others as there were.
    """
    count, last = db.execute(_COUNT).fetchone()
    gone, before = (thinned.observations, thinned.upto) if thinned is not None else (0, 0)
    if count + gone == last:
        return Inputs(count, last)
    at = None
    streams = [db.execute(_ORDINALS.format(table)) for table in ("observations", "inputs")]
    for ordinal, moment in heapq.merge(*streams, key=lambda row: row[0]):
        if thinned is not None and ordinal <= thinned.upto:
            continue
        if ordinal <= before:
            return Inputs(count, last, ordinal, at)
        if ordinal != before + 1:
            break
        before, at = ordinal, moment
    return Inputs(count, last, before + 1, at)
