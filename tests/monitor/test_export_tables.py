"""Tables that leave the record: what was read, exactly, with its origin, times and marks; and nothing else."""

import csv
import json
import stat
from collections.abc import Iterator
from dataclasses import replace
from datetime import datetime, timedelta
from hashlib import sha256
from pathlib import Path
from tempfile import TemporaryDirectory

import pandas as pd
import pytest
from hypothesis import given
from hypothesis import strategies as st

from monitor.cli.main import main
from monitor.core.entries import EntryKind
from monitor.record import Record
from monitor.record.reading import read_only
from monitor.reports.exports.about import about
from monitor.reports.exports.asked import Asked
from monitor.reports.exports.cells import FORMULA, text_cell, text_of
from monitor.reports.exports.tables import FIXED, column_of
from monitor.reports.exports.taking import taking_of
from shared.cautions import NO_DEVICE, ON_PAPER
from shared.instant import HOUR, MINUTE
from shared.messages import Observation
from shared.quantities import CATALOGUE, Quantity
from tests.helpers.disk import fill, small_disk
from tests.helpers.exports import BY, SET, WHY, export, kept, lived, observations, received
from tests.helpers.records import thaw
from tests.helpers.written_unit import BEGIN

#: When the records that are made up begin.
WHEN = "2027-01-15 08:00:00+00:00"


@pytest.fixture(scope="module")
def record(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return lived(tmp_path_factory.mktemp("unit") / "unit.record")


@pytest.fixture
def csv_file(record: Path, tmp_path: Path) -> Path:
    assert export(record, "--csv", tmp_path / "B1.csv") == 0
    return tmp_path / "B1.csv"


def rows_of(path: Path) -> list[dict[str, str]]:
    with path.open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file, strict=True))


def ms_of(text: str) -> int:
    moment = datetime.fromisoformat(text)
    assert moment.utcoffset() is not None
    return (moment - datetime.fromtimestamp(0, moment.tzinfo)) // timedelta(milliseconds=1)


@given(observations())
def test_that_every_reading_comes_back_exactly_and_none_is_added(said: list[Observation]) -> None:
    with TemporaryDirectory() as folder:
        record = kept(Path(folder) / "unit.record", said)
        to = Path(folder) / "B1.csv"
        assert export(record, "--csv", to, begin=WHEN) == 0
        rows, frame = rows_of(to), pd.read_csv(to)
    here = {quantity for one in said for quantity in one.readings}
    columns = [column_of(quantity) for quantity in Quantity if quantity in here]
    assert list(rows[0]) == list(frame.columns) == [*FIXED, *columns, "caution"]
    ordered = sorted(said, key=lambda one: (one.read_at, one.seq))
    assert len(rows) == len(frame) == len(ordered)
    for place, (one, row) in enumerate(zip(ordered, rows, strict=True)):
        read = {quantity: row[column_of(quantity)] for quantity in here}
        assert {quantity: float(cell) for quantity, cell in read.items() if cell} == one.readings
        assert {q: v for q in here if not pd.isna(v := frame[column_of(q)][place])} == pytest.approx(
            one.readings, rel=1e-15
        )
        assert (ms_of(row["read_at"]), ms_of(row["received_at"])) == (one.read_at, received(one))
        assert (ms_of(row["entered_at"]) if row["entered_at"] else None) == one.entered_at
        assert set(row["estimated"].split()) == one.estimated
        assert set(row["doubtful"].split()) == one.doubtful
        assert set(row["console_says"].split()) == one.conditions
        assert row["origin"] == ("HAND-ENTERED" if one.by else "SIMULATED")
        assert row["entered_by"] == ("bedside nurse" if one.by else "")
        answers = dict(answer.split("=") for answer in row["looked"].split())
        assert answers == {item: looked.found.value for item, looked in (one.looked or {}).items()}
        notes = {item: looked.note for item, looked in (one.looked or {}).items() if looked.note}
        assert (json.loads(row["looked_notes"]) if row["looked_notes"] else {}) == notes
        assert row["round"] == (one.round or "")
        assert int(row["slot"]) == one.slot
        assert text_of(row["run"]) == f"=B1-{one.slot}"


