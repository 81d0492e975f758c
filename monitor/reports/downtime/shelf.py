"""The folder of downtime sheets: each named by its day and time, the newest few kept."""

from contextlib import suppress
from datetime import UTC, datetime
from pathlib import Path

from monitor.reports.downtime.moment import LastMoment
from monitor.reports.downtime.sheet import write_sheet
from shared.errors import RecordError
from shared.instant import SECOND, Instant

_NAMES = "sheet-*.pdf"


def shelve(folder: Path, found: LastMoment, now: Instant, keep: int) -> Path:
    """Write a sheet into a folder, whole or not at all, then take the oldest away; give the new one.

    Raises:
        RecordError: the folder or the disk refuses; in words. The sheets before it stay.
    """
    try:
        folder.mkdir(exist_ok=True)
    except OSError as error:
        raise RecordError(f"no downtime sheet in {folder}: {error.strerror or error}") from error
    wall = datetime.fromtimestamp(found.at / SECOND, UTC).astimezone(found.configuration.unit.zone)
    path = folder / f"sheet-{wall:%Y-%m-%d-%H%M%S%z}.pdf"
    write_sheet(path, found, now)
    for old in sorted(folder.glob(_NAMES), key=_written, reverse=True)[keep:]:
        with suppress(OSError):  # one more stays
            old.unlink()
    return path


def _written(path: Path) -> tuple[float, str]:
    try:
        return path.stat().st_mtime, path.name
    except OSError:
        return 0.0, path.name
