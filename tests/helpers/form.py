"""The entry form of tests: a unit of two beds read by hand, a real window, a clock that the test turns."""

import shutil
from collections.abc import Callable, Mapping
from pathlib import Path
from types import TracebackType
from typing import Self

from PySide6.QtCore import Qt
from PySide6.QtTest import QTest
from pytestqt.qtbot import QtBot

from feeds.entered.fields_area import FieldsArea
from feeds.entered.folder import FormFolder, load_folder
from feeds.entered.hub_line import HubLine
from feeds.entered.post import Post
from feeds.entered.rounds import Rounds
from feeds.entered.shelf import Shelf
from feeds.entered.window import FormWindow
from feeds.journal import Journal
from feeds.publisher import Publisher
from shared.instant import MINUTE, Instant
from shared.quantities import Quantity as Q
from tests.helpers.entry_bed import BASE
from tests.helpers.hub import CONFIG, NOON

UNIT = """\
name = "Two beds read by hand"

[[bed]]
label = "B5"
nurse = "nurse-5"
entered_by_hand = true
  [[bed.run]]
  support = "VA"
  targets = { pump_flow = 4.2 }

[[bed]]
label = "B6"
nurse = "nurse-6"
entered_by_hand = true
  [[bed.run]]
  support = "VA"
  targets = { pump_flow = 3.1 }

[[person]]
name = "nurse-5"
label = "Nurse 5"
role = "bedside_nurse"

[[person]]
name = "nurse-6"
label = "Nurse 6"
role = "bedside_nurse"

[[person]]
name = "charge-2"
label = "Charge 2"
role = "charge_nurse"

[[person]]
name = "surgeon-3"
label = "Surgeon 3"
role = "surgeon"

[roster]
charge = "charge-2"
surgeon = "surgeon-3"
"""
#: Bed 6 of scenario 14; its pre-oxygenator pressure follows from flow and the base oxygenator (140 + 7.14 x 3.1).
SIX: Mapping[Q, str] = {
    **BASE,
    Q.PUMP_SPEED: "2800",
    Q.PUMP_FLOW: "3.1",
    Q.INLET_PRESSURE: "-35",
    Q.PRE_OXYGENATOR_PRESSURE: "162",
    Q.POST_OXYGENATOR_PRESSURE: "140",
    Q.MEAN_ARTERIAL_PRESSURE: "80",
    Q.SYSTOLIC_PRESSURE: "96",
    Q.DIASTOLIC_PRESSURE: "71",
}


def unit_folder(into: Path) -> Path:
    """Write the configuration of the two beds."""
    shutil.copytree(CONFIG, into, ignore=shutil.ignore_patterns("equipment.toml"))  # of other beds
    (into / "unit.toml").write_text(UNIT)
    return into


class Turned:
    """A clock that stands until the test turns it."""

    def __init__(self) -> None:
        self.ms = NOON

    def __call__(self) -> Instant:
        return self.ms

    def minutes(self, minutes: float) -> None:
        """Stand so many minutes after the beginning."""
        self.ms = NOON + round(minutes * MINUTE)


class Form:
    """The form on real sockets and files. Everything is closed at the end of the block.

    Args:
        where: where the hub takes observations; left out, nobody is there.
        commands: where it answers forms; left out, the form has its files alone.
    """

    def __init__(
        self,
        qtbot: QtBot,
        folder: Path,
        clock: Callable[[], Instant],
        where: tuple[str, str] | None = None,
        theme: str = "day",
        journal: Path | None = None,
        shelf: Path | None = None,
        commands: str = "",
    ) -> None:
        self.folder: FormFolder = load_folder(folder)
        ingest, link = where or ("tcp://127.0.0.1:9", "tcp://127.0.0.1:9")
        self._journal = Journal(journal or folder.parent / "form.journal", "entered")
        self.publisher = Publisher(self._journal, self.folder.declarations(), ingest=ingest, link=link, clock=clock)
        self.shelf = Shelf(shelf or folder.parent / "form.shelf")
        self.rounds = Rounds(self.folder, self.shelf, Post(self.publisher), clock)
        self.line = HubLine(commands) if commands else None
        self.window = FormWindow(self.rounds, lambda: self.publisher.turn(0), theme, self.line)
        qtbot.addWidget(self.window)
        self.window.resize(1366, 768)
        with qtbot.waitActive(self.window):
            self.window.show()
            self.window.activateWindow()

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        self.window.close()
        self.publisher.close()
        if self.line is not None:
            self.line.close()
        self._journal.close()

    def open(self, bed: str, by: str) -> None:
        """Open a bed's form as a person."""
        self.window.begin(self.rounds.folder.seat_at(bed), self.folder.person(by))

    def type(self, quantity: Q, text: str) -> None:
        """Go to a field, type into it and press Enter."""
        self.fields.focus_on(quantity)
        edit = self.fields.rows[quantity].edit
        QTest.keyClicks(edit, text)
        QTest.keyClick(edit, Qt.Key.Key_Return)

    def keys(self, text: str) -> None:
        """Type where the focus is."""
        for one in text:
            QTest.keyClicks(self.window.focusWidget() or self.window, one)

    def type_all(self, texts: Mapping[Q, str]) -> None:
        """Type a whole set, field by field."""
        for quantity, text in texts.items():
            self.type(quantity, text)

    def press(self, key: Qt.Key) -> None:
        """Press a key where the focus is."""
        QTest.keyClick(self.window.focusWidget() or self.window, key)

    @property
    def fields(self) -> FieldsArea:
        """The fields of the open form."""
        assert self.window.fields is not None
        return self.window.fields

    def focused(self) -> Q | None:
        """The field that has the focus."""
        return next((q for q, row in self.fields.rows.items() if row.edit.hasFocus()), None)

    @property
    def asked(self) -> str:
        """What is asked or refused under the field, or nothing."""
        question = self.fields.question
        return f"{question.head.text()}: {question.words.text()}" if question.isVisible() else ""

    @property
    def said(self) -> str:
        """What the band at the foot says."""
        return self.window.foot.band.text()

    @property
    def warned(self) -> str:
        """What is wrong with disk or hub, as the foot says it."""
        return self.window.foot.warning.text()

    @property
    def sent(self) -> list[str]:
        """The sets listed beside Save."""
        return self.window.foot.sent.text().splitlines()