@given(
    st.text(max_size=12) | st.sampled_from(FORMULA).flatmap(lambda first: st.text(max_size=5).map(first.__add__))
)
def test_that_no_text_begins_a_formula_and_every_text_can_be_had_again(text: str) -> None:
    # OWASP, "CSV Injection": cells that begin with = + - @, tab, carriage return, line feed, or their wide forms
    cell = text_cell(text)
    assert not cell.startswith(FORMULA)
    assert text_of(cell) == text


def test_that_a_negative_number_stays_a_number(csv_file: Path) -> None:
    frame = pd.read_csv(csv_file)
    pressures = frame["inlet_pressure [mm[Hg]]"]
    assert pressures.dtype == float
    assert set(pressures) == {-60.0, -140.0}


def test_that_lines_end_as_rfc_4180_has_them_and_every_row_carries_the_caution(csv_file: Path) -> None:
    # RFC 4180, section 2: CRLF ends every record, the same number of fields in each
    raw = csv_file.read_bytes()
    assert raw.count(b"\r\n") == raw.count(b"\n") == len(rows_of(csv_file)) + 1
    assert {row["caution"] for row in rows_of(csv_file)} == {NO_DEVICE}
    about = (csv_file.parent / "B1-READ-ME.txt").read_text(encoding="utf-8")
    for caution in ON_PAPER:
        assert caution in about
    assert f"Taken out by {BY}: {WHY}." in about


def test_that_a_unit_stands_with_every_quantity_as_ucum_writes_it(csv_file: Path) -> None:
    columns = [name for name in rows_of(csv_file)[0] if name.endswith("]")]
    assert "pump_speed [{rev}/min]" in columns
    assert all(name == column_of(Quantity(name.split(" [")[0])) for name in columns)
    assert {CATALOGUE[Quantity(name.split(" [")[0])].ucum for name in columns} == {"L/min", "mm[Hg]", "{rev}/min"}


def test_that_alerts_stand_in_a_table_of_their_own(csv_file: Path) -> None:
    alerts = rows_of(csv_file.parent / "B1-alerts.csv")
    low = next(row for row in alerts if row["rule"] == "flow_very_low")
    assert low["words"].startswith("Flow 2.4")
    assert (low["bed"], low["priority"], low["class"]) == ("B1", "high", "physiological")
    assert ms_of(low["raised_at"]) < ms_of(low["ended_at"])
    assert {row["bed"] for row in alerts} <= {"B1", ""}
    assert list(pd.read_csv(csv_file.parent / "B1-alerts.csv").columns) == list(low)


def test_that_corrected_and_struck_sets_say_so_in_every_version(record: Path, tmp_path: Path) -> None:
    assert export(record, "--csv", tmp_path / "B5.csv", bed="B5") == 0
    rows = rows_of(tmp_path / "B5.csv")
    assert [(row["set"] == SET, row["version"], row["standing"], row["why"]) for row in rows] == [
        (True, "1", "replaced by a correction", ""),
        (True, "2", "counts, corrected", "mistyped"),
        (False, "1", "struck", ""),
        (False, "2", "struck", "wrong_bed"),
    ]
    assert rows[3]["pump_flow [L/min]"] == ""


def test_that_only_the_hours_asked_for_are_taken_and_their_end_is_not(record: Path, tmp_path: Path) -> None:
    to = tmp_path / "few.csv"
    hours = {"begin": "2026-01-01 00:01+00:00"}
    assert export(record, "--to", "2026-01-01 00:02+00:00", "--csv", to, **hours) == 0
    assert [row["read_at"][11:19] for row in rows_of(to)] == ["00:01:00", "00:01:20", "00:01:40"]


def test_that_nobody_stands_in_it_by_name(record: Path, tmp_path: Path) -> None:
    assert export(record, "--csv", tmp_path / "B5.csv", bed="B5") == 0
    text = "".join(path.read_text(encoding="utf-8") for path in tmp_path.iterdir())
    for name in ("nurse-", "Nurse ", "charge-", "perfusionist-", "4210"):
        assert name not in text
    assert "bedside nurse" in text


