"""A bundle: the hours of an incident as one file, to be kept, read by a person, and judged again by the program.

Nothing in it says what caused what, or who should have done what.
"""

import tempfile
import zipfile
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path

from monitor.core.engine import Engine
from monitor.record.copying import sync
from monitor.record.reading import read_only
from monitor.record.slice_reading import Slice, open_slice
from monitor.record.slicing import Hours
from monitor.record.taken_out import Noted, TakenOut, digest_of, note_taken_out
from monitor.reports.files import new_files, packed_as
from monitor.reports.incident.frozen import Frozen, frozen_of, standing
from monitor.reports.incident.retracing import Retraced, retrace
from monitor.reports.incident.timeline import timeline
from monitor.reports.incident.trends import trends_svg
from monitor.reports.incident.values import utc, values_csv
from shared.cautions import ON_PAPER
from shared.errors import RecordError
from shared.support import RunDescription

SLICE, ABOUT = "slice.record", "READ ME.txt"


@dataclass(frozen=True, slots=True)
class Asked:
    """Who asks for a bundle, and why; both stand in it, and in the record that says so (``noted_in``)."""

    by: str
    why: str
    noted_in: Path | None = None


@dataclass(frozen=True, slots=True)
class Bundled:
    """A bundle that was made: what came of judging its hours again, its SHA-256, and how the record noted it."""

    retraced: Retraced
    digest: str
    noted: Noted


def bundle(
    record: Path, to: Path, hours: Hours, asked: Asked, told: Callable[[int], None] = lambda _: None
) -> Bundled:
    """Freeze some hours of a record, also while a hub writes it. That it was done is an entry of the record.

    Raises:
        RecordError: ``to`` is there already, the record cannot be read or retraced, the disk refuses, or the record
            cannot say that the bundle was made: then there is none.
    """
    with new_files(to) as (half,), tempfile.TemporaryDirectory(dir=to.parent) as folder:
        path = Path(folder) / SLICE
        with read_only(record) as whole:
            whole.cut(path, hours)
        with open_slice(path) as cut:
            found = _write(half, path, cut, asked, told)
        digest = digest_of(half)
        taken = TakenOut(
            what="bundle", bed=hours.bed, begin=hours.begin, end=hours.finish, by=asked.by, why=asked.why,
            digest=digest,
        )  # fmt: skip
        noted = note_taken_out(asked.noted_in or record, taken)
    return Bundled(found, digest, noted)


def unpacked(path: Path, folder: Path) -> Path:
    """Give the slice of a bundle, unpacked into a folder. Raises RecordError where it is no bundle."""
    try:
        with zipfile.ZipFile(path) as packed:
            to = folder / SLICE
            to.write_bytes(packed.read(SLICE))
            return to
    except (zipfile.BadZipFile, KeyError, OSError) as error:
        raise RecordError(f"{path} is no bundle: {error}") from error


def _write(to: Path, path: Path, cut: Slice, asked: Asked, told: Callable[[int], None]) -> Retraced:
    frozen = frozen_of(cut)
    stood: list[str] = []
    runs: dict[int, RunDescription] = {}

    def look(engine: Engine) -> None:
        stood.extend(standing(engine, frozen, cut.hours.begin))
        tile = engine.tile(frozen.hours.bed, cut.hours.begin)
        runs.update({run.description.slot: run.description for run in tile.runs})

    found = retrace(cut, told, look)
    with zipfile.ZipFile(to, "w", zipfile.ZIP_DEFLATED) as packed:
        for name, text in _parts(cut, frozen, stood, runs, asked, found):
            packed.writestr(packed_as(name), text)
        packed.writestr(packed_as(SLICE), path.read_bytes())
    sync(to)
    return found


def _parts(
    cut: Slice,
    frozen: Frozen,
    stood: list[str],
    runs: Mapping[int, RunDescription],
    asked: Asked,
    found: Retraced,
) -> Iterator[tuple[str, str]]:
    yield ABOUT, "\n".join(_about(cut, asked, found)) + "\n"
    before = ["As it stood when these hours began:", *(f"  {line}" for line in stood or ["not known"]), ""]
    yield "timeline.txt", "\n".join([*ON_PAPER, "", *before, *timeline(frozen)]) + "\n"
    yield "values.csv", values_csv(frozen.received)
    yield "entries.jsonl", "".join(f"{written.body}\n" for written, _ in frozen.entries)
    for slot in sorted({one.observation.slot for one in frozen.received}):
        picture = trends_svg(frozen, slot, runs.get(slot))
        if picture is not None:
            yield f"trends-pump-{slot}.svg", picture
    for after, configured in cut.configurations().items():
        folder = f"configuration-{'before' if after <= cut.base else utc(configured.at).replace(':', '')}"
        for name, text in configured.files.items():
            yield f"{folder}/{name}", text


def _about(cut: Slice, asked: Asked, found: Retraced) -> Iterator[str]:
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
    yield result(found)
    head, broken = cut.head(), cut.broken()
    if broken is not None:
        yield f"BROKEN: entry {broken} is not as it was written."
    elif head is not None:
        yield f"Its last entry is number {head[0]} of the record, digest {head[1].hex()}."
    yield "It says nothing of causes, and blames nobody. Times are those of the hub's clock."


def result(found: Retraced) -> str:
    """Say in a line what came of judging again."""
    failed = f" The engine failed on {found.failures} of them." if found.failures else ""
    if found.is_same:
        return f"Judged again: {found.inputs} inputs gave the same {found.entries} entries, byte for byte.{failed}"
    return f"Judged again: {found.inputs} inputs gave {found.different} entries that differ.{failed}"
