"""A sheet every hour: never an hour old, whatever becomes of the hub; and whatever becomes of a sheet, told."""

import sys
from pathlib import Path

from monitor.core.view import SheetView
from monitor.hub.sheets import LONGEST_MS, Sheets
from shared.instant import HOUR, MINUTE, Instant
from tests.helpers.processes import ROOT, Process, Station, until

BEGIN: Instant = 1_767_225_600_000
#: Stands for the command that draws: it says what that says, at once, or what is asked of it.
QUICK = "import json, sys; print(json.dumps({'sheet': f'/x/sheet-{sys.argv[-1]}.pdf', 'at': int(sys.argv[-1])}))"
STUCK = "import signal; signal.pause()"
FULL = "import sys; print('noise'); print('weirkeeper: no room', file=sys.stderr); sys.exit(2)"
DEAD = "import os; os.abort()"


def sheets(folder: Path, program: str) -> Sheets:
    return Sheets((sys.executable, "-c", program), folder, ROOT)


def view(found: Sheets) -> SheetView:
    shown = found.view()
    assert shown is not None
    return shown


def settled(found: Sheets, now: Instant, ticks: Instant = 0) -> list[str]:
    """Begin what is due, and hear how it ended; the same moment all the while."""
    said = found.due(now, ticks)

    def is_done() -> bool:
        said.extend(found.due(now, ticks))
        return not found.is_making

    until(is_done, "the child ends")
    return said


def test_that_through_a_day_no_minute_finds_the_newest_sheet_an_hour_old(tmp_path: Path) -> None:
    """Read each minute just before the hub would do anything: what a kill at that moment leaves."""
    found = sheets(tmp_path, QUICK)
    assert found.view() is None
    ages, made = [], set()
    for minute in range(24 * 60 + 1):
        now = BEGIN + minute * MINUTE
        if minute:
            at = view(found).at
            assert at is not None
            ages.append(now - at)
        assert settled(found, now) == []
        made.add(view(found).newest)
    assert max(ages) <= HOUR - LONGEST_MS
    assert len(made) == 28, "not more of them than are needed"
    assert view(found).newest == f"sheet-{view(found).at}.pdf"


def test_that_what_hinders_is_told_once_tried_again_and_told_when_it_is_over(tmp_path: Path) -> None:
    found = sheets(tmp_path, FULL)
    assert settled(found, BEGIN) == ["no downtime sheet could be made: no room. Alerts and calls go on"]
    assert (view(found).fault, view(found).at, view(found).since) == ("no room", None, BEGIN)
    for minute in range(1, 75):
        assert settled(found, BEGIN + minute * MINUTE) == []
    late = settled(found, BEGIN + 75 * MINUTE)
    assert late == ["the newest downtime sheet is 75 min old: print one by hand"]
    found._command = sheets(tmp_path, QUICK)._command
    assert settled(found, BEGIN + 81 * MINUTE) == ["downtime sheets are made again"]
    assert (view(found).fault, view(found).at) == ("", BEGIN + 81 * MINUTE)


def test_that_a_child_that_hangs_dies_or_cannot_start_holds_nothing_up(tmp_path: Path) -> None:
    stuck = sheets(tmp_path, STUCK)
    assert stuck.due(BEGIN, 0) == stuck.due(BEGIN, LONGEST_MS - 1) == []
    assert stuck.due(BEGIN, LONGEST_MS) == [
        "no downtime sheet could be made: it was not done within 4 min. Alerts and calls go on"
    ]
    stuck.due(BEGIN + 5 * MINUTE, LONGEST_MS)
    assert stuck.is_making
    stuck.stop()
    assert not stuck.is_making
    dead = sheets(tmp_path, DEAD)
    assert settled(dead, BEGIN) == [
        "no downtime sheet could be made: its process ended with -6. Alerts and calls go on"
    ]
    none = Sheets((str(tmp_path / "none"),), tmp_path, ROOT)
    assert none.due(BEGIN, 0) == [
        "no downtime sheet could be made: it cannot be started: No such file or directory. Alerts and calls go on"
    ]


def test_that_a_killed_hub_leaves_its_first_sheet_and_one_can_be_made_of_its_record_by_hand(tmp_path: Path) -> None:
    """SIGKILL, with real processes: what lies there is whole, and a record is read without a hub."""
    folder = tmp_path / "sheets"
    with Station(tmp_path) as station:
        hub = station.launch_hub("--sheets", str(folder))
        assert hub.says_within(60).startswith("hub ready"), hub.log.read_text()
        until(lambda: folder.is_dir() and any(folder.glob("sheet-*.pdf")), "the first sheet", seconds=120)
        hub.kill()
        [sheet] = folder.glob("sheet-*.pdf")
        assert sheet.read_bytes().startswith(b"%PDF")
        assert b"%%EOF" in sheet.read_bytes()[-1024:]
        by_hand = tmp_path / "by hand.pdf"
        made = Process(["monitor", "sheet", str(station.record), "--pdf", str(by_hand)], hub.log)
        assert made.wait(120) == 0, hub.log.read_text()
    assert by_hand.read_bytes().startswith(b"%PDF")
