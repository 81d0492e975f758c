"""A drill of real processes beside a live hub over real sockets: live first, nothing mixed, no harm by a kill."""

import sqlite3
import time
from collections.abc import Callable, Iterator
from contextlib import closing, contextmanager
from pathlib import Path

import pytest
from PySide6.QtCore import Qt
from PySide6.QtWidgets import QWidget
from pytestqt.qtbot import QtBot

from monitor.cli.drilling.processes import RECORD, DrillProcesses
from monitor.core.commands import CallHelp, HelpKind
from monitor.core.entries import EntryKind
from monitor.core.grades import Priority
from monitor.desk.drill.frame import DrillFrame
from monitor.desk.drill.state import DrillState
from monitor.desk.link_state import LinkState
from monitor.desk.need import is_open
from monitor.desk.unit_desk import HubGiven, UnitDesk
from monitor.desk.window import DeskWindow
from monitor.record.reading import read_only
from shared.cautions import DRILL
from tests.helpers.desk import press_key, type_keys
from tests.helpers.drill_record import CONFIG
from tests.helpers.hub import FeedEnd, Rig, bed
from tests.helpers.hub_play import give, numbers

pytestmark = pytest.mark.slow
Key = Qt.Key
#: Tables of a record that hold what people read and did; the rest are numbers.
TABLES = ("entries", "inputs", "observations")


class Beside:
    """The live hub of the shipped unit, its desk with the frame, and what puts drills together."""

    def __init__(self, qtbot: QtBot, folder: Path) -> None:
        self.ahead = 0.0
        self.rig = Rig(folder)
        self.rig.turn(1.1)
        self.feed: FeedEnd = self.rig.feed("ward", bed("B1"))
        self.runs = DrillProcesses(CONFIG, self.rig.configuration.unit, folder / "drills")
        self.desk = UnitDesk(HubGiven(self.rig.endpoints), "day", False, self.now)
        self.frame = DrillFrame(
            self.desk.window, self.runs, self.now, lambda hub, theme: UnitDesk(hub, theme, False, self.now)
        )
        qtbot.addWidget(self.frame)
        self.frame.resize(1366, 768)
        self.frame.show()

    def now(self) -> float:
        return time.monotonic() + self.ahead

    def stands(self, state: DrillState) -> bool:
        return self.frame.state is state

    @property
    def live(self) -> DeskWindow:
        return self.desk.window

    @property
    def drill(self) -> DeskWindow:
        assert self.frame.drill is not None
        return self.frame.drill.window

    def look(self) -> None:
        """Take what was heard, then let the quarter of a second pass."""
        for window in (self.live, self.frame.drill.window if self.frame.drill is not None else None):
            if window is not None:
                window.take_heard()
                window.tick()
        self.frame.tick()

    def until(self, condition: Callable[[], bool], look: Callable[[], None] | None = None) -> None:
        ends = time.monotonic() + 60.0
        while not condition():
            assert time.monotonic() < ends, "it did not happen in time"
            if self.rig.is_up:
                self.rig.turn()
            (look or self.look)()

    def second(self) -> None:
        """Let a second pass at the live hub, in which B1 is read."""
        self.rig.times.ms += 1000
        said = self.feed.read("B1", self.rig.hub.clock.now())
        self.rig.until(lambda: said.seq in numbers(self.rig))

    def help(self) -> None:
        """Let somebody at a live bed call help: a high at once."""
        command = CallHelp(id="help-0001", person="nurse-1", bed="B1", what=HelpKind.OTHER)
        assert give(self.rig, self.rig.desk(), command).accepted

    def press(self, *keys: Key | str) -> None:
        for key in keys:
            to: QWidget = self.frame.focusWidget() or self.frame
            type_keys(to, key) if isinstance(key, str) else press_key(to, key)

    def begin(self) -> None:
        """Two people begin a drill, whose hub and feed then run."""
        self.until(lambda: self.desk.session.store.link.state is LinkState.LIVE)
        self.press(Key.Key_F9, "4", "1", "2")
        assert self.stands(DrillState.RUNNING)
        self.until(lambda: len(self.drill.session.store.tiles) == 4)
        self.until(lambda: all(one.last_reading_at for one in self.drill.session.store.tiles.values()))

    def high(self) -> bool:
        """Whether the live desk knows of a high."""
        needs = self.desk.session.store.needs()
        return any(one.priority is Priority.HIGH and is_open(one) for _, one in needs)

    def kinds(self) -> list[EntryKind]:
        return [one.kind for one in self.rig.hub.keeper.entries(None, 500, None)]

    def rows(self) -> dict[str, int]:
        with closing(sqlite3.connect(f"file:{self.rig.path}?mode=ro", uri=True)) as db:
            return {table: db.execute(f"SELECT count(*) FROM {table}").fetchone()[0] for table in TABLES}

    def words(self) -> str:
        """Everything in words that stands in the live record."""
        with closing(sqlite3.connect(f"file:{self.rig.path}?mode=ro", uri=True)) as db:
            tables = [name for (name,) in db.execute("SELECT name FROM sqlite_schema WHERE type = 'table'")]
            found = [
                str(value) for table in tables for row in db.execute(f"SELECT * FROM {table}") for value in row
            ]
        return "\n".join(found)


