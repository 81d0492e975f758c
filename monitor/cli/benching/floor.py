"""A floor for a bench: ``... floor bare|plot PAGE WIDTH HEIGHT INGEST``, one process that shows what a feed sends.

Observations come over a SUB, are checked by pydantic against the models of the protocol, and the tile of their bed
is painted. There is no judging, no record and no second process: this is what the same numbers cost at least. Once
its window stands it says what that took to make; then it answers ``glass`` and ``repaint``.
"""

import sys
import threading
import time
from collections import deque
from math import ceil, sqrt
from statistics import median
from typing import Any

import zmq
from PySide6.QtCore import QObject, QTimer, Signal
from PySide6.QtWidgets import QApplication, QWidget

from monitor.cli.benching.clock import now_ns
from monitor.cli.benching.floor_tiles import BareTile, PlotTile, Tile
from monitor.cli.benching.painted import Painted
from monitor.cli.benching.words_in import Answers, WordsIn, say
from shared.endpoints import HIGH_WATER_MARK
from shared.frames import FrameRefused, decode
from shared.messages import FEED_MESSAGES, Observation
from shared.quantities import Quantity
from shared.stopping import StopRequested

_REPAINTS = 9
_POLL_MS = 250
_LOOK_MS = 200
_ANY = tuple(Quantity)[:4]


class Reader(QObject):
    """A thread with a SUB, a deque, and one signal that wakes the window: as the desk does it."""

    ready = Signal()

    def __init__(self, address: str) -> None:
        super().__init__()
        self.heard: deque[Observation] = deque()
        self._told = False
        self._stopping = threading.Event()
        self._context: zmq.Context[zmq.Socket[bytes]] = zmq.Context()
        self._socket = self._context.socket(zmq.SUB)
        self._socket.set_hwm(HIGH_WATER_MARK)
        self._socket.setsockopt(zmq.SUBSCRIBE, b"")
        self._socket.bind(address)
        self._thread = threading.Thread(target=self._run, daemon=True)
        self._thread.start()

    def drain(self) -> list[Observation]:
        """Take everything that lies here."""
        self._told = False
        return [self.heard.popleft() for _ in range(len(self.heard))]

    def stop(self) -> None:
        """End the thread."""
        self._stopping.set()
        self._thread.join()
        self._context.term()

    def _run(self) -> None:
        while not self._stopping.is_set():
            if self._socket.poll(_POLL_MS):
                self._take(self._socket.recv_multipart())
        self._socket.close(0)

    def _take(self, parts: list[bytes]) -> None:
        try:
            _, message = decode(parts, FEED_MESSAGES)
        except FrameRefused:
            return
        if isinstance(message, Observation):
            self.heard.append(message)
            if not self._told:
                self._told = True
                self.ready.emit()


class Floor(QWidget):
    """The window: so many tiles in a grid; further beds are read and not shown."""

    def __init__(self, kind: type[BareTile] | type[PlotTile], page: int, reader: Reader) -> None:
        super().__init__()
        self._reader = reader
        self._tiles: dict[str, Tile] = {}
        self._widgets: list[QWidget] = []
        for number in range(page):
            tile = kind(number, self)
            self._tiles[f"B{number + 1}"] = tile
            self._widgets.append(tile)
        self._waiting: list[tuple[str, int]] = []
        self.painted: list[tuple[str, int, int]] = []
        self._watch = Painted(self, self._over)
        reader.ready.connect(self._take)

    def lay_out(self) -> None:
        """Give each tile its place."""
        columns = ceil(sqrt(len(self._widgets)))
        rows = ceil(len(self._widgets) / columns)
        wide, high = self.width() // columns, self.height() // rows
        for number, widget in enumerate(self._widgets):
            widget.setGeometry(number % columns * wide, number // columns * high, wide - 10, high - 10)

    def repaint_ms(self) -> float:
        """Give what it takes to show new readings in all tiles at once: the median of some times."""
        taken = []
        for number in range(_REPAINTS):
            began = time.thread_time_ns()
            for tile in self._tiles.values():
                tile.take({quantity: float(number + place) for place, quantity in enumerate(_ANY)})
            self.repaint()
            taken.append((time.thread_time_ns() - began) / 1e6)
        return median(taken)

    def _take(self) -> None:
        for observation in self._reader.drain():
            tile = self._tiles.get(observation.bed)
            if tile is not None:
                tile.take(observation.readings)
                self._waiting.append((observation.bed, observation.read_at))

    def _over(self, at: int) -> None:
        self.painted += [(bed, read_at, at) for bed, read_at in self._waiting]
        self._waiting.clear()


def run(kind: str, page: int, size: tuple[int, int], address: str) -> None:
    """Show what comes until told to stop."""
    with StopRequested() as stop:
        application = QApplication(sys.argv[:1])
        reader = Reader(address)
        began = now_ns()
        floor = Floor(PlotTile if kind == "plot" else BareTile, page, reader)
        floor.resize(*size)
        floor.lay_out()
        floor.show()
        application.processEvents()
        made: dict[str, Any] = {"start_ms": (now_ns() - began) / 1e6}
        answers: Answers = {
            "glass": lambda: {"painted": floor.painted, "same": []},
            "repaint": lambda: {"anew_ms": floor.repaint_ms()},
        }
        words = WordsIn(answers, floor)
        timer = QTimer(floor)
        timer.timeout.connect(lambda: application.quit() if stop.now else None)
        timer.start(_LOOK_MS)
        say(made)
        application.exec()
        timer.stop()
        reader.stop()
        del words


if __name__ == "__main__":
    run(sys.argv[1], int(sys.argv[2]), (int(sys.argv[3]), int(sys.argv[4])), sys.argv[5])
