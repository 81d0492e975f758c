"""Every value of the hours as a table: one row an observation, units in the header, nothing filled in."""

import csv
import io
import json
from collections.abc import Sequence
from datetime import UTC, datetime

from monitor.record.editions import editions_of, newest_of, standing_of
from monitor.reports.incident.frozen import Received
from shared.instant import SECOND, Instant
from shared.messages import Observation
from shared.quantities import CATALOGUE, Quantity

_FIXED = (
    "received_utc",
    "read_at_utc",
    "slot",
    "feed",
    "number",
    "entered_at_utc",
    "entered_by",
    "unchecked",
    "doubtful",
    "estimated",
    "set",
    "version",
    "standing",
    "round",
    "looked",
)


def values_csv(received: Sequence[Received]) -> str:
    """Give the table; an empty cell: not read. Times are UTC, to the millisecond.

    Every version of a set entered by hand has its row; ``standing`` tells which of them counted at the end, and
    ``unchecked`` why who entered it was not checked, or may not enter there.
    """
    here = {quantity for one in received for quantity in one.observation.readings}
    shown = [quantity for quantity in Quantity if quantity in here]
    newest = newest_of(editions_of(one.observation for one in received))
    out = io.StringIO()
    rows = csv.writer(out, lineterminator="\n")
    rows.writerow([*_FIXED, *(f"{quantity.value} [{CATALOGUE[quantity].unit or '1'}]" for quantity in shown)])
    for one in received:
        said = one.observation
        rows.writerow(
            [
                utc(one.at),
                utc(said.read_at),
                said.slot,
                said.feed,
                said.seq,
                utc(said.entered_at) if said.entered_at is not None else "",
                said.by or "",
                said.unchecked.value if said.unchecked else "",
                _names(said.doubtful),
                _names(said.estimated),
                said.edition.set if said.edition else "",
                said.edition.version if said.edition else "",
                standing_of(said, newest).value,
                said.round.value if said.round else "",
                _looked(said),
                *(repr(said.readings[quantity]) if quantity in said.readings else "" for quantity in shown),
            ]
        )
    return out.getvalue()


def utc(at: Instant) -> str:
    """Write a time as ISO 8601 in UTC, to the millisecond."""
    whole = datetime.fromtimestamp(at // SECOND, UTC)
    return f"{whole:%Y-%m-%dT%H:%M:%S}.{at % SECOND:03d}Z"


def _looked(said: Observation) -> str:
    """Give the answers of a round as JSON, by item."""
    answers = {item: one.model_dump(mode="json", exclude_none=True) for item, one in (said.looked or {}).items()}
    return json.dumps(answers, ensure_ascii=False, sort_keys=True) if answers else ""


def _names(quantities: frozenset[Quantity]) -> str:
    return " ".join(sorted(quantity.value for quantity in quantities))
