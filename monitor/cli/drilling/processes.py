"""A drill's own hub and feed, its folder, and the process that writes down what was done once it is over."""

import json
import subprocess
import sys
import time
from collections.abc import Sequence
from contextlib import suppress
from datetime import UTC, datetime
from functools import partial
from pathlib import Path

from monitor.cli.children import Children, end_with_parent
from monitor.cli.drilling.folder import Practised, courses_in, make_drill_folder
from monitor.cli.paths import ROOT
from monitor.cli.ports import free_endpoints
from monitor.core.unit import Unit
from monitor.desk.drill.state import DrillState
from monitor.desk.unit_desk import HubGiven
from monitor.reports.drill.facts import COURSE
from monitor.settings.card_files import cards_in
from shared.errors import RecordError
from shared.language.hearing import heard
from shared.language.saying import say

#: In the folder of a drill, besides its configuration.
RECORD, WORDS = "drill.db", "what-was-done.txt"
#: The tiles show two hours of trends: so long have the invented beds been running.
_LEAD_MINUTES = 120
_WRITTEN_WITHIN_S = 60


class DrillProcesses:
    """What a desk asks for a drill, see `monitor.desk.drill.given`. Use as a context: all are ended on the way out.

    Args:
        config: of the unit: whose limits, ladder and emergency cards are practised with.
        unit: whose people practise; ``None``: invented ones.
        into: the folder in which each drill gets one of its own.
        only: the one course that is offered; ``None``: those of the unit.
    """

    def __init__(self, config: Path, unit: Unit | None, into: Path, only: Practised | None = None) -> None:
        self._config, self._unit, self._into, self._only = config, unit, into, only
        self._children = Children()
        self._after: subprocess.Popen[bytes] | None = None
        self._read: tuple[str, ...] | None = None
        self.folder: Path | None = None

    def __enter__(self) -> "DrillProcesses":
        return self

    def __exit__(self, *_: object) -> None:
        if self._after is not None:  # what was done is kept, also where the desk is closed at once
            with suppress(subprocess.TimeoutExpired):
                self._after.wait(_WRITTEN_WITHIN_S)
        self._children.stop()

    def courses(self) -> Sequence[tuple[str, str]]:
        """Give what can be practised. Raises ConfigurationError."""
        found = courses_in(self._config) if self._only is None else (self._only,)
        return [(one.name, one.title) for one in found]

    def begin(self, course: str, people: Sequence[str]) -> HubGiven:
        """Make the folder, start hub and feed. Raises ConfigurationError, OSError."""
        found = courses_in(self._config) if self._only is None else (self._only,)
        practised = next(one for one in found if one.name == course)
        self._children.stop()
        self._after, self._read = None, None
        endpoints, start = free_endpoints(), time.time_ns() // 1_000_000
        self.folder = folder = _free(
            self._into, f"{datetime.now(UTC).astimezone():%Y-%m-%d-%H%M%S}-{practised.name}"
        )
        drill = make_drill_folder(self._config, practised, self._unit, endpoints, folder, start, people)
        folder.chmod(0o700)
        clock = ["--start", str(start), "--speed", "1"]
        hub = ["monitor", "hub", "--config", str(folder), "--record", str(folder / RECORD), *clock]
        feed = ["feeds", "simulate", str(folder / "scenario.toml"), "--journal", str(folder / "feed.journal")]
        feed += ["--lead", str(_LEAD_MINUTES), "--ingest", endpoints.ingest, "--link", endpoints.link, *clock]
        self._children.start("hub", hub, folder / "hub.log")
        self._children.start("feed", feed, folder / "feed.log")
        print(f"Drill   {drill.title}: it lies in {folder}, apart from the unit's record", flush=True)
        return HubGiven(endpoints, emergency_cards=partial(cards_in, folder), drill=drill)

    def gone(self) -> str:
        """Give the name of a process that has ended by itself."""
        return self._children.gone()

    def note(self, state: DrillState, why: str) -> None:
        """Write a line beside the record; a disk that refuses costs the line, not the drill."""
        if self.folder is not None:
            line = {"at": time.time_ns() // 1_000_000, "state": state.value, "why": why}
            try:
                with (self.folder / COURSE).open("a", encoding="utf-8") as file:
                    file.write(json.dumps(line) + "\n")
            except OSError as error:
                print(f"Drill   not noted beside its record: {error}", file=sys.stderr)

    def end(self) -> None:
        """End hub and feed, and have what was done written down by a process of its own."""
        if self.folder is None:
            return
        self._children.end()
        words = [sys.executable, "-m", "monitor", "drill", "--after", str(self.folder)]
        log = (self.folder / "after.log").open("ab")
        with log:
            self._after = subprocess.Popen(
                words,
                stdin=subprocess.DEVNULL,
                stdout=log,
                stderr=log,
                cwd=ROOT,
                start_new_session=True,
                preexec_fn=end_with_parent if sys.platform == "linux" else None,
            )

    def kept(self) -> str:
        """Say where it is kept."""
        return say("The drill is over. What was done in it is kept in {folder}", folder=self.folder)

    def done(self) -> Sequence[str] | None:
        """Give what was done, once it is written."""
        if self._read is not None or self._after is None or self._after.poll() is None or self.folder is None:
            return self._read
        try:
            text = (self.folder / WORDS).read_text(encoding="utf-8")
            kept = say("It is kept in {folder}, with the same as pages: what-was-done.pdf", folder=self.folder)
            self._read = (*map(heard, text.splitlines()), "", kept)
        except OSError as error:
            self._read = (
                say("What was done could not be written down: {error}", error=error),
                say("The record is in {folder}", folder=self.folder),
            )
        return self._read


def _free(into: Path, name: str) -> Path:
    """Make a folder of this name, or with a number where there is one. Raises RecordError."""
    try:
        into.mkdir(parents=True, exist_ok=True)
        for number in range(1, 100):
            folder = into / (name if number == 1 else f"{name}-{number}")
            if not folder.exists():
                folder.mkdir(mode=0o700)
                return folder.resolve()
    except OSError as error:
        raise RecordError(f"a drill needs a folder in {into}: {error}") from error
    raise RecordError(f"{into} has a hundred drills named {name}")
