"""The pages of a shift: few, with the cautions on each, no verdict in them, and everything that is open."""

from pathlib import Path

import pytest
from PySide6.QtWidgets import QApplication

from monitor.record.reading import read_only
from monitor.reports.shift.gather import Gathered, gather
from monitor.reports.shift.sheet import write_report
from shared.cautions import ON_PAPER
from shared.errors import RecordError
from shared.instant import HOUR
from tests.helpers.paper import pages
from tests.helpers.written_night import write_night
from tests.helpers.written_unit import BEGIN


@pytest.fixture(scope="module")
def found(tmp_path_factory: pytest.TempPathFactory) -> Gathered:
    unit = write_night(tmp_path_factory.mktemp("sheet") / "unit.record", seed=3, steps=24)
    with read_only(unit.path) as record:
        return gather(record.hours(BEGIN + HOUR, unit.now), "Night", unit.now)


@pytest.mark.parametrize("unit", [True, False])
def test_that_eight_beds_have_room_on_two_pages(
    qapp: QApplication, found: Gathered, tmp_path: Path, unit: bool
) -> None:
    to = tmp_path / "report.pdf"
    assert write_report(to, found, unit=unit) == len(pages(to)) <= 2
    assert len(found.report.beds) == 8


def test_that_every_page_says_what_it_is_not(qapp: QApplication, found: Gathered, tmp_path: Path) -> None:
    write_report(tmp_path / "report.pdf", found)
    for text in pages(tmp_path / "report.pdf"):
        assert all(caution in text for caution in ON_PAPER)
        assert "stable" not in text.casefold()
        assert "SIMULATED" in text


def test_that_everything_open_stands_on_paper(qapp: QApplication, found: Gathered, tmp_path: Path) -> None:
    note = "Family comes at 14:00"
    write_report(tmp_path / "report.pdf", found, notes=(note,))
    text = " ".join(pages(tmp_path / "report.pdf"))
    assert f"Note by hand: {note} Given by ____" in text
    planned = [event.words for bed in found.report.beds for event in bed.planned]
    assert planned == ["CT, Charge 2"]
    assert all(f": {words}" in text for words in planned)
    items = [item for bed in found.report.beds for item in bed.open]
    assert items
    assert all(item.words in text for item in items)


def test_that_a_folder_that_is_not_there_is_named(qapp: QApplication, found: Gathered, tmp_path: Path) -> None:
    with pytest.raises(RecordError, match="there is no folder"):
        write_report(tmp_path / "none" / "report.pdf", found)
