"""The downtime sheet: everything of all beds with its age, from a record that nobody writes any more."""

from pathlib import Path

import pytest
from PySide6.QtWidgets import QApplication

from monitor.cli.main import main
from monitor.core.grades import Priority
from monitor.core.view import CallMeView, LimitView, OwnLimitView
from monitor.record.reading import read_only
from monitor.reports.downtime.moment import LastMoment, last_moment
from monitor.reports.downtime.sheet import write_sheet
from monitor.reports.downtime.words import age, standing_words, value_rows
from monitor.reports.shift.gather import gather
from shared.cautions import DELIVERY, ON_PAPER
from shared.instant import HOUR, MINUTE
from shared.quantities import Quantity as Q
from tests.helpers.disk import fill, small_disk
from tests.helpers.paper import pages
from tests.helpers.written_night import write_night
from tests.helpers.written_unit import BEGIN


@pytest.fixture(scope="module")
def record(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return write_night(tmp_path_factory.mktemp("downtime") / "unit.record", seed=3, steps=8).path


@pytest.fixture(scope="module")
def found(record: Path) -> LastMoment:
    with read_only(record) as opened:
        return last_moment(opened)


def test_that_the_last_moment_is_that_of_the_record_with_what_the_log_says_is_open(
    record: Path, found: LastMoment
) -> None:
    """The open alerts of the engine that was told everything again are those of the log alone."""
    with read_only(record) as opened:
        assert found.at == opened.ends()[1]
        report = gather(opened.hours(BEGIN, found.at + 1), "", found.at).report
    opens = {bed.bed: {item.alert for item in bed.open if item.alert is not None} for bed in report.beds}
    assert any(opens.values())
    here = {tile.bed: {alert.id for one in tile.episodes for alert in one.alerts} for tile in found.tiles}
    assert here == opens


def test_that_the_newest_state_and_the_whole_record_give_the_same(
    record: Path, found: LastMoment, monkeypatch: pytest.MonkeyPatch
) -> None:
    with read_only(record) as opened:
        assert opened.standing()
        monkeypatch.setattr(opened, "standing", list)
        assert last_moment(opened) == found
    assert any(found.readings.values())


def test_that_the_pages_hold_beds_values_ages_rungs_telephones_and_open_alerts(
    qapp: QApplication, found: LastMoment, tmp_path: Path
) -> None:
    to = tmp_path / "sheet.pdf"
    assert write_sheet(to, found, found.at + 90 * MINUTE) == len(pages(to))
    for page in pages(to):
        assert all(caution in page for caution in ON_PAPER)
        assert "as of " in page
    text = " ".join(pages(to))
    zone = found.configuration.unit.zone
    for tile in found.tiles:
        assert f" {tile.bed} " in text
        for run in tile.runs:
            for row in value_rows(run, found.readings.get((tile.bed, run.description.slot)), found.at, zone):
                parts = (row.label, row.value, row.read, row.target, row.limits)
                assert " ".join(filter(None, parts)) in text
            assert all(f"{device.replace('_', ' ')} " in text for device in run.device_since)
        assert all(alert.title in text for one in tile.episodes for alert in one.alerts)
    for person in found.unit.people:
        assert not person.phone or f"{person.label} {person.phone}" in text
    for cover in found.unit.cover:
        assert cover.person is not None or "NOBODY" in text
    assert "of a record that ENDS" in text
    assert DELIVERY[1:] in text
    write_sheet(to, found, found.at)
    assert "of a record that ENDS" not in " ".join(pages(to))


def test_that_beside_a_hub_that_runs_ages_are_of_now_and_what_fell_due_is_due(
    record: Path, found: LastMoment, tmp_path: Path, qapp: QApplication
) -> None:
    later = found.at + 40 * MINUTE
    with read_only(record) as opened:
        now = last_moment(opened, later)
    assert now.at == later
    assert all(tile.stale for tile in now.tiles if tile.runs)
    write_sheet(tmp_path / "sheet.pdf", now, later)
    text = " ".join(pages(tmp_path / "sheet.pdf"))
    assert ", 40 min" in text
    assert "Not judged: readings are too old" in text
    assert "of a record that ENDS" not in text


def test_that_ages_are_written_to_the_minute() -> None:
    spans = (0, 59_000, MINUTE, 59 * MINUTE, HOUR, 47 * HOUR + 5 * MINUTE, 49 * HOUR)
    written = ["< 1 min", "< 1 min", "1 min", "59 min", "1 h 00 min", "47 h 05 min", "2 d"]
    assert [age(span) for span in spans] == written


def test_that_values_targets_and_limits_have_their_unit(found: LastMoment) -> None:
    [tile, *_] = [one for one in found.tiles if one.runs]
    [run, *_] = tile.runs
    zone = found.configuration.unit.zone
    rows = {row.label: row for row in value_rows(run, None, found.at, zone)}
    assert rows["Flow"].target.endswith(" L/min")
    assert rows["MAP"].limits.endswith(" mmHg")
    until = found.at + HOUR
    wish = CallMeView(quantity=Q.PUMP_FLOW, below=2.0, calls="charge", until=until, by="charge")
    own = LimitView(
        rule="map_low", quantity=Q.MEAN_ARTERIAL_PRESSURE, above=False, priority=Priority.MEDIUM, default=65.0,
        own=OwnLimitView(value=55.0, since=found.at, until=until, by="charge", reason=""),
    )  # fmt: skip
    since = {"pump_head": found.at - 342 * HOUR}
    run = run.model_copy(update={"call_me": (wish,), "settable": (own,), "device_since": since})
    said = list(standing_words(tile.model_copy(update={"runs": (run,)}), found.unit, found.at, zone))
    assert any("OWN LIMIT MAP < 55 mmHg until" in line for line in said)
    assert any("if Flow below 2.0 L/min" in line for line in said)
    assert "In use: pump head 14 d 6 h" in said


def test_that_sheets_in_a_folder_are_kept_by_number_and_a_full_disk_or_no_folder_leaves_the_ones_before(
    record: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["sheet", str(record)]) == 2
    assert "--pdf FILE" in capsys.readouterr().err
    folder = tmp_path / "sheets"
    old = [folder / f"sheet-2020-01-0{day}-120000+0000.pdf" for day in (1, 2, 3)]
    folder.mkdir()
    for path in old:
        path.write_bytes(b"old")
    (folder / "mine.pdf").write_bytes(b"not one of them")
    assert main(["sheet", str(record), "--into", str(folder), "--keep", "2"]) == 0
    new = [path for path in folder.glob("sheet-*.pdf") if path not in old]
    assert len(new) == 1
    assert len(list(folder.glob("sheet-*.pdf"))) == 2
    assert {path.name for path in folder.iterdir() if path.name.startswith(".")} == set()
    assert (folder / "mine.pdf").exists()
    assert main(["sheet", str(record), "--into", str(new[0])]) == 2
    assert "no downtime sheet in" in capsys.readouterr().err
    with small_disk(tmp_path / "small", "256k") as full:
        ballast = fill(full)
        assert main(["sheet", str(record), "--pdf", str(full / "sheet.pdf")]) == 2
        assert "No space left on device" in capsys.readouterr().err
        assert list(full.iterdir()) == [ballast]
