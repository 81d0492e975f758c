"""Opening recordings and their maps: plain or gzip, with errors that name the file."""

import gzip
import zlib
from collections.abc import Iterator
from pathlib import Path

from shared.errors import ConfigurationError
from shared.recording import Recording, read_recording
from shared.recording_map import RecordingMap, map_of_header, parse_map


def load_map(path: Path) -> RecordingMap:
    """Read a column map.

    Raises:
        ConfigurationError: it cannot be read, or is none.
    """
    try:
        return parse_map(path.read_text(encoding="utf-8"))
    except (OSError, UnicodeDecodeError) as error:
        raise ConfigurationError(f"the column map {path} cannot be read: {error}") from error
    except ConfigurationError as error:
        raise ConfigurationError(f"{path}: {error}") from None


def load_recording(path: Path, columns: RecordingMap | None, strict: bool) -> tuple[Recording, RecordingMap]:
    """Read a recording; without a map its first line names the columns.

    Raises:
        ConfigurationError: it cannot be read, its header is wrong, it holds no reading, or, with ``strict``,
            a row is wrong.
    """
    try:
        lines = list(_lines(path))
    except (OSError, EOFError, zlib.error, UnicodeDecodeError) as error:
        raise ConfigurationError(f"the recording {path} cannot be read: {error}") from error
    try:
        columns = columns or map_of_header(lines[0] if lines else "")
        recording = read_recording(lines, columns, strict)
    except ConfigurationError as error:
        raise ConfigurationError(f"{path}: {error}") from None
    if not recording.rows:
        why = f"; line {recording.faults[0].line}: {recording.faults[0].why}" if recording.faults else ""
        raise ConfigurationError(f"{path} holds no reading{why}")
    return recording, columns


def _lines(path: Path) -> Iterator[str]:
    with path.open("rb") as probe:
        packed = probe.read(2) == b"\x1f\x8b"
    if packed:
        with gzip.open(path, "rt", encoding="utf-8") as text:
            yield from text
    else:
        with path.open(encoding="utf-8") as text:
            yield from text
