"""A bundle of an incident: what is in it, that a person can read it, and that it is judged the same again."""

import csv
import io
import json
import shutil
import zipfile
import zlib
from datetime import UTC, datetime
from itertools import pairwise
from pathlib import Path
from xml.etree import ElementTree

import pytest

from monitor.cli.main import main
from monitor.core.commands import Reason, Take
from monitor.settings import texts_in
from shared.cautions import ON_PAPER
from shared.instant import MINUTE, SECOND
from shared.quantities import Quantity as Q
from tests.helpers.courses import CONFIG
from tests.helpers.exports import lived
from tests.helpers.records import tamper
from tests.helpers.written_unit import BEGIN, WrittenUnit

#: When flow falls, in minutes after the beginning.
FALLS = 90


@pytest.fixture(scope="module")
def record(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Flow falls at 1:30, the nurse takes it, the feed is lost for five minutes, all is well again."""
    unit = WrittenUnit(tmp_path_factory.mktemp("unit") / "unit.record")
    for minute in range(FALLS):  # readings that stood still would be an alert of their own
        unit.read(1, {bed: {Q.PUMP_FLOW: 4.2 + 0.01 * (minute % 3)} for bed in unit.beds})
    low: dict[str, dict[Q, float] | None] = {"B1": {Q.PUMP_FLOW: 2.4, Q.INLET_PRESSURE: -140.0}}
    unit.read(2, low)
    [episode] = unit.engine.tile("B1", unit.now).episodes[:1]
    unit.give(
        Take(
            id="take-1", person="nurse-1", bed="B1", alert=episode.lead, revision=episode.revision,
            reason=Reason.AT_BEDSIDE,
        )
    )  # fmt: skip
    unit.read(5, {"B1": None})
    unit.read(30)
    unit.close()
    return unit.path


def clock(minutes: float) -> str:
    return datetime.fromtimestamp((BEGIN + minutes * MINUTE) / SECOND, UTC).astimezone().isoformat(sep=" ")[:16]


def made(record: Path, to: Path, *more: str, status: int = 0) -> Path:
    words = ["bundle", record, to, "--bed", "B1", "--at", clock(FALLS), "--by", "charge", "--why", "flow fell"]
    assert main([*map(str, words), *more]) == status
    return to


@pytest.fixture(scope="module")
def parts(record: Path, tmp_path_factory: pytest.TempPathFactory) -> dict[str, str]:
    path = made(record, tmp_path_factory.mktemp("bundle") / "B1.zip")
    with zipfile.ZipFile(path) as packed:
        assert packed.testzip() is None
        names = [name for name in packed.namelist() if not name.endswith(".record")]
        return {name: packed.read(name).decode() for name in names}


def test_that_it_says_what_it_is_who_asked_and_that_it_is_judged_the_same_again(parts: dict[str, str]) -> None:
    about = parts["READ ME.txt"]
    assert "Asked for by charge: flow fell" in about
    assert "BROKEN" not in about
    for caution in ON_PAPER:
        assert caution in about
        assert caution in parts["timeline.txt"]


def test_that_the_time_line_can_be_read_by_a_person(parts: dict[str, str]) -> None:
    lines = parts["timeline.txt"].splitlines()
    assert "  Bedside nurse: Nurse 1." in lines
    assert "  Charge nurse: Charge 2." in lines
    told = [line.split("  ", 1)[1].strip() for line in lines if line[:2].isdigit()]
    raised = next(place for place, line in enumerate(told) if line.startswith("B1   high: Flow 2.4, limit 2.5"))
    taken = told.index("B1   Nurse 1 has it, going")
    silent = next(place for place, line in enumerate(told) if "no readings for 5 min" in line)
    assert raised < taken < silent
    assert any("Nurse 1 called" in line for line in told[raised:taken])


def test_that_it_says_how_it_stood_and_who_had_what_as_the_hours_began(record: Path, tmp_path: Path) -> None:
    path = made(record, tmp_path / "B1.zip", "--at", clock(FALLS + 123), "--unjudged")
    with zipfile.ZipFile(path) as packed:
        stood = packed.read("timeline.txt").decode().split("As it stood when these hours began:")[1].split("---")[0]
    assert "Pump 1: VA, run B1-1. Targets: Flow 4.2 L/min, MAP 70 mmHg." in stood
    assert "Flow 2.4, limit 2.5 (high), Nurse 1 had it." in stood
    assert "Charge nurse: Charge 2." in stood


def test_that_times_are_those_of_the_hub_in_order(parts: dict[str, str]) -> None:
    lines = parts["timeline.txt"].splitlines()
    assert "--- 2026-01-01, UTC+0000" in lines
    stamps = [line[:10] for line in lines[lines.index("--- 2026-01-01, UTC+0000") :] if line[:2].isdigit()]
    assert stamps == sorted(stamps)
    assert stamps[-1] < "02:30"


def test_that_values_stand_as_received_with_units_in_the_header_and_none_filled_in(
    parts: dict[str, str],
) -> None:
    rows = list(csv.DictReader(io.StringIO(parts["values.csv"])))
    flows = [row["pump_flow [L/min]"] for row in rows]
    assert len(rows) == len(flows) > 300
    assert {float(flow) for flow in flows} == {2.4, 4.2, 4.21, 4.22}
    times = [datetime.fromisoformat(row["read_at_utc"]).timestamp() for row in rows]
    gap = max(later - at for at, later in pairwise(times))
    assert gap == 5 * 60 + 20
    assert "spo2_right_hand [%]" not in rows[0]


def test_that_every_version_of_a_set_stands_with_whether_it_counts(tmp_path: Path) -> None:
    path = made(lived(tmp_path / "unit.record"), tmp_path / "B5.zip", "--bed", "B5", "--at", clock(20))
    with zipfile.ZipFile(path) as packed:
        rows = list(csv.DictReader(io.StringIO(packed.read("values.csv").decode())))
        told = packed.read("timeline.txt").decode()
    assert [(row["version"], row["standing"], row["pump_flow [L/min]"]) for row in rows] == [
        ("1", "replaced by a correction", "4.2"), ("2", "counts, corrected", "3.8"), ("1", "struck", "4.2"),
        ("2", "struck", ""),
    ]  # fmt: skip
    assert "corrected (mistyped): Flow 4.2 → 3.8, by Nurse 5" in told


def test_that_the_log_is_that_of_the_bed_and_the_unit_alone(parts: dict[str, str]) -> None:
    entries = [json.loads(line) for line in parts["entries.jsonl"].splitlines()]
    assert {"raised", "called", "taken", "feed_lost"} <= {entry["kind"] for entry in entries}
    assert {entry.get("bed") for entry in entries} <= {"B1", None}


def test_that_rules_are_there_as_they_were(parts: dict[str, str]) -> None:
    for name, text in texts_in(CONFIG).items():
        assert parts[f"configuration-before/{name}"] == text


def test_that_trends_are_drawn_with_gaps_and_marks_of_alerts(parts: dict[str, str]) -> None:
    picture = parts["trends-pump-1.svg"]
    root = ElementTree.fromstring(picture)
    space = "{http://www.w3.org/2000/svg}"
    lines = root.findall(f"{space}polyline")
    panels = root.findall(f"{space}rect")[1:]
    assert len(lines) == 2 * len(panels), "every trend is broken once, where nothing was read"
    assert root.findall(f"{space}line")
    words = " ".join(one.text or "" for one in root.findall(f"{space}text"))
    assert "Not a medical device." in words
    assert "−140" in words


def test_that_a_bundle_is_judged_again_by_a_command_of_its_own(
    record: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    path = made(record, tmp_path / "B1.zip")
    assert main(["retrace", str(path)]) == 0
    said = capsys.readouterr().out
    assert "byte for byte" in said
    head = said.split("Head    entry ")[1].split(", ")[1].split(":")[0]
    assert main(["verify", str(record), "--head", head]) == 0


def test_that_a_bundle_changed_afterwards_says_so(
    record: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    path = made(record, tmp_path / "B1.zip")
    with zipfile.ZipFile(path) as packed:
        cut = packed.read("slice.record")
    assert cut.count(b"Flow 2.4, limit 2.5") > 0
    with zipfile.ZipFile(tmp_path / "changed.zip", "w") as packed:
        packed.writestr("slice.record", cut.replace(b"Flow 2.4, limit 2.5", b"Flow 3.9, limit 2.5"))
    assert main(["retrace", str(tmp_path / "changed.zip")]) == 1
    said = capsys.readouterr().out
    assert "BROKEN: entry" in said
    assert "entries that differ" in said
    assert "Flow 3.9, limit 2.5" in said


def test_that_nothing_is_written_over_and_no_half_file_is_left(
    record: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    to = tmp_path / "B1.zip"
    to.write_text("something else")
    made(record, to, status=2)
    assert "is there already" in capsys.readouterr().err
    assert to.read_text() == "something else"
    made(record, tmp_path / "none" / "B1.zip", status=2)
    assert "cannot be made" in capsys.readouterr().err
    assert [path.name for path in tmp_path.iterdir()] == ["B1.zip"]


@pytest.mark.parametrize(
    ("words", "told"),
    [
        (["--at", "yesterday"], 'write the time as "2026-11-25 03:10"'),
        (["--why", "  "], "say who asks for the bundle, and why"),
        (["--bed", "B99"], "the unit has no bed B99: B1, B2,"),
        (["--at", "2030-01-01 00:00"], "knows nothing of these hours: it goes from 2026-01-01"),
    ],
)
def test_that_what_makes_no_sense_is_refused(
    record: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str], words: list[str], told: str
) -> None:
    made(record, tmp_path / "B1.zip", *words, status=2)
    assert told in capsys.readouterr().err


def test_that_hours_before_an_update_are_frozen_though_another_program_judged_them(
    record: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    older = tmp_path / "older.record"
    shutil.copy(record, older)
    state = zlib.compress(b"1\n{}").hex()
    tamper(older, f"UPDATE hours SET engine = x'{state}'", "UPDATE checkpoints SET engine = x'310a'")
    path = made(older, tmp_path / "B1.zip", "--at", clock(185), status=1)
    assert "Not judged again: the state is of another Weirkeeper" in capsys.readouterr().out
    with zipfile.ZipFile(path) as packed:
        assert "Bedside nurse: Nurse 1." in packed.read("timeline.txt").decode()
    made(older, tmp_path / "again.zip", "--at", clock(185), "--unjudged")
    assert main(["retrace", str(path)]) == 2


def test_that_a_damaged_record_gives_no_bundle_and_no_half_file(
    record: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    damaged = tmp_path / "damaged.record"
    shutil.copy(record, damaged)
    tamper(damaged, "UPDATE configurations SET files = substr(files, 1, 99)")
    made(damaged, tmp_path / "B1.zip", status=2)
    assert "see whether a backup is whole" in capsys.readouterr().err
    assert not [path for path in tmp_path.iterdir() if not path.name.startswith("damaged")]


def test_that_what_is_no_bundle_is_refused(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    (tmp_path / "a.zip").write_text("no zip at all")
    assert main(["retrace", str(tmp_path / "a.zip")]) == 2
    assert "is no bundle" in capsys.readouterr().err
