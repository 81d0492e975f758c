"""Whatever leaves the record of a drill says what it is: on each page in ink, in each file in words."""

import csv
import zipfile
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest
from PySide6.QtCore import QSize
from PySide6.QtGui import QImage
from PySide6.QtPdf import QPdfDocument
from PySide6.QtWidgets import QApplication

from monitor.cli.drilling.after import PAGES, write_after
from monitor.cli.main import main
from monitor.core.drill import TEST
from monitor.record.reading import read_only
from monitor.reports.paper import BAND, HIGH, UNPRINTED, WIDE
from shared.cautions import DRILL
from tests.helpers.drill_record import PlayedDrill, play_drill
from tests.helpers.paper import pages
from tests.helpers.written_unit import WrittenUnit

WIDE_PX, HIGH_PX = 840, 1188
FROM, AT = "2026-01-01 00:00+00:00", "2026-01-01 00:03+00:00"
WHO = ("--by", "charge", "--why", "the drill of the week")


@pytest.fixture(scope="module")
def played(tmp_path_factory: pytest.TempPathFactory) -> PlayedDrill:
    return play_drill(tmp_path_factory.mktemp("drills") / "kink", minutes=6)


@pytest.fixture(scope="module")
def own(tmp_path_factory: pytest.TempPathFactory) -> Path:
    written = WrittenUnit(tmp_path_factory.mktemp("unit") / "unit.record")
    written.read(10)
    written.close()
    return written.path


def banded(path: Path) -> list[bool]:
    """Whether each page has the hatch of a drill's band from side to side at its head and its foot.

    Where printers may leave the paper white no page has anything.
    """
    document = QPdfDocument()
    assert document.load(str(path)) is QPdfDocument.Error.None_
    found = []
    for page in range(document.pageCount()):
        drawn = document.render(page, QSize(WIDE_PX, HIGH_PX)).convertToFormat(QImage.Format.Format_ARGB32)
        sheet = QImage(drawn.size(), QImage.Format.Format_RGB32)
        sheet.fill(0xFFFFFFFF)
        pixels = np.frombuffer(drawn.constBits(), np.uint8).reshape(HIGH_PX, drawn.bytesPerLine() // 4, 4)
        ink = (pixels[:, :WIDE_PX, 3] / 255.0) * (1 - pixels[:, :WIDE_PX, :3].mean(axis=2) / 255.0)
        a_mm = WIDE_PX / WIDE
        white = int(UNPRINTED * a_mm) - 1
        inner = ink[white:-white, white:-white]
        assert inner.sum() == pytest.approx(ink.sum()), "something is where printers may not reach"
        high, side = round((HIGH * UNPRINTED / WIDE + BAND) * a_mm), round((UNPRINTED + 10) * a_mm)
        ends = (ink[:high], ink[-high:])
        found.append(all(bool((part > 0.1).any()) for end in ends for part in (end[:, :side], end[:, -side:])))
    document.close()
    return found


Make = Callable[[Path, Path], list[str]]
PRINTED: dict[str, Make] = {
    "report": lambda record, to: ["report", str(record), "--hours", "1", "--pdf", str(to)],
    "cards": lambda record, to: ["report", str(record), "--hours", "1", "--cards", "--pdf", str(to)],
    "sheet": lambda record, to: ["sheet", str(record), "--pdf", str(to)],
}


@pytest.mark.parametrize("what", PRINTED)
def test_that_each_page_of_a_drill_has_its_band_and_no_page_of_the_unit_has(
    qapp: QApplication, played: PlayedDrill, own: Path, what: str, tmp_path: Path
) -> None:
    for record, is_drill in ((played.record, True), (own, False)):
        to = tmp_path / f"{record.name}.pdf"
        assert main(PRINTED[what](record, to)) == 0
        assert banded(to) == [is_drill] * len(pages(to))
        for page in pages(to):
            assert (page.count(DRILL) == 2) is is_drill
            assert (TEST in page.replace(DRILL, "")) is is_drill, "its beds are named so too"


def test_that_each_page_of_what_was_done_has_the_band(qapp: QApplication, played: PlayedDrill) -> None:
    write_after(played.folder)
    to = played.folder / PAGES
    assert pages(to)
    assert banded(to) == [True] * len(pages(to))
    assert all(page.count(f"{DRILL} Falling flow: return line") >= 2 for page in pages(to))


def test_that_the_load_of_a_drill_and_what_is_found_in_it_say_so(
    played: PlayedDrill, own: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    for record, is_drill in ((played.record, True), (own, False)):
        for words in (["load", str(record)], ["find", str(record), "--from", FROM]):
            assert main(words) == 0
            assert capsys.readouterr().out.startswith(DRILL) is is_drill


def test_that_exports_of_a_drill_say_so_in_each_file(played: PlayedDrill, tmp_path: Path) -> None:
    bed = ["--bed", "TEST2", "--from", FROM, *WHO]
    assert main(["export", str(played.record), *bed, "--csv", str(tmp_path / "t.csv")]) == 0
    assert (tmp_path / "t-READ-ME.txt").read_text().startswith(DRILL)
    with (tmp_path / "t.csv").open(newline="", encoding="utf-8") as file:
        rows = list(csv.DictReader(file))
    assert rows
    assert all(row["run"].startswith(TEST) for row in rows)
    with (tmp_path / "t-alerts.csv").open(newline="", encoding="utf-8") as file:
        assert all(TEST in " ".join(row) for row in list(csv.reader(file))[1:])
    assert main(["export", str(played.record), *bed, "--fhir", str(tmp_path / "t.zip")]) == 0
    with zipfile.ZipFile(tmp_path / "t.zip") as packed:
        said = [packed.read(name).decode() for name in packed.namelist()]
    assert all(TEST in one and "HTEST" in one for one in said if '"Observation"' in one)
    assert any(DRILL in one for one in said)


def test_that_a_bundle_of_a_drill_says_so_in_what_people_read(played: PlayedDrill, tmp_path: Path) -> None:
    words = [
        "bundle",
        str(played.record),
        str(tmp_path / "t.zip"),
        "--bed",
        "TEST2",
        "--at",
        AT,
        *WHO,
        "--unjudged",
    ]
    assert main(words) == 0
    with zipfile.ZipFile(tmp_path / "t.zip") as packed:
        read = {name: packed.read(name).decode() for name in packed.namelist() if not name.endswith(".record")}
    assert read["READ ME.txt"].startswith(DRILL)
    assert read["timeline.txt"].startswith(DRILL)
    assert any(DRILL in text for name, text in read.items() if name.endswith(".svg"))


def test_that_the_archive_and_the_place_of_a_record_are_not_for_a_drill(
    played: PlayedDrill, own: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["archive", "feed", str(played.record), "--to", "host=nowhere.invalid dbname=a"]) == 2
    assert "never goes into the archive" in capsys.readouterr().err
    assert main(["backup", str(played.record), str(tmp_path / "copy")]) == 0
    with read_only(own) as record:
        head = record.head()
    assert main(["restore", str(tmp_path / "copy"), str(own)]) == 2
    assert "never goes in the place of a record" in capsys.readouterr().err
    with read_only(own) as record:
        assert record.head() == head
