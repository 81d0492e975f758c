"""What an observation and an entry cost on the wire, in a record and in the archive.

``python -m tests.helpers.archive_rates MINUTES [SCENARIO]``: a scenario is played into a record with a checkpoint
every 20 s, as a hub writes one, and fed into a PostgreSQL of its own. From this DEVELOPERS works out 50 units.
"""

import sqlite3
import sys
import tempfile
import time
import zlib
from contextlib import closing
from pathlib import Path

from monitor.archive.connecting import connected
from monitor.archive.schema import prepare
from monitor.cli import played_record
from monitor.cli.demo_folder import make_folder
from monitor.core.events import Observed
from monitor.record.reading import read_only
from monitor.settings import load_configuration, load_entry_in, texts_in
from shared.frames import encode
from shared.instant import SECOND
from shared.scenario import parse_scenario
from tests.helpers.archived import feed
from tests.helpers.courses import CONFIG
from tests.helpers.hub import free_endpoints
from tests.helpers.postgres import running

BEGIN = 1_767_225_600_000


def play(folder: Path, minutes: int, scenario: str) -> Path:
    """Play the first minutes of a scenario into a record."""
    text = (CONFIG / "scenarios" / scenario).read_text()
    whole = parse_scenario(text)
    entered = tuple(one for one in whole.entry if one.at < minutes * 60)
    part = folder / scenario
    part.write_text(text)
    made = make_folder(CONFIG, part, None, free_endpoints(), folder, BEGIN)
    cut = made.model_copy(update={"minutes": minutes, "entry": entered})
    setattr(played_record, "_CHECKPOINT_MS", 20 * SECOND)  # noqa: B010  # as a hub does
    record = folder / "unit.record"
    files = (load_configuration(folder), texts_in(folder), BEGIN, load_entry_in(folder))
    played_record.write_record(record, cut, *files)
    return record


def told(line: str) -> None:
    """Print a line."""
    sys.stdout.write(f"{line}\n")


def main(minutes: int, scenario: str) -> None:
    """Print the table."""
    with tempfile.TemporaryDirectory() as name, running() as server, server.database("rates") as place:
        record = play(Path(name), minutes, scenario)
        with read_only(record) as opened:
            observed = [event.observation for event, _ in opened.replay(0) if isinstance(event, Observed)]
            entries, kept = opened.newest(), opened.standing()
        wire = sum(len(part) for one in observed for part in encode("ingest", one))
        with closing(sqlite3.connect(record)) as db:
            db.execute("VACUUM")
            sizes = dict(db.execute("SELECT name, sum(pgsize) FROM dbstat GROUP BY name").fetchall())
            inputs = db.execute("SELECT count(*) FROM inputs").fetchone()[0]
        with connected(place) as archive:
            prepare(archive)
            begun = time.process_time()
            assert feed(record, place) == 0
            worked = time.process_time() - begun
            archive.execute("VACUUM")
            rows = archive.execute(
                "SELECT relname, pg_total_relation_size(oid) FROM pg_class WHERE relkind = 'r'"
                " AND relnamespace = 'weirkeeper'::regnamespace"
            )
            tables = {str(table): int(str(size)) for table, size in rows}
        n = len(observed)
        beds = len({one.bed for one in observed})
        kinds = sum(len(one.readings) for one in observed) / n
        told(f"{scenario}, {minutes} min, {beds} beds: {n} observations of {kinds:.1f} quantities")
        told(f"{entries} entries, {inputs} other inputs")
        told(f"wire: {wire / n:.0f} bytes an observation")
        watched = ("observations", "observations_by_time", "sqlite_autoindex_observations_1")
        told(f"SQLite: {sum(sizes.get(one, 0) for one in watched) / n:.0f} bytes an observation")
        told(f"SQLite: {sizes.get('entries', 0) / entries:.0f} bytes an entry, {sizes}")
        told(f"PostgreSQL: {tables['stretches'] / n:.0f} bytes an observation, {tables}")
        told(f"PostgreSQL: {tables['entries'] / entries:.0f} bytes an entry")
        state = sum(len(zlib.compress(one.checkpoint.engine)) for one in kept) // len(kept)
        told(f"a state of the engine: {state} bytes, packed")
        told(f"feeding: {worked:.2f} s of processor time at the feeder")


if __name__ == "__main__":
    main(int(sys.argv[1]), sys.argv[2] if len(sys.argv) > 2 else "nominal_24h.toml")
