"""A unit of 64 beds for a day or an hour, as real processes on real sockets, and what they hold all along.

    python -m tests.helpers.soak day FOLDER       # 26 h that fill what is kept, then 24 h more, as fast as it goes
    python -m tests.helpers.soak hour FOLDER      # the same 26 h, up to now, then an hour in real time, from when
                                                  # desk and review have opened every page once

A folder that was filled before is not filled again. Hub, feed, desk and review; at each bed the return line kinks
now and then, somebody at the desk answers, and at both one page is opened after the other. The hub keeps 25 h of
its past (minutes outside target; quarters of a day; four hours of minutes): until these are full it may grow.
"""

import sys
import time
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from urllib.parse import urlsplit

from monitor.cli.demo_folder import make_folder
from monitor.settings import load_configuration
from shared.instant import HOUR, SECOND, Instant
from tests.helpers.footprint import Footprint, footprint, growth, waiting_bytes
from tests.helpers.hub import CONFIG, free_endpoints
from tests.helpers.pace import BEHIND_MS, Pace, Place
from tests.helpers.processes import ALIVE_S, Process, until

FILL_H, DAY_H = 26, 24
BEDS = 64
#: From when on nothing may grow, in seconds.
SETTLED_S = 600
#: Each bed is read once a minute; in real time every second.
EVERY_S = 60
#: Between two kinks of one bed, in minutes, and how long each lasts.
DAY_KINKS, HOUR_KINKS, KINK = 360, 30, 8
#: What a kinked return line shows, and what the base bed does.
KINKED = {
    "pump_flow": (2.2, 4.2),
    "inlet_pressure": (-14, -60),
    "pre_oxygenator_pressure": (305, 220),
    "post_oxygenator_pressure": (289, 190),
}
_NOBODY_WAITS = 2**62


@dataclass(frozen=True, slots=True)
class Look:
    """How all of it stood.

    Attributes:
        at: the unit's time.
        real_s: seconds since the processes were started.
        held: by process.
        journal_kb, log_kb: files of the feed's journal and of the record's write-ahead log.
        sockets_b: bytes that wait in the queues of TCP.
        desk_s, review_s: how far their last word from the hub is behind, in seconds of the unit's time.
    """

    at: Instant
    real_s: float
    held: dict[str, Footprint]
    journal_kb: int
    log_kb: int
    sockets_b: int
    desk_s: float
    review_s: float

    def __str__(self) -> str:
        held = "; ".join(
            f"{name} {one.own_kb / 1024:.1f} MB (RSS {one.resident_kb / 1024:.1f}) {one.descriptors} fd "
            f"{one.threads} threads"
            for name, one in self.held.items()
        )
        return (
            f"{self.real_s / 60:.1f} min, {self.at / HOUR % 1000:.2f} h: {held}; journal {self.journal_kb} kB, log "
            f"{self.log_kb} kB, sockets {self.sockets_b} B, desk {self.desk_s:.1f} s, review {self.review_s:.1f} s"
        )


def make(folder: Path, begin: Instant, beds: int = BEDS) -> None:
    """Make a unit that begins at ``begin``."""
    folder.mkdir(parents=True, exist_ok=True)
    kinks = folder / "kinks.toml"
    kinks.write_text(scenario(beds, (FILL_H + 6) * 60, DAY_KINKS))
    make_folder(CONFIG, kinks, None, free_endpoints(), folder, begin)
    Pace(folder / "pace", begin)


def fill(folder: Path) -> None:
    """Let hub and feed go on as fast as they can until it is now."""
    pace = Pace(folder / "pace", Pace(folder / "pace")[Place.CLOCK])
    pace[Place.DESK] = pace[Place.REVIEW] = _NOBODY_WAITS
    with _running(folder, _paced(folder)):
        until(lambda: pace[Place.CLOCK] >= _wall() - EVERY_S * SECOND, "it is filled", 3 * 3600)


def day(
    folder: Path, hours: float = DAY_H, looks: int = 360, *, desks: bool = True, lose: str = ""
) -> Iterator[Look]:
    """Go on in a folder as fast as all come along. ``lose``: the hub loses descriptors, to see that it is found."""
    begin = Pace(folder / "pace")[Place.CLOCK] + EVERY_S * SECOND
    (folder / "scenario.toml").write_text(scenario(_beds(folder), round(hours * 60) + 60, DAY_KINKS))
    pace = Pace(folder / "pace", begin)
    with _running(folder, _paced(folder, lose) | (_desks(folder) if desks else {})) as processes:
        began = time.monotonic()
        for n in range(1, looks + 1):
            at = begin + round(n * hours * HOUR / looks)
            if not desks:  # each step is looked at: it goes no further than there
                pace[Place.DESK] = pace[Place.REVIEW] = at - BEHIND_MS - 1
            until(lambda at=at: pace[Place.CLOCK] >= at, "the day goes on", 600)  # type: ignore[misc]
            yield look(folder, processes, pace, pace[Place.CLOCK], began)


