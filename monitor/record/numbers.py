"""Which numbers of a feed's epoch are in the record: up to where nothing is missing, and what is there beyond."""

import sqlite3

from shared.link import Span

_RUNS = """
SELECT min(seq), max(seq) FROM (
  SELECT seq, seq - row_number() OVER (ORDER BY seq) AS run FROM observations WHERE epoch = ? AND seq > ?)
GROUP BY run
"""


def stored_and_held(db: sqlite3.Connection, epoch: str) -> tuple[int, list[Span]]:
    """Give the last number before the first gap (0: none), and the spans beyond it, in order."""
    stored, held = noted_and_held(db, epoch)
    if held and held[0].first == stored + 1:
        stored = held.pop(0).last
    return stored, held


def noted_and_held(db: sqlite3.Connection, epoch: str) -> tuple[int, list[Span]]:
    """Give up to which number a flush has noted that nothing is missing (0: none), and all spans beyond, in order.

    Numbers that were refused or lost count as there: nobody will send them again. What was noted is durable; what
    is beyond is after the next flush. Nothing that was noted is counted anew: this stays quick in a long epoch.
    """
    row = db.execute("SELECT id, stored FROM epochs WHERE epoch = ?", (epoch,)).fetchone()
    if row is None:
        return 0, []
    number, stored = row
    spans = [Span(*span) for span in db.execute(_RUNS, (number, stored))]
    skipped = db.execute("SELECT first, last FROM skipped WHERE epoch = ? AND last > ?", (number, stored))
    spans += [Span(max(first, stored + 1), last) for first, last in skipped]
    return stored, _joined(sorted(spans, key=lambda span: span.first))


def _joined(spans: list[Span]) -> list[Span]:
    joined: list[Span] = []
    for span in spans:
        if joined and span.first <= joined[-1].last + 1:
            joined[-1] = Span(joined[-1].first, max(joined[-1].last, span.last))
        else:
            joined.append(span)
    return joined
