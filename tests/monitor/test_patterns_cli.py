"""``monitor patterns``: the table's counts, and the command on a few courses."""

import json
from pathlib import Path

import pytest

from monitor.analysis.confusion import NOTHING, Answer, confusion_of
from monitor.cli.main import main
from monitor.rehearsal.pattern_course import CAUSES, NO_FAULT, draw_course
from monitor.rehearsal.pattern_play import play
from shared.cautions import ON_PAPER
from shared.support import Support
from tests.helpers.courses import CONFIG, shipped

ORDER = ["A", "B", "C", NOTHING]


def test_that_the_table_counts_what_was_said_first() -> None:
    table = confusion_of(
        [
            Answer("A", "A", "B", True, 10.0),
            Answer("A", "B", "A", True, 40.0),
            Answer("A", "C", "B", True, None),
            Answer("A", None, None, False, None),
            Answer(NOTHING, None, None, False, None),
            Answer(NOTHING, "B", "C", True, None),
        ],
        ORDER,
    )
    first, quiet = table.lines
    assert (first.truth, first.cases, first.right, first.among_two, first.never_asked) == ("A", 4, 1, 2, 1)
    assert first.said == {"A": 1, "B": 1, "C": 1, NOTHING: 1}
    assert (first.median_s, first.slowest_s) == (25.0, 40.0)
    assert (quiet.cases, quiet.right, quiet.among_two) == (2, 1, 1)
    assert table.columns == ("A", "B", "C", NOTHING)
    assert table.sums() == (4, 1, 2, 1)


def test_that_no_figure_is_made_of_nothing() -> None:
    table = confusion_of([], ORDER)
    assert table.lines == ()
    assert table.sums() == (0, 0, 0, 0)


def test_that_courses_are_drawn_again_by_seed_and_number_and_take_turns() -> None:
    supports, pumps = list(Support), sorted(shipped().pumps)
    drawn = [draw_course(4, number, supports, pumps, shipped().patterns) for number in range(90)]
    assert drawn == [draw_course(4, number, supports, pumps, shipped().patterns) for number in range(90)]
    assert drawn != [draw_course(5, number, supports, pumps, shipped().patterns) for number in range(90)]
    assert {course.support for course in drawn} == set(Support)
    assert {course.truth for course in drawn} == set(CAUSES)
    assert {course.truth for course in drawn if course.support is Support.LA_AO} & set("DKL") == set()
    assert all((course.kind is None) == (course.truth == NO_FAULT) for course in drawn)


def test_that_a_course_without_a_fault_gives_no_hint() -> None:
    supports = [Support.VA]
    number = list(CAUSES).index(NO_FAULT)
    course = draw_course(1, number, supports, ["broad"], shipped().patterns)
    assert course.truth == NO_FAULT
    played = play(course, shipped())
    assert (played.first, played.early, played.right_s) == (None, 0, None)


def test_that_the_command_prints_its_table_and_writes_every_course(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    out = tmp_path / "table.json"
    words = ["patterns", "--courses", "2", "--support", "VA", "--seed", "9", "--workers", "1", "--json", str(out)]
    assert main(words) == 0
    printed, told = capsys.readouterr()
    assert "true pattern · first hint" in printed
    assert "A hint never\nchanges a priority." in printed
    assert "2 of 2 courses" in told
    found = json.loads(out.read_text())
    assert found["cautions"] == list(ON_PAPER)
    assert [course["truth"] for course in found["courses"]] == ["A", "B"]
    assert found["run"]["courses"] == 2
    assert found["sums"]["cases"] == 2


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (["--courses", "0"], "allowed 1 to"),
        (["--workers", "0"], "allowed 1 to 64"),
        (["--config", "/nowhere"], "no such"),
    ],
)
def test_that_a_wrong_option_is_told(words: list[str], said: str, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["patterns", *words]) == 2
    assert said in capsys.readouterr().err


def test_that_a_folder_without_patterns_is_told(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    for name in ("unit.toml", "limits.toml", "ladder.toml"):
        (tmp_path / name).write_text((CONFIG / name).read_text())
    (tmp_path / "pumps").mkdir()
    for pump in (CONFIG / "pumps").glob("*.toml"):
        (tmp_path / "pumps" / pump.name).write_text(pump.read_text())
    assert main(["patterns", "--courses", "1", "--config", str(tmp_path)]) == 2
    assert "patterns.toml" in capsys.readouterr().err
