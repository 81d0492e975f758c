"""Child processes: started together, started again when they die, gone when the parent goes.

A child leads its own session, so that Ctrl-C in the terminal reaches the parent alone, which then ends the children
in order. On Linux a child also ends when its parent is killed.
"""

import ctypes
import signal
import subprocess
import sys
import time
from collections.abc import Sequence
from dataclasses import dataclass, field
from pathlib import Path

from monitor.cli.paths import ROOT
from shared.errors import WeirkeeperError

_PARENT_DIED = 1  # PR_SET_PDEATHSIG of prctl(2)
_AGAIN_AT_MOST, _WITHIN_S = 10, 60.0


@dataclass(slots=True)
class Child:
    """A process that must run: its name, its words after ``python -m``, and when it was started again."""

    name: str
    words: Sequence[str]
    log: Path
    process: subprocess.Popen[bytes] | None = None
    restarts: list[float] = field(default_factory=list)


class Children:
    """The children of one command. Use as a context: all are ended on the way out."""

    def __init__(self) -> None:
        self._children: list[Child] = []

    def __enter__(self) -> "Children":
        return self

    def __exit__(self, *_: object) -> None:
        self.stop()

    def start(self, name: str, words: Sequence[str], log: Path) -> None:
        """Start ``python -m WORDS``; what it says goes to ``log``."""
        child = Child(name, words, log)
        self._launch(child)
        self._children.append(child)

    def watch(self) -> None:
        """Start again whatever has died.

        Raises:
            WeirkeeperError: a child that dies again and again, with what it said last.
        """
        for child in self._children:
            assert child.process is not None
            if child.process.poll() is None:
                continue
            now = time.monotonic()
            child.restarts = [at for at in child.restarts if now - at < _WITHIN_S] + [now]
            if child.process.returncode == 2 or len(child.restarts) > _AGAIN_AT_MOST:
                raise WeirkeeperError(f"the {child.name} does not stay up:\n{_last_words(child.log)}")
            self._launch(child)

    def gone(self) -> str:
        """Give the name of a child that has ended by itself, for who does not start it again; empty: none has."""
        return next((c.name for c in self._children if c.process is not None and c.process.poll() is not None), "")

    def end(self) -> list[subprocess.Popen[bytes]]:
        """Ask all children to end, the newest first, and wait for none; give those that were asked."""
        running = [
            c.process for c in reversed(self._children) if c.process is not None and c.process.poll() is None
        ]
        for process in running:
            process.terminate()
        return running

    def stop(self) -> None:
        """End all children, the newest first; one that does not go within 5 s is killed."""
        running = self.end()
        for process in running:
            try:
                process.wait(timeout=5)
            except subprocess.TimeoutExpired:
                process.kill()
                process.wait()
        self._children.clear()

    def _launch(self, child: Child) -> None:
        child.log.parent.mkdir(parents=True, exist_ok=True)
        with child.log.open("ab") as log:
            child.process = subprocess.Popen(
                [sys.executable, "-m", *child.words],
                stdin=subprocess.DEVNULL,
                stdout=log,
                stderr=log,
                cwd=ROOT,
                start_new_session=True,
                preexec_fn=end_with_parent if sys.platform == "linux" else None,
            )


def end_with_parent() -> None:
    """Have the system end this process, a child just begun, when its parent is gone (Linux)."""
    ctypes.CDLL(None).prctl(_PARENT_DIED, signal.SIGTERM)


def _last_words(log: Path, lines: int = 6) -> str:
    text = log.read_text(encoding="utf-8", errors="replace").splitlines()
    return "\n".join(text[-lines:]) or "it said nothing"
