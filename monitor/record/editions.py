"""Which rows of sets entered by hand no longer count: a newer version stands, or the set was struck.

The rows stay; whoever draws or counts what was measured leaves these out, whoever tells what happened does not.
"""

import json
import sqlite3
from collections.abc import Iterable, Mapping
from enum import StrEnum

from shared.instant import HOUR, Instant
from shared.messages import Edition

#: A set may be corrected as long after its reading as it may be entered late, and its time moved as far.
REACH_MS = 48 * HOUR

#: Which rows are versions of sets: an index of these alone stands in the record.
IS_A_SET = "marks IS NOT NULL AND instr(marks, '\"edition\"')"
SETS = f"""
SELECT ordinal, marks FROM observations WHERE place = ? AND read_at >= ? AND {IS_A_SET} ORDER BY ordinal
"""


class SetStanding(StrEnum):
    """Whether an observation counts: only sets entered by hand are ever corrected or struck."""

    COUNTS = "counts"
    CORRECTED = "counts, corrected"
    REPLACED = "replaced by a correction"
    STRUCK = "struck"


def newest_of(editions: Iterable[Edition]) -> dict[str, Edition]:
    """Give the newest version of each set, by the set's id."""
    newest: dict[str, Edition] = {}
    for edition in editions:
        if edition.set not in newest or edition.version > newest[edition.set].version:
            newest[edition.set] = edition
    return newest


def standing_of(edition: Edition | None, newest: Mapping[str, Edition]) -> SetStanding:
    """Tell how an observation stands beside the newest version of its set."""
    if edition is None:
        return SetStanding.COUNTS
    last = newest[edition.set]
    if last.struck:
        return SetStanding.STRUCK
    if edition.version < last.version:
        return SetStanding.REPLACED
    return SetStanding.CORRECTED if edition.version > 1 else SetStanding.COUNTS


def replaced(db: sqlite3.Connection, place: int, begin: Instant) -> frozenset[int]:
    """Give the ordinals of versions read at or after ``begin`` at one place that no longer count.

    Raises:
        ValueError: a row is no longer what was written.
    """
    newest: dict[str, tuple[int, int]] = {}
    gone: set[int] = set()
    for ordinal, marks in db.execute(SETS, (place, begin - REACH_MS)):
        edition = json.loads(marks)["edition"]
        version = edition.get("version", 1)
        known = newest.get(edition["set"])
        if known is None or version > known[0]:
            newest[edition["set"]] = (version, ordinal)
            gone.update(() if known is None else (known[1],))
        else:
            gone.add(ordinal)
        if edition.get("struck"):
            gone.add(ordinal)
    return frozenset(gone)
