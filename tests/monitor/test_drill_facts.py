"""What was done in a drill: times from the alert, calls, who answered, what nobody did; as the log has it."""

import json
from datetime import UTC
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st
from PySide6.QtWidgets import QApplication

import monitor.cli.drill  # noqa: F401  what plays sounds is loaded before a test begins, with what it says
from monitor.cli.drilling.after import FIGURES, PAGES, write_after
from monitor.cli.drilling.processes import WORDS
from monitor.cli.main import main
from monitor.core.drill import Drill
from monitor.core.entries import Entry, EntryKind
from monitor.core.grades import Priority
from monitor.record.reading import read_only
from monitor.reports.drill.facts import COURSE, Done, done_of, turns_in
from monitor.reports.drill.words import NO_VERDICT, all_lines, asides
from shared.cautions import DRILL, SECOND_LOOK
from shared.instant import SECOND
from tests.helpers.drill_record import BEGIN, PlayedDrill, play_drill
from tests.helpers.written_unit import WrittenUnit

K = EntryKind


@pytest.fixture(scope="module")
def played(tmp_path_factory: pytest.TempPathFactory, qapp: QApplication) -> PlayedDrill:
    drill = play_drill(tmp_path_factory.mktemp("drills") / "kink")
    write_after(drill.folder)
    return drill


@pytest.fixture(scope="module")
def done(played: PlayedDrill) -> Done:
    return Done.model_validate_json((played.folder / FIGURES).read_text())


def test_that_a_need_has_its_times_from_the_alert_on(played: PlayedDrill, done: Done) -> None:
    (met,) = done.met
    assert (met.bed, met.priority) == ("TEST2", Priority.HIGH)
    assert met.seen == BEGIN + 120 * SECOND
    assert met.taken == BEGIN + 200 * SECOND
    assert met.at_bed == BEGIN + 245 * SECOND
    with read_only(played.record) as record:
        entries = list(record.entries_since(0, None, None))
    assert met.raised == next(one.at for one in entries if one.kind is K.RAISED)
    calls = [one for one in entries if one.kind is K.CALLED]
    assert met.calls == len(calls)
    assert met.went_on == sum(met.seen < one.at < met.taken for one in calls) > 0
    assert [(one.at - BEGIN, one.words) for one in done.other] == [(300 * SECOND, "TEST2 Order: Speed 3400 rpm")]
    assert "open as the drill ended" in met.missed
    assert "nobody took it" not in met.missed


def test_that_the_lines_say_who_answered_when_it_stood_aside_and_judge_nobody(played: PlayedDrill) -> None:
    text = (played.folder / WORDS).read_text()
    lines = text.splitlines()
    assert lines[0] == f"{DRILL} Falling flow: return line"
    assert lines[1].startswith("Begun by Charge 2 and Nurse 2 00:00:00, until 00:08:00 (8 min 0 s)")
    assert "Stood aside 00:06:00 to 00:06:30: live high at B3: Pump stopped. Its beds went on meanwhile." in lines
    assert NO_VERDICT in lines
    assert SECOND_LOOK in lines
    assert any("Seen by Nurse 2" in line for line in lines)
    assert any("Nurse 2 has it, going" in line for line in lines)
    assert "Open as the drill ended." in lines
    assert not {"good", "late", "slow", "should", "score", "poor", "fast"} & set(text.lower().split())


def test_that_it_can_be_written_again_and_is_the_same(
    played: PlayedDrill, capsys: pytest.CaptureFixture[str]
) -> None:
    before = [(played.folder / name).read_bytes() for name in (WORDS, FIGURES)]
    assert main(["drill", "--after", str(played.folder)]) == 0
    assert capsys.readouterr().out.encode() == before[0]
    assert [(played.folder / name).read_bytes() for name in (WORDS, FIGURES)] == before
    assert (played.folder / PAGES).stat().st_size > 5_000


def test_that_where_nobody_answers_it_says_so(qapp: QApplication, tmp_path: Path) -> None:
    drill = play_drill(tmp_path / "drill", acts=False, minutes=4)
    write_after(drill.folder)
    (met,) = Done.model_validate_json((drill.folder / FIGURES).read_text()).met
    assert met.missed == ("nobody answered it", "nobody said to be at the bed", "open as the drill ended")
    assert (met.seen, met.taken, met.at_bed, met.went_on) == (None, None, None, 0)
    assert "answered nobody, taken nobody, at the bed nobody, not ended" in (drill.folder / WORDS).read_text()


def test_that_a_record_that_is_no_drills_has_no_such_sheet(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    written = WrittenUnit(tmp_path / "drill.db")
    written.read(1)
    written.close()
    assert main(["drill", "--after", str(tmp_path)]) == 2
    assert "is no record of a drill" in capsys.readouterr().err


def test_that_a_half_written_line_of_the_course_is_left_out(tmp_path: Path) -> None:
    whole = json.dumps({"at": 5, "state": "running", "why": ""})
    (tmp_path / COURSE).write_text(f'{whole}\n{{"at": 7, "sta')
    assert [turn.at for turn in turns_in(tmp_path)] == [5]
    assert turns_in(tmp_path / "nowhere") == ()


_KINDS = st.sampled_from([K.CALLED, K.SEEN, K.TAKEN, K.DECLINED, K.CLEARED, K.LATCHED, K.REVIEWED, K.HOLD_ENDED])


@given(st.lists(st.tuples(st.integers(0, 900), _KINDS), max_size=20))
def test_that_first_times_are_in_order_and_nothing_is_both_done_and_missed(said: list[tuple[int, K]]) -> None:
    entries = [Entry(at=0, kind=K.RAISED, bed="TEST1", alert=1, episode=1, priority=Priority.HIGH, text="Flow low")]
    for second, kind in sorted(said, key=lambda one: one[0]):
        where = "at_bed" if kind is K.TAKEN and second % 2 else None
        entries.append(
            Entry(at=second * SECOND, kind=kind, bed="TEST1", alert=1, episode=1, person="a", rung=1, where=where)
        )
    done = done_of(Drill(title="a"), entries, (), lambda name: name or "nobody", 0, 900 * SECOND)
    (met,) = done.met
    kinds = [kind for _, kind in said]
    assert (met.taken is None) is (K.TAKEN not in kinds)
    assert (met.seen is None) is (not {K.SEEN, K.TAKEN, K.DECLINED, K.REVIEWED} & set(kinds))
    assert met.calls == kinds.count(K.CALLED)
    assert 0 <= met.went_on <= met.calls
    if met.taken is not None:
        assert met.seen is not None
        assert met.raised <= met.seen <= met.taken
    assert ("nobody said to be at the bed" in met.missed) is (met.at_bed is None)
    assert {"nobody answered it", "nobody took it"} & set(met.missed) == (
        {"nobody answered it"} if met.seen is None else {"nobody took it"} if met.taken is None else set()
    )
    assert list(all_lines(done, UTC))
    assert list(asides(done.turns, done.end)) == []
