"""The entry form as a process of its own, which a desk opens for a bed with one key.

One form runs at a time, for it has one journal: while it is open, another bed is told to it on its standard input.
It ends with the desk, keeping what was typed.
"""

import os
import subprocess
import sys
from collections.abc import Sequence
from pathlib import Path

from PySide6.QtGui import QGuiApplication

from monitor.cli.paths import ROOT
from shared.look.screen import SCALE, most_percent

_ENDS_WITHIN_S = 5


class EntryForm:
    """Opens beds in the form. Use as a context: the form is ended on the way out.

    Args:
        words: options of ``feeds enter`` besides bed and person: the configuration, the hub's addresses, the clock.
        log: where what it says is kept.
    """

    def __init__(self, words: Sequence[str], log: Path) -> None:
        self._words, self._log = tuple(words), log
        self._process: subprocess.Popen[bytes] | None = None

    def __enter__(self) -> "EntryForm":
        return self

    def __exit__(self, *_: object) -> None:
        process = self._process
        if process is None:
            return
        process.terminate()
        try:
            process.wait(_ENDS_WITHIN_S)
        except subprocess.TimeoutExpired:
            process.kill()
            process.wait()
        if process.stdin is not None:
            process.stdin.close()

    def open(self, bed: str, by: str | None) -> str:
        """Open a bed's form; give what the desk says of it."""
        if self._process is not None and self._process.poll() is None and self._tell(bed, by):
            return f"The entry form shows {bed}."
        if self._process is not None and self._process.stdin is not None:
            self._process.stdin.close()
        who = [] if by is None else ["--by", by]
        try:
            self._log.parent.mkdir(parents=True, exist_ok=True)
            with self._log.open("ab") as log:
                self._process = subprocess.Popen(
                    [sys.executable, "-m", "feeds", "enter", "--bed", bed, *who, "--listen", *self._words],
                    stdin=subprocess.PIPE,
                    stdout=log,
                    stderr=log,
                    cwd=ROOT,
                    env=_environment(),
                    start_new_session=True,
                )
        except OSError as error:
            return f"The entry form cannot be started: {error.strerror or error}"
        return f"The entry form opens for {bed}. If it does not come, {self._log} says why."

    def _tell(self, bed: str, by: str | None) -> bool:
        assert self._process is not None
        assert self._process.stdin is not None
        try:
            self._process.stdin.write(f"{bed} {by or ''}\n".encode())
            self._process.stdin.flush()
        except OSError:
            return False
        return True


def _environment() -> dict[str, str]:
    """The form's scale is this desk's, as far as the form has room on this screen."""
    told = dict(os.environ)
    scale = float(told.get(SCALE) or 1)
    if scale > 1:
        size = QGuiApplication.primaryScreen().size() * scale
        fits = most_percent(size.width(), size.height()) / 100
        told[SCALE] = f"{min(scale, fits):g}"
    return told