def test_that_the_files_are_for_their_owner_alone_and_each_is_in_the_log(record: Path, csv_file: Path) -> None:
    assert {stat.S_IMODE(path.stat().st_mode) for path in csv_file.parent.iterdir()} == {0o600}
    opened = Record.open(record)
    try:
        said = [entry.text or "" for entry in opened.entries("B1", 500) if entry.kind is EntryKind.TAKEN_OUT]
    finally:
        opened.close()
    for path, what in ((csv_file, "Readings"), (csv_file.parent / "B1-alerts.csv", "Alerts")):
        digest = sha256(path.read_bytes()).hexdigest()
        assert any(text.startswith(f"{what} as CSV of B1") and digest in text and WHY in text for text in said)


@pytest.mark.parametrize("left_out", ["--by", "--why"])
def test_that_nothing_leaves_without_a_name_and_a_reason(
    record: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str], left_out: str
) -> None:
    words = ["export", record, "--bed", "B1", "--from", "2026-01-01", "--csv", tmp_path / "B1.csv"]
    given = [word for option in ("--by", "--why") if option != left_out for word in (option, "audit")]
    assert main([*map(str, words), *given]) == 2
    assert f"{left_out}: say w" in capsys.readouterr().err
    assert main([*map(str, words), *given, left_out, " "]) == 2
    assert main([*map(str, words), *given, left_out, "x" * 201]) == 2
    assert not list(tmp_path.iterdir())


def faults() -> Iterator[tuple[list[str], str]]:
    yield ["--to", "2025-01-01"], "is not before --to 2025-01-01"
    yield ["--bed", "B9"], "no readings of a bed B9"
    yield ["--from", "2030-01-01", "--to", "2030-01-02"], "nothing was read at B1 in these hours"
    yield ["--from", "noon"], "write the time as"


@pytest.mark.parametrize(("more", "said"), list(faults()))
def test_that_what_cannot_be_is_refused_in_words(
    record: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str], more: list[str], said: str
) -> None:
    assert export(record, "--csv", tmp_path / "B1.csv", *more) == 2
    assert said in capsys.readouterr().err
    assert not list(tmp_path.iterdir())


def test_that_readings_that_were_thinned_away_are_said_to_be_missing(record: Path) -> None:
    with read_only(record) as opened:
        taking = taking_of(opened.of_bed("B1", BEGIN, BEGIN + HOUR), thinned_before=BEGIN + MINUTE)
    asked = Asked(BY, WHY, record, BEGIN)
    missing = "taken out of the unit's record, those received before 2026-01-01T00:01:00.000+00:00."
    assert any(line.endswith(missing) for line in about(taking, asked))
    assert not any("MISSING" in line for line in about(replace(taking, begin=BEGIN + MINUTE), asked))


@pytest.mark.parametrize("name", ["B1.csv", "B1-alerts.csv", "B1-READ-ME.txt"])
def test_that_nothing_is_written_over(
    record: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str], name: str
) -> None:
    (tmp_path / name).write_text("mine")
    assert export(record, "--csv", tmp_path / "B1.csv") == 2
    assert "is there already" in capsys.readouterr().err
    assert [path.name for path in tmp_path.iterdir()] == [name]
    assert (tmp_path / name).read_text() == "mine"


def test_that_a_folder_that_is_not_there_is_said(
    record: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert export(record, "--csv", tmp_path / "nowhere" / "B1.csv") == 2
    assert "cannot be made: No such file or directory" in capsys.readouterr().err


def test_that_a_full_disk_is_said_and_no_half_file_stays(
    record: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    with small_disk(tmp_path / "disk") as disk:
        ballast = fill(disk)
        assert export(record, "--csv", disk / "B1.csv") == 2
        assert "No space left on device" in capsys.readouterr().err
        assert list(disk.iterdir()) == [ballast]


def test_that_a_record_of_an_older_weirkeeper_gives_nothing_unnoted(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    old = thaw(1, tmp_path / "old.record")
    assert export(old, "--csv", tmp_path / "B1.csv", begin="1970-01-02") == 2
    assert "of version 1" in capsys.readouterr().err
    assert not [path for path in tmp_path.iterdir() if "B1" in path.name]
