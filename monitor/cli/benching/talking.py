"""A process of a bench and the talk with it: lines in on its standard input, lines out on its standard output."""

import json
import os
import queue
import subprocess
import sys
import threading
from collections.abc import Sequence
from pathlib import Path
from typing import IO, Any, Self

from monitor.cli.benching.clock import now_ns
from monitor.cli.children import end_with_parent
from monitor.cli.paths import ROOT
from shared.errors import OurError


def compile_all() -> None:
    """Compile the program, as an installation or its first start does: else a bench measures compiling."""
    words = [sys.executable, "-m", "compileall", "-q", "monitor", "shared", "feeds"]
    subprocess.run(words, cwd=ROOT, check=False, stdout=subprocess.DEVNULL)


class Talking:
    """A child. Use as a context: it is ended on the way out.

    Attributes:
        started: CLOCK_MONOTONIC in ns just before it was started.
        pid: its number.
    """

    def __init__(self, name: str, words: Sequence[str], log: Path) -> None:
        """Start ``python -m WORDS``; what it says on standard error goes to ``log``."""
        self._name, self._log = name, log
        environment = dict(os.environ)
        environment.pop("PYTHONDONTWRITEBYTECODE", None)  # what is installed is compiled: see `compile_all`
        if not (environment.get("DISPLAY") or environment.get("WAYLAND_DISPLAY")):
            environment.setdefault("QT_QPA_PLATFORM", "offscreen")
        with log.open("ab") as errors:
            self.started = now_ns()
            self._process = subprocess.Popen(
                [sys.executable, "-m", *words],
                stdin=subprocess.PIPE,
                stdout=subprocess.PIPE,
                stderr=errors,
                cwd=ROOT,
                env=environment,
                start_new_session=True,
                preexec_fn=end_with_parent if sys.platform == "linux" else None,
            )
        self.pid = self._process.pid
        self._said: queue.Queue[bytes] = queue.Queue()
        assert self._process.stdout is not None
        self._reader = threading.Thread(target=self._read, args=(self._process.stdout,), daemon=True)
        self._reader.start()

    def __enter__(self) -> Self:
        return self

    def __exit__(self, *_: object) -> None:
        self.end()

    def line(self, patience_s: float) -> str:
        """Give its next line.

        Raises:
            OurError: none came, or it has ended.
        """
        try:
            said = self._said.get(timeout=patience_s)
        except queue.Empty:
            raise OurError(f"the {self._name} said nothing for {patience_s:.0f} s:\n{self._last_words()}") from None
        if not said:
            raise OurError(f"the {self._name} has ended:\n{self._last_words()}")
        return said.decode("utf-8").strip()

    def told(self, patience_s: float) -> dict[str, Any]:
        """Give its next line, which is a JSON object. Raises OurError as `line` does."""
        said: dict[str, Any] = json.loads(self.line(patience_s))
        return said

    def say(self, word: str) -> None:
        """Give it a line. Raises OurError: it has ended."""
        assert self._process.stdin is not None
        try:
            self._process.stdin.write(f"{word}\n".encode())
            self._process.stdin.flush()
        except BrokenPipeError:
            raise OurError(f"the {self._name} has ended:\n{self._last_words()}") from None

    def ask(self, word: str, patience_s: float) -> dict[str, Any]:
        """Give it a line and take its answer. Raises OurError as `line` does."""
        self.say(word)
        return self.told(patience_s)

    def end(self) -> None:
        """End it; if it does not go within 5 s it is killed."""
        if self._process.poll() is None:
            self._process.terminate()
            try:
                self._process.wait(timeout=5)
            except subprocess.TimeoutExpired:
                self._process.kill()
                self._process.wait()
        self._reader.join(timeout=5)
        for pipe in (self._process.stdin, self._process.stdout):
            if pipe is not None:
                pipe.close()

    def _read(self, out: IO[bytes]) -> None:
        for said in out:
            self._said.put(said)
        self._said.put(b"")

    def _last_words(self, lines: int = 8) -> str:
        text = self._log.read_text(encoding="utf-8", errors="replace").splitlines()
        return "\n".join(text[-lines:]) or "it said nothing"
