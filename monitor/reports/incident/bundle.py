"""A bundle: the hours of an incident as one file, to be kept, read by a person, and judged again by the program.

Nothing in it says what caused what, or who should have done what.
"""

import tempfile
import zipfile
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

from monitor.record.copying import sync
from monitor.record.reading import read_only
from monitor.record.slice_reading import Slice, open_slice
from monitor.record.slicing import Hours
from monitor.record.taken_out import Noted, TakenOut, digest_of, note_taken_out
from monitor.reports.files import new_files, packed_as
from monitor.reports.incident.frozen import Frozen, frozen_of
from monitor.reports.incident.retracing import Retraced
from monitor.reports.incident.stood import Stood, stood_at
from monitor.reports.incident.timeline import timeline
from monitor.reports.incident.trends import trends_svg
from monitor.reports.incident.values import utc, values_csv
from shared.cautions import DRILL, ON_PAPER, ONE_FORM
from shared.errors import RecordError

SLICE, ABOUT = "slice.record", "READ ME.txt"


@dataclass(frozen=True, slots=True)
class Asked:
    """Who asks for a bundle, and why; both stand in it, and in the record that says so (``noted_in``)."""

    by: str
    why: str
    noted_in: Path | None = None


@dataclass(frozen=True, slots=True)
class Bundled:
    """A bundle that was made: its SHA-256, and how the record noted it."""

    digest: str
    noted: Noted


def bundle(record: Path, to: Path, hours: Hours, asked: Asked) -> Bundled:
    """Freeze some hours of a record, also while a hub writes it. That it was done is an entry of the record.

    Nothing is judged again here, so that it takes seconds and a change of the program in between matters nothing:
    `retrace` does that with the file.

    Raises:
        RecordError: ``to`` is there already, the record cannot be read, the disk refuses, or the record cannot say
            that the bundle was made: then there is none.
    """
    with new_files(to) as (half,), tempfile.TemporaryDirectory(dir=to.parent) as folder:
        path = Path(folder) / SLICE
        with read_only(record) as whole:
            first, last = whole.ends()
            if hours.finish < first or hours.begin > last:
                raise RecordError(
                    f"{record} knows nothing of these hours: it goes from {utc(first)} to {utc(last)}"
                )
            begin = max(hours.begin, first)  # the record may have begun within these hours
            stood = stood_at(whole.hours(begin, hours.finish), hours.bed)
            whole.cut(path, hours)
        with open_slice(path) as cut:
            _write(half, path, cut, asked, stood)
        digest = digest_of(half)
        taken = TakenOut(
            what="bundle", bed=hours.bed, begin=hours.begin, end=hours.finish, by=asked.by, why=asked.why,
            digest=digest,
        )  # fmt: skip
        noted = note_taken_out(asked.noted_in or record, taken)
    return Bundled(digest, noted)


def unpacked(path: Path, folder: Path) -> Path:
    """Give the slice of a bundle, unpacked into a folder. Raises RecordError where it is no bundle."""
    try:
        with zipfile.ZipFile(path) as packed:
            to = folder / SLICE
            to.write_bytes(packed.read(SLICE))
            return to
    except (zipfile.BadZipFile, KeyError, OSError) as error:
        raise RecordError(f"{path} is no bundle: {error}") from error


def _write(to: Path, path: Path, cut: Slice, asked: Asked, stood: Stood) -> None:
    frozen = frozen_of(cut)
    with zipfile.ZipFile(to, "w", zipfile.ZIP_DEFLATED) as packed:
        for name, text in _parts(cut, frozen, stood, asked):
            packed.writestr(packed_as(name), text)
        packed.writestr(packed_as(SLICE), path.read_bytes())
    sync(to)


def _parts(cut: Slice, frozen: Frozen, stood: Stood, asked: Asked) -> Iterator[tuple[str, str]]:
    drill = [f"{DRILL} {frozen.unit.drill.title}", ""] if frozen.unit.drill is not None else []
    yield ABOUT, "\n".join([*drill, *_about(cut, asked)]) + "\n"
    before = ["As it stood when these hours began:", *(f"  {line}" for line in stood.lines), ""]
    yield "timeline.txt", "\n".join([*drill, *ON_PAPER, "", *before, *timeline(frozen)]) + "\n"
    yield "values.csv", values_csv(frozen.received)
    yield "entries.jsonl", "".join(f"{written.body}\n" for written, _ in frozen.entries)
    for slot in sorted({one.observation.slot for one in frozen.received}):
        picture = trends_svg(frozen, slot, stood.runs.get(slot))
        if picture is not None:
            yield f"trends-pump-{slot}.svg", picture
    for after, configured in cut.configurations().items():
        folder = f"configuration-{'before' if after <= cut.base else utc(configured.at).replace(':', '')}"
        for name, text in configured.files.items():
            yield f"{folder}/{name}", text


def _about(cut: Slice, asked: Asked) -> Iterator[str]:
    hours = cut.hours
    yield from (f"Bed {hours.bed}, {utc(hours.begin)} to {utc(hours.finish)}", "", *ON_PAPER, "")
    yield from (
        f"Asked for by {asked.by}: {asked.why}",
        "That it was made stands in the unit's log, with its SHA-256.",
        "",
    )
    yield "timeline.txt       what happened, in the order of the hub's clock"
    yield "values.csv         every value of the bed as received, corrections beside it; an empty cell: not read"
    yield "trends-pump-N.svg  its trends"
    yield "entries.jsonl      the log of the bed and of the unit, as recorded"
    yield "configuration-...  limits, ladder, patterns, unit and pumps as they were; unit.toml names telephones and"
    yield "                   mail addresses of the unit: leave it out of what others are given"
    yield f"{SLICE}       all inputs of the unit from which these hours can be judged again: `retrace THIS-FILE`"
    yield ""
    head, broken = cut.head(), cut.broken()
    if broken is not None:
        yield f"BROKEN: entry {broken} is not as it was written."
    elif head is not None:
        yield f"Its last entry is number {head[0]} of the record, digest {head[1].hex()}."
    yield "It says nothing of causes, and blames nobody. Times are those of the hub's clock."
    yield ONE_FORM


def result(found: Retraced) -> str:
    """Say in a line what came of judging again."""
    failed = f" The engine failed on {found.failures} of them." if found.failures else ""
    if found.is_same:
        return f"Judged again: {found.inputs} inputs gave the same {found.entries} entries, byte for byte.{failed}"
    return f"Judged again: {found.inputs} inputs gave {found.different} entries that differ.{failed}"