@contextmanager
def beside(qtbot: QtBot, folder: Path) -> Iterator[Beside]:
    made = Beside(qtbot, folder)
    with made.rig, made.runs:
        made.desk.client.start()
        try:
            yield made
        finally:
            made.frame.leave()
            made.desk.client.stop()


def test_that_a_live_high_takes_the_desk_as_it_is_heard_and_nothing_of_the_drill_is_in_the_live_record(
    qtbot: QtBot, tmp_path: Path
) -> None:
    with beside(qtbot, tmp_path) as watch:
        watch.second()
        before, kinds = watch.rows(), watch.kinds()
        watch.begin()
        drill = watch.drill
        drill.people.sign_in("charge-2")
        watch.press("2", "h", "h", "o")
        watch.until(lambda: any(episodes.episodes for episodes in drill.session.store.tiles.values()))
        watch.press("s")
        assert watch.runs.folder is not None
        record = watch.runs.folder / RECORD

        def seen() -> list[tuple[str | None, str | None]]:
            with read_only(record) as opened:
                return [(one.bed, one.person) for one in opened.entries_since(0, {EntryKind.SEEN}, None)]

        watch.until(lambda: seen() == [("TEST2", "charge-2")])
        assert watch.stands(DrillState.RUNNING), "a high of the drill takes nothing"
        assert watch.kinds() == kinds
        assert watch.rows() == before, "the live record has no row more"

        watch.help()
        watch.until(watch.high, watch.live.take_heard)  # what was heard, and not a tick besides
        assert watch.stands(DrillState.ASIDE)
        assert watch.live.isVisible()
        watch.press("s", "t")  # meant for the drill
        watch.look()
        assert not {EntryKind.SEEN, EntryKind.TAKEN} & set(watch.kinds())
        watch.frame.resting.end()
        watch.live.people.sign_in("charge-2")
        watch.live.board.set_focus_bed("B1")
        watch.press("s")
        watch.until(lambda: EntryKind.SEEN in watch.kinds())
        assert seen() == [("TEST2", "charge-2")], "the drill's own record has no more of it"
        words = watch.words()
        assert "TEST" not in words
        assert "drill" not in words.lower()


def test_that_a_lost_live_hub_takes_the_desk(qtbot: QtBot, tmp_path: Path) -> None:
    with beside(qtbot, tmp_path) as watch:
        watch.begin()
        watch.rig.drop()
        watch.ahead += 15.5
        watch.until(lambda: watch.stands(DrillState.ASIDE))
        assert "NOT LIVE since" in watch.frame.line.says[0]
        watch.press(Key.Key_F9)
        assert watch.stands(DrillState.ASIDE)


def test_that_a_drill_whose_hub_is_killed_says_so_is_written_down_and_the_live_watch_goes_on(
    qtbot: QtBot, tmp_path: Path
) -> None:
    with beside(qtbot, tmp_path) as watch:
        watch.begin()
        hub = watch.runs._children._children[0].process
        assert hub is not None
        hub.kill()
        watch.until(lambda: watch.stands(DrillState.ENDED))
        assert "its hub is gone" in watch.frame.done.toPlainText()
        assert "The live watch goes on." in watch.frame.done.toPlainText()
        watch.until(lambda: DRILL in watch.frame.done.toPlainText())
        assert f"It is kept in {watch.runs.folder}" in watch.frame.done.toPlainText()
        last = watch.desk.session.store.tiles["B1"].last_reading_at or 0
        watch.second()
        watch.until(lambda: (watch.desk.session.store.tiles["B1"].last_reading_at or 0) > last)
        watch.help()
        watch.until(watch.high)
        assert watch.stands(DrillState.NONE)
        assert watch.live.isVisible()
        assert {path.name for path in (watch.runs.folder or tmp_path).iterdir()} >= {
            "what-was-done.txt", "what-was-done.pdf", "what-was-done.json", "drill.db", "course.jsonl",
        }  # fmt: skip
