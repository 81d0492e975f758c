"""Who takes something out of a record, why, and where that is to be noted."""

from dataclasses import dataclass
from pathlib import Path

from monitor.record.taken_out import Noted, TakenOut, digest_of, note_taken_out
from monitor.reports.exports.taking import Taking


@dataclass(frozen=True, slots=True)
class Asked:
    """Who asks, and why, one line each; ``noted_in``: the record that is to say so."""

    by: str
    why: str
    noted_in: Path
    now: int


@dataclass(frozen=True, slots=True)
class Made:
    """A file that was made: its SHA-256, and how the record noted it."""

    path: Path
    digest: str
    noted: Noted


def note(hidden: Path, to: Path, what: str, taking: Taking, asked: Asked) -> Made:
    """Have it noted that a file, which is whole under a hidden name, is about to get its own.

    Raises:
        RecordError: it cannot be noted, so the file must not be given out.
    """
    digest = digest_of(hidden)
    taken = TakenOut(
        what=what, bed=taking.bed, begin=taking.begin, end=taking.end, by=asked.by, why=asked.why, digest=digest
    )
    return Made(to, digest, note_taken_out(asked.noted_in, taken))
