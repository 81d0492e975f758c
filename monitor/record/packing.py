"""An observation as one compact row, and back, without losing a bit.

Values are packed as doubles in the order in which they came; which quantities they are is a layout, of which a feed
has few. Names of feeds, beds and layouts stand once in small tables.
"""

import json
import sqlite3
import struct
from typing import Any

from shared.messages import Condition, Edition, Looked, Observation, RoundKind, Unchecked
from shared.quantities import Quantity

Row = tuple[int, int, int, int, int, int, int, int, bytes, str | None]

COLUMNS = "ordinal, at, epoch, seq, place, read_at, sent_at, layout, readings, marks"


class Packing:
    """Turns observations into rows of ``db``. After a rollback `forget` must be called."""

    def __init__(self, db: sqlite3.Connection) -> None:
        self._db = db
        self._ids: dict[tuple[str, ...], int] = {}

    def forget(self) -> None:
        """Drop what is remembered of the small tables: a rollback may have taken rows back."""
        self._ids.clear()

    def epoch(self, feed: str, epoch: str) -> int:
        """Give the id of an epoch; it is written down when it is new."""
        return self._id("epochs (feed, epoch) VALUES (?, ?)", "epochs WHERE epoch = ?", (feed, epoch), (epoch,))

    def row(self, ordinal: int, at: int, observation: Observation) -> Row:
        """Give the row of an observation."""
        place = self._id(
            "places (bed, slot) VALUES (?, ?)",
            "places WHERE bed = ? AND slot = ?",
            *[(observation.bed, str(observation.slot))] * 2,
        )
        names = (layout_of(observation),)
        layout = self._id("layouts (quantities) VALUES (?)", "layouts WHERE quantities = ?", names, names)
        return (
            ordinal,
            at,
            self.epoch(observation.feed, observation.epoch),
            observation.seq,
            place,
            observation.read_at,
            observation.sent_at,
            layout,
            pack(observation),
            marks_of(observation),
        )

    def _id(self, insert: str, select: str, values: tuple[str, ...], key: tuple[str, ...]) -> int:
        known = self._ids.get((insert, *key))
        if known is not None:
            return known
        found = self._db.execute(f"SELECT id FROM {select}", key).fetchone()
        if found is None:
            self._db.execute(f"INSERT INTO {insert}", values)
            found = self._db.execute(f"SELECT id FROM {select}", key).fetchone()
        number: int = found[0]
        self._ids[(insert, *key)] = number
        return number


def layout_of(observation: Observation) -> str:
    """Give the names of the quantities in the order in which they came."""
    return ",".join(observation.readings)


def pack(observation: Observation) -> bytes:
    """Give the values as little-endian doubles."""
    return struct.pack(f"<{len(observation.readings)}d", *observation.readings.values())


def quantities_of(layout: str) -> list[Quantity]:
    """Give the quantities of a layout, in order."""
    return [Quantity(name) for name in layout.split(",") if name]


def marks_of(observation: Observation) -> str | None:
    """Give what else an observation says, as JSON, or ``None`` when it says nothing else."""
    marks: dict[str, Any] = {}
    for name in ("estimated", "doubtful", "conditions"):
        if found := getattr(observation, name):
            marks[name] = sorted(found)
    for name in ("entered_at", "by"):
        if (value := getattr(observation, name)) is not None:
            marks[name] = value
    if observation.edition is not None:
        marks["edition"] = observation.edition.model_dump(mode="json", exclude_defaults=True)
    if observation.round is not None:
        marks["round"] = observation.round.value
    if observation.looked:
        marks["looked"] = {
            item: looked.model_dump(mode="json", exclude_none=True) for item, looked in observation.looked.items()
        }
    if observation.unchecked is not None:
        marks["unchecked"] = observation.unchecked.value
    return json.dumps(marks, separators=(",", ":")) if marks else None


def unpack(
    feed: str, epoch: str, seq: int, bed: str, slot: int, times: tuple[int, int], layout: str, readings: bytes,
    marks: str | None,
) -> Observation:  # fmt: skip
    """Give the observation of a row; ``times`` are read_at and sent_at."""
    quantities = quantities_of(layout)
    said: dict[str, Any] = json.loads(marks) if marks else {}
    edition, looked = said.get("edition"), said.get("looked", {})
    return Observation(
        feed=feed,
        epoch=epoch,
        seq=seq,
        bed=bed,
        slot=slot,
        read_at=times[0],
        sent_at=times[1],
        readings=dict(zip(quantities, struct.unpack(f"<{len(quantities)}d", readings), strict=True)),
        estimated=frozenset(Quantity(name) for name in said.get("estimated", ())),
        doubtful=frozenset(Quantity(name) for name in said.get("doubtful", ())),
        conditions=frozenset(Condition(name) for name in said.get("conditions", ())),
        entered_at=said.get("entered_at"),
        by=said.get("by"),
        edition=Edition.model_validate_json(json.dumps(edition)) if edition else None,
        round=RoundKind(said["round"]) if "round" in said else None,
        looked={item: Looked.model_validate_json(json.dumps(one)) for item, one in looked.items()} or None,
        unchecked=Unchecked(said["unchecked"]) if "unchecked" in said else None,
    )
