"""``monitor hub`` as a process: ready, a clean end, and why it cannot start."""

import os
import select
import signal
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path

import pytest

from monitor.core.endpoints import Endpoints
from monitor.core.entries import EntryKind
from monitor.record import Record
from tests.helpers.hub import CONFIG, free_endpoints

ROOT = Path(__file__).parents[2]


class Processes:
    """Starts hubs and ends those that are left."""

    def __init__(self, folder: Path) -> None:
        self.record = folder / "unit.record"
        self.endpoints = free_endpoints()
        self._all: list[subprocess.Popen[str]] = []

    def hub(
        self, *more: str, record: Path | None = None, endpoints: Endpoints | None = None
    ) -> "subprocess.Popen[str]":
        command = [sys.executable, "-m", "monitor", "hub", "--config", str(CONFIG)]
        command += ["--record", str(record or self.record), *more]
        for room, address in (endpoints or self.endpoints).model_dump().items():
            command += [f"--{room}", address]
        process = subprocess.Popen(
            command, cwd=ROOT, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True, env=dict(os.environ)
        )
        self._all.append(process)
        return process

    def end(self) -> None:
        for process in self._all:
            if process.poll() is None:
                process.kill()
            process.communicate(timeout=20)


def ready(process: "subprocess.Popen[str]", seconds: float = 20.0) -> str:
    """Wait for the line that says ready."""
    assert process.stdout is not None
    readable, _, _ = select.select([process.stdout], [], [], seconds)
    assert readable, "no line came"
    return process.stdout.readline()


@pytest.fixture
def processes(tmp_path: Path) -> Iterator[Processes]:
    processes = Processes(tmp_path)
    yield processes
    processes.end()


@pytest.mark.slow
@pytest.mark.parametrize("number", [signal.SIGTERM, signal.SIGINT])
def test_that_the_hub_says_ready_and_ends_cleanly_when_told(processes: Processes, number: signal.Signals) -> None:
    hub = processes.hub()
    line = ready(hub)
    assert line.startswith("hub ready ")
    assert f"commands={processes.endpoints.commands}" in line
    hub.send_signal(number)
    assert hub.wait(timeout=20) == 0
    record = Record.open(processes.record)
    last = record.entries(None, 1)[0]
    assert (last.kind, last.text) == (EntryKind.NOTE, "the hub was stopped")
    assert record.standing()[0].ordinal == len(list(record.replay(0)))
    assert record.verify() is None
    record.close()


@pytest.mark.slow
def test_that_a_held_record_and_a_port_in_use_are_named_with_exit_status_2(
    processes: Processes, tmp_path: Path
) -> None:
    first = processes.hub()
    ready(first)
    second = processes.hub(endpoints=free_endpoints())
    third = processes.hub(record=tmp_path / "other.record")
    for process, words in ((second, "another hub writes this record"), (third, "is in use: does another hub run")):
        out, err = process.communicate(timeout=20)
        assert process.returncode == 2
        assert out == ""
        assert words in err
        assert "Traceback" not in err
    assert first.poll() is None, "the first one is not disturbed"


@pytest.mark.slow
@pytest.mark.parametrize(
    ("more", "words"),
    [(["--speed", "0"], "--speed 0: allowed"), (["--start", "-5"], "--start -5")],
)
def test_that_a_wrong_option_is_named_with_exit_status_2(processes: Processes, more: list[str], words: str) -> None:
    hub = processes.hub(*more)
    _, err = hub.communicate(timeout=20)
    assert hub.returncode == 2
    assert words in err
    assert "Traceback" not in err
