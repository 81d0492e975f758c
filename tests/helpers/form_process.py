"""A form in a process of its own, which types a flow and then waits: to be killed.

``python -m tests.helpers.form_process CONFIG JOURNAL SHELF``
"""

import sys
import time
from pathlib import Path

from PySide6.QtCore import Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication

from feeds.entered.folder import load_folder
from feeds.entered.post import Post
from feeds.entered.rounds import Rounds
from feeds.entered.shelf import Shelf
from feeds.entered.window import FormWindow
from feeds.journal import Journal
from feeds.publisher import Publisher
from shared.instant import Instant
from shared.quantities import Quantity as Q

NOBODY = "tcp://127.0.0.1:9"


def wall() -> Instant:
    """The wall's clock, ms."""
    return time.time_ns() // 1_000_000


def main(config: Path, journal_at: Path, shelf_at: Path) -> None:
    """Type, and wait for the end."""
    application = QApplication(sys.argv[:1])
    folder, journal = load_folder(config), Journal(journal_at, "entered")
    publisher = Publisher(journal, folder.declarations(), ingest=NOBODY, link=NOBODY, clock=wall)
    window = FormWindow(Rounds(folder, Shelf(shelf_at), Post(publisher), wall), lambda: publisher.turn(0))
    window.show()
    window.begin(folder.seat_at("B5"), folder.person("nurse-5"))
    window.start()
    assert window.fields is not None
    edit = window.fields.rows[Q.PUMP_FLOW].edit
    QTest.keyClicks(edit, "4.2")
    QTest.keyClick(edit, Qt.Key.Key_Return)
    application.exec()


if __name__ == "__main__":
    main(*(Path(word) for word in sys.argv[1:]))
