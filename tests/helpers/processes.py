"""Real processes of a hub and a feed, on free ports of this machine, in a folder of their own."""

import os
import re
import selectors
import signal
import sqlite3
import subprocess
import sys
import time
from collections.abc import Callable, Iterator, Sequence
from contextlib import closing, contextmanager
from pathlib import Path
from types import TracebackType
from typing import Self

from tests.helpers.hub import CONFIG, free_endpoints

ROOT = Path(__file__).parents[2]
ALIVE_S = 30.0


def until(condition: Callable[[], bool], what: str, seconds: float = ALIVE_S) -> None:
    """Ask again and again, a few milliseconds apart, until it holds."""
    ends = time.monotonic() + seconds
    with selectors.DefaultSelector() as pause:
        while not condition():
            assert time.monotonic() < ends, f"not within {seconds:g} s: {what}"
            pause.select(0.02)


class Process:
    """A process that is started, spoken to by signals, and gone at the end. What it logs is kept in ``log``.

    Args:
        before: words that start it elsewhere; they must become the process.
    """

    def __init__(self, words: Sequence[str], log: Path, before: Sequence[str] = ()) -> None:
        self.log = log
        with log.open("ab") as errors:
            self._process = subprocess.Popen(
                [*before, sys.executable, "-m", *words],
                cwd=ROOT,
                stdin=subprocess.DEVNULL,
                stdout=subprocess.PIPE,
                stderr=errors,
            )
        assert self._process.stdout is not None
        self._said = self._process.stdout
        self._reader = selectors.DefaultSelector()
        self._reader.register(self._said, selectors.EVENT_READ)

    def says_within(self, seconds: float) -> str:
        """Give the next line on standard output, or nothing when none came in time; it may have ended."""
        return self._said.readline().decode() if self._reader.select(seconds) else ""

    @property
    def is_running(self) -> bool:
        return self._process.poll() is None

    @property
    def pid(self) -> int:
        return self._process.pid

    @property
    def worked_s(self) -> float:
        """Seconds of processor time so far (proc(5), fields 14 and 15): what a busy machine does not stretch."""
        fields = Path(f"/proc/{self._process.pid}/stat").read_text().rpartition(")")[2].split()
        return (int(fields[11]) + int(fields[12])) / os.sysconf("SC_CLK_TCK")

    def kill(self) -> None:
        """Kill it without warning."""
        self._process.kill()
        self._gone()

    def end(self, number: int = signal.SIGTERM, seconds: float = ALIVE_S) -> int:
        """Ask it to end; give its exit status."""
        self._process.send_signal(number)
        return self.wait(seconds)

    def wait(self, seconds: float = ALIVE_S) -> int:
        status = self._process.wait(seconds)
        self._gone()
        return status

    def _gone(self) -> None:
        self._process.wait()
        self._reader.close()
        self._said.close()


class Station:
    """A folder with a record and a journal, and the processes on them; all are killed at the end of the block."""

    def __init__(self, folder: Path, speed: float = 1.0) -> None:
        self.folder, self.speed = folder, speed
        self.record, self.journal = folder / "unit.record", folder / "feed.journal"
        self.endpoints = free_endpoints()
        self.start = time.time_ns() // 1_000_000
        self._processes: list[Process] = []

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        for process in self._processes:
            if process.is_running:
                process.kill()

    @property
    def clock(self) -> list[str]:
        return ["--speed", f"{self.speed:g}", "--start", str(self.start)] if self.speed != 1 else []

    def launch_hub(self, *more: str) -> Process:
        """Start the hub; it may not be ready yet."""
        words = ["monitor", "hub", "--config", str(CONFIG), "--record", str(self.record), *self.clock]
        for room in ("ingest", "link", "publish", "commands"):
            words += [f"--{room}", getattr(self.endpoints, room)]
        return self._started(Process([*words, *more], self.folder / "hub.log"))

    def hub(self) -> Process:
        """Start the hub and wait until it is ready."""
        hub = self.launch_hub()
        assert hub.says_within(ALIVE_S).startswith("hub ready"), hub.log.read_text()
        return hub

    def feed(self, scenario: Path, *more: str) -> Process:
        """Start a feed that plays a scenario."""
        words = ["feeds", "simulate", str(scenario), "--journal", str(self.journal), *self.clock]
        words += ["--ingest", self.endpoints.ingest, "--link", self.endpoints.link]
        return self._started(Process([*words, *more], self.folder / "feed.log"))

    def count(self, table: str = "observations") -> int:
        """Count the rows of a table of the record, which the hub has open."""
        with self.look() as db:
            found: int = db.execute(f"SELECT count(*) FROM {table}").fetchone()[0]
        return found

    @contextmanager
    def look(self) -> Iterator[sqlite3.Connection]:
        """Read the record beside the hub."""
        with closing(sqlite3.connect(f"file:{self.record}?mode=ro", uri=True, timeout=5)) as db:
            yield db

    def missing(self) -> int:
        """Count the numbers that the record lacks below the highest one it holds."""
        with self.look() as db:
            found: int = db.execute("SELECT coalesce(max(seq), 0) - count(*) FROM observations").fetchone()[0]
        return found

    def in_journal(self) -> tuple[int, int]:
        """Give how many observations the feed has numbered, and how many of them it still keeps; it has ended."""
        with closing(sqlite3.connect(self.journal)) as db:
            numbered, kept = db.execute("SELECT (SELECT next FROM meta) - 1, count(*) FROM kept").fetchone()
        return int(numbered), int(kept)

    def _started(self, process: Process) -> Process:
        self._processes.append(process)
        return process


def logged_badly(log: Path) -> list[str]:
    """Give the lines of a log that speak of errors."""
    return [line for line in log.read_text().splitlines() if re.match(r"ERROR|CRITICAL|Traceback", line)]
