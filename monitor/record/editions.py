"""Which rows of sets entered by hand no longer count: a newer version stands, or the set was struck. And marks.

The rows stay; whoever draws or counts what was measured leaves these out, whoever tells what happened does not.
"""

import json
import sqlite3
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from enum import StrEnum
from typing import Any

from monitor.core.point_marks import MEASURED, Marks, set_marks
from shared.instant import HOUR, Instant
from shared.messages import Edition, Observation, Unchecked

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
    REFUSED = "refused: by somebody who may not"


def editions_of(said: Iterable[Observation]) -> Iterator[Edition]:
    """Give every version of a set among some observations but those of somebody who may not."""
    return (one.edition for one in said if one.edition is not None and not one.is_refused)


def newest_of(editions: Iterable[Edition]) -> dict[str, Edition]:
    """Give the newest version of each set, by the set's id."""
    newest: dict[str, Edition] = {}
    for edition in editions:
        if edition.set not in newest or edition.version > newest[edition.set].version:
            newest[edition.set] = edition
    return newest


def standing_of(said: Observation, newest: Mapping[str, Edition]) -> SetStanding:
    """Tell how an observation stands beside the newest version of its set."""
    edition = said.edition
    if edition is None:
        return SetStanding.COUNTS
    if said.is_refused:
        return SetStanding.REFUSED
    last = newest[edition.set]
    if last.struck:
        return SetStanding.STRUCK
    if edition.version < last.version:
        return SetStanding.REPLACED
    return SetStanding.CORRECTED if edition.version > 1 else SetStanding.COUNTS


@dataclass(frozen=True, slots=True)
class SetsRead:
    """The sets of one place. ``gone``: ordinals that no longer count; ``entered``: when each set first was."""

    gone: frozenset[int]
    entered: Mapping[str, Instant | None]

    def marks(self, said: Mapping[str, Any], read_at: Instant, late_s: float) -> Marks:
        """Give the marks of a row entered by hand, from what else it says; of any other: none.

        A set is late by its first version: that it was corrected later makes it no later.
        """
        if "by" not in said:
            return MEASURED
        edition, unchecked = said.get("edition"), "unchecked" in said
        if edition is None:
            return set_marks(read_at, said.get("entered_at"), 1, late_s, unchecked)
        entered_at = self.entered.get(edition["set"], said.get("entered_at"))
        return set_marks(read_at, entered_at, edition.get("version", 1), late_s, unchecked)


NO_SETS = SetsRead(frozenset(), {})


def sets_of(db: sqlite3.Connection, place: int, begin: Instant) -> SetsRead:
    """Give the sets read at or after ``begin`` at one place.

    Raises:
        ValueError: a row is no longer what was written.
    """
    newest: dict[str, tuple[int, int]] = {}
    entered: dict[str, tuple[int, Instant | None]] = {}
    gone: set[int] = set()
    for ordinal, marks in db.execute(SETS, (place, begin - REACH_MS)):
        said = json.loads(marks)
        edition = said["edition"]
        version = edition.get("version", 1)
        if version > 1 and said.get("unchecked", Unchecked.NOT_ASKED) != Unchecked.NOT_ASKED:
            gone.add(ordinal)  # refused: it changes nothing
            continue
        known = newest.get(edition["set"])
        if known is None or version > known[0]:
            newest[edition["set"]] = (version, ordinal)
            gone.update(() if known is None else (known[1],))
        else:
            gone.add(ordinal)
        if edition.get("struck"):
            gone.add(ordinal)
        if edition["set"] not in entered or version < entered[edition["set"]][0]:
            entered[edition["set"]] = (version, said.get("entered_at"))
    return SetsRead(frozenset(gone), {name: at for name, (_, at) in entered.items()})
