"""Somebody who watches a desk paint: what was painted when, and what it takes to draw all of it anew."""

import sys
import time
from collections.abc import Callable
from functools import partial
from statistics import median
from typing import Any

from PySide6.QtCore import QCoreApplication, QEvent, QObject
from PySide6.QtWidgets import QApplication

from monitor.cli.benching.painted import Painted
from monitor.cli.benching.words_in import WordsIn, say
from monitor.cli.main import main
from monitor.core.wire import ReadingsDelta
from monitor.desk.hearing import Heard
from monitor.desk.store import Changes
from monitor.desk.tile.face import Face
from monitor.desk.tile.widget import TileWidget
from monitor.desk.window import DeskWindow
from shared.instant import SECOND

_REPAINTS = 15


class Onlooker(QObject):
    """Waits for the desk's window, then notes what becomes of each reading on it.

    Args:
        past_beds: of so many beds, the first ones, the hours before must be on the board.
    """

    def __init__(self, application: QApplication, past_beds: int) -> None:
        super().__init__(application)
        self._past_beds = past_beds
        self._window: DeskWindow | None = None
        self._waiting: list[tuple[str, int]] = []
        self._painted: list[tuple[str, int, int]] = []
        self._same: list[tuple[str, int]] = []
        self._faces: dict[str, Face | None] = {}
        self._tiles: dict[str, TileWidget] = {}
        self._first: int | None = None
        self._with_past: int | None = None
        self._application = application
        application.installEventFilter(self)

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:
        """Find the window as it is shown; from then on this filter is gone."""
        if self._window is None and event.type() == QEvent.Type.Show and isinstance(watched, DeskWindow):
            self._window = watched
            self._application.removeEventFilter(self)
            watched.changed.connect(self._heard)
            self._watch = Painted(watched, self._over)
            self._words = WordsIn({"glass": self._glass, "repaint": self._repaint}, watched)
        return False

    @property
    def _shown(self) -> tuple[str, ...]:
        return () if self._window is None else self._window.board.shown()

    def _face(self, bed: str) -> Face | None:
        assert self._window is not None
        return self._window.board.tile(bed).face

    def _heard(self, changes: Changes) -> None:
        """Note what was read: where the face of the tile is another than before, a paint is on its way."""
        shown = set(self._shown)
        for read in changes.read:
            if read.bed in shown:
                changed = self._face(read.bed) is not self._faces.get(read.bed)
                (self._waiting if changed else self._same).append((read.bed, read.read_at))

    def _over(self, at: int) -> None:
        self._painted += [(bed, read_at, at) for bed, read_at in self._waiting]
        self._waiting.clear()
        shown = self._shown
        if self._window is not None:
            if self._tiles.keys() != set(shown):
                self._tiles = {bed: self._window.board.tile(bed) for bed in shown}
            self._faces = {
                bed: tile.face for bed, tile in self._tiles.items()
            }  # at each pass: what is watched pays
        if self._with_past is None and self._window is not None and shown:
            self._opened(at, shown)

    def _opened(self, at: int, shown: tuple[str, ...]) -> None:
        assert self._window is not None
        store = self._window.session.store
        if self._first is None and all(face is not None for face in self._faces.values()):
            self._first = at
        due = [store.tiles[bed] for bed in store.beds()[: self._past_beds] if bed in store.tiles]
        there = (
            store.readings.has_past(tile.bed, run.description.slot) for tile in due if tile.bed in shown
            for run in tile.runs
        )  # fmt: skip
        if self._first is not None and due and all(there):
            self._with_past = at
            say({"first": self._first, "with_past": at, "page": len(shown)})

    def _glass(self) -> dict[str, Any]:
        return {"painted": self._painted, "same": self._same}

    def _repaint(self) -> dict[str, Any]:
        """Draw the board some times: anew with its trends, with all as it was drawn, and with news of every bed.

        News are readings as they come, a second later each time; taking them in is told apart.
        """
        assert self._window is not None
        board = self._window.board
        anew, same, taken, news = [], [], [], []
        for turn in range(_REPAINTS):
            for bed in self._shown:
                board.tile(bed).refresh()
            anew.append(_ms(board.repaint))
            for bed in self._shown:
                board.tile(bed).update()
            same.append(_ms(board.repaint))
            taken.append(_ms(partial(self._take_in, [self._read(bed, turn) for bed in self._shown])))
            news.append(_ms(partial(QCoreApplication.sendPostedEvents, self._window, QEvent.Type.UpdateRequest)))
        return {
            "anew_ms": median(anew),
            "words_ms": median(same),
            "take_ms": median(taken),
            "news_ms": median(news),
        }

    def _take_in(self, heard: list[Heard]) -> None:
        assert self._window is not None
        self._window.take(self._window.session.take(heard, self._window.monotonic()))

    def _read(self, bed: str, turn: int) -> Heard:
        """Give what stands at a bed as read again, a little different, one second after the time before."""
        assert self._window is not None
        window = self._window
        store, at = window.session.store, window.monotonic()
        run = store.tiles[bed].runs[0].description
        stands = store.readings.stands(bed, run.slot)
        values = {quantity: one.value * (1 + 0.01 * (turn % 3 - 1)) for quantity, one in stands.items()}
        newest = max(one.read_at for one in stands.values()) + SECOND
        delta = ReadingsDelta(boot=store.boot, seq=0, bed=bed, slot=run.slot, read_at=newest, values=values)
        return Heard(at, delta)


def _ms(work: Callable[[], None]) -> float:
    """Give the ms of a processor that drawing takes: it is the work of this one thread."""
    began = time.thread_time_ns()
    work()
    return (time.thread_time_ns() - began) / 1e6


def run(past_beds: int, words: list[str]) -> int:
    """Open the desk and stay until told to end; give its exit status."""
    application = QApplication(sys.argv[:1])
    onlooker = Onlooker(application, past_beds)
    status = main(["desk", *words])
    del onlooker
    return status