def hour(folder: Path, minutes: float = 60, every_s: float = 10) -> Iterator[Look]:
    """Go on in a filled folder in real time, with desks; its clock must not be ahead."""
    now = _wall()
    (folder / "scenario.toml").write_text(scenario(_beds(folder), round(minutes) + 60, HOUR_KINKS))
    pace = Pace(folder / "pace", now)
    words = ["--config", str(folder), "--record", str(folder / "unit.record"), "--start", str(now)]
    ends = load_configuration(folder).unit.endpoints
    feed = ["feeds", "simulate", str(folder / "scenario.toml"), "--journal", str(folder / "feed.journal")]
    feed += ["--ingest", ends.ingest, "--link", ends.link]
    plain = {"hub": ["monitor", "hub", *words], "feed": feed}
    with _running(folder, plain | _desks(folder)) as processes:
        until(lambda: min(pace[Place.DESK_ROUND], pace[Place.REVIEW_ROUND]) > 0, "every page is opened once", 600)
        began = time.monotonic()
        for n in range(1, round(minutes * 60 / every_s) + 1):
            at = began + n * every_s
            until(lambda at=at: time.monotonic() >= at, "time passes", 600)  # type: ignore[misc]
            pace[Place.CLOCK] = _wall()
            yield look(folder, processes, pace, pace[Place.CLOCK], began)


def look(folder: Path, processes: dict[str, Process], pace: Pace, now: Instant, began: float) -> Look:
    """Look at everything."""
    ends = load_configuration(folder).unit.endpoints.model_dump().values()
    return Look(
        at=now,
        real_s=time.monotonic() - began,
        held={name: footprint(process.pid) for name, process in processes.items()},
        journal_kb=_size(folder / "feed.journal") + _size(folder / "feed.journal-wal"),
        log_kb=_size(folder / "unit.record-wal"),
        sockets_b=waiting_bytes({urlsplit(end).port or 0 for end in ends}),
        desk_s=(now - pace[Place.DESK]) / SECOND,
        review_s=(now - pace[Place.REVIEW]) / SECOND,
    )


def scenario(beds: int, minutes: int, kinks: int) -> str:
    """Write a scenario: the return line of each bed kinks every so many minutes, one bed after the other."""
    labels = [f"B{number}" for number in range(1, beds + 1)]
    ramps = [
        f'  {{ bed = "{label}", quantity = "{quantity}", from = "{at}:00", value = {values[back]} }},'
        for number, label in enumerate(labels)
        for begin in range(5 + number * kinks // beds, minutes - KINK, kinks)
        for back, at in enumerate((begin, begin + KINK))
        for quantity, values in KINKED.items()
    ]
    named = ", ".join(f'"{label}"' for label in labels)
    head = f'title = "Beds for a long time"\nminutes = {minutes}\nbeds = [{named}]\nnoise = true\nseed = 6\n'
    return head + "ramp = [\n" + "\n".join(ramps) + "\n]\n"


def _paced(folder: Path, lose: str = "") -> dict[str, list[str]]:
    ends = load_configuration(folder).unit.endpoints
    return {
        "hub": ["tests.helpers.soak_hub", str(folder), lose],
        "feed": ["tests.helpers.soak_feed", str(folder), ends.ingest, ends.link, str(EVERY_S)],
    }


def _desks(folder: Path) -> dict[str, list[str]]:
    ends = load_configuration(folder).unit.endpoints
    return {
        kind: ["tests.helpers.soak_desk", kind, str(folder), ends.publish, ends.commands]
        for kind in ("desk", "review")
    }


@contextmanager
def _running(folder: Path, words: dict[str, list[str]]) -> Iterator[dict[str, Process]]:
    """Start processes, the hub first, and end them, the hub last; each must end as it was asked to."""
    processes: dict[str, Process] = {}
    try:
        for name, said in words.items():
            processes[name] = Process(said, folder / f"{name}.log")
            if name == "hub":
                ready = processes[name].says_within(2 * ALIVE_S)
                assert ready.startswith("hub ready"), (folder / "hub.log").read_text()
        yield processes
        for name in reversed(words):
            assert processes[name].end() == 0, (folder / f"{name}.log").read_text()
    finally:
        for process in processes.values():
            if process.is_running:
                process.kill()


def _beds(folder: Path) -> int:
    return len(load_configuration(folder).unit.beds)


def _size(path: Path) -> int:
    return path.stat().st_size // 1024 if path.exists() else 0


def _wall() -> Instant:
    return time.time_ns() // 1_000_000


def main(words: Sequence[str]) -> None:
    """Play, and write a look every ten minutes of its time (an hour of it in a day); at last what has grown."""
    kind, folder = words[0], Path(words[1])
    if not (folder / "filled").exists():
        make(folder, _wall() - FILL_H * HOUR)
        fill(folder)
        (folder / "filled").write_text("")
    apart = 15 if kind == "day" else 60
    looks: list[Look] = []
    for one in hour(folder) if kind == "hour" else day(folder):
        looks.append(one)
        if len(looks) == 1 or len(looks) % apart == 0:
            sys.stdout.write(f"{one}\n")
            sys.stdout.flush()
    for name in looks[0].held:
        found = growth([look.held[name] for look in looks if look.real_s >= SETTLED_S])
        sys.stdout.write(f"{name}: {'steady' if found.is_steady else 'NOT STEADY'}, {found}\n")


if __name__ == "__main__":
    main(sys.argv[1:])
