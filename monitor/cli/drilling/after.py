"""What was done in a drill, from its folder: as text, as JSON and as pages, beside its record."""

from collections.abc import Mapping
from datetime import tzinfo
from pathlib import Path

from monitor.cli.drilling.processes import RECORD, WORDS
from monitor.record.reading import read_only
from monitor.reports.drill.facts import Done, done_of, turns_in
from monitor.reports.drill.paper import write_done
from monitor.reports.drill.words import all_lines
from monitor.settings import configuration_of
from shared.errors import RecordError

PAGES, FIGURES = "what-was-done.pdf", "what-was-done.json"


def write_after(folder: Path) -> Path:
    """Write all three; give where the text is.

    Raises:
        RecordError: there is no record of a drill, it cannot be read, or the folder cannot be written.
    """
    path = folder / RECORD
    if not path.is_file():
        raise RecordError(f"{folder} is no folder of a drill: there is no {RECORD} in it")
    with read_only(path) as record:
        configured = record.configured()
        if configured is None:
            raise RecordError(f"{path} does not say of what it is")
        unit = configuration_of(configured.files).unit
        if unit.drill is None:
            raise RecordError(f"{path} is no record of a drill")
        labels = {person.name: person.label for person in unit.people}
        turns = turns_in(folder)
        begin, end = record.ends()
        begin = next((turn.at for turn in turns), begin)
        end = next((turn.at for turn in turns if turn.state == "ended"), end)
        entries = record.entries_since(0, None, None)
        done = done_of(
            unit.drill, entries, turns, lambda name: labels.get(name or "", name or "nobody"), begin, end
        )
    return _written(folder, done, unit.zone, configured.files)


def _written(folder: Path, done: Done, zone: tzinfo, files: Mapping[str, str]) -> Path:
    try:
        write_done(folder / PAGES, done, zone, files)
        (folder / FIGURES).write_text(done.model_dump_json(indent=1) + "\n", encoding="utf-8")
        (folder / WORDS).write_text("\n".join(all_lines(done, zone)) + "\n", encoding="utf-8")
    except OSError as error:
        raise RecordError(f"{folder} cannot be written: {error.strerror or error}") from error
    return folder / WORDS
