"""The downtime sheets: a child process makes one at the hub's start, then so often that none is an hour old.

The hub starts it and looks, without waiting, whether it has ended. Nothing that becomes of it touches the watch.
"""

import json
import socket
import subprocess
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import IO

from monitor.core.view import SHEET_OVERDUE_MS, SheetView
from monitor.hub.give_way import give_way
from shared.instant import MINUTE, Instant
from shared.language.saying import say

#: The next one is begun so long after the newest: with hub and child dead a moment before it is done, the newest
#: is not yet an hour old.
EVERY_MS = 55 * MINUTE
#: The second one comes sooner: at the start of a new record nothing was read yet.
SECOND_MS = 5 * MINUTE
#: One that could not be made is tried again after so long; one that is not done by then is given up.
AGAIN_MS, LONGEST_MS = 5 * MINUTE, 4 * MINUTE
_SAID = "weirkeeper: "


@dataclass(slots=True)
class _Child:
    process: subprocess.Popen[bytes]
    ends_at: Instant
    said: IO[bytes]


class Sheets:
    """Has the sheets made.

    Args:
        command: what makes one and writes its path and time on standard output, as JSON.
        folder: where they lie; ``root``: where the command runs.
    """

    def __init__(self, command: Sequence[str], folder: Path, root: Path) -> None:
        self._command, self._folder, self._root = tuple(command), folder, root
        self._child: _Child | None = None
        self._due_at: Instant | None = None
        self._since: Instant | None = None
        self._newest, self._fault = "", ""
        self._at: Instant | None = None
        self._host = socket.gethostname()
        self._told_overdue = False

    @property
    def is_making(self) -> bool:
        """Tell whether a child is at it."""
        return self._child is not None

    def view(self) -> SheetView | None:
        """Give how it stands; ``None`` before the first look."""
        if self._since is None:
            return None
        return SheetView(
            folder=str(self._folder),
            host=self._host,
            newest=self._newest,
            at=self._at,
            since=self._since,
            fault=self._fault,
        )

    def due(self, now: Instant, ticks: Instant) -> list[str]:
        """Start a child where one is due, and hear one that has ended; give what the log is to say.

        Args:
            now: the hub's time, by which sheets are an hour old; ``ticks``: real ms, by which a child is too slow.
        """
        if self._since is None or self._due_at is None:
            self._since = self._due_at = now
        said = self._heard(now, ticks)
        if self._child is None and now >= self._due_at:
            said += self._begin(now, ticks)
        newest = self._at if self._at is not None else self._since
        if not self._told_overdue and now - newest >= SHEET_OVERDUE_MS:
            self._told_overdue = True
            said.append(
                say(
                    "the newest downtime sheet is {minutes} min old: print one by hand",
                    minutes=(now - newest) // MINUTE,
                )
            )
        return said

    def stop(self) -> None:
        """End a child that runs; the sheets that are there stay."""
        if self._child is not None:
            self._child.process.kill()
            self._end(self._child)

    def _begin(self, now: Instant, ticks: Instant) -> list[str]:
        self._due_at = now + AGAIN_MS
        try:
            process = subprocess.Popen(
                (*self._command, "--now", str(now)),
                cwd=self._root,
                stdin=subprocess.DEVNULL,
                stdout=subprocess.PIPE,
                stderr=subprocess.STDOUT,
                start_new_session=True,
            )
        except OSError as error:
            return self._failed(say("it cannot be started: {why}", why=error.strerror or error))
        give_way(process)
        assert process.stdout is not None
        self._child = _Child(process, ticks + LONGEST_MS, process.stdout)
        return []

    def _heard(self, now: Instant, ticks: Instant) -> list[str]:
        child = self._child
        if child is None:
            return []
        status = child.process.poll()
        if status is None:
            if ticks < child.ends_at:
                return []
            child.process.kill()
            self._end(child)
            return self._failed(say("it was not done within {longest} min", longest=LONGEST_MS // MINUTE))
        lines = child.said.read().decode(errors="replace").splitlines()
        self._end(child)
        try:
            made = json.loads(lines[-1]) if status == 0 else {}
            name, at = Path(made["sheet"]).name, int(made["at"])
        except (IndexError, KeyError, TypeError, ValueError):
            told = [line.removeprefix(_SAID) for line in lines if line.startswith(_SAID)]
            return self._failed(told[-1] if told else say("its process ended with {status}", status=status))
        self._due_at = max(at + (EVERY_MS if self._newest else SECOND_MS), now + MINUTE)
        self._newest, self._at, self._told_overdue = name, at, False
        back = [say("downtime sheets are made again")] if self._fault else []
        self._fault = ""
        return back

    def _end(self, child: _Child) -> None:
        child.process.wait()
        child.said.close()
        self._child = None

    def _failed(self, why: str) -> list[str]:
        known, self._fault = self._fault, why
        return (
            [] if known == why else [say("no downtime sheet could be made: {why}. Alerts and calls go on", why=why)]
        )
