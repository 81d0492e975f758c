"""What the form keeps on disk beside the journal: drafts, and the sets it has sent with all that became of them.

A file for each draft (one for each run and person, and one for each set that they correct) and one for each set.
A set's file has a line for every step of its life, the newest last: epoch and number of the observation that told
of it, then the set. A step is kept before it is published; one whose number the journal never gave was therefore
never sent, and is passed over.
"""

import logging
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

from feeds.entered.durable import remove_durably, write_durably
from shared.entry.draft import Draft
from shared.entry.keeping import draft_from, draft_text, sent_from, sent_text
from shared.entry.known import Place
from shared.entry.versions import SentSet
from shared.errors import ConfigurationError
from shared.instant import HOUR, Instant

log = logging.getLogger(__name__)

#: Sets read longer ago are left on disk and not read again: the longest interval of a field is a day, and a last
#: number counts for four of them.
READ_BACK = 7 * 24 * HOUR


@dataclass(frozen=True, slots=True)
class Numbered:
    """A set as it stands, and the observation that told of it last; ``seq`` 0: kept in memory only."""

    kept: SentSet
    epoch: str
    seq: int


class Shelf:
    """Drafts and sets in a folder.

    Attributes:
        put_aside: files that could not be read, for the person: they are kept under another name.
    """

    def __init__(self, folder: Path) -> None:
        self._drafts, self._sets = folder / "drafts", folder / "sets"
        self._lines: dict[str, list[str]] = {}
        self.put_aside: list[str] = []

    def save_draft(self, draft: Draft) -> None:
        """Keep a draft. Raises RecordError where the disk refuses."""
        write_durably(self._path_of(draft), draft_text(draft))

    def drop_draft(self, draft: Draft) -> None:
        """Forget a draft that was sent or thrown away. Raises RecordError where the disk refuses."""
        remove_durably(self._path_of(draft))

    def draft(self, place: Place, by: str) -> Draft | None:
        """Give the draft of a run and a person for a new set; one that cannot be read is put aside."""
        return self._draft_at(self._draft_path(place, by), place, by)

    def correction(self, place: Place, by: str) -> Draft | None:
        """Give a draft by which a person corrects a set of a run, the newest where there are several."""
        paths = self._drafts.glob(f"{self._draft_path(place, by, '*').name}")
        found = (self._draft_at(path, place, by) for path in sorted(paths, key=_changed_at, reverse=True))
        return next((draft for draft in found if draft is not None and draft.corrects is not None), None)

    def _draft_at(self, path: Path, place: Place, by: str) -> Draft | None:
        text = self._read(path)
        if text is None:
            return None
        try:
            found = draft_from(text)
        except ConfigurationError as error:
            self._put_aside(path, str(error))
            return None
        return found if (found.place, found.by) == (place, by) else None

    def keep_set(self, numbered: Numbered) -> None:
        """Keep a step of a set's life. Raises RecordError where the disk refuses."""
        name = self._set_name(numbered.kept)
        lines = [*self._lines.get(name, []), f"{numbered.epoch} {numbered.seq} {sent_text(numbered.kept)}"]
        write_durably(self._sets / name, "\n".join(lines))
        self._lines[name] = lines

    def sets(self, now: Instant, epoch: str, next_seq: int) -> Iterator[Numbered]:
        """Give the sets of the last days as they stand, the oldest first.

        Args:
            epoch, next_seq: of the journal; a step with a number that it never gave was never sent.
        """
        for path in sorted(self._sets.glob("*.set")):
            sent_at = path.name.partition("~")[0]
            if not sent_at.isdigit() or now - int(sent_at) > READ_BACK:
                continue
            lines = (self._read(path) or "").splitlines()
            try:
                steps = [(_numbered(line), line) for line in lines]
            except (ConfigurationError, ValueError) as error:
                self._put_aside(path, str(error))
                continue
            sent = [step for step in steps if step[0].epoch != epoch or step[0].seq < next_seq]
            if sent:
                self._lines[path.name] = [line for _, line in sent]
                yield sent[-1][0]

    def _path_of(self, draft: Draft) -> Path:
        return self._draft_path(draft.place, draft.by, draft.corrects.set if draft.corrects is not None else "")

    def _draft_path(self, place: Place, by: str, corrects: str = "") -> Path:
        end = f"~{corrects}" if corrects else ""
        return self._drafts / f"{place.bed}~{place.slot}~{place.run}~{by}{end}.draft"

    @staticmethod
    def _set_name(kept: SentSet) -> str:
        return f"{kept.versions[0].at:013d}~{kept.place.bed}~{kept.id}.set"

    def _read(self, path: Path) -> str | None:
        try:
            return path.read_text(encoding="utf-8")
        except FileNotFoundError:
            return None
        except (OSError, UnicodeDecodeError) as error:
            self._put_aside(path, str(error))
            return None

    def _put_aside(self, path: Path, why: str) -> None:
        aside = path.with_name(f"{path.name}.unreadable")
        try:
            path.replace(aside)
        except OSError as error:
            why = f"{why}; it cannot be put aside: {error}"
        log.warning("%s is put aside: %s", path, why)
        self.put_aside.append(f"{path.name} could not be read and is put aside as {aside.name}: {why}")


def _numbered(line: str) -> Numbered:
    epoch, seq, text = line.split(" ", 2)
    return Numbered(sent_from(text), epoch, int(seq))


def _changed_at(path: Path) -> int:
    return path.stat().st_mtime_ns
